//! Values for a network that meet a target at the listeners: a continuous search from several
//! starts, then preferred values for all parts together.

pub mod bounds;
pub mod continuous;
pub mod discrete;
pub mod problem;
pub mod view;

use super::choice::Chosen;
use super::shelf::{Pick, Shelf};
use super::side;
use super::study::StudyError;
use super::synthesis;
use super::till::Till;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network};
use crate::circuit::prototype;
use crate::design::{Design, PolarityRule, Target, Ways};
use crate::grid::{Grid, level_db};
use continuous::{Bounds, Found};
use discrete::{Market, Picked};
use problem::Problem;
use view::View;

/// How the search is run.
#[derive(Clone, Copy)]
pub struct Effort<'a> {
    /// Continuous starts for each polarity.
    pub starts: u64,
    /// Seed of the starts.
    pub seed: u64,
    /// Asked now and then: whether to go on. What is found so far is kept.
    pub go_on: &'a (dyn Fn() -> bool + Sync),
}

/// Values found.
#[derive(Debug, Clone)]
pub struct Tuned {
    /// The design with the continuous optimum as a listed network.
    pub exact: Design,
    /// The design with preferred values as a listed network.
    pub chosen: Design,
    /// Cost before, at the continuous optimum, and with preferred values; the last holds a small
    /// charge for each second part of a pair.
    pub costs: [f64; 3],
    /// Deviation of the sum from the target over its band before, at the continuous optimum, and
    /// with preferred values, dB rms.
    pub target_rms_db: [f64; 3],
    /// Bounds that hold the preferred values back, in words.
    pub binding: Vec<String>,
    /// Bounds that they miss, in words.
    pub missed: Vec<String>,
    /// The same deviation with one part 10 % off (the worse of more and less), dB rms; one a free
    /// part, with its reference.
    pub sensitivity: Vec<(String, f64)>,
}

/// Points an octave of the grid that a search begins with.
const COARSE: f64 = 16.0;
/// Points an octave of the grid that results are judged on, that of the plots.
const FINE: f64 = 48.0;

/// Tunes the network of the design's first side for the target, over all sides.
///
/// A dip of the impedance can hide between the points of the search: what misses its bound on the
/// finer grid is sought again there.
///
/// # Errors
/// A network that cannot be synthesised or solved.
pub fn tune(design: &Design, target: &Target, effort: Effort<'_>) -> Result<Tuned, StudyError> {
    let quick = search(design, target, effort, COARSE)?;
    if !quick.too_low || !(effort.go_on)() {
        return Ok(quick.tuned);
    }
    Ok(search(design, target, effort, FINE)?.tuned)
}

/// What the start comes to, in the polarity that suits it better.
struct Before {
    cost: f64,
    rms_db: f64,
}

/// A result, and whether its impedance is below the bound.
struct Attempt {
    tuned: Tuned,
    too_low: bool,
}

fn search(
    design: &Design,
    target: &Target,
    effort: Effort<'_>,
    per_octave: f64,
) -> Result<Attempt, StudyError> {
    let start = synthesis::network_for(design, &design.sides[0])?.network;
    let polarities: &[Polarity] = match design.crossover.polarity {
        PolarityRule::Best => &[Polarity::Normal, Polarity::Inverted],
        PolarityRule::Fixed(Polarity::Normal) => &[Polarity::Normal],
        PolarityRule::Fixed(Polarity::Inverted) => &[Polarity::Inverted],
    };
    let mut best: Option<(Polarity, Problem, Found)> = None;
    let mut before = Before { cost: f64::INFINITY, rms_db: f64::INFINITY };
    for &polarity in polarities {
        let problem = problem(design, target, &start, polarity, per_octave)?;
        let from = values(&problem);
        let cost = problem.residuals(&from)?.cost();
        if cost < before.cost {
            before = Before { cost, rms_db: problem.sum_rms_db(&problem.with_values(&from))? };
        }
        let bounds = value_bounds(&problem);
        let found =
            continuous::search(&problem, &bounds, &from, effort.starts, effort.seed, effort.go_on);
        let found = found.unwrap_or(Found { values: from, cost });
        if best.as_ref().is_none_or(|(_, _, b)| found.cost < b.cost) {
            best = Some((polarity, problem, found));
        }
    }
    // There is at least one polarity to try.
    let Some((polarity, problem, found)) = best else {
        return Err(StudyError::NoAir("nothing to tune".into()));
    };
    let market = market(design, &problem);
    let picked = discrete::search(&problem, &market, &found, effort.go_on);
    // The discrete search may have found a better valley than the starts did.
    let again = continuous::descend(&problem, &value_bounds(&problem), &values_of(&picked));
    let found = again.filter(|a| a.cost < found.cost).unwrap_or(found);
    let judged = self::problem(design, target, &start, polarity, FINE)?;
    let too_low = [&found.values, &values_of(&picked)].iter().any(|values| {
        let network = judged.with_values(values);
        bounds::is_low(&judged, bounds::lowest_ohm(&judged, &network))
    });
    let run = Run { polarity, market: &market, before, found: &found, picked: &picked };
    let tuned = finished(design, &judged, &run);
    Ok(Attempt { tuned, too_low })
}

fn values_of(picked: &Picked) -> Vec<f64> {
    picked.picks.iter().map(|p| p.choice.value).collect()
}

