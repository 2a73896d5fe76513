//! What is wrong with a unit: the model of its side with one fault at a time, fitted to its sweep.
//!
//! Gain, leads, temperature and the scatter of parts and drivers are fitted along, each with its
//! standard deviation as a prior. Faults are compared by their evidence, in which that scatter is
//! integrated out (Laplace's approximation; MacKay 1992, *Neural Computation* 4, 415, from memory).
//! Linear for all faults at once, with what depends on the fault alone computed beforehand; the most
//! likely ones are then fitted again without that shortening.

use super::fault::{Cause, Fault};
use super::measuring::Measuring;
use super::twin::{Answer, Slopes, Twin};
use crate::circuit::solve::SolveError;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use num_complex::Complex64;
use rayon::prelude::*;
use std::f64::consts::TAU;
use std::sync::Arc;

/// What a unit is before it is measured: good, with this probability.
const GOOD: f64 = 0.9;
/// Faults that are fitted again, from each of two views.
const AGAIN: usize = 5;
/// Steps of such a fit.
const STEPS: usize = 3;
/// How far a fit moves a quantity, in its standard deviations.
const FARTHEST: f64 = 8.0;
/// What the model itself misses, as a share of the impedance.
const MODEL: f64 = 0.005;
/// Resistance of a bad contact or cable: most likely one, and its spread, Ω.
const CABLE_OHM: (f64, f64) = (0.6, 0.3);
/// Below this probability of being good a unit is suspect. Suspensions creep, which no hypothesis holds:
/// at 0.05 more than two of a hundred good units raise an alarm, at 0.01 fewer, and no more faults that
/// can be detected are called good (`tests/inspection`).
pub const SUSPECT: f64 = 0.01;
/// From this probability on a cause counts as decided.
pub const DECIDED: f64 = 0.8;
/// Misfit (chi square a value) beyond which no fault explains a sweep.
const UNEXPLAINED: f64 = 9.0;

/// A sweep of a unit on the axis of its twin.
#[derive(Debug, Clone, PartialEq)]
pub struct Sounded {
    /// Logarithm of the impedance, Ω; the imaginary part (phase, rad) counts where it was measured.
    pub ln_z: Vec<Complex64>,
    /// Whether the phase was measured.
    pub has_phase: bool,
    /// Logarithm of the sound pressure, Pa, where a response was measured.
    pub ln_p: Option<Vec<f64>>,
}

/// A cause and how likely it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranked {
    /// The cause.
    pub cause: Cause,
    /// The likeliest of its faults.
    pub fault: Fault,
    /// Probability of the cause among all, 0 to 1.
    pub probability: f64,
}

/// What a diagnosis comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opinion {
    /// Good as far as the sweep tells.
    Good,
    /// The first cause is it.
    Decided,
    /// Something is wrong; the sweep does not tell which of the first causes it is.
    Undecided,
    /// Something is wrong that no single fault explains.
    Unexplained,
}

/// The causes of one sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosed {
    /// Likeliest first; at least two.
    pub causes: Vec<Ranked>,
    /// Probability that nothing is wrong.
    pub good: f64,
    /// Misfit of the best explanation: chi square a value, 1 where only noise is left.
    pub misfit: f64,
    /// What it comes to.
    pub opinion: Opinion,
}

/// Everything that is known before a sweep is.
#[derive(Debug)]
pub struct Diagnosis {
    twin: Arc<Twin>,
    has_phase: bool,
    has_response: bool,
    z_noise: f64,
    p_noise: f64,
    hypotheses: Vec<Hypothesis>,
}

#[derive(Debug)]
struct Hypothesis {
    fault: Fault,
    ln_prior: f64,
    /// Most likely value and standard deviation of each quantity under it.
    mean: Vec<f64>,
    deviation: Vec<f64>,
    state: State,
}

/// A hypothesis linearised: values over their noise.
#[derive(Debug)]
struct State {
    /// What is expected.
    value: Vec<f64>,
    /// Slopes by quantities over their deviations.
    slopes: DMatrix<f64>,
    /// Of 1 + slopesᵀ slopes.
    factor: Cholesky<f64, Dyn>,
    /// Half its log determinant.
    half_ln_det: f64,
}

