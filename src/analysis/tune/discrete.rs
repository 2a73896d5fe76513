//! The discrete search: preferred values (or pairs) for all parts together. Parts are fixed one
//! after another, the rest tuned anew each time, several alternatives kept (a beam); then single
//! and double exchanges of neighbours until nothing gets better.

use super::continuous::{self, Bounds, Found};
use super::problem::Problem;
use crate::circuit::preferred::{self, Adds, Choice, Rule, Series};
use rayon::prelude::*;

/// Alternatives kept while parts are fixed.
const BEAM: usize = 4;
/// What a second part must bring to be worth its place: 0.03 dB rms of the sum.
const PAIR_CHARGE: f64 = 0.5 * 0.03 * 0.03;
/// Passes of exchanges at most; each pass that helps leads to another.
const PASSES: usize = 12;

/// What a free part may be bought as.
#[derive(Debug, Clone, Copy)]
pub struct Shelf {
    /// Its series.
    pub series: Series,
    /// How its kind adds up.
    pub adds: Adds,
    /// Two may be combined where a single one misses by more than this, %; `None`: never.
    pub pairs_above_percent: Option<f64>,
    /// Smallest and largest value.
    pub bounds: (f64, f64),
}

impl Shelf {
    /// Choices near `value`, nearest first: the neighbours in the series, and the best pairs for it
    /// where they are allowed.
    fn near(&self, value: f64, count: usize) -> Vec<Choice> {
        let decade = value.log10().floor() as i32;
        let inside = |v: &f64| *v >= self.bounds.0 * 0.999 && *v <= self.bounds.1 * 1.001;
        let mut choices: Vec<Choice> = self
            .series
            .values(decade - 1, decade + 1)
            .into_iter()
            .filter(inside)
            .map(Choice::single)
            .collect();
        choices.sort_by(|a, b| a.miss(value).total_cmp(&b.miss(value)));
        choices.truncate(count);
        let pair = self.pair_for(value, choices.first());
        choices.extend(pair);
        if choices.is_empty() {
            // Bounds without a preferred value between them: the nearest there is.
            let nearest = self.series.nearest(value, Rule::Ratio).unwrap_or(value);
            choices.push(Choice::single(nearest));
        }
        choices
    }

    /// The best pair, where pairs are allowed, the single part misses by enough, and both of the
    /// pair lie within the bounds.
    fn pair_for(&self, value: f64, single: Option<&Choice>) -> Option<Choice> {
        let percent = self.pairs_above_percent?;
        if single.is_some_and(|s| s.error_percent(value).abs() <= percent) {
            return None;
        }
        let decade = value.log10().floor() as i32;
        let pair = preferred::best_pair(self.series, value, self.adds, decade - 1, decade + 1);
        let inside = |v: f64| v >= self.bounds.0 && v <= self.bounds.1;
        let fits = |p: &Choice| inside(p.first) && p.second.is_some_and(|(v, _)| inside(v));
        pair.ok().flatten().filter(fits)
    }
}

/// A full set of choices and its cost.
#[derive(Debug, Clone)]
pub struct Picked {
    /// One choice a free part.
    pub choices: Vec<Choice>,
    /// Cost at these values.
    pub cost: f64,
}

/// Some parts fixed, the others tuned to them.
#[derive(Debug, Clone)]
struct Partial {
    fixed: Vec<Option<Choice>>,
    values: Vec<f64>,
    cost: f64,
}

