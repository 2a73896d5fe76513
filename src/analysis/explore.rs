//! Crossover frequency, orders and topology searched too: every candidate is tuned, and those that
//! no other beats in everything are kept. And cost-down: each part taken out in turn.

use super::compare::{self, Outcome, Variant};
use super::deviation::Deviation;
use super::side::SeatResponse;
use super::study::StudyError;
use super::synthesis;
use super::tune::{self, Effort};
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::slope::{Family, Slope};
use crate::design::{
    Crossover, Design, Flatten, LoadRule, PolarityRule, Shaping, Target, Topology, TweeterLevel,
    Ways,
};
use crate::grid::Grid;

/// Orders of low-pass and high-pass that are tried.
const ORDERS: [(u32, u32); 8] = [(1, 1), (1, 2), (2, 2), (2, 3), (3, 2), (3, 3), (3, 4), (4, 4)];
/// Crossover frequencies that are tried, as factors of the design's own.
const FREQUENCIES: [f64; 5] = [0.7, 0.84, 1.0, 1.19, 1.41];

/// A tuned candidate.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// What it comes to, with preferred values.
    pub outcome: Outcome,
    /// The design, a listed network with preferred values.
    pub design: Design,
    /// Deviation over the band of the explored design's own target, dB rms: one band for all
    /// candidates, whatever their crossover frequency.
    pub rms_db: f64,
}

/// What a candidate is judged by; less is better in each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merit {
    /// Deviation, dB rms.
    pub rms_db: f64,
    /// Minus the lowest impedance, Ω: less is better here too.
    pub minus_lowest_ohm: f64,
    /// Cost where all prices are known, else the number of parts.
    pub price: f64,
    /// Heat in the tweeter at its resonance relative to bw1, dB.
    pub heat_db: f64,
    /// Difference between the seats, dB.
    pub spread_db: f64,
}

impl Merit {
    /// The merit of a candidate.
    pub fn of(candidate: &Candidate) -> Self {
        let outcome = &candidate.outcome;
        Self {
            rms_db: candidate.rms_db,
            minus_lowest_ohm: -outcome.lowest_ohm,
            price: outcome.cost.unwrap_or(outcome.parts as f64),
            heat_db: outcome.tweeter_heat_db,
            spread_db: outcome.spread_db,
        }
    }

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
    let band_hz = design.target().band_hz;
    let outcomes = compare::outcomes(tuned.clone(), &grid)?;
    let all: Vec<Candidate> = outcomes
        .into_iter()
        .zip(tuned)
        .map(|(outcome, variant)| Candidate::new(outcome, variant.design, band_hz))
        .collect();
    let bound = design.target().cost.unwrap_or(f64::INFINITY);
    let all: Vec<Candidate> =
        all.into_iter().filter(|c| c.outcome.cost.is_none_or(|cost| cost <= bound)).collect();
    let keep = non_dominated(&all);
    let mut kept: Vec<Candidate> =
        all.into_iter().zip(keep).filter_map(|(c, keep)| keep.then_some(c)).collect();
    let price = |c: &Candidate| Merit::of(c).price;
    kept.sort_by(|a, b| price(a).total_cmp(&price(b)).then(a.rms_db.total_cmp(&b.rms_db)));
    Ok(thinned(kept))
}

/// The candidates, cheapest first, without those for which one already kept serves as well.
fn thinned(candidates: Vec<Candidate>) -> Vec<Candidate> {
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in candidates {
        let merit = Merit::of(&candidate);
        if !kept.iter().any(|k| Merit::of(k).serves_for(&merit)) {
            kept.push(candidate);
        }
    }
    kept
}

impl Candidate {
    fn new(outcome: Outcome, design: Design, band_hz: (f64, f64)) -> Self {
        let rms_db = band_rms_db(&outcome, band_hz);
        Self { outcome, design, rms_db }
    }
}