/// Misfit, prior's misfit and volume of a fit: the logarithm of its evidence is −½ (misfit/s + prior)
/// − volume.
#[derive(Debug, Clone, Copy)]
struct Evidence {
    misfit: f64,
    prior: f64,
    half_ln_det: f64,
}

/// Where a fit ended.
struct Fit {
    evidence: Evidence,
    /// Quantities over their deviations.
    moved: DVector<f64>,
    /// What is expected there.
    value: Vec<f64>,
}

impl Evidence {
    fn ln(&self, scale: f64) -> f64 {
        -0.5 * (self.misfit / scale + self.prior) - self.half_ln_det
    }
}

impl Diagnosis {
    /// Prepares every fault of `twin` for sweeps with or without phase and response.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn new(
        twin: &Arc<Twin>,
        measuring: &Measuring,
        has_phase: bool,
        has_response: bool,
    ) -> Result<Self, SolveError> {
        let mut out = Self {
            twin: Arc::clone(twin),
            has_phase,
            has_response,
            z_noise: measuring.noise.hypot(MODEL),
            p_noise: measuring.response_db * std::f64::consts::LN_10 / 20.0,
            hypotheses: Vec::new(),
        };
        // What an impedance does not show at all is no hypothesis of it.
        let shown = |f: &&Fault| has_response || **f != Fault::Reversed;
        let faults: Vec<Fault> = twin.faults.iter().filter(shown).copied().collect();
        let mut causes: Vec<Cause> = faults.iter().map(Fault::cause).collect();
        causes.sort();
        let of_cause = |cause: Cause| causes.iter().filter(|c| **c == cause).count() as f64;
        let mut distinct = causes.clone();
        distinct.dedup();
        let share = (1.0 - GOOD) / (distinct.len().saturating_sub(1).max(1)) as f64;
        let one = |fault: &Fault| {
            let prior = if *fault == Fault::None { GOOD } else { share / of_cause(fault.cause()) };
            out.hypothesis(*fault, prior.ln())
        };
        out.hypotheses = faults.par_iter().map(one).collect::<Result<_, _>>()?;
        Ok(out)
    }

    fn hypothesis(&self, fault: Fault, ln_prior: f64) -> Result<Hypothesis, SolveError> {
        let mut deviation = self.twin.deviations.clone();
        let mut mean = vec![0.0; deviation.len()];
        if fault == Fault::Cable {
            let leads = super::parameters::LEADS;
            (mean[leads], deviation[leads]) = CABLE_OHM;
        }
        let state = self.state(&self.twin.slopes(&fault, &mean)?, &deviation);
        Ok(Hypothesis { fault, ln_prior, mean, deviation, state })
    }

    /// Values in the order of the rows: real parts, phases, response.
    fn rows(&self, ln_z: &[Complex64], ln_p: &[f64]) -> Vec<f64> {
        let mut rows: Vec<f64> = ln_z.iter().map(|z| z.re / self.z_noise).collect();
        if self.has_phase {
            rows.extend(ln_z.iter().map(|z| z.im / self.z_noise));
        }
        if self.has_response {
            rows.extend(ln_p.iter().map(|p| p / self.p_noise));
        }
        rows
    }

    fn state(&self, at: &Slopes, deviation: &[f64]) -> State {
        let value = self.rows(&at.answer.ln_z, &at.answer.ln_p);
        let (points, count) = (at.answer.ln_z.len(), deviation.len());
        let mut slopes = DMatrix::zeros(value.len(), count);
        for (q, deviation) in deviation.iter().enumerate() {
            let z: Vec<Complex64> = (0..points).map(|f| at.z_by[f * count + q]).collect();
            let p: Vec<f64> = (0..points).map(|f| at.p_by[f * count + q]).collect();
            for (row, slope) in self.rows(&z, &p).into_iter().enumerate() {
                slopes[(row, q)] = slope * deviation;
            }
        }
        let normal = slopes.tr_mul(&slopes) + DMatrix::identity(count, count);
        let identity = || Cholesky::new_unchecked(DMatrix::identity(count, count));
        let factor = Cholesky::new(normal).unwrap_or_else(identity);
        let half_ln_det = factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum();
        State { value, slopes, factor, half_ln_det }
    }

    /// What the sweep has beyond `value`, phases within half a turn.
    fn beyond(&self, measured: &[f64], value: &[f64]) -> DVector<f64> {
        let turn = TAU / self.z_noise;
        let points = self.twin.grid.len();
        let phases = if self.has_phase { points..2 * points } else { 0..0 };
        let one = |(row, (measured, value)): (usize, (&f64, &f64))| {
            let d = measured - value;
            if phases.contains(&row) { d - turn * (d / turn).round() } else { d }
        };
        let pairs = measured.iter().zip(value).enumerate();
        DVector::from_iterator(measured.len(), pairs.map(one))
    }

    /// The likeliest causes of what was measured.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn of(&self, sounded: &Sounded) -> Result<Diagnosed, SolveError> {
        let ln_p = sounded.ln_p.as_deref().unwrap_or_default();
        let measured = self.rows(&sounded.ln_z, ln_p);
        let good = &self.hypotheses[0];
        let usual = self.refined(good, &measured, self.linear(good, &measured).1)?;
        // What a straight line misses of this unit's scatter is much the same under every fault.
        let straight = &good.state.slopes * &usual.moved;
        let missed = usual.value.iter().zip(&good.state.value).zip(straight.iter());
        let missed = missed.map(|((value, nominal), line)| value - nominal - line);
        let straightened: Vec<f64> = measured.iter().zip(missed).map(|(m, d)| m - d).collect();
        let line = |values: &[f64]| -> Vec<(Evidence, DVector<f64>)> {
            self.hypotheses.iter().map(|h| self.linear(h, values)).collect()
        };
        // A large fault drags that fit along, so both views of the sweep name candidates.
        let (mut found, other) = (line(&measured), line(&straightened));
        let mut chosen = self.to_refine(&found);
        found[0].0 = usual.evidence;
        for k in chosen.iter().filter(|k| **k != 0) {
            let (h, start) = (&self.hypotheses[*k], found[*k].1.clone());
            found[*k].0 = self.refined(h, &measured, start)?.evidence;
        }
        for k in self.to_refine(&other).into_iter().filter(|k| *k != 0) {
            let fit = self.refined(&self.hypotheses[k], &measured, other[k].1.clone())?.evidence;
            if !chosen.contains(&k) || fit.ln(1.0) > found[k].0.ln(1.0) {
                found[k].0 = fit;
            }
            chosen.push(k);
        }
        let values = measured.len() as f64;
        let best = chosen.iter().map(|k| found[*k].0.misfit).fold(f64::INFINITY, f64::min);
        let misfit = best / values;
        let ln: Vec<f64> = found
            .iter()
            .zip(&self.hypotheses)
            .map(|((e, _), h)| e.ln(misfit.max(1.0)) + h.ln_prior)
            .collect();
        Ok(self.ranked(&ln, misfit))
    }

    /// The likeliest hypotheses, no cause with more than two of its faults, and that nothing is
    /// wrong.
    fn to_refine(&self, found: &[(Evidence, DVector<f64>)]) -> Vec<usize> {
        let score = |k: usize| found[k].0.ln(1.0) + self.hypotheses[k].ln_prior;
        let mut order: Vec<usize> = (1..found.len()).collect();
        order.sort_by(|a, b| score(*b).total_cmp(&score(*a)));
        let mut chosen: Vec<usize> = vec![0];
        for k in order {
            let cause = self.hypotheses[k].fault.cause();
            let alike = |c: &&usize| self.hypotheses[**c].fault.cause() == cause;
            if chosen.len() <= AGAIN && chosen.iter().filter(alike).count() < 2 {
                chosen.push(k);
            }
        }
        chosen
    }

    fn linear(&self, h: &Hypothesis, measured: &[f64]) -> (Evidence, DVector<f64>) {
        let beyond = self.beyond(measured, &h.state.value);
        let pull = h.state.slopes.tr_mul(&beyond);
        let moved = h.state.factor.solve(&pull);
        let prior = moved.norm_squared();
        // |r|² − bᵀ A⁻¹ b is the misfit at the minimum and the prior's together.
        let misfit = (beyond.norm_squared() - pull.dot(&moved) - prior).max(0.0);
        (Evidence { misfit, prior, half_ln_det: h.state.half_ln_det }, moved)
    }

    /// Gauss-Newton from where the linear fit ended; the best step counts.
    fn refined(
        &self,
        h: &Hypothesis,
        measured: &[f64],
        start: DVector<f64>,
    ) -> Result<Fit, SolveError> {
        let mut moved = start.map(|t| t.clamp(-FARTHEST, FARTHEST));
        let mut best: Option<Fit> = None;
        for _ in 0..STEPS {
            let scaled = moved.iter().zip(&h.deviation).zip(&h.mean);
            let at: Vec<f64> = scaled.map(|((t, d), mean)| mean + t * d).collect();
            let state = self.state(&self.twin.slopes(&h.fault, &at)?, &h.deviation);
            let beyond = self.beyond(measured, &state.value);
            let evidence = Evidence {
                misfit: beyond.norm_squared(),
                prior: moved.norm_squared(),
                half_ln_det: state.half_ln_det,
            };
            let target = &beyond + &state.slopes * &moved;
            let next = state.factor.solve(&state.slopes.tr_mul(&target));
            let next = next.map(|t| t.clamp(-FARTHEST, FARTHEST));
            if best.as_ref().is_none_or(|b| evidence.ln(1.0) > b.evidence.ln(1.0)) {
                best = Some(Fit { evidence, moved, value: state.value });
            }
            moved = next;
        }
        let hopeless = || Fit {
            evidence: Evidence { misfit: 1e12, prior: 0.0, half_ln_det: 0.0 },
            moved: DVector::zeros(h.mean.len()),
            value: h.state.value.clone(),
        };
        Ok(best.unwrap_or_else(hopeless))
    }

    fn ranked(&self, ln: &[f64], misfit: f64) -> Diagnosed {
        let most = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = ln.iter().map(|l| (l - most).exp()).collect();
        let total: f64 = weights.iter().sum();
        let mut causes: Vec<(Ranked, f64)> = Vec::new();
        for (h, weight) in self.hypotheses.iter().zip(&weights) {
            let (cause, share) = (h.fault.cause(), weight / total);
            match causes.iter_mut().find(|(r, _)| r.cause == cause) {
                Some((ranked, largest)) => {
                    ranked.probability += share;
                    if share > *largest {
                        (ranked.fault, *largest) = (h.fault, share);
                    }
                }
                None => causes.push((Ranked { cause, fault: h.fault, probability: share }, share)),
            }
        }
        let mut causes: Vec<Ranked> = causes.into_iter().map(|(ranked, _)| ranked).collect();
        causes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        let good = causes.iter().find(|r| r.cause == Cause::None).map_or(0.0, |r| r.probability);
        causes.truncate(4);
        let opinion = match causes.first() {
            _ if good >= SUSPECT => Opinion::Good,
            _ if misfit > UNEXPLAINED => Opinion::Unexplained,
            Some(first) if first.probability >= DECIDED => Opinion::Decided,
            _ => Opinion::Undecided,
        };
        Diagnosed { causes, good, misfit, opinion }
    }

    /// How far a change stands out of noise and scatter, before any diagnosis: d′² = δᵀ S⁻¹ δ with
    /// the change δ of what is measured and the covariance S of noise and scatter of good units.
    pub fn detectability(&self, changed: &Answer) -> f64 {
        let Some(good) = self.hypotheses.first() else { return 0.0 };
        let changed = self.rows(&changed.ln_z, &changed.ln_p);
        let delta = self.beyond(&changed, &good.state.value);
        let pull = good.state.slopes.tr_mul(&delta);
        (delta.norm_squared() - pull.dot(&good.state.factor.solve(&pull))).max(0.0).sqrt()
    }
}
