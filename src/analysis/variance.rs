//! Which of several independent inputs an outcome's variance comes from.
//!
//! First order Vᵢ = ⟨f(B) (f(A_Bⁱ) − f(A))⟩ (Saltelli et al. 2010, *Comput. Phys. Commun.* 181,
//! 259) and total Tᵢ = ⟨(f(A) − f(A_Bⁱ))²⟩/2 (Jansen 1999, *Comput. Phys. Commun.* 117, 35), over
//! the variance of f; A_Bⁱ is the sample A with input i from B. Both from memory.

use rayon::prelude::*;

/// Which sample an input is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Variant {
    /// All from A.
    A,
    /// All from B.
    B,
    /// From A, but this one from B.
    Swapped(usize),
}

impl Variant {
    /// Whether input `group` is from B.
    pub fn is_b(self, group: usize) -> bool {
        self == Self::B || self == Self::Swapped(group)
    }
}

/// Shares of the variance of one input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// What it does by itself.
    pub first: f64,
    /// What it does together with the others too.
    pub total: f64,
    /// Standard error of the first.
    pub first_error: f64,
    /// Standard error of the total.
    pub total_error: f64,
}

/// What an outcome's variance comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// Its mean.
    pub mean: f64,
    /// Its variance.
    pub variance: f64,
    /// One an input.
    pub shares: Vec<Share>,
}

/// The shares of `inputs` independent inputs from `samples` pairs of samples. `evaluate` gives the
/// outcomes of the variants of one pair, in their order. The result does not hang on threads.
pub fn shares(
    inputs: usize,
    samples: usize,
    evaluate: impl Fn(u64, &[Variant]) -> Vec<f64> + Sync,
) -> Shares {
    let variants: Vec<Variant> =
        [Variant::A, Variant::B].into_iter().chain((0..inputs).map(Variant::Swapped)).collect();
    let rows: Vec<Vec<f64>> =
        (0..samples as u64).into_par_iter().map(|s| evaluate(s, &variants)).collect();
    let both = || rows.iter().flat_map(|r| [r[0], r[1]]);
    let count = 2.0 * samples as f64;
    let mean = both().sum::<f64>() / count;
    let variance = both().map(|f| (f - mean).powi(2)).sum::<f64>() / count;
    if variance.is_nan() || variance <= 0.0 {
        let none = Share { first: 0.0, total: 0.0, first_error: 0.0, total_error: 0.0 };
        return Shares { mean, variance: 0.0, shares: vec![none; inputs] };
    }
    let share = |i: usize| {
        let (a, b, ab) = (0, 1, 2 + i);
        // Less the mean: the same in the limit, and far less noise.
        let first = moments(rows.iter().map(|r| (r[b] - mean) * (r[ab] - r[a])));
        let total = moments(rows.iter().map(|r| 0.5 * (r[a] - r[ab]).powi(2)));
        Share {
            first: first.0 / variance,
            total: total.0 / variance,
            first_error: first.1 / variance,
            total_error: total.1 / variance,
        }
    };
    Shares { mean, variance, shares: (0..inputs).map(share).collect() }
}

/// Mean and its standard error.
fn moments(terms: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let count = terms.clone().count() as f64;
    let mean = terms.clone().sum::<f64>() / count;
    let square = terms.map(|t| (t - mean).powi(2)).sum::<f64>() / count;
    (mean, (square / count).sqrt())
}
