//! Two drivers whose cones work into the same air.
//!
//! With the acoustic impedances Z of the air (pressure on a cone over flow into the cavity, Z12 =
//! Z21), areas S, mechanical impedances m of the drivers by themselves with S²Z of their own in them,
//! blocked electrical impedances e and force factors Bl, the outward velocities u are
//!
//! (m1 + Bl1²/e1) u1 + S1 S2 Z12 u2 = Bl1 V1/e1, and the same with 1 and 2 exchanged.
//!
//! Terminals left open carry no current, so that their term Bl²/e is gone. Solved by hand here
//! (general circuit of a moving-coil driver, see [`super::driver`], with one branch in common).

use super::driver::{Driver, DriverResponse, Motor};
use super::wave_cavity::Rear;
use crate::grid::{AcousticImpedance, Grid, Impedance, Spectrum, Transfer};
use num_complex::Complex64;
use std::sync::Arc;

/// Acoustic impedances of two cones at one frequency, Pa·s/m³: pressure on a cone over a flow into
/// the cavity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AirMatrix {
    /// Of each cone by its own flow.
    pub own: [Complex64; 2],
    /// Of either cone by the other's flow.
    pub between: Complex64,
}

/// Two drivers at one frequency, the first and the second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Together {
    /// Load on each cone while the other follows with its terminals open, Pa·s/m³.
    pub open: [Complex64; 2],
    /// The same with the other's terminals shorted.
    pub shorted: [Complex64; 2],
    /// Voltage at either driver's open terminals over the current in the other, Ω.
    pub mutual: Complex64,
    /// Velocity of each cone per volt at the other driver, over that per volt at its own; terminals
    /// without a volt are shorted.
    pub follows: [Complex64; 2],
}

/// Two drivers over a grid, the first and the second.
#[derive(Debug, Clone)]
pub struct PairResponse {
    /// Impedance of each with the other's terminals open, and flow of its cone per volt with the
    /// other's shorted.
    pub drivers: [DriverResponse; 2],
    /// Voltage at either driver's open terminals over the current in the other, Ω.
    pub mutual: Impedance,
    /// Flow of each cone per volt at the other driver, over that per volt at its own.
    pub follows: [Transfer; 2],
    /// Load on each cone while the other follows with its terminals open, Pa·s/m³.
    pub open: [AcousticImpedance; 2],
}

impl AirMatrix {
    /// What the cones feel beyond what their Mms holds, where the discs of `rears` find `self` in
    /// the cavity, at `omega` (rad/s): through the space under each cone and the windows of its
    /// basket, as [`Rear::load`] has it for one.
    pub fn felt(&self, omega: f64, rears: [&Rear; 2]) -> Self {
        let jw = Complex64::new(0.0, omega);
        let spaces = rears.map(|rear| rear.space);
        let spring = spaces.map(|space| {
            space.map_or(Complex64::default(), |s| jw * (s.volume_m3 / s.bulk_modulus_pa))
        });
        let mass = spaces.map(|space| space.map_or(0.0, |s| s.window_mass_kg_per_m4()));
        let drag = spaces.map(|space| space.map_or(0.0, |s| s.resistance_pa_s_per_m3));
        // Behind the springs, then P = (1 + B C)⁻¹ B U with the springs' admittances C.
        let behind = [0, 1].map(|i| self.own[i] + jw * mass[i] + drag[i]);
        let across = behind[0] * behind[1] - self.between * self.between;
        let divisor = (1.0 + behind[0] * spring[0]) * (1.0 + behind[1] * spring[1])
            - self.between * self.between * spring[0] * spring[1];
        let own = |i: usize| {
            let seen = (behind[i] + spring[1 - i] * across) / divisor;
            seen - jw * (rears[i].held_mass_kg_per_m4 + mass[i])
        };
        Self { own: [own(0), own(1)], between: self.between / divisor }
    }

    /// This plus `share` times the other.
    #[must_use]
    pub fn plus(&self, other: &Self, share: f64) -> Self {
        let own = [0, 1].map(|i| self.own[i] + other.own[i] * share);
        Self { own, between: self.between + other.between * share }
    }

    /// This times `share`.
    #[must_use]
    pub fn times(&self, share: f64) -> Self {
        Self { own: self.own.map(|z| z * share), between: self.between * share }
    }

    /// Load on cone `cone` (0 or 1) while the other follows, which has the mechanical impedance
    /// `other` (N·s/m, its own load in it) and the area `sd_m2`, Pa·s/m³.
    pub fn followed(&self, cone: usize, other: Complex64, sd_m2: f64) -> Complex64 {
        let coupled = self.between * sd_m2;
        self.own[cone] - coupled * coupled / other
    }
}

impl Together {
    /// `motors` with the blocked impedances `blocked` (Ω) in `air` at `omega` (rad/s).
    pub fn at(omega: f64, motors: [&Motor; 2], blocked: [Complex64; 2], air: &AirMatrix) -> Self {
        let moving = [0, 1].map(|i| motors[i].mechanical_impedance(omega, air.own[i]));
        let braked = [0, 1].map(|i| moving[i] + motors[i].bl_t_m.powi(2) / blocked[i]);
        let shared = air.between * motors[0].sd_m2 * motors[1].sd_m2;
        let load = |i: usize, of: &[Complex64; 2]| air.followed(i, of[1 - i], motors[1 - i].sd_m2);
        let push = [0, 1].map(|i| motors[i].bl_t_m / blocked[i]);
        let follow = |i: usize| -shared * push[1 - i] / (braked[1 - i] * push[i]);
        Self {
            open: [load(0, &moving), load(1, &moving)],
            shorted: [load(0, &braked), load(1, &braked)],
            mutual: -shared * motors[0].bl_t_m * motors[1].bl_t_m
                / (moving[0] * moving[1] - shared * shared),
            follows: [follow(0), follow(1)],
        }
    }
}

impl PairResponse {
    /// `drivers` with the loads `own` on their cones and `between` them (Pa·s/m³, on one grid).
    pub fn of(
        drivers: [&Driver; 2],
        own: [&AcousticImpedance; 2],
        between: &AcousticImpedance,
    ) -> Self {
        let grid = between.grid();
        let motors = drivers.map(|driver| &driver.motor);
        let at = |(f, omega): (usize, f64)| {
            let air =
                AirMatrix { own: own.map(|load| load.values()[f]), between: between.values()[f] };
            Together::at(omega, motors, drivers.map(|d| d.blocked_impedance(omega)), &air)
        };
        let points: Vec<Together> = grid.omega().enumerate().map(at).collect();
        let open = [0, 1].map(|i| spectrum(grid, &points, |p| p.open[i]));
        let respond = |i: usize| {
            let shorted = spectrum(grid, &points, |p| p.shorted[i]);
            DriverResponse {
                impedance: drivers[i].respond(grid, Some(&open[i])).impedance,
                flow: drivers[i].respond(grid, Some(&shorted)).flow,
            }
        };
        Self {
            drivers: [respond(0), respond(1)],
            mutual: spectrum(grid, &points, |p| p.mutual),
            follows: [0, 1].map(|i| spectrum(grid, &points, |p| p.follows[i])),
            open,
        }
    }
}

fn spectrum<Q>(
    grid: &Arc<Grid>,
    points: &[Together],
    value: impl Fn(&Together) -> Complex64,
) -> Spectrum<Q> {
    Spectrum::from_values(grid, points.iter().map(value).collect())
}
