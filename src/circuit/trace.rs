//! Copper on a board: how wide a trace must be for its current, by IPC-2221.
//!
//! I = k ΔT^0.44 A^0.725 with A in square mil, k = 0.048 for outer and 0.024 for inner layers
//! (IPC-2221, formerly IPC-D-275; read in pages that restate it). Another fit of the same chart
//! circulates (k = 0.0647, exponents 0.4281 and 0.6732); the constants of the two must not be mixed.
//! The formula knows nothing of board thickness or planes, which IPC-2152 does, and ends at 35 A.

use super::wire::RESISTIVITY_OHM_M;

/// A thousandth of an inch, m.
const MIL_M: f64 = 25.4e-6;

/// Where a trace lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layer {
    /// On the outside of the board.
    External,
    /// Inside of it.
    Internal,
}

impl Layer {
    fn factor(self) -> f64 {
        match self {
            Self::External => 0.048,
            Self::Internal => 0.024,
        }
    }
}

/// Cross-section that `current_a` (A, rms) heats by `rise_k` (K), m².
pub fn area_m2(layer: Layer, current_a: f64, rise_k: f64) -> f64 {
    let square_mil = (current_a / (layer.factor() * rise_k.powf(0.44))).powf(1.0 / 0.725);
    square_mil * MIL_M * MIL_M
}

/// Width of a trace of copper `copper_m` (m) thick that `current_a` (A, rms) heats by `rise_k` (K),
/// m.
pub fn width_m(layer: Layer, current_a: f64, rise_k: f64, copper_m: f64) -> f64 {
    area_m2(layer, current_a, rise_k) / copper_m
}

/// Resistance of copper of cross-section `area_m2` (m²) at 20 °C, Ω/m.
pub fn ohm_per_m(area_m2: f64) -> f64 {
    RESISTIVITY_OHM_M / area_m2
}
