//! A curve as it was measured: on its own frequencies, with or without phase.

/// Magnitude, and phase where it was measured, on rising positive frequencies.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Frequencies, Hz, finite, positive, rising; at least two.
    pub frequency_hz: Vec<f64>,
    /// Magnitude at each, linear (Ω, Pa, or a ratio), positive.
    pub magnitude: Vec<f64>,
    /// Phase at each, degrees, as measured (wrapped or not).
    pub phase_deg: Option<Vec<f64>>,
}