/// Deviation over a band, by the seats' weights and over all sides, dB rms.
fn band_rms_db(outcome: &Outcome, band_hz: (f64, f64)) -> f64 {
    let grid = &outcome.study.grid;
    let (mut square, mut weight) = (0.0, 0.0);
    for seat in outcome.study.sides.iter().flat_map(|s| &s.response().seats) {
        let level = SeatResponse::level_db(&seat.sum);
        if let Some(d) = Deviation::of(grid, &level, band_hz.0, band_hz.1) {
            square += seat.weight * d.rms_db.powi(2);
            weight += seat.weight;
        }
    }
    (square / f64::max(weight, f64::MIN_POSITIVE)).sqrt()
}

/// Which candidates are fit and beaten by no other fit one.
pub fn non_dominated(candidates: &[Candidate]) -> Vec<bool> {
    let fit = |c: &Candidate| (!c.outcome.study.is_unfit()).then(|| Merit::of(c));
    let merits: Vec<Option<Merit>> = candidates.iter().map(fit).collect();
    let beaten = |merit: &Merit| merits.iter().flatten().any(|other| other.beats(merit));
    merits.iter().map(|merit| merit.as_ref().is_some_and(|m| !beaten(m))).collect()
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
                starts.push((label, listed(&at, network)));
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

fn listed(design: &Design, network: Network) -> Design {
    let mut listed = design.clone();
    listed.crossover = Crossover {
        at_hz: design.crossover.at_hz,
        topology: Topology::Listed(network),
        polarity: PolarityRule::Best,
    };
    listed
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

/// What taking parts out saves and loses.
#[derive(Debug, Clone)]
pub struct Saving {
    /// The parts taken out, "R1 C3"; empty for the design as it is.
    pub reference: String,
    /// "left out", "bridged by a wire", or "as it is".
    pub how: &'static str,
    /// The tuned candidate without them.
    pub candidate: Candidate,
}

/// The design tuned as it is, then without each part in turn, the rest tuned anew. What a part
/// leaves dangling goes with it, so that a branch is taken out whole. A coil or resistor in the
/// way is bridged by a wire instead; a capacitor never is, since it keeps direct current and bass
/// from what stands behind it.
///
/// # Errors
/// A design that cannot be studied.
pub fn cost_down(design: &Design, effort: Effort<'_>) -> Result<Vec<Saving>, StudyError> {
    let full = synthesis::network_for(design, &design.sides[0])?.network;
    let mut savings = vec![saving(design, String::new(), "as it is", &full, effort)?];
    let mut tried: Vec<String> = Vec::new();
    for (k, part) in full.parts.iter().enumerate() {
        if !(effort.go_on)() {
            break;
        }
        let ways = [(full.without(k).pruned(), "left out"), (full.bridged(k), "bridged by a wire")];
        let bridgeable = !matches!(part.component, Component::Capacitor { .. })
            && !part.nodes.contains(&Node::RETURN);
        for (network, how) in ways.into_iter().take(if bridgeable { 2 } else { 1 }) {
            let gone = missing(&full, &network);
            let name = format!("{gone} {how}");
            let alive = network.check().is_ok() && network.feeds_every_port();
            if !alive || network.parts.is_empty() || tried.contains(&name) {
                continue;
            }
            tried.push(name);
            savings.extend(saving(design, gone, how, &network, effort).ok());
        }
    }
    Ok(savings)
}

/// References of the parts that `less` has no more.
fn missing(full: &Network, less: &Network) -> String {
    let kept = |name: &String| less.parts.iter().any(|p| p.reference == *name);
    let gone = full.parts.iter().map(|p| &p.reference).filter(|name| !kept(name));
    gone.cloned().collect::<Vec<_>>().join(" ")
}

fn saving(
    design: &Design,
    reference: String,
    how: &'static str,
    network: &Network,
    effort: Effort<'_>,
) -> Result<Saving, StudyError> {
    let mut start = listed(design, network.clone());
    start.crossover.polarity = design.crossover.polarity;
    let target = Target { fixed: Vec::new(), ..design.target() };
    let chosen = tune::tune(&start, &target, effort)?.chosen;
    let label = if reference.is_empty() { how.to_owned() } else { format!("{reference} {how}") };
    let variant = Variant { label, design: chosen.clone() };
    let outcome = compare::outcomes(vec![variant], &Grid::audible(480)?)?.remove(0);
    let candidate = Candidate::new(outcome, chosen, design.target().band_hz);
    Ok(Saving { reference, how, candidate })
}
