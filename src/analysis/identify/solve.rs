//! Least squares on the logarithm of the impedance (Levenberg-Marquardt), and what the residual
//! says of the parameters' errors.

use super::CoilKind;
use super::model::{COIL, Load, NO_INDUCTANCE_LN, RE, Shape};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Exponents of a lossy coil.
pub(super) const EXPONENT: std::ops::RangeInclusive<f64> = 0.3..=1.0;
/// Evaluations a parameter before a search is given up.
const PATIENCE: usize = 40;
/// A residual where the model has no finite value: worse than any that has.
const HOPELESS: f64 = 1e3;
/// Below this rms the residual is rounding, not measurement.
const ROUNDING: f64 = 1e-10;

/// A measured sweep ready for fitting.
#[derive(Debug, Clone)]
pub(super) struct Sounding {
    /// Angular frequencies, rad/s.
    pub(super) omega: Vec<f64>,
    /// ln Z: log magnitude and phase (rad), 0 where none was measured.
    pub(super) ln_z: Vec<Complex64>,
    /// Whether the phase was measured.
    pub(super) has_phase: bool,
    /// What was added to the cone.
    pub(super) load: Load,
}

impl Sounding {
    fn count(&self) -> usize {
        self.omega.len() * if self.has_phase { 2 } else { 1 }
    }

    /// ln(Zmodel/Z) at each point; real where no phase was measured.
    pub(super) fn residual(&self, shape: Shape, theta: &[f64]) -> Vec<Complex64> {
        let one = |(&omega, &ln_z): (&f64, &Complex64)| {
            self.difference(shape.impedance(theta, omega, self.load).0, ln_z)
        };
        self.omega.iter().zip(&self.ln_z).map(one).collect()
    }

    fn difference(&self, model: Complex64, ln_z: Complex64) -> Complex64 {
        let d = model.ln() - ln_z;
        let turned = d.im - TAU * (d.im / TAU).round();
        Complex64::new(d.re, if self.has_phase { turned } else { 0.0 })
    }
}

/// The sweeps and the model that they share.
#[derive(Debug, Clone)]
pub(super) struct Problem<'a> {
    pub(super) soundings: &'a [Sounding],
    pub(super) shape: Shape,
    /// Held at this value, Ω.
    pub(super) re_ohm: Option<f64>,
}

/// A minimum.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) shape: Shape,
    pub(super) theta: Vec<f64>,
    /// Which parameters were moved.
    pub(super) free: Vec<usize>,
    /// Which ended at a bound.
    pub(super) bound: Vec<usize>,
    /// Sum of squares of the real residuals.
    pub(super) squares: f64,
    /// How many real residuals.
    pub(super) count: usize,
    /// Whether the search ended by its own tolerances.
    pub(super) converged: bool,
    /// Of all parameters; zero rows for those held.
    pub(super) covariance: DMatrix<f64>,
}

impl Fit {
    /// Bayesian information criterion of a Gaussian residual of unknown size (Schwarz 1978, *Ann.
    /// Statist.* 6, 461): N ln(S/N) + p ln N.
    pub(super) fn bic(&self) -> f64 {
        let n = self.count as f64;
        let mean = (self.squares / n).max(ROUNDING * ROUNDING);
        n * mean.ln() + self.free.len() as f64 * n.ln()
    }
}

