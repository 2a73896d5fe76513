//! Whether units keep what they have to.

use crate::analysis::batch::{Batch, Levels};
use crate::circuit::lanes::{LANES, Real, each};
use crate::design::{About, Acceptance};
use std::ops::Range;

/// Why a unit is not accepted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// A response leaves the window.
    Response,
    /// The mean level departs too far from the design's.
    Level,
    /// The sides of the unit differ.
    Pair,
    /// The impedance is too low somewhere.
    Impedance,
}

impl Cause {
    /// All of them, in the order of the counts.
    pub const ALL: [Self; 4] = [Self::Response, Self::Level, Self::Pair, Self::Impedance];

    /// What is told of it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Response => "response outside the window",
            Self::Level => "mean level too far from the design's",
            Self::Pair => "left and right too different",
            Self::Impedance => "impedance too low",
        }
    }
}

/// What a unit has to keep, ready for the grid of a batch.
#[derive(Debug, Clone)]
pub struct Judge {
    band: Range<usize>,
    /// One over the limits at each point of the band, 1/dB.
    above: Vec<f64>,
    below: Vec<f64>,
    /// Where the window lies around: the design over it, dB, one row a side and seat.
    base: Vec<Vec<f64>>,
    flat: bool,
    level_db: Option<f64>,
    pair_db: Option<f64>,
    lowest_ohm: f64,
}

/// Verdicts on several units; a unit is good where no use exceeds 1.
#[derive(Debug, Clone)]
pub struct Verdicts {
    /// How much of each limit is used, in the order of [`Cause::ALL`].
    pub used: [Real; 4],
    /// Largest departure of a response from the middle line, dB.
    pub deviation_db: Real,
    /// Lowest impedance of any side, Ω.
    pub lowest_ohm: Real,
}

impl Verdicts {
    /// How much of the limit that is nearest is used.
    pub fn most(&self, lane: usize) -> f64 {
        self.used.iter().map(|u| u[lane]).fold(0.0, f64::max)
    }

    /// Whether the unit is good; one without a finite response is not.
    pub fn good(&self, lane: usize) -> bool {
        self.used.iter().all(|u| u[lane] <= 1.0)
    }
}

impl Judge {
    /// The judge of `acceptance` for a batch; `None` where no point of its grid is in the window.
    pub fn of(acceptance: &Acceptance, batch: &Batch) -> Option<Self> {
        let (low_hz, high_hz) = acceptance.band_hz();
        let band = batch.grid.within(low_hz, high_hz);
        if band.is_empty() {
            return None;
        }
        let limits = batch.grid.frequency_hz()[band.clone()].iter();
        let limits: Vec<(f64, f64)> = limits.map(|hz| acceptance.limits_at(*hz)).collect();
        let flat = acceptance.about == About::Flat;
        Some(Self {
            above: limits.iter().map(|l| 1.0 / l.0).collect(),
            below: limits.iter().map(|l| 1.0 / l.1).collect(),
            base: base(batch, &band, flat),
            flat,
            level_db: acceptance.level_db,
            pair_db: acceptance.pair_db,
            lowest_ohm: acceptance.lowest_ohm,
            band,
        })
    }

    /// The same limits for another design on the same grid.
    #[must_use]
    pub fn around(&self, batch: &Batch) -> Self {
        Self { base: base(batch, &self.band, self.flat), ..self.clone() }
    }

    /// Points of the grid in the window.
    pub fn band(&self) -> Range<usize> {
        self.band.clone()
    }

    /// Judges units and turns their levels into departures from the middle line, dB.
    pub fn judge(&self, levels: &mut Levels) -> Verdicts {
        let points = levels.over_design_db.len() / self.base.len().max(1);
        let sides = levels.lowest_ohm.len();
        let seats = self.base.len() / sides.max(1);
        let pair = self.pair(levels, points, seats);
        let (mut response, mut deviation, mut level) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        for (row, base) in levels.over_design_db.chunks_exact_mut(points).zip(&self.base) {
            let inside = &row[self.band.clone()];
            let mut mean = [0.0; LANES];
            inside.iter().for_each(|l| mean = each(|k| mean[k] + l[k]));
            mean = each(|k| mean[k] / inside.len() as f64);
            let wide = 1.0 / self.level_db.unwrap_or(f64::INFINITY);
            level = each(|k| larger(level[k], mean[k].abs() * wide));
            for (l, base) in row.iter_mut().zip(base) {
                *l = each(|k| base + l[k] - mean[k]);
            }
            let limits = self.above.iter().zip(&self.below);
            for (l, (above, below)) in row[self.band.clone()].iter().zip(limits) {
                response = each(|k| larger(response[k], larger(l[k] * above, -l[k] * below)));
                deviation = each(|k| larger(deviation[k], l[k].abs()));
            }
        }
        let smaller = |a: f64, b: f64| if b < a || b.is_nan() { b } else { a };
        let lowest = levels.lowest_ohm.iter();
        let lowest_ohm = lowest.fold([f64::MAX; LANES], |low, z| each(|k| smaller(low[k], z[k])));
        let impedance = each(|k| self.lowest_ohm / lowest_ohm[k]);
        let used = [response, level, pair, impedance];
        Verdicts { used, deviation_db: deviation, lowest_ohm }
    }

    /// Largest difference between what two sides are over the design, as a share of its limit.
    fn pair(&self, levels: &Levels, points: usize, seats: usize) -> Real {
        let mut most = [0.0; LANES];
        let Some(limit) = self.pair_db else { return most };
        let rows: Vec<&[Real]> = levels.over_design_db.chunks_exact(points).collect();
        for (other, row) in rows.iter().enumerate().skip(seats) {
            let first = rows[other % seats];
            for (a, b) in row[self.band.clone()].iter().zip(&first[self.band.clone()]) {
                most = each(|k| larger(most[k], (a[k] - b[k]).abs() / limit));
            }
        }
        most
    }
}

/// What the design is over the middle line, dB, one row a side and seat.
fn base(batch: &Batch, band: &Range<usize>, flat: bool) -> Vec<Vec<f64>> {
    let over = |mut level: Vec<f64>| {
        let mean = level[band.clone()].iter().sum::<f64>() / band.len() as f64;
        level.iter_mut().for_each(|l| *l = if flat { *l - mean } else { 0.0 });
        level
    };
    batch.design_levels_db().into_iter().map(over).collect()
}

/// The larger one; what is no number counts as largest.
#[inline(always)]
fn larger(a: f64, b: f64) -> f64 {
    if b > a || b.is_nan() { b } else { a }
}
