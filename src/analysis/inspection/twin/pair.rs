//! Both drivers of a twin in air that they share: what a network feels of them and what is heard of
//! them, and how that moves with each quantity.
//!
//! The equations are those of [`crate::model::shared_air`], two by two; their slopes are central
//! differences, which cost next to nothing beside a network.

use super::cavity::Inside;
use super::{GONE_OHM, OF_DRIVERS, Twin};
use crate::design::Way;
use crate::model::heat::COPPER_PER_K;
use crate::model::shared_air::{AirMatrix, Together};
use num_complex::Complex64;

/// Half the step of a difference, of a logarithm.
const STEP: f64 = 1e-5;
/// The same of a temperature, K.
const STEP_K: f64 = 1e-2;

/// What both drivers are at one frequency, or how that moves.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Pair {
    /// Admittances at the ports: the woofer's, the tweeter's, and the current into either per volt
    /// at the other, S.
    pub(super) y: [Complex64; 3],
    /// Pressure at the seat per volt at either port, the other shorted, Pa/V.
    pub(super) heard: [Complex64; 2],
}

impl Pair {
    fn difference(&self, other: &Self, over: f64) -> Self {
        let less = |i: usize| (self.y[i] - other.y[i]) / over;
        let heard = |i: usize| (self.heard[i] - other.heard[i]) / over;
        Self { y: [less(0), less(1), less(2)], heard: [heard(0), heard(1)] }
    }
}

/// The quantities of a unit's drivers and cavity.
pub(super) struct PairUnit<'a> {
    pub(super) twin: &'a Twin,
    /// Pressure on either cone over the other's flow, usually, Pa·s/m³.
    pub(super) between: &'a [Complex64],
    /// The state that a fault puts the cavity in.
    pub(super) state: Option<&'a Inside>,
    /// A driver that is not there.
    pub(super) gone: Option<Way>,
    /// How the tweeter is connected, +1 or −1.
    pub(super) sign: f64,
}

impl PairUnit<'_> {
    /// Both drivers at grid point `f` with the logarithms and the kelvin `at`.
    pub(super) fn at(&self, f: usize, omega: f64, at: &[f64; OF_DRIVERS]) -> Pair {
        let ways = [&self.twin.ways.woofer, &self.twin.ways.tweeter];
        let hot = 1.0 + COPPER_PER_K * at[OF_DRIVERS - 1];
        let built = [0, 1].map(|i| ways[i].elements(&at[6 * i..6 * i + 6], hot));
        let motors = [&built[0].0, &built[1].0];
        let blocked = [0, 1].map(|i| motors[i].re_ohm + built[i].1.impedance(omega));
        let usual = AirMatrix { own: ways.map(|way| way.load[f]), between: self.between[f] };
        let mut air =
            usual.plus(&self.twin.depth_slope[f], at[12]).plus(&self.twin.fill_slope[f], at[13]);
        let mut heard = ways.map(|way| way.heard[f]);
        if let Some(state) = self.state {
            air = air.plus(&state.more[f], 1.0);
            heard = [0, 1].map(|i| heard[i] * state.heard[f][i]);
        }
        let both = Together::at(omega, motors, blocked, &air);
        let bl = motors.map(|motor| motor.bl_t_m);
        let moving = |i: usize, load: Complex64| {
            let zm = motors[i].mechanical_impedance(omega, load);
            (zm, blocked[i] + bl[i] * bl[i] / zm)
        };
        let mut z = [0, 1].map(|i| moving(i, both.open[i]).1 + ways[i].beyond[f]);
        let own = [0, 1].map(|i| {
            let (zm, z) = moving(i, both.shorted[i]);
            heard[i] * bl[i] / (zm * z)
        });
        let mut heard = [0, 1].map(|i| own[i] + own[1 - i] * both.follows[1 - i]);
        let mut mutual = both.mutual;
        if let Some(way) = self.gone {
            let gone = if way == Way::Woofer { 0 } else { 1 };
            // The cone without a coil still follows the other.
            heard[1 - gone] += heard[gone] * mutual / z[1 - gone];
            (z[gone], mutual) = (Complex64::new(GONE_OHM, 0.0), Complex64::default());
            heard[gone] = Complex64::default();
        }
        let divisor = z[0] * z[1] - mutual * mutual;
        Pair {
            y: [z[1] / divisor, z[0] / divisor, -mutual / divisor * self.sign],
            heard: [heard[0], heard[1] * self.sign],
        }
    }

    /// How they move with each of the quantities.
    pub(super) fn slopes(
        &self,
        f: usize,
        omega: f64,
        at: &[f64; OF_DRIVERS],
    ) -> [Pair; OF_DRIVERS] {
        std::array::from_fn(|q| {
            let step = if q == OF_DRIVERS - 1 { STEP_K } else { STEP };
            let moved = |by: f64| {
                let mut here = *at;
                here[q] += by;
                self.at(f, omega, &here)
            };
            moved(step).difference(&moved(-step), 2.0 * step)
        })
    }
}
