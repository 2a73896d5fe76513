//! Deviation of a response from flat, defined once: the band, no smoothing, the reference is the
//! mean of the levels (in dB) over the band's grid points (evenly spaced in log frequency), and
//! the deviation is told as root-mean-square and as the largest magnitude, in dB.

use crate::design::Window;
use crate::grid::Grid;

/// How far a level strays from flat in a band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviation {
    /// Lowest and highest grid frequency in the band, Hz.
    pub band_hz: (f64, f64),
    /// Mean level in the band, dB: the reference.
    pub mean_db: f64,
    /// Root mean square of level − mean, dB.
    pub rms_db: f64,
    /// Highest level − mean, dB, and where, Hz.
    pub above: (f64, f64),
    /// Lowest level − mean, dB (negative), and where, Hz.
    pub below: (f64, f64),
}

impl Deviation {
    /// Deviation of `level_db` (dB, one a grid point) within `low_hz..=high_hz`; `None` if no grid
    /// point lies there.
    pub fn of(grid: &Grid, level_db: &[f64], low_hz: f64, high_hz: f64) -> Option<Self> {
        let range = grid.within(low_hz, high_hz);
        let (levels, hz) = (&level_db[range.clone()], &grid.frequency_hz()[range]);
        let count = levels.len() as f64;
        let mean_db = levels.iter().sum::<f64>() / count;
        let square = levels.iter().map(|l| (l - mean_db).powi(2)).sum::<f64>() / count;
        let by_level = |a: &usize, b: &usize| levels[*a].total_cmp(&levels[*b]);
        let top = (0..levels.len()).max_by(by_level)?;
        let bottom = (0..levels.len()).min_by(by_level)?;
        Some(Self {
            band_hz: (*hz.first()?, *hz.last()?),
            mean_db,
            rms_db: square.sqrt(),
            above: (levels[top] - mean_db, hz[top]),
            below: (levels[bottom] - mean_db, hz[bottom]),
        })
    }

    /// Deviation over the two octaves centred on the crossover frequency.
    pub fn around(grid: &Grid, level_db: &[f64], at_hz: f64) -> Option<Self> {
        Self::of(grid, level_db, at_hz / 2.0, at_hz * 2.0)
    }

    /// Largest magnitude of the deviation, dB.
    pub fn peak_db(&self) -> f64 {
        self.above.0.max(-self.below.0)
    }

    /// Whether it stays within the window.
    pub fn within(&self, window: &Window) -> bool {
        self.above.0 <= window.plus_db && -self.below.0 <= window.minus_db
    }
}
