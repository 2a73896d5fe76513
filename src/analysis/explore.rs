//! Crossover frequency, orders and topology searched too: every candidate is tuned, and those that
//! no other beats in everything are kept.

pub mod merit;

use super::compare::{self, Variant};
use super::study::StudyError;
use super::synthesis;
use super::tune::{self, Effort};
use crate::circuit::network::Network;
use crate::circuit::slope::{Family, Slope};
use crate::design::{Design, Flatten, LoadRule, PolarityRule, Shaping, Target, TweeterLevel, Ways};
use crate::grid::Grid;
use merit::{Candidate, Yardstick};

/// Orders of low-pass and high-pass that are tried.
const ORDERS: [(u32, u32); 8] = [(1, 1), (1, 2), (2, 2), (2, 3), (3, 2), (3, 3), (3, 4), (4, 4)];
/// Crossover frequencies that are tried, as factors of the design's own.
const FREQUENCIES: [f64; 5] = [0.7, 0.84, 1.0, 1.19, 1.41];

/// Tunes every candidate around `design` and keeps those that none beats, cheapest first, and of
/// those that hardly differ one. Stops early, with what it has, when the effort's `go_on` says so.
///
/// # Errors
/// A candidate that cannot be studied.
pub fn explore(design: &Design, effort: Effort<'_>) -> Result<Vec<Candidate>, StudyError> {
    let grid = Grid::audible(480)?;
    let mut tuned = Vec::new();
    for (label, start) in starts(design)? {
        if !(effort.go_on)() {
            break;
        }
        let target = target(design, &start);
        let chosen = tune::tune(&start, &target, effort)?.chosen;
        tuned.push(Variant { label, design: chosen });
    }
    let outcomes = compare::outcomes(tuned.clone(), &grid)?;
    let yardstick = Yardstick::of(design, &outcomes)?;
    let all: Vec<Candidate> = outcomes
        .into_iter()
        .zip(tuned)
        .map(|(outcome, variant)| yardstick.measure(outcome, variant.design))
        .collect();
    let bound = design.target().cost.unwrap_or(f64::INFINITY);
    let all: Vec<Candidate> =
        all.into_iter().filter(|c| c.outcome.cost.is_none_or(|cost| cost <= bound)).collect();
    let keep = non_dominated(&all);
    let mut kept: Vec<Candidate> =
        all.into_iter().zip(keep).filter_map(|(c, keep)| keep.then_some(c)).collect();
    let order = |c: &Candidate| (c.merit.price, c.merit.rms_db);
    kept.sort_by(|a, b| {
        let ((price, rms), (other, other_rms)) = (order(a), order(b));
        price.total_cmp(&other).then(rms.total_cmp(&other_rms))
    });
    Ok(thinned(kept))
}

/// The candidates, cheapest first, without those for which one already kept serves as well.
fn thinned(candidates: Vec<Candidate>) -> Vec<Candidate> {
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in candidates {
        if !kept.iter().any(|k| k.merit.serves_for(&candidate.merit)) {
            kept.push(candidate);
        }
    }
    kept
}

/// Which candidates are fit and beaten by no other fit one.
pub fn non_dominated(candidates: &[Candidate]) -> Vec<bool> {
    let fit = |c: &&Candidate| !c.outcome.study.is_unfit();
    let beaten = |c: &Candidate| candidates.iter().filter(fit).any(|o| o.merit.beats(&c.merit));
    candidates.iter().map(|c| fit(&c) && !beaten(c)).collect()
}

/// Every start: orders, frequencies, the woofer's coil flattened or not, as listed networks.
fn starts(design: &Design) -> Result<Vec<(String, Design)>, StudyError> {
    let mut starts = Vec::new();
    for factor in FREQUENCIES {
        let mut at = design.clone();
        // Three digits are enough for a search and read well.
        let hz = design.crossover.at_hz * factor;
        at.crossover.at_hz = format!("{hz:.2e}").parse().unwrap_or(hz).clamp(20.0, 20_000.0);
        for (low, high) in ORDERS {
            for flatten in [Flatten::Nothing, Flatten::Coil] {
                let network = network(&at, low, high, flatten)?;
                let flat = if flatten == Flatten::Coil { ", flat" } else { "" };
                let hz = crate::units::hertz(at.crossover.at_hz);
                let label = format!("orders {low} and {high}{flat}, {hz}");
                starts.push((label, at.with_network(network, PolarityRule::Best)));
            }
        }
    }
    Ok(starts)
}

fn network(design: &Design, low: u32, high: u32, flatten: Flatten) -> Result<Network, StudyError> {
    let slope = |order: u32| Slope::new(Family::Butterworth, order).unwrap_or(Slope::ALL[0]);
    let slopes = Ways { woofer: slope(low), tweeter: slope(high) };
    let shaping = Ways { woofer: Shaping { flatten, shelf: None }, tweeter: Shaping::default() };
    let made = synthesis::textbook(
        design,
        &design.sides[0],
        slopes,
        LoadRule::ImpedanceAtCrossover,
        TweeterLevel::Match,
        &shaping,
    )?;
    Ok(made.network)
}

/// The target that the design states, met at the candidate's frequency; the usual one of the
/// candidate where it states none. Named parts are not held: each candidate has its own.
fn target(design: &Design, start: &Design) -> Target {
    let own = design.target();
    let usual = Target::of(&start.crossover, own.lowest_ohm);
    let at_hz = start.crossover.at_hz;
    let stated = design.target.is_some() && own.band_hz.0 < at_hz && at_hz < own.band_hz.1;
    let base = if stated { own } else { Target { bounds: own.bounds, ..usual } };
    Target { at_hz, fixed: Vec::new(), ..base }
}