impl Problem<'_> {
    /// The best minimum from several starts; a parameter that leaves its range is held at the
    /// bound and the rest fitted again. `None` where no start leads to a finite model.
    pub(super) fn fit(&self, starts: &[Vec<f64>]) -> Option<Fit> {
        let held = |at: &usize| !(*at == RE && self.re_ohm.is_some());
        let free: Vec<usize> = (0..self.shape.len()).filter(held).collect();
        let screened = self.screen(starts, &free);
        let ends = screened.into_iter().filter_map(|theta| self.descend(theta, &free, PATIENCE));
        let best = ends.min_by(|a, b| a.1.total_cmp(&b.1))?;
        let Some((at, value)) = self.out_of_range(&best.0) else {
            return Some(self.finish(best, free, Vec::new()));
        };
        let mut theta = best.0;
        theta[at] = value;
        let rest: Vec<usize> = free.into_iter().filter(|other| *other != at).collect();
        Some(self.finish(self.descend(theta, &rest, PATIENCE)?, rest, vec![at]))
    }

    /// The two most promising of several starts, after a few steps each.
    fn screen(&self, starts: &[Vec<f64>], free: &[usize]) -> Vec<Vec<f64>> {
        let mut thetas = starts.to_vec();
        if let Some(re) = self.re_ohm {
            thetas.iter_mut().for_each(|theta| theta[RE] = re.ln());
        }
        if thetas.len() < 2 {
            return thetas;
        }
        let walked = thetas.into_iter().filter_map(|theta| self.descend(theta, free, 2));
        let mut walked: Vec<_> = walked.collect();
        walked.sort_by(|a, b| a.1.total_cmp(&b.1));
        walked.into_iter().take(2).map(|(theta, ..)| theta).collect()
    }

    /// A coil parameter that left its range, and the bound.
    fn out_of_range(&self, theta: &[f64]) -> Option<(usize, f64)> {
        let (at, value) = (COIL, theta[COIL]);
        match self.shape.kind {
            CoilKind::Plain => (value < 1e-9f64.ln()).then_some((at, NO_INDUCTANCE_LN)),
            CoilKind::PowerLaw if EXPONENT.contains(&theta[at + 1]) => None,
            CoilKind::PowerLaw => {
                let bound = theta[at + 1].clamp(*EXPONENT.start(), *EXPONENT.end());
                Some((at + 1, bound))
            }
            // Nothing of the series inductance is seen.
            CoilKind::Shunted => {
                (value < theta[at + 1] + 1e-3f64.ln()).then_some((at, NO_INDUCTANCE_LN))
            }
        }
    }

    /// Parameters, sum of squares and whether the search came to its end, from `theta` on, with at
    /// most `patience` evaluations a parameter.
    fn descend(
        &self,
        theta: Vec<f64>,
        free: &[usize],
        patience: usize,
    ) -> Option<(Vec<f64>, f64, bool)> {
        let moved = DVector::from_iterator(free.len(), free.iter().map(|at| theta[*at]));
        let search = Search { problem: self, free, theta, moved };
        let (search, report) = LevenbergMarquardt::new()
            .with_ftol(1e-10)
            .with_xtol(1e-10)
            .with_gtol(1e-12)
            .with_stepbound(1.0)
            .with_patience(patience)
            .minimize(search);
        // The residual may be at rounding already, where no step helps.
        let converged = !matches!(
            report.termination,
            levenberg_marquardt::TerminationReason::LostPatience
                | levenberg_marquardt::TerminationReason::Numerical(_)
                | levenberg_marquardt::TerminationReason::User(_)
        );
        let squares = 2.0 * report.objective_function;
        let finite = squares.is_finite() && search.theta.iter().all(|v| v.is_finite());
        finite.then_some((search.theta, squares, converged))
    }

    fn count(&self) -> usize {
        self.soundings.iter().map(Sounding::count).sum()
    }

    fn finish(&self, end: (Vec<f64>, f64, bool), free: Vec<usize>, bound: Vec<usize>) -> Fit {
        let (theta, squares, converged) = end;
        let count = self.count();
        let variance = squares / count.saturating_sub(free.len()).max(1) as f64;
        let jacobian = self.jacobian(&theta, &free);
        let small = inverse_normal(&jacobian) * variance;
        let mut covariance = DMatrix::zeros(theta.len(), theta.len());
        for (i, &a) in free.iter().enumerate() {
            for (j, &b) in free.iter().enumerate() {
                covariance[(a, b)] = small[(i, j)];
            }
        }
        Fit { shape: self.shape, theta, free, bound, squares, count, converged, covariance }
    }

    fn residuals(&self, theta: &[f64]) -> DVector<f64> {
        let mut all = Vec::with_capacity(self.count());
        for sounding in self.soundings {
            let parts = sounding.residual(self.shape, theta);
            all.extend(parts.iter().map(|r| r.re));
            if sounding.has_phase {
                all.extend(parts.iter().map(|r| r.im));
            }
        }
        for value in &mut all {
            if !value.is_finite() {
                *value = HOPELESS;
            }
        }
        DVector::from_vec(all)
    }

    fn jacobian(&self, theta: &[f64], free: &[usize]) -> DMatrix<f64> {
        let mut matrix = DMatrix::zeros(self.count(), free.len());
        let mut row = 0;
        for sounding in self.soundings {
            let points = sounding.omega.len();
            for (k, &omega) in sounding.omega.iter().enumerate() {
                let (z, by) = self.shape.impedance(theta, omega, sounding.load);
                for (column, &at) in free.iter().enumerate() {
                    let slope = by[at] / z;
                    if slope.is_finite() {
                        matrix[(row + k, column)] = slope.re;
                        if sounding.has_phase {
                            matrix[(row + points + k, column)] = slope.im;
                        }
                    }
                }
            }
            row += sounding.count();
        }
        matrix
    }
}

/// (JᵀJ)⁻¹ by the eigenvalues of the matrix scaled to a unit diagonal. A direction that the data
/// do not see gets a variance so large that its parameters are told as undetermined.
fn inverse_normal(jacobian: &DMatrix<f64>) -> DMatrix<f64> {
    let scale: Vec<f64> =
        jacobian.column_iter().map(|c| c.norm().max(f64::MIN_POSITIVE.sqrt())).collect();
    let mut normal = jacobian.transpose() * jacobian;
    for i in 0..scale.len() {
        for j in 0..scale.len() {
            normal[(i, j)] /= scale[i] * scale[j];
        }
    }
    let eigen = normal.symmetric_eigen();
    let size = scale.len();
    DMatrix::from_fn(size, size, |i, j| {
        let sum: f64 = (0..size)
            .map(|k| {
                let vectors = eigen.eigenvectors[(i, k)] * eigen.eigenvectors[(j, k)];
                vectors / eigen.eigenvalues[k].max(1e-14)
            })
            .sum();
        sum / (scale[i] * scale[j])
    })
}

/// One descent.
struct Search<'a> {
    problem: &'a Problem<'a>,
    free: &'a [usize],
    theta: Vec<f64>,
    moved: DVector<f64>,
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Search<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.moved.copy_from(x);
        for (value, &at) in x.iter().zip(self.free) {
            self.theta[at] = *value;
        }
    }

    fn params(&self) -> DVector<f64> {
        self.moved.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.problem.residuals(&self.theta))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        Some(self.problem.jacobian(&self.theta, self.free))
    }
}

/// Correlation of neighbouring residuals, −1 to 1: near 0 for noise, near 1 where the model
/// misses the shape of the curve.
pub(super) fn neighbour_correlation(residual: &[Complex64]) -> f64 {
    let all: f64 = residual.iter().map(Complex64::norm_sqr).sum();
    let pairs: f64 = residual.windows(2).map(|p| (p[0] * p[1].conj()).re).sum();
    if all > 0.0 { pairs / all } else { 0.0 }
}

/// ln of a measured magnitude and phase (degrees).
pub(super) fn ln_of(magnitude: f64, phase_deg: Option<f64>) -> Complex64 {
    Complex64::new(magnitude.ln(), phase_deg.map_or(0.0, |p| p * PI / 180.0))
}
