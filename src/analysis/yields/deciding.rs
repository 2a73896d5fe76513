//! Which tolerance decides: the variance of how much of its limits a unit uses, by its sources.

use super::Line;
use crate::analysis::chance::Chance;
use crate::analysis::spread::{Factor, Lot, What};
use crate::analysis::variance::{self, Share, Shares, Variant};
use crate::circuit::lanes::LANES;

/// A source of variance: scores that are drawn together.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// "C1", "woofer Mms, unit".
    pub name: String,
    /// Its shares.
    pub share: Share,
}

/// The sources, those with the largest total first.
#[derive(Debug, Clone, PartialEq)]
pub struct Deciding {
    /// Mean and variance of the use of the limits.
    pub of: Shares,
    /// Ranked.
    pub sources: Vec<Source>,
}

/// Which source the score of a factor belongs to, that of the unit and that of the lot.
struct Grouped {
    names: Vec<String>,
    unit: Vec<usize>,
    lot: Vec<usize>,
}

impl Grouped {
    fn of(factors: &[Factor], lots: usize) -> Self {
        let mut grouped = Self { names: Vec::new(), unit: Vec::new(), lot: vec![0; lots] };
        for factor in factors {
            // Mass, compliance, losses, force and resistance by lot and unit; the rest together.
            let element = matches!(factor.what, What::Element(_, k) if k < 5);
            let name = &factor.name;
            let (unit, lot) = match element {
                true => (format!("{name}, unit"), format!("{name}, lot")),
                false => (name.clone(), name.clone()),
            };
            let unit = grouped.index(unit);
            grouped.unit.push(unit);
            grouped.lot[factor.lot] = grouped.index(lot);
        }
        grouped
    }

    fn index(&mut self, name: String) -> usize {
        self.names.iter().position(|n| *n == name).unwrap_or_else(|| {
            self.names.push(name);
            self.names.len() - 1
        })
    }
}

/// Finds the deciding sources from `samples` pairs of units of this seed.
pub fn deciding(line: &Line, samples: usize, seed: u64) -> Deciding {
    let spread = &line.batch.spread;
    let grouped = Grouped::of(&spread.factors, spread.lots);
    let inputs = grouped.names.len();
    let of = variance::shares(inputs, samples, |sample, variants| {
        // Far from the rows that yields are drawn from.
        let rows = [0, 1].map(|k| Chance::of(seed ^ 0x5eed).row(1 << 40 | (2 * sample + k)));
        evaluate(line, &grouped, rows, variants)
    });
    let mut sources: Vec<Source> = grouped
        .names
        .iter()
        .zip(&of.shares)
        .map(|(name, share)| Source { name: name.clone(), share: *share })
        .collect();
    sources.sort_by(|a, b| b.share.total.total_cmp(&a.share.total).then(a.name.cmp(&b.name)));
    Deciding { of, sources }
}

fn evaluate(line: &Line, grouped: &Grouped, rows: [Chance; 2], variants: &[Variant]) -> Vec<f64> {
    let spread = &line.batch.spread;
    let lots = spread.lots;
    let score = |variant: Variant, group: usize, place: usize| {
        rows[usize::from(variant.is_b(group))].normal(place as u64)
    };
    let mut scratch = line.batch.scratch();
    let mut outcomes = Vec::with_capacity(variants.len());
    for some in variants.chunks(LANES) {
        let mut values = vec![vec![0.0; spread.factors.len()]; some.len()];
        for (variant, values) in some.iter().zip(&mut values) {
            let own = grouped.lot.iter().enumerate();
            let lot = Lot { scores: own.map(|(k, g)| score(*variant, *g, k)).collect() };
            let own = grouped.unit.iter().enumerate();
            let scores: Vec<f64> = own.map(|(k, g)| score(*variant, *g, lots + k)).collect();
            spread.values(&lot, &scores, values);
        }
        let lanes = std::array::from_fn(|lane| &values[lane.min(some.len() - 1)][..]);
        line.batch.simulate(&lanes, &mut scratch);
        let verdicts = line.judge.judge(&mut scratch.levels);
        outcomes.extend((0..some.len()).map(|lane| verdicts.most(lane)));
    }
    outcomes
}
