//! What a tuned crossover is to come to.

use super::{Crossover, Kinds, Topology};
use crate::circuit::slope::{Family, Slope};

/// Targets and bounds of a search for part values.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Acoustic slope of each way at the seats, with drivers and crossover together.
    pub slope: Slope,
    /// Where the ways are to meet, Hz.
    pub at_hz: f64,
    /// Slant of the summed response, dB/octave (negative: falling).
    pub tilt_db_per_octave: f64,
    /// Band in which the sum is judged, Hz.
    pub band_hz: (f64, f64),
    /// Weight of the ways' slopes against the sum's 1.
    pub ways_weight: f64,
    /// Weight of the power response against the sum's 1.
    pub power_weight: f64,
    /// Lowest impedance allowed, Ω.
    pub lowest_ohm: f64,
    /// Largest share of the power that may be lost in the parts, %, averaged evenly over the
    /// logarithm of frequency; `None`: not bounded.
    pub loss_percent: Option<f64>,
    /// Largest cost of one panel's crossover parts; `None`: not bounded.
    pub cost: Option<f64>,
    /// Smallest and largest value of each kind of part: Ω, H, F.
    pub bounds: Kinds<(f64, f64)>,
    /// References that keep their values.
    pub fixed: Vec<String>,
}

/// Values that one can buy and that fit a board: 0.2 Ω to 100 Ω, 20 µH to 6 mH, 0.47 µF to 150 µF.
/// Common practice, no source.
pub const USUAL_BOUNDS: Kinds<(f64, f64)> =
    Kinds { resistor: (0.2, 100.0), inductor: (2e-5, 6e-3), capacitor: (4.7e-7, 1.5e-4) };

impl Target {
    /// The target of a design that states none: an acoustic slope that sums flat in phase (lr2
    /// for a crossover of order 1 or 2, else lr4) and a level sum over the four octaves around the
    /// crossover.
    pub fn of(crossover: &Crossover, lowest_ohm: f64) -> Self {
        let order = match crossover.topology {
            Topology::Textbook { slope, .. } if slope.order() <= 2 => 2,
            _ => 4,
        };
        let slope = Slope::new(Family::LinkwitzRiley, order).unwrap_or(Slope::ALL[0]);
        let at_hz = crossover.at_hz;
        Self {
            slope,
            at_hz,
            tilt_db_per_octave: 0.0,
            band_hz: ((at_hz / 4.0).max(20.0), (at_hz * 4.0).min(20_000.0)),
            ways_weight: 0.3,
            power_weight: 0.0,
            lowest_ohm,
            loss_percent: None,
            cost: None,
            bounds: USUAL_BOUNDS,
            fixed: Vec::new(),
        }
    }
}
