//! The continuous search: Levenberg-Marquardt on the logarithms of the values, held inside their
//! bounds by a smooth map, from several starts.

use super::problem::{Problem, Residuals};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use rayon::prelude::*;

/// Evaluations a start may take, as a multiple of the number of values.
const PATIENCE: usize = 20;
/// Spread of the random starts around the given one, as a factor.
const SPREAD: f64 = 2.2;

/// Values and what they cost.
#[derive(Debug, Clone)]
pub struct Found {
    /// Values of the free parts, SI.
    pub values: Vec<f64>,
    /// Their cost.
    pub cost: f64,
}

/// Bounds of each free value, SI.
pub type Bounds = Vec<(f64, f64)>;

/// The best of `starts` searches: one from `from`, the others from values spread around it by the
/// seed. The same seed gives the same result on any number of threads. `None` only if no start can
/// be computed at all.
pub fn search(
    problem: &Problem,
    bounds: &Bounds,
    from: &[f64],
    starts: u64,
    seed: u64,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Option<Found> {
    let all: Vec<Option<Found>> = (0..starts)
        .into_par_iter()
        .map(|k| {
            let start = if k == 0 { from.to_vec() } else { spread(from, seed, k) };
            (k == 0 || go_on()).then(|| eased(problem, bounds, &start)).flatten()
        })
        .collect();
    all.into_iter().flatten().min_by(|a, b| a.cost.total_cmp(&b.cost))
}

/// A search from `start`; where it ends with an impedance below its bound, the better of that and
/// a search by way of a soft bound, since a stiff one can make many false valleys.
fn eased(problem: &Problem, bounds: &Bounds, start: &[f64]) -> Option<Found> {
    const SOFTER: f64 = 0.2;
    const KEPT: f64 = 1e-3;
    let with = |factor: f64| {
        let impedance_weight = factor * problem.impedance_weight;
        Problem { impedance_weight, ..problem.clone() }
    };
    let direct = descend(problem, bounds, start)?;
    let unbound = with(0.0).residuals(&direct.values).ok()?.cost();
    if direct.cost - unbound < KEPT * direct.cost {
        return Some(direct);
    }
    let soft = descend(&with(SOFTER), bounds, start);
    let again = soft.and_then(|found| descend(problem, bounds, &found.values));
    again.filter(|a| a.cost < direct.cost).or(Some(direct))
}

/// A single search from `start`.
pub fn descend(problem: &Problem, bounds: &Bounds, start: &[f64]) -> Option<Found> {
    let inside = start.iter().zip(bounds).map(|(v, b)| to_inner(*v, *b));
    let params = DVector::from_iterator(start.len(), inside);
    let mut search = Search { problem, bounds, params, at: None };
    search.update();
    search.at.as_ref()?;
    let method = LevenbergMarquardt::new()
        .with_patience(PATIENCE)
        .with_ftol(1e-8)
        .with_xtol(1e-8)
        .with_gtol(1e-10);
    let (search, _) = method.minimize(search);
    let values = search.values();
    search.at.map(|residuals| Found { values, cost: residuals.cost() })
}

/// Log-uniform factors around `from` by the stream `k` of the seed.
fn spread(from: &[f64], seed: u64, k: u64) -> Vec<f64> {
    let mut random = Pcg64::new(u128::from(seed), u128::from(k));
    let mut unit = || (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
    from.iter().map(|v| v * SPREAD.powf(2.0 * unit() - 1.0)).collect()
}

/// Values are lo^(1−s)·hi^s with s = 1/(1 + e^−u): any u keeps them inside.
fn to_inner(value: f64, (low, high): (f64, f64)) -> f64 {
    let share = (value / low).ln() / (high / low).ln();
    let share = share.clamp(0.003, 0.997);
    (share / (1.0 - share)).ln()
}

fn to_value(u: f64, (low, high): (f64, f64)) -> f64 {
    low * (high / low).powf(sigmoid(u))
}

fn sigmoid(u: f64) -> f64 {
    1.0 / (1.0 + (-u).exp())
}

struct Search<'p> {
    problem: &'p Problem,
    bounds: &'p Bounds,
    params: DVector<f64>,
    at: Option<Residuals>,
}

impl Search<'_> {
    fn values(&self) -> Vec<f64> {
        self.params.iter().zip(self.bounds).map(|(u, b)| to_value(*u, *b)).collect()
    }

    /// Where the network has no solution there are no residuals, and the search steps back.
    fn update(&mut self) {
        self.at = self.problem.residuals(&self.values()).ok();
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Search<'_> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, params: &DVector<f64>) {
        self.params.copy_from(params);
        self.update();
    }

    fn params(&self) -> DVector<f64> {
        self.params.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.at.as_ref().map(|r| r.values.clone())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let mut slopes = self.at.as_ref()?.slopes.clone();
        for (k, (u, (low, high))) in self.params.iter().zip(self.bounds).enumerate() {
            let s = sigmoid(*u);
            slopes.column_mut(k).scale_mut((high / low).ln() * s * (1.0 - s));
        }
        Some(slopes)
    }
}
