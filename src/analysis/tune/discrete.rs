//! The discrete search: preferred values, articles of a stock, or pairs, for all parts together. Parts are fixed one
//! after another, the rest tuned anew each time, several alternatives kept (a beam); then single
//! and double exchanges of neighbours until nothing gets better.

use super::continuous::{self, Bounds, Found};
use super::problem::Problem;
use crate::analysis::shelf::{Good, Pick, Shelf};
use crate::analysis::till::Till;
use crate::circuit::network::Component;
use rayon::prelude::*;
use std::cmp::Ordering;

/// Alternatives kept while parts are fixed.
const BEAM: usize = 4;
/// What a second part must bring to be worth its place: 0.03 dB rms of the sum.
const PAIR_CHARGE: f64 = 0.5 * 0.03 * 0.03;
/// Passes of exchanges at most; each pass that helps leads to another.
const PASSES: usize = 12;

/// Near values of one part that are tried while a bound on the cost is not yet met.
const WIDE: usize = 12;

/// What the search chooses from, and what it may cost.
pub struct Market<'d> {
    /// One for each free part.
    pub shelves: Vec<Shelf>,
    /// What is bought for the parts that keep their values.
    pub kept: Vec<Good>,
    /// Prices.
    pub till: Till<'d>,
    /// Largest cost of a panel's parts; `None`: not bounded.
    pub bound: Option<f64>,
}

impl Market<'_> {
    /// Cost of a panel's parts with these picks, where all prices are known.
    pub fn price(&self, picks: &[Pick]) -> Option<f64> {
        self.till.panel(self.kept.iter().chain(picks.iter().flat_map(|p| &p.goods)))
    }

    /// What the cost is beyond its bound; 0 where there is none, or no price.
    fn excess(&self, picks: &[Pick]) -> f64 {
        let Some(bound) = self.bound else { return 0.0 };
        let beyond = self.price(picks).map_or(0.0, |price| price - bound);
        if beyond > 1e-9 * bound { beyond } else { 0.0 }
    }

    /// The same while some parts are open: these take the cheapest near their values.
    fn least_excess(&self, partial: &Partial) -> f64 {
        if self.bound.is_none() {
            return 0.0;
        }
        let price = |pick: &Pick| self.till.panel(pick.goods.iter()).unwrap_or(f64::INFINITY);
        let pick = |(k, fixed): (usize, &Option<Pick>)| match fixed {
            Some(pick) => Some(pick.clone()),
            None => {
                let near = self.shelves[k].near(partial.values[k], 2);
                near.into_iter().min_by(|a, b| price(a).total_cmp(&price(b)))
            }
        };
        let picks: Vec<Pick> = partial.fixed.iter().enumerate().filter_map(pick).collect();
        self.excess(&picks)
    }
}

/// How good a set of parts is: within the bound on money first, then by the cost of what is heard.
#[derive(Debug, Clone, Copy)]
struct Rank {
    excess: f64,
    cost: f64,
}

impl Rank {
    fn order(&self, other: &Self) -> Ordering {
        self.excess.total_cmp(&other.excess).then(self.cost.total_cmp(&other.cost))
    }

    /// Whether this is better by more than a rounding.
    fn beats(&self, other: &Self) -> bool {
        self.excess < other.excess
            || self.excess == other.excess && self.cost < other.cost * (1.0 - 1e-9)
    }
}

/// A full set of picks and its cost.
#[derive(Debug, Clone)]
pub struct Picked {
    /// One pick a free part.
    pub picks: Vec<Pick>,
    /// Cost with these, in the sense of the search.
    pub cost: f64,
    /// What they cost in money beyond the bound.
    pub excess: f64,
}

impl Picked {
    fn of(problem: &Problem, market: &Market<'_>, picks: Vec<Pick>) -> Self {
        let excess = market.excess(&picks);
        Self { cost: cost(problem, &picks), excess, picks }
    }

    fn rank(&self) -> Rank {
        Rank { excess: self.excess, cost: self.cost }
    }
}

/// Some parts fixed, the others tuned to them.
#[derive(Debug, Clone)]
struct Partial {
    fixed: Vec<Option<Pick>>,
    values: Vec<f64>,
    rank: Rank,
}