fn problem(
    design: &Design,
    target: &Target,
    start: &Network,
    polarity: Polarity,
    per_octave: f64,
) -> Result<Problem, StudyError> {
    // The whole band: the impedance has its lowest point anywhere.
    let points = (1000f64.log2() * per_octave).ceil() as usize + 1;
    let grid = Grid::audible(points)?;
    let mut network = start.clone();
    let output_ohm = design.amplifier.output_ohm;
    if output_ohm > 0.0 {
        side::prepend_source(&mut network, output_ohm);
    }
    let free = (0..start.parts.len())
        .filter(|&i| !target.fixed.contains(&start.parts[i].reference))
        .collect();
    let follows = |component: &Component| match component {
        Component::Inductor { .. } => 0.5,
        _ => 0.0,
    };
    Ok(Problem {
        views: design
            .sides
            .iter()
            .map(|s| View::new(design, s, &grid, polarity, target.power_weight > 0.0))
            .collect::<Result<_, _>>()?,
        target: target.clone(),
        sign: polarity.sign(),
        output_ohm,
        free,
        loss_follows: network.parts.iter().map(|p| follows(&p.component)).collect(),
        network,
        bare: start.clone(),
        impedance_weight: problem::IMPEDANCE_WEIGHT,
        ways_db: ways_db(target, &grid),
        band: grid.within(target.band_hz.0, target.band_hz.1),
        grid,
    })
}

fn ways_db(target: &Target, grid: &Grid) -> Ways<Vec<f64>> {
    let level = |pick: fn((num_complex::Complex64, num_complex::Complex64)) -> f64| {
        let at =
            |hz: &f64| level_db(pick(prototype::responses(target.slope, hz / target.at_hz)), 1.0);
        grid.frequency_hz().iter().map(at).collect()
    };
    Ways { woofer: level(|(low, _)| low.norm()), tweeter: level(|(_, high)| high.norm()) }
}

/// Values of the free parts as they stand.
fn values(problem: &Problem) -> Vec<f64> {
    problem.free.iter().map(|&i| problem.network.parts[i].component.value()).collect()
}

/// Bounds of each free part; a start outside is moved inside.
fn value_bounds(problem: &Problem) -> Bounds {
    let of = |&i: &usize| problem.target.bounds.of(&problem.network.parts[i].component);
    problem.free.iter().map(of).collect()
}

/// What the free parts are chosen from; parts that keep their values are paid for too.
fn market<'d>(design: &'d Design, problem: &Problem) -> Market<'d> {
    let component = |i: usize| &problem.network.parts[i].component;
    let coupled = |i: usize| problem.bare.couplings.iter().any(|c| c.parts.contains(&i));
    let shelf = |&i: &usize| {
        let shelf = Shelf::of(design, component(i));
        let shelf = shelf.within(problem.target.bounds.of(component(i)));
        if coupled(i) { shelf.of_singles() } else { shelf }
    };
    let kept = (0..problem.bare.parts.len()).filter(|i| !problem.free.contains(i));
    Market {
        shelves: problem.free.iter().map(shelf).collect(),
        kept: kept.flat_map(|i| Shelf::of(design, component(i)).choose().goods).collect(),
        till: Till::of(design),
        bound: problem.target.cost,
    }
}

/// What a search has come to.
struct Run<'a> {
    polarity: Polarity,
    market: &'a Market<'a>,
    before: Before,
    found: &'a Found,
    picked: &'a Picked,
}

fn finished(design: &Design, problem: &Problem, run: &Run<'_>) -> Tuned {
    let (found, picked) = (run.found, run.picked);
    let exact = bare(problem, &found.values);
    let picked_values = values_of(picked);
    let chosen = bought(problem, picked);
    let rms = |network: &Network| problem.sum_rms_db(network).unwrap_or(f64::INFINITY);
    // As it is bought: a pair has the losses of two parts.
    let driven = driven(problem, &chosen);
    let mut verdict = bounds::judge(problem, &picked_values, &driven);
    bounds::price(run.market, &picked.picks, &mut verdict);
    let polarity = PolarityRule::Fixed(run.polarity);
    Tuned {
        exact: design.with_network(exact, polarity),
        chosen: design.with_network(chosen, polarity),
        costs: [run.before.cost, found.cost, picked.cost],
        target_rms_db: [run.before.rms_db, rms(&problem.with_values(&found.values)), rms(&driven)],
        binding: verdict.binding,
        missed: verdict.missed,
        sensitivity: sensitivity(problem, &picked_values),
    }
}

/// The network at these values as it goes into a design: without the amplifier's output.
fn bare(problem: &Problem, values: &[f64]) -> Network {
    let tuned = problem.with_values(values);
    let mut network = problem.bare.clone();
    for (part, with) in network.parts.iter_mut().zip(tuned.parts) {
        part.component = with.component;
    }
    network
}

/// A network of the design as the amplifier drives it.
fn driven(problem: &Problem, network: &Network) -> Network {
    let mut driven = network.clone();
    if problem.output_ohm > 0.0 {
        side::prepend_source(&mut driven, problem.output_ohm);
    }
    driven
}

/// The network as bought: pairs are two parts of their own.
fn bought(problem: &Problem, picked: &Picked) -> Network {
    let mut picks: Vec<Pick> = problem.bare.parts.iter().map(|p| Pick::own(p.component)).collect();
    for (&i, pick) in problem.free.iter().zip(&picked.picks) {
        picks[i] = pick.clone();
    }
    Chosen::with(&problem.bare, picks).network
}

fn sensitivity(problem: &Problem, values: &[f64]) -> Vec<(String, f64)> {
    let off = |k: usize, factor: f64| {
        let mut moved = values.to_vec();
        moved[k] *= factor;
        problem.sum_rms_db(&problem.with_values(&moved)).unwrap_or(f64::INFINITY)
    };
    let of = |(k, &i): (usize, &usize)| {
        (problem.network.parts[i].reference.clone(), off(k, 1.1).max(off(k, 0.9)))
    };
    problem.free.iter().enumerate().map(of).collect()
}
