//! The rear of a cone in the field of a cavity: what air Mms already carries, and the space under
//! the cone with the windows of the basket.

use super::Disc;
use crate::grid::AcousticImpedance;
use crate::model::air::Air;
use crate::model::closed_box::Alignment;
use crate::model::driver::{MassCondition, Motor};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// A cone's rear at its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rear {
    /// The cone as a flat disc of the area Sd.
    pub disc: Disc,
    /// Acoustic mass that both the field and Mms hold, kg/m⁴; it is taken off once.
    pub held_mass_kg_per_m4: f64,
    /// The space under the cone; `None`: the cone opens into the cavity without hindrance.
    pub space: Option<RearSpace>,
}

/// The space between cone and basket, and the windows through which it opens into the cavity: a
/// compliance before an inertance. Lumped, so for wavelengths well above its size.
///
/// Mms was measured on the driver with its basket and so holds the inertance of the windows,
/// which is taken off again; only the spring before it is new at low frequency, where the load is
/// that of the field alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RearSpace {
    /// Air under the cone, m³. It is part of the net volume: add it to the cavity's
    /// `displaced_volume_m3`.
    pub volume_m3: f64,
    /// Open area of all windows, m².
    pub window_area_m2: f64,
    /// Length of the way through them with both ends, m.
    pub window_length_m: f64,
    /// Acoustic resistance that Rms does not hold (cloth or foam over the windows), Pa·s/m³.
    pub resistance_pa_s_per_m3: f64,
    /// Density of the air in it, kg/m³.
    pub rho_kg_per_m3: f64,
    /// Its bulk modulus, Pa.
    pub bulk_modulus_pa: f64,
}

/// The body of a motor in the depth of a cavity, taken as a cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorBody {
    /// Diameter, m.
    pub diameter_m: f64,
    /// From the inside of the face to its rear, m.
    pub reach_m: f64,
    /// Height of the cylinder itself, m.
    pub height_m: f64,
}

impl Rear {
    /// The rear of `motor` with its centre at (`x_m`, `y_m`), m. The field of the cavity holds the
    /// air that moves with the disc, about 8ρ/(3π²a). An Mms measured on a large baffle holds it
    /// too: it is taken off. One measured in free air, unbaffled, holds 8ρa³/3 in all, which
    /// stands for the front: nothing is taken off. This is the converse of
    /// [`ClosedBox::behind`](crate::model::closed_box::ClosedBox::behind), whose lump holds none.
    pub fn of(motor: &Motor, condition: MassCondition, air: &Air, x_m: f64, y_m: f64) -> Self {
        let radius_m = motor.radius_m();
        let held_mass_kg_per_m4 = match condition {
            MassCondition::Baffled => air.disc_mass_kg_per_m4(radius_m),
            MassCondition::FreeAir => 0.0,
        };
        Self { disc: Disc { x_m, y_m, radius_m }, held_mass_kg_per_m4, space: None }
    }

    /// Acoustic load on the cone beyond what Mms carries at `omega` (rad/s), with the impedance
    /// `field` (Pa·s/m³) of the disc in the cavity, Pa·s/m³.
    pub fn load(&self, omega: f64, field: Complex64) -> Complex64 {
        let jw = Complex64::new(0.0, omega);
        let (seen, held) = match &self.space {
            None => (field, self.held_mass_kg_per_m4),
            Some(space) => {
                let mass = space.window_mass_kg_per_m4();
                let behind = field + jw * mass + space.resistance_pa_s_per_m3;
                let compliance = space.volume_m3 / space.bulk_modulus_pa;
                (behind / (1.0 + jw * compliance * behind), self.held_mass_kg_per_m4 + mass)
            }
        };
        seen - jw * held
    }

    /// [`Rear::load`] over a grid.
    pub fn load_on(&self, field: &AcousticImpedance) -> AcousticImpedance {
        field.map(|omega, z| self.load(omega, z))
    }

    /// Resonance of `motor` with this rear in the field `field(ω)` (Pa·s/m³), rad/s.
    pub fn resonance(&self, motor: &Motor, field: impl Fn(f64) -> Complex64) -> f64 {
        TAU * Alignment::of(motor, |w| self.load(w, field(w)), 0.0).fc_hz
    }
}

impl RearSpace {
    /// The space in front of a motor `body` under a disc of radius `radius_m`, which opens through
    /// `window_area_m2` (m²). Volume: disc times the depth in front of the motor. Length: from the
    /// motor's rim to the disc's, with 8r/(3π) at both ends of four equal windows (Kinsler et al.,
    /// flanged ends; the shape is an estimate, common practice, no source).
    pub fn around(body: &MotorBody, radius_m: f64, window_area_m2: f64, air: &Air) -> Self {
        let window_radius_m = (0.25 * window_area_m2 / PI).sqrt();
        Self {
            volume_m3: PI * radius_m * radius_m * (body.reach_m - body.height_m).max(0.0),
            window_area_m2,
            window_length_m: (radius_m - 0.5 * body.diameter_m).max(0.0)
                + 16.0 * window_radius_m / (3.0 * PI),
            resistance_pa_s_per_m3: 0.0,
            rho_kg_per_m3: air.rho_kg_per_m3,
            bulk_modulus_pa: air.bulk_modulus_pa(),
        }
    }

    /// Inertance of the windows ρl/S, kg/m⁴.
    pub fn window_mass_kg_per_m4(&self) -> f64 {
        self.rho_kg_per_m3 * self.window_length_m / self.window_area_m2
    }
}

impl MotorBody {
    /// Volume of the cylinder, m³.
    pub fn volume_m3(&self) -> f64 {
        0.25 * PI * self.diameter_m.powi(2) * self.height_m
    }
}
