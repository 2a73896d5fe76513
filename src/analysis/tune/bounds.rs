//! A result against its bounds: what holds it back and what it misses.

use super::discrete::Market;
use super::problem::Problem;
use crate::analysis::shelf::Pick;
use crate::circuit::network::Network;
use crate::circuit::solve;
use crate::units;

/// Bounds that hold, and bounds that are missed, in words.
#[derive(Debug, Clone, Default)]
pub struct Verdict {
    /// Reached and kept.
    pub binding: Vec<String>,
    /// Not kept.
    pub missed: Vec<String>,
}

/// Judges values (SI) of the free parts, and the network that is bought for them as the amplifier
/// drives it.
pub fn judge(problem: &Problem, values: &[f64], bought: &Network) -> Verdict {
    let mut verdict = Verdict::default();
    part_values(problem, values, &mut verdict);
    impedance(problem, bought, &mut verdict);
    loss(problem, bought, &mut verdict);
    verdict
}

fn part_values(problem: &Problem, values: &[f64], verdict: &mut Verdict) {
    for (&i, &value) in problem.free.iter().zip(values) {
        let part = &problem.network.parts[i];
        let (low, high) = problem.target.bounds.of(&part.component);
        let name = &part.reference;
        if value < low * 0.999 || value > high * 1.001 {
            verdict
                .missed
                .push(format!("{name} lies outside its bounds: no preferred value fits them"));
        } else if value < low * 1.05 {
            verdict.binding.push(format!("{name} is held at its smallest value"));
        } else if value > high * 0.95 {
            verdict.binding.push(format!("{name} is held at its largest value"));
        }
    }
}

/// The lowest impedance at the amplifier's terminals over all sides, Ω.
pub fn lowest_ohm(problem: &Problem, network: &Network) -> f64 {
    let lowest = problem.views.iter().filter_map(|view| {
        let solution = solve::solve(network, &problem.grid, &view.load).ok()?;
        let z = solution.input_impedance();
        let points = z.values().iter().map(|v| (v - problem.output_ohm).norm());
        points.min_by(f64::total_cmp)
    });
    lowest.fold(f64::INFINITY, f64::min)
}

/// Whether an impedance (Ω) misses the bound by more than a rounding.
pub fn is_low(problem: &Problem, lowest_ohm: f64) -> bool {
    lowest_ohm < problem.target.lowest_ohm * 0.998
}

fn impedance(problem: &Problem, bought: &Network, verdict: &mut Verdict) {
    let lowest = lowest_ohm(problem, bought);
    let bound = problem.target.lowest_ohm;
    let (found, allowed) = (units::ohms(lowest), units::ohms(bound));
    if is_low(problem, lowest) {
        verdict.missed.push(format!("the lowest impedance is {found} against {allowed}"));
    } else if lowest < bound * 1.05 {
        verdict.binding.push(format!("the lowest impedance ({found}) is held by its bound"));
    }
}

fn loss(problem: &Problem, bought: &Network, verdict: &mut Verdict) {
    let Some(bound) = problem.target.loss_percent else { return };
    let Ok(found) = problem.loss_percent(bought) else { return };
    if found > bound * 1.01 {
        verdict
            .missed
            .push(format!("the parts lose {found:.1} % of the power against {bound:.1} %"));
    } else if found > bound * 0.95 {
        verdict
            .binding
            .push(format!("the power lost in the parts ({found:.1} %) is held by its bound"));
    }
}

/// A panel's crossover parts against the bound on their cost.
pub fn price(market: &Market<'_>, picks: &[Pick], verdict: &mut Verdict) {
    let Some(bound) = market.bound else { return };
    let Some(cost) = market.price(picks) else { return };
    if cost > bound * (1.0 + 1e-9) {
        let more = "take some out (explore --cost-down)";
        verdict.missed.push(format!("the parts cost {cost:.2} against {bound:.2}: {more}"));
    } else if cost > bound * 0.95 {
        verdict.binding.push(format!("the cost of the parts ({cost:.2}) is held by its bound"));
    }
}