/// The best picks found near the continuous optimum `from`. Stops early, with what it has, when
/// `go_on` says so.
pub fn search(
    problem: &Problem,
    market: &Market<'_>,
    from: &Found,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Picked {
    let rank = Rank { excess: 0.0, cost: from.cost };
    let fixed = vec![None; market.shelves.len()];
    let mut beam = vec![Partial { fixed, values: from.values.clone(), rank }];
    for part in by_influence(problem, &from.values) {
        if !go_on() {
            break;
        }
        let next: Vec<Partial> = beam
            .par_iter()
            .flat_map_iter(|partial| {
                let picks = market.shelves[part].near(partial.values[part], 2);
                picks.into_iter().map(move |pick| fix(problem, market, partial, part, pick))
            })
            .collect();
        beam = best(next, BEAM);
    }
    let rounded = beam.iter().map(|partial| whole(problem, market, partial));
    let best = rounded.min_by(|a, b| a.rank().order(&b.rank()));
    // The beam is never empty: it starts with one entry and each step keeps at least one.
    best.map_or_else(
        || Picked { picks: Vec::new(), cost: f64::INFINITY, excess: 0.0 },
        |picked| exchanged(problem, market, picked, go_on),
    )
}

/// Free parts, the one that the cost hangs on most first.
fn by_influence(problem: &Problem, values: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    if let Ok(r) = problem.residuals(values) {
        let size = |k: &usize| r.slopes.column(*k).norm_squared();
        order.sort_by(|a, b| size(b).total_cmp(&size(a)));
    }
    order
}

/// `partial` with `part` fixed to `pick` and the rest tuned anew.
fn fix(
    problem: &Problem,
    market: &Market<'_>,
    partial: &Partial,
    part: usize,
    pick: Pick,
) -> Partial {
    let mut next = partial.clone();
    next.values[part] = pick.choice.value;
    next.fixed[part] = Some(pick);
    let open: Vec<usize> = (0..next.fixed.len()).filter(|k| next.fixed[*k].is_none()).collect();
    let mut rest = problem.clone();
    rest.network = problem.with_values(&next.values);
    for (&at, fixed) in problem.free.iter().zip(&next.fixed) {
        if let Some(pick) = fixed {
            rest.network.parts[at].component = pick.lumped();
        }
    }
    rest.free = open.iter().map(|&k| problem.free[k]).collect();
    let bounds: Bounds = open.iter().map(|&k| market.shelves[k].bounds()).collect();
    let start: Vec<f64> = open.iter().map(|&k| next.values[k]).collect();
    next.rank.cost = match continuous::descend(&rest, &bounds, &start) {
        Some(found) => {
            open.iter().zip(found.values).for_each(|(&k, v)| next.values[k] = v);
            found.cost
        }
        None => rest.residuals_through(&rest.network).map_or(f64::INFINITY, |r| r.cost()),
    };
    next.rank.excess = market.least_excess(&next);
    next
}

/// Cost of the picks, second parts charged for.
fn cost(problem: &Problem, picks: &[Pick]) -> f64 {
    let parts: Vec<Component> = picks.iter().map(Pick::lumped).collect();
    let heard = problem.residuals_through(&problem.with_parts(&parts));
    let pairs = picks.iter().filter(|p| p.choice.second.is_some()).count();
    heard.map_or(f64::INFINITY, |r| r.cost()) + PAIR_CHARGE * pairs as f64
}

/// The `count` best; neighbours with the same fixed parts count once.
fn best(mut all: Vec<Partial>, count: usize) -> Vec<Partial> {
    all.sort_by(|a, b| a.rank.order(&b.rank));
    all.dedup_by(|a, b| a.fixed == b.fixed);
    all.truncate(count);
    all
}

/// Parts still open take their nearest pick.
fn whole(problem: &Problem, market: &Market<'_>, partial: &Partial) -> Picked {
    let choose = |(k, fixed): (usize, &Option<Pick>)| {
        fixed.clone().unwrap_or_else(|| market.shelves[k].near(partial.values[k], 1).swap_remove(0))
    };
    Picked::of(problem, market, partial.fixed.iter().enumerate().map(choose).collect())
}

/// Exchanges of one or two parts for their neighbours until none helps.
fn exchanged(
    problem: &Problem,
    market: &Market<'_>,
    mut best: Picked,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Picked {
    for _ in 0..PASSES {
        if !go_on() {
            break;
        }
        let moves = moves(market, &best);
        let ranked: Vec<Rank> = moves
            .par_iter()
            .map(|m| {
                let picks = moved(&best.picks, m);
                let excess = market.excess(&picks);
                // What is too dear is not even listened to.
                let dear = excess > best.excess;
                Rank { excess, cost: if dear { f64::INFINITY } else { cost(problem, &picks) } }
            })
            .collect();
        let first = (0..moves.len()).min_by(|&a, &b| ranked[a].order(&ranked[b]));
        match first {
            Some(i) if ranked[i].beats(&best.rank()) => {
                let Rank { excess, cost } = ranked[i];
                best = Picked { picks: moved(&best.picks, &moves[i]), cost, excess };
            }
            _ => break,
        }
    }
    best
}

type Move = Vec<(usize, Pick)>;

fn moved(picks: &[Pick], changes: &Move) -> Vec<Pick> {
    let mut next = picks.to_vec();
    changes.iter().for_each(|(k, pick)| next[*k] = pick.clone());
    next
}

/// Every change of one part to a near value, and of two parts at once; while the bound on the cost
/// is not met, of one part to a value further off.
fn moves(market: &Market<'_>, best: &Picked) -> Vec<Move> {
    let dear = best.excess > 0.0;
    let count = if dear { WIDE } else { 4 };
    let singles: Vec<(usize, Pick)> = best
        .picks
        .iter()
        .enumerate()
        .flat_map(|(k, pick)| {
            let near = market.shelves[k].near(pick.choice.value, count);
            near.into_iter().filter(move |p| p != pick).map(move |p| (k, p))
        })
        .collect();
    let mut moves: Vec<Move> = singles.iter().map(|m| vec![m.clone()]).collect();
    for (i, a) in singles.iter().enumerate().filter(|_| !dear) {
        let others = singles[i + 1..].iter().filter(|b| b.0 != a.0);
        moves.extend(others.map(|b| vec![a.clone(), b.clone()]));
    }
    moves
}
