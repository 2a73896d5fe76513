//! What candidates are compared by, all on one scale whatever their crossover frequency.

use crate::analysis::compare::{self, Outcome};
use crate::analysis::deviation::Deviation;
use crate::analysis::seat;
use crate::analysis::side::SeatResponse;
use crate::analysis::study::{SideStudy, StudyError};
use crate::design::Design;
use crate::grid::{Grid, level_db};

/// A tuned candidate.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// What it comes to, with preferred values.
    pub outcome: Outcome,
    /// The design, a listed network with preferred values.
    pub design: Design,
    /// What it is judged by.
    pub merit: Merit,
}

/// What a candidate is judged by; less is better in each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merit {
    /// Deviation from the target's level or tilted line over its band, dB rms.
    pub rms_db: f64,
    /// Minus the lowest impedance, Ω: less is better here too.
    pub minus_lowest_ohm: f64,
    /// Cost of a panel's crossover parts where all candidates have one, else the number of parts.
    pub price: f64,
    /// Heat in the tweeter at its resonance relative to bw1 at the explored design's crossover
    /// frequency, dB.
    pub heat_db: f64,
    /// Difference between the seats over the target's band, dB.
    pub spread_db: f64,
}

impl Merit {
    fn axes(&self) -> [f64; 5] {
        [self.rms_db, self.minus_lowest_ohm, self.price, self.heat_db, self.spread_db]
    }

    /// Whether this is no worse in anything and better in something.
    pub fn beats(&self, other: &Self) -> bool {
        let pairs = || self.axes().into_iter().zip(other.axes());
        pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
    }

    /// Whether this is hardly worse in anything: by 0.05 dB of deviation, 0.3 Ω, 3 dB of heat or
    /// 0.1 dB between seats at most, and no dearer.
    pub fn serves_for(&self, other: &Self) -> bool {
        const GRAIN: [f64; 5] = [0.05, 0.3, 1e-6, 3.0, 0.1];
        let pairs = self.axes().into_iter().zip(other.axes()).zip(GRAIN);
        pairs.into_iter().all(|((a, b), grain)| a <= b + grain)
    }
}

/// What all candidates around one design are measured with.
#[derive(Debug, Clone, Copy)]
pub struct Yardstick {
    band_hz: (f64, f64),
    tilt_db_per_octave: f64,
    first_order_heat_w: f64,
    priced: bool,
}

impl Yardstick {
    /// The yardstick of `design` for `outcomes`: money if each of them has a cost.
    ///
    /// # Errors
    /// A design that cannot be computed.
    pub fn of(design: &Design, outcomes: &[Outcome]) -> Result<Self, StudyError> {
        let target = design.target();
        Ok(Self {
            band_hz: target.band_hz,
            tilt_db_per_octave: target.tilt_db_per_octave,
            first_order_heat_w: compare::first_order_heat_w(design)?,
            priced: outcomes.iter().all(|o| o.cost.is_some()),
        })
    }

    /// A candidate with its merit.
    pub fn measure(&self, outcome: Outcome, design: Design) -> Candidate {
        let count = outcome.parts as f64;
        let (rms_db, spread_db) = self.band(&outcome);
        let merit = Merit {
            rms_db,
            minus_lowest_ohm: -outcome.lowest_ohm,
            price: outcome.cost.filter(|_| self.priced).unwrap_or(count),
            heat_db: level_db(outcome.tweeter_heat_w.sqrt(), self.first_order_heat_w.sqrt()),
            spread_db,
        };
        Candidate { outcome, design, merit }
    }

    /// Deviation over the band by the seats' weights and over all sides, and the largest
    /// difference between the seats of a side, dB.
    fn band(&self, outcome: &Outcome) -> (f64, f64) {
        let grid = &outcome.study.grid;
        let (mut square, mut weight, mut spread_db) = (0.0, 0.0, 0.0_f64);
        for side in &outcome.study.sides {
            let levels = self.levels(grid, side);
            for (seat, level) in side.response().seats.iter().zip(&levels) {
                let total: f64 = level.iter().map(|l| l * l).sum();
                square += seat.weight * total / level.len().max(1) as f64;
                weight += seat.weight;
            }
            let slices: Vec<&[f64]> = levels.iter().map(Vec::as_slice).collect();
            spread_db = spread_db.max(seat::spread_of(&slices));
        }
        ((square / f64::max(weight, f64::MIN_POSITIVE)).sqrt(), spread_db)
    }

    /// Level in the band against its mean, the tilt taken out, dB, one list a seat.
    fn levels(&self, grid: &Grid, side: &SideStudy) -> Vec<Vec<f64>> {
        let range = grid.within(self.band_hz.0, self.band_hz.1);
        let tilt = |hz: &f64| self.tilt_db_per_octave * (hz / self.band_hz.0).log2();
        let of = |seat: &SeatResponse| {
            let level: Vec<f64> = SeatResponse::level_db(&seat.sum)
                .iter()
                .zip(grid.frequency_hz())
                .map(|(db, hz)| db - tilt(hz))
                .collect();
            let mean = Deviation::of(grid, &level, self.band_hz.0, self.band_hz.1);
            let mean_db = mean.map_or(0.0, |d| d.mean_db);
            level[range.clone()].iter().map(|l| l - mean_db).collect()
        };
        side.response().seats.iter().map(of).collect()
    }
}
