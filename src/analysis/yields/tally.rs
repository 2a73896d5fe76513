//! Counts over any number of units in the same room: whole numbers alone, so that the order in
//! which threads bring them does not matter.

use super::accept::{Cause, Verdicts};
use crate::analysis::batch::Levels;
use crate::circuit::lanes::LANES;

/// Width of a bin of a histogram, dB.
pub const BIN_DB: f64 = 0.02;
/// Departures are counted from minus this to this, dB; what is beyond goes into the last bin.
const FARTHEST_DB: f64 = 8.0;
const BINS: usize = (2.0 * FARTHEST_DB / BIN_DB) as usize;

/// What was found of many units.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// Units judged.
    pub units: u64,
    /// Good units of each lot.
    pub good: Vec<u32>,
    /// Units that fail for each cause, in the order of [`Cause::ALL`].
    pub causes: [u64; 4],
    /// Units that fail for this cause alone.
    pub only: [u64; 4],
    /// Histogram of the largest departure of a unit.
    pub deviation: Vec<u32>,
    /// The unit that uses most of its limits: how much, and its number.
    pub worst: (f64, u64),
    /// Largest and smallest departure of each row, dB.
    pub extremes: Vec<(f64, f64)>,
    /// Histogram of the departures of each row (side, seat, frequency), one after the other.
    rows: Vec<u32>,
}

impl Tally {
    /// Nothing counted yet, for `lots` lots and `rows` sides × seats × frequencies.
    pub fn new(lots: usize, rows: usize) -> Self {
        Self {
            units: 0,
            good: vec![0; lots],
            causes: [0; 4],
            only: [0; 4],
            deviation: vec![0; BINS],
            worst: (f64::NEG_INFINITY, u64::MAX),
            extremes: vec![(f64::INFINITY, f64::NEG_INFINITY); rows],
            rows: vec![0; rows * BINS],
        }
    }

    /// Counts the first `count` lanes, units `first`, `first` + 1, … of lots of `per_lot`.
    pub fn count(
        &mut self,
        verdicts: &Verdicts,
        levels: &Levels,
        first: u64,
        count: usize,
        per_lot: u64,
    ) {
        for lane in 0..count.min(LANES) {
            self.verdict(verdicts, lane, first + lane as u64, per_lot);
        }
        let rows = levels.over_design_db.iter().zip(&mut self.extremes);
        for ((level, extreme), bins) in rows.zip(self.rows.chunks_exact_mut(BINS)) {
            for value in &level[..count.min(LANES)] {
                extreme.0 = extreme.0.min(*value);
                extreme.1 = extreme.1.max(*value);
                bins[bin(*value)] += 1;
            }
        }
    }

    fn verdict(&mut self, verdicts: &Verdicts, lane: usize, unit: u64, per_lot: u64) {
        self.units += 1;
        self.good[(unit / per_lot) as usize] += u32::from(verdicts.good(lane));
        let fails = |k: usize| !matches!(verdicts.used[k][lane], used if used <= 1.0);
        let failed: Vec<usize> = (0..Cause::ALL.len()).filter(|k| fails(*k)).collect();
        failed.iter().for_each(|k| self.causes[*k] += 1);
        if let [one] = failed[..] {
            self.only[one] += 1;
        }
        self.deviation[bin(verdicts.deviation_db[lane])] += 1;
        self.worse((verdicts.most(lane), unit));
    }

    fn worse(&mut self, other: (f64, u64)) {
        let (most, unit) = self.worst;
        if other.0 > most || (other.0 == most && other.1 < unit) {
            self.worst = other;
        }
    }

    /// Both together.
    #[must_use]
    pub fn with(mut self, other: &Self) -> Self {
        let add = |a: &mut [u32], b: &[u32]| a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
        self.units += other.units;
        add(&mut self.good, &other.good);
        add(&mut self.deviation, &other.deviation);
        add(&mut self.rows, &other.rows);
        for k in 0..Cause::ALL.len() {
            self.causes[k] += other.causes[k];
            self.only[k] += other.only[k];
        }
        for (a, b) in self.extremes.iter_mut().zip(&other.extremes) {
            *a = (a.0.min(b.0), a.1.max(b.1));
        }
        self.worse(other.worst);
        self
    }

    /// The departure that `p` of the units have at most at row `row`, dB, to half a bin.
    pub fn row_quantile_db(&self, row: usize, p: f64) -> f64 {
        quantile(&self.rows[row * BINS..(row + 1) * BINS], p)
    }

    /// The largest departure that `p` of the units have at most, dB.
    pub fn deviation_quantile_db(&self, p: f64) -> f64 {
        quantile(&self.deviation, p)
    }

    /// Middle (dB) and units of each bin of the largest departures, `together` bins as one, up to
    /// the last that is not empty.
    pub fn deviations(&self, together: usize) -> Vec<(f64, u64)> {
        let last = self.deviation.iter().rposition(|n| *n > 0).unwrap_or(BINS / 2);
        let bins = self.deviation[BINS / 2..=last.max(BINS / 2)].chunks(together);
        let middle = |k: usize| (k as f64 + 0.5) * together as f64 * BIN_DB;
        let sum = |bins: &[u32]| bins.iter().map(|n| u64::from(*n)).sum();
        bins.enumerate().map(|(k, bins)| (middle(k), sum(bins))).collect()
    }
}

fn bin(value: f64) -> usize {
    // A value that is no number goes into the first bin: `as` makes it 0.
    (((value + FARTHEST_DB) / BIN_DB) as usize).min(BINS - 1)
}

/// Straight within the bin.
fn quantile(bins: &[u32], p: f64) -> f64 {
    let total: u64 = bins.iter().map(|n| u64::from(*n)).sum();
    let wanted = p * total as f64;
    let mut below = 0.0;
    for (k, count) in bins.iter().enumerate() {
        let count = f64::from(*count);
        if below + count >= wanted && count > 0.0 {
            let share = ((wanted - below) / count).clamp(0.0, 1.0);
            return (k as f64 + share) * BIN_DB - FARTHEST_DB;
        }
        below += count;
    }
    FARTHEST_DB
}
