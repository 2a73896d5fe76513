//! How many units of a run are accepted, why others are not, and which tolerance decides.

pub mod accept;
pub mod classes;
pub mod deciding;
pub mod tally;
pub mod whole;

use super::batch::{Batch, Shift};
use super::proportion::Proportion;
use super::study::StudyError;
use crate::circuit::lanes::LANES;
use crate::circuit::network::{Component, Network};
use crate::design::Design;
use crate::grid::Grid;
use accept::Judge;
use rayon::prelude::*;
use tally::Tally;

/// Units that one task works on.
const CHUNK: u64 = 256;

/// How much is to be drawn.
#[derive(Clone, Copy)]
pub struct Draws<'f> {
    /// Units.
    pub units: u64,
    /// Seed of the chances.
    pub seed: u64,
    /// Asked now and then: whether to go on.
    pub go_on: &'f (dyn Fn() -> bool + Sync),
}

/// A design ready to be drawn from.
#[derive(Debug, Clone)]
pub struct Line {
    /// The units.
    pub batch: Batch,
    /// What they have to keep.
    pub judge: Judge,
}

/// What came of some draws.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// Counts.
    pub tally: Tally,
    /// Units of a lot.
    pub per_lot: u32,
    /// Share of good ones.
    pub good: Proportion,
}

/// Why there is no yield.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum YieldError {
    /// It cannot be simulated.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// Nothing to keep.
    #[error(
        "the design states no window that a unit must keep: add [run.window] or [run.acceptance]"
    )]
    NoWindow,
    /// The grid is too coarse for the window.
    #[error("no frequency of the grid lies in the window: take more points")]
    NoPoint,
}

impl Line {
    /// The production line of a design on `points` frequencies from 20 Hz to 20 kHz.
    ///
    /// # Errors
    /// A design without a window, or one that cannot be simulated.
    pub fn of(design: &Design, points: usize) -> Result<Self, YieldError> {
        let acceptance = design.acceptance().ok_or(YieldError::NoWindow)?;
        if let Some(airless) = super::clearance::without_air(design) {
            let text = format!("{}: {}", airless.subject, airless.text);
            return Err(StudyError::NoAir(text).into());
        }
        let grid = Grid::audible(points).map_err(StudyError::from)?;
        let batch = Batch::of(design, &grid)?;
        let judge = Judge::of(&acceptance, &batch).ok_or(YieldError::NoPoint)?;
        Ok(Self { batch, judge })
    }

    /// The same line after years: electrolytic capacitors, fill and suspensions aged.
    #[must_use]
    pub fn aged(&self, design: &Design) -> Self {
        let ageing = &design.production.ageing;
        let mut networks = self.batch.networks();
        for (side, network) in networks.iter_mut().enumerate() {
            age(design, &self.batch, side, network);
        }
        let mut batch = self.batch.with_networks(&networks);
        batch.shift = Shift {
            fill: 1.0 - ageing.fill_loss_percent / 100.0,
            cms: 1.0 + ageing.compliance_rise_percent / 100.0,
        };
        Self { batch, judge: self.judge.clone() }
    }

    /// Draws units. With anything common to a lot they come in about as many lots as a lot has
    /// units; each is a lot of its own in one piece where nothing is common. Ended early, the
    /// counts are those of the units drawn so far.
    pub fn draw(&self, draws: Draws<'_>) -> Drawn {
        let common = self.batch.spread.factors.iter().any(|f| f.lot_share > 0.0 && f.scale > 0.0);
        let per_lot = if common { (draws.units as f64).sqrt().ceil() as u64 } else { 1 };
        let per_lot = per_lot.max(1);
        let lots = draws.units.div_ceil(per_lot) as usize;
        let rows = self.batch.scratch().levels.over_design_db.len();
        let chunks = draws.units.div_ceil(CHUNK);
        let empty = || (Tally::new(lots, rows), self.batch.scratch());
        let tally = (0..chunks)
            .into_par_iter()
            .fold(empty, |(mut tally, mut scratch), chunk| {
                if (draws.go_on)() {
                    let units = chunk * CHUNK..((chunk + 1) * CHUNK).min(draws.units);
                    self.chunk(units, per_lot, draws.seed, &mut tally, &mut scratch);
                }
                (tally, scratch)
            })
            .map(|(tally, _)| tally)
            .reduce(|| Tally::new(lots, 0), merge);
        let good = if tally.units < draws.units {
            // Cut short: lots are not whole, and are left out of account.
            let good = tally.good.iter().sum();
            Proportion::of_lots(&[good], u32::try_from(tally.units).unwrap_or(u32::MAX))
        } else {
            Proportion::of_lots(&whole_lots(&tally, per_lot), per_lot as u32)
        };
        Drawn { tally, per_lot: per_lot as u32, good }
    }