/// The best choices found near the continuous optimum `from`. Stops early, with what it has, when
/// `go_on` says so.
pub fn search(
    problem: &Problem,
    shelves: &[Shelf],
    from: &Found,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Picked {
    let start =
        Partial { fixed: vec![None; shelves.len()], values: from.values.clone(), cost: from.cost };
    let mut beam = vec![start];
    for part in by_influence(problem, &from.values) {
        if !go_on() {
            break;
        }
        let next: Vec<Partial> = beam
            .par_iter()
            .flat_map_iter(|partial| {
                let choices = shelves[part].near(partial.values[part], 2);
                choices.into_iter().map(move |choice| fix(problem, shelves, partial, part, choice))
            })
            .collect();
        beam = best(next, BEAM);
    }
    let rounded = beam.iter().map(|partial| whole(problem, shelves, partial));
    let best = rounded.min_by(|a, b| a.cost.total_cmp(&b.cost));
    // The beam is never empty: it starts with one entry and each step keeps at least one.
    best.map_or_else(
        || Picked { choices: Vec::new(), cost: f64::INFINITY },
        |picked| exchanged(problem, shelves, picked, go_on),
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

/// `partial` with `part` fixed to `choice` and the rest tuned anew.
fn fix(
    problem: &Problem,
    shelves: &[Shelf],
    partial: &Partial,
    part: usize,
    choice: Choice,
) -> Partial {
    let mut next = partial.clone();
    next.fixed[part] = Some(choice);
    next.values[part] = choice.value;
    let open: Vec<usize> = (0..shelves.len()).filter(|k| next.fixed[*k].is_none()).collect();
    let mut rest = problem.clone();
    rest.network = problem.with_values(&next.values);
    rest.free = open.iter().map(|&k| problem.free[k]).collect();
    let bounds: Bounds = open.iter().map(|&k| shelves[k].bounds).collect();
    let start: Vec<f64> = open.iter().map(|&k| next.values[k]).collect();
    match continuous::descend(&rest, &bounds, &start) {
        Some(found) => {
            next.cost = found.cost;
            open.iter().zip(found.values).for_each(|(&k, v)| next.values[k] = v);
        }
        None => next.cost = cost(problem, &next.values),
    }
    next
}

fn cost(problem: &Problem, values: &[f64]) -> f64 {
    problem.residuals(values).map_or(f64::INFINITY, |r| r.cost())
}

/// The `count` cheapest; neighbours with the same fixed values count once.
fn best(mut all: Vec<Partial>, count: usize) -> Vec<Partial> {
    all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    all.dedup_by(|a, b| a.fixed == b.fixed);
    all.truncate(count);
    all
}

/// Parts still open take their nearest choice.
fn whole(problem: &Problem, shelves: &[Shelf], partial: &Partial) -> Picked {
    let choose = |(k, fixed): (usize, &Option<Choice>)| {
        fixed.unwrap_or_else(|| shelves[k].near(partial.values[k], 1)[0])
    };
    let choices: Vec<Choice> = partial.fixed.iter().enumerate().map(choose).collect();
    let cost = priced(problem, &choices);
    Picked { choices, cost }
}

/// Cost of the choices, second parts charged for.
fn priced(problem: &Problem, choices: &[Choice]) -> f64 {
    let pairs = choices.iter().filter(|c| c.second.is_some()).count();
    cost(problem, &values_of(choices)) + PAIR_CHARGE * pairs as f64
}

fn values_of(choices: &[Choice]) -> Vec<f64> {
    choices.iter().map(|c| c.value).collect()
}

/// Exchanges of one or two parts for their neighbours until none helps.
fn exchanged(
    problem: &Problem,
    shelves: &[Shelf],
    mut best: Picked,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Picked {
    for _ in 0..PASSES {
        if !go_on() {
            break;
        }
        let moves = moves(shelves, &best.choices);
        let costs: Vec<f64> =
            moves.par_iter().map(|m| priced(problem, &moved(&best.choices, m))).collect();
        let cheapest = (0..moves.len()).min_by(|&a, &b| costs[a].total_cmp(&costs[b]));
        match cheapest {
            Some(i) if costs[i] < best.cost * (1.0 - 1e-9) => {
                best = Picked { choices: moved(&best.choices, &moves[i]), cost: costs[i] };
            }
            _ => break,
        }
    }
    best
}

type Move = Vec<(usize, Choice)>;

fn moved(choices: &[Choice], changes: &Move) -> Vec<Choice> {
    let mut next = choices.to_vec();
    changes.iter().for_each(|(k, choice)| next[*k] = *choice);
    next
}

/// Every change of one part to a near value, and of two parts at once.
fn moves(shelves: &[Shelf], choices: &[Choice]) -> Vec<Move> {
    let singles: Vec<(usize, Choice)> = choices
        .iter()
        .enumerate()
        .flat_map(|(k, choice)| {
            let near = shelves[k].near(choice.value, 4);
            near.into_iter().filter(move |c| c != choice).map(move |c| (k, c))
        })
        .collect();
    let mut moves: Vec<Move> = singles.iter().map(|m| vec![*m]).collect();
    for (i, a) in singles.iter().enumerate() {
        moves.extend(singles[i + 1..].iter().filter(|b| b.0 != a.0).map(|b| vec![*a, *b]));
    }
    moves
}
