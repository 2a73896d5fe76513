//! Conductors between amplifier and drivers, and what they leave of the damping.

use super::faced::Faced;
use crate::circuit::cable::{self, flexible_ohm_per_m};
use crate::circuit::trace::{self, Layer};
use crate::design::{Design, Side};
use std::f64::consts::SQRT_2;

/// A cable takes at most this share of the lowest impedance, there and back (0.4 dB; common
/// practice, no source).
const CABLE_SHARE: f64 = 0.05;
/// Most current in a conductor of a cable, A/m² (common practice, no source).
const MOST_A_PER_M2: f64 = 6e6;

/// Copper for a side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wiring {
    /// Largest current that lasts, A rms: the sine that clips where it asks for most.
    pub current_a: f64,
    /// Width of an outer trace of the board for it, m.
    pub trace_m: f64,
    /// Width of an inner one, m.
    pub inner_trace_m: f64,
    /// Thinnest cable conductor for it over the stated length (1 m where none is), m².
    pub cable_m2: Option<f64>,
    /// Resistance of the stated cable there and back, Ω.
    pub cable_ohm: Option<f64>,
    /// Load of the rating over all resistance between the amplifier's source and its terminals.
    pub damping_factor: Option<f64>,
    /// The woofer's Re over the resistance that it sees looking back, crossover and cable included.
    pub woofer_damping_factor: Option<f64>,
}

impl Wiring {
    /// Of `side`; `source_ohm` (Ω) is what its woofer sees looking back, `lowest_ohm` (Ω) the
    /// side's lowest impedance.
    pub fn of(
        design: &Design,
        side: &Side,
        faced: &Faced,
        source_ohm: f64,
        lowest_ohm: f64,
    ) -> Self {
        let amplifier = &design.amplifier;
        let hardware = &amplifier.hardware;
        let limit_a = hardware.current_limit_a.unwrap_or(f64::INFINITY);
        let current_a = faced.most_current_a().min(limit_a) / SQRT_2;
        let width =
            |layer| trace::width_m(layer, current_a, hardware.trace_rise_k, hardware.copper_m);
        let length_m = hardware.cable.map_or(1.0, |c| c.length_m);
        let fits = |area: f64| {
            2.0 * length_m * flexible_ohm_per_m(area) <= CABLE_SHARE * lowest_ohm
                && current_a <= MOST_A_PER_M2 * area
        };
        let over = |ohm: f64, below: f64| (below > 0.0).then(|| ohm / below);
        Self {
            current_a,
            trace_m: width(Layer::External),
            inner_trace_m: width(Layer::Internal),
            cable_m2: cable::thinnest_m2(fits),
            cable_ohm: hardware.cable.map(|c| c.ohm()),
            damping_factor: over(amplifier.into_ohm, amplifier.output_ohm),
            woofer_damping_factor: over(side.drivers.woofer.driver.motor.re_ohm, source_ohm),
        }
    }
}