    fn chunk(
        &self,
        units: std::ops::Range<u64>,
        per_lot: u64,
        seed: u64,
        tally: &mut Tally,
        scratch: &mut super::batch::Scratch,
    ) {
        let spread = &self.batch.spread;
        let mut values = vec![vec![0.0; spread.factors.len()]; LANES];
        let mut lot = (u64::MAX, spread.nominal_lot());
        for first in units.clone().step_by(LANES) {
            let count = (units.end - first).min(LANES as u64) as usize;
            for (lane, values) in values.iter_mut().enumerate().take(count) {
                let unit = first + lane as u64;
                if lot.0 != unit / per_lot {
                    lot = (unit / per_lot, spread.lot(seed, unit / per_lot));
                }
                spread.values(&lot.1, &spread.scores(seed, unit), values);
            }
            let lanes = std::array::from_fn(|lane| &values[lane.min(count - 1)][..]);
            self.batch.simulate(&lanes, scratch);
            let verdicts = self.judge.judge(&mut scratch.levels);
            tally.count(&verdicts, &scratch.levels, first, count, per_lot);
        }
    }

    /// Departures of the unit that was worst, dB, one row a side and seat.
    pub fn departures_db(&self, drawn: &Drawn, seed: u64) -> Vec<Vec<f64>> {
        let unit = drawn.tally.worst.1;
        let spread = &self.batch.spread;
        let lot = spread.lot(seed, unit / u64::from(drawn.per_lot));
        let mut values = vec![0.0; spread.factors.len()];
        spread.values(&lot, &spread.scores(seed, unit), &mut values);
        let mut scratch = self.batch.scratch();
        self.batch.simulate(&[&values[..]; LANES], &mut scratch);
        self.judge.judge(&mut scratch.levels);
        let rows = scratch.levels.over_design_db.chunks_exact(self.batch.grid.len());
        rows.map(|row| row.iter().map(|l| l[0]).collect()).collect()
    }
}

/// An empty tally without rows is nothing at all.
fn merge(a: Tally, b: Tally) -> Tally {
    match (a.units, b.units) {
        (0, _) => b,
        (_, 0) => a,
        _ => a.with(&b),
    }
}

/// Good units of the lots; the last one, where it is not whole, as if it were.
fn whole_lots(tally: &Tally, per_lot: u64) -> Vec<u32> {
    let mut good = tally.good.clone();
    let rest = tally.units % per_lot;
    if let (Some(last), true) = (good.last_mut(), rest > 0) {
        *last = (f64::from(*last) * per_lot as f64 / rest as f64).round() as u32;
    }
    good
}

/// Electrolytic capacitors lose capacitance and gain resistance.
fn age(design: &Design, batch: &Batch, side: usize, network: &mut Network) {
    let ageing = &design.production.ageing;
    for (k, part) in network.parts.iter_mut().enumerate() {
        let wet = batch.spread.electrolytic(side, k) || ageing.capacitors.contains(&part.reference);
        if let (Component::Capacitor { farad, esr_ohm }, true) = (part.component, wet) {
            part.component = Component::Capacitor {
                farad: farad * (1.0 - ageing.capacitor_loss_percent / 100.0),
                esr_ohm: esr_ohm * ageing.esr_factor,
            };
        }
    }
}
