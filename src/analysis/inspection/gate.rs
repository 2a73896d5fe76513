//! Limits for the factory. Within the limits of acceptance lies what the fixture reads of accepted
//! units, but for a stated share; the tolerance that units may be sold by lies outside them by the guard
//! band, so that the uncertainty of measuring lets hardly any pass that break it.

use super::conformity::{Tolerance, guard_band};
use super::key_figures::{self, KeyFigures};
use super::measuring::Measuring;
use super::population::Population;
use super::twin::Twin;
use crate::circuit::solve::SolveError;

/// Limits of one quantity over frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// What a unit that passes keeps.
    pub tolerance: Vec<Tolerance>,
    /// Within which a measured value is accepted: the tolerance less the guard band.
    pub acceptance: Vec<Tolerance>,
    /// What a unit in the middle shows: the median.
    pub reference: Vec<f64>,
    /// Standard uncertainty of one measured value.
    pub uncertainty: Vec<f64>,
}

/// Limits for one side.
#[derive(Debug, Clone, PartialEq)]
pub struct Gate {
    /// Frequencies, Hz.
    pub frequency_hz: Vec<f64>,
    /// Of the impedance: logarithm of the magnitude in Ω.
    pub impedance: Band,
    /// Of the response: level, dB re 20 µPa.
    pub response: Band,
    /// Share of the impedance that grows with the temperature of copper.
    pub copper_share: Vec<f64>,
    /// Range of each key figure among accepted units.
    pub figures: [Tolerance; key_figures::COUNT],
    /// Units drawn, and those of them that the design accepts.
    pub drawn: usize,
    /// Accepted.
    pub accepted: usize,
}

/// How limits are laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Share of the accepted units whose sweeps keep the limits at all frequencies at once, 0 to 1.
    pub coverage: f64,
    /// Length of the guard band over the expanded uncertainty.
    pub guard: f64,
}

impl Default for Rule {
    /// 99 % of the accepted units, guarded by the whole expanded uncertainty.
    fn default() -> Self {
        Self { coverage: 0.99, guard: 1.0 }
    }
}

/// Why there are no limits.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GateError {
    /// Hardly any unit is accepted.
    #[error("the design accepts {accepted} of {drawn} drawn units: too few for limits")]
    TooFew {
        /// Accepted.
        accepted: usize,
        /// Drawn.
        drawn: usize,
    },
    /// A network that cannot be solved.
    #[error(transparent)]
    Network(#[from] SolveError),
}

impl Gate {
    /// Limits from the accepted units of `population`, swept by `seed`.
    ///
    /// # Errors
    /// Fewer than 30 accepted units.
    pub fn of(
        twin: &Twin,
        population: &Population,
        measuring: &Measuring,
        rule: Rule,
        seed: u64,
    ) -> Result<Self, GateError> {
        const FEWEST: usize = 30;
        let (accepted, drawn) = (population.accepted().count(), population.units.len());
        if accepted < FEWEST {
            return Err(GateError::TooFew { accepted, drawn });
        }
        let copper_share = twin.copper_share()?;
        let frequency_hz = twin.grid.frequency_hz().to_vec();
        let z: Vec<&Vec<f64>> = population.accepted().map(|u| &u.ln_ohm).collect();
        let read = |k: usize| measuring.impedance_read(z[k], &copper_share, seed, k as u64);
        let ohm = |f: usize, ln: f64| measuring.of_impedance(ln.exp(), copper_share[f]);
        let impedance = band(&z, read, rule, ohm);
        let p: Vec<&Vec<f64>> = population.accepted().map(|u| &u.level_db).collect();
        let read = |k: usize| measuring.response_read(p[k], seed, k as u64);
        let response = band(&p, read, rule, |_, _| measuring.of_response_db());
        let figures = figures(population, &frequency_hz, rule);
        Ok(Self { frequency_hz, impedance, response, copper_share, figures, drawn, accepted })
    }
}

impl Band {
    /// Where values (on the same frequencies) lie outside the limits of acceptance.
    pub fn outside(&self, values: &[f64]) -> Vec<usize> {
        let pairs = self.acceptance.iter().zip(values).enumerate();
        pairs.filter(|(_, (limit, value))| !limit.holds(**value)).map(|(f, _)| f).collect()
    }

    /// Whether values keep the tolerance everywhere.
    pub fn conforms(&self, values: &[f64]) -> bool {
        self.tolerance.iter().zip(values).all(|(t, v)| t.holds(*v))
    }
}

/// Mean ± k standard deviations of what is read of accepted units, k such that the share
/// `rule.coverage` of the readings keeps within at all frequencies at once; and the tolerance outside
/// it.
fn band(
    curves: &[&Vec<f64>],
    read: impl Fn(usize) -> Vec<f64>,
    rule: Rule,
    uncertainty: impl Fn(usize, f64) -> f64,
) -> Band {
    let (n, points) = (curves.len() as f64, curves.first().map_or(0, |c| c.len()));
    let at = |f: usize| curves.iter().map(move |c| c[f]);
    let reference: Vec<f64> = (0..points).map(|f| quantile(at(f).collect(), 0.5)).collect();
    let uncertainty: Vec<f64> =
        reference.iter().enumerate().map(|(f, v)| uncertainty(f, *v)).collect();
    let mean: Vec<f64> = (0..points).map(|f| at(f).sum::<f64>() / n).collect();
    let variance = |f: usize| at(f).map(|v| (v - mean[f]).powi(2)).sum::<f64>() / (n - 1.0);
    let sigma: Vec<f64> = (0..points).map(|f| variance(f).sqrt().hypot(uncertainty[f])).collect();
    let farthest = |k: usize| {
        let reading = read(k);
        let scores = reading.iter().zip(&mean).zip(&sigma).map(|((v, m), s)| (v - m).abs() / s);
        scores.fold(0.0, f64::max)
    };
    let k = quantile((0..curves.len()).map(farthest).collect(), rule.coverage);
    let limits = |f: usize| Tolerance { low: mean[f] - k * sigma[f], high: mean[f] + k * sigma[f] };
    let acceptance: Vec<Tolerance> = (0..points).map(limits).collect();
    let wider = |(a, u): (&Tolerance, &f64)| {
        let w = guard_band(rule.guard, *u);
        Tolerance { low: a.low - w, high: a.high + w }
    };
    let tolerance = acceptance.iter().zip(&uncertainty).map(wider).collect();
    Band { tolerance, acceptance, reference, uncertainty }
}

/// The smallest value that the share `p` of all does not exceed.
pub(super) fn quantile(mut values: Vec<f64>, p: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = (p * values.len() as f64).ceil() as usize;
    values.get(at.clamp(1, values.len().max(1)) - 1).copied().unwrap_or(0.0)
}

fn figures(population: &Population, hz: &[f64], rule: Rule) -> [Tolerance; key_figures::COUNT] {
    let all: Vec<KeyFigures> =
        population.accepted().map(|u| KeyFigures::of(hz, &u.ln_ohm)).collect();
    let tail = 0.5 * (1.0 - rule.coverage);
    std::array::from_fn(|k| {
        let values: Vec<f64> = all.iter().map(|f| f.values()[k]).collect();
        Tolerance { low: quantile(values.clone(), tail), high: quantile(values, 1.0 - tail) }
    })
}
