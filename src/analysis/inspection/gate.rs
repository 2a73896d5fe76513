//! Limits for the factory: what accepted units show, and how far within it a sweep must lie so that
//! the uncertainty of measuring does not let bad units pass.

use super::conformity::{Tolerance, guard_band};
use super::key_figures::{self, KeyFigures};
use super::measuring::Measuring;
use super::population::{Drawn, Population};
use super::twin::Twin;
use crate::circuit::solve::SolveError;

/// Limits of one quantity over frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// What accepted units show.
    pub tolerance: Vec<Tolerance>,
    /// Within which a measured value is accepted: guarded.
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
    /// Share of the accepted units that keep the limits at all frequencies at once, 0 to 1.
    pub coverage: f64,
    /// Length of the guard band over the expanded uncertainty.
    pub guard: f64,
}

impl Default for Rule {
    /// 99.8 % of the accepted units, guarded by the whole expanded uncertainty.
    fn default() -> Self {
        Self { coverage: 0.998, guard: 1.0 }
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
    /// The guard bands meet.
    #[error(
        "at {hz:.0} Hz the uncertainty of the {what} leaves nothing between its guard bands: measure better, or take a smaller --guard"
    )]
    Closed {
        /// Where, Hz.
        hz: f64,
        /// "impedance" or "response".
        what: &'static str,
    },
    /// A network that cannot be solved.
    #[error(transparent)]
    Network(#[from] SolveError),
}

impl Gate {
    /// Limits from the accepted units of `population`.
    ///
    /// # Errors
    /// Fewer than 30 accepted units, or an uncertainty as large as the limits.
    pub fn of(
        twin: &Twin,
        population: &Population,
        measuring: &Measuring,
        rule: Rule,
    ) -> Result<Self, GateError> {
        const FEWEST: usize = 30;
        let (accepted, drawn) = (population.accepted().count(), population.units.len());
        if accepted < FEWEST {
            return Err(GateError::TooFew { accepted, drawn });
        }
        let copper_share = twin.copper_share()?;
        let frequency_hz = twin.grid.frequency_hz().to_vec();
        let closed = |what| move |hz| GateError::Closed { hz, what };
        let ohm = |f: usize, ln: f64| measuring.of_impedance(ln.exp(), copper_share[f]);
        let db = |_: usize, _: f64| measuring.of_response_db();
        let impedance = band(population, |u| &u.ln_ohm, rule, ohm);
        let impedance = impedance.guarded(rule, &frequency_hz).map_err(closed("impedance"))?;
        let response = band(population, |u| &u.level_db, rule, db);
        let response = response.guarded(rule, &frequency_hz).map_err(closed("response"))?;
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

    fn guarded(mut self, rule: Rule, hz: &[f64]) -> Result<Self, f64> {
        let mut acceptance = Vec::with_capacity(hz.len());
        for ((tolerance, u), hz) in self.tolerance.iter().zip(&self.uncertainty).zip(hz) {
            acceptance.push(tolerance.guarded(guard_band(rule.guard, *u)).ok_or(*hz)?);
        }
        self.acceptance = acceptance;
        Ok(self)
    }
}

/// Mean ± k standard deviations over the accepted units, k such that the share `rule.coverage` of
/// them keeps within at all frequencies at once; not yet guarded.
fn band(
    population: &Population,
    of: impl Fn(&Drawn) -> &Vec<f64>,
    rule: Rule,
    uncertainty: impl Fn(usize, f64) -> f64,
) -> Band {
    let curves: Vec<&Vec<f64>> = population.accepted().map(of).collect();
    let (n, points) = (curves.len() as f64, curves.first().map_or(0, |c| c.len()));
    let at = |f: usize| curves.iter().map(move |c| c[f]);
    let mean: Vec<f64> = (0..points).map(|f| at(f).sum::<f64>() / n).collect();
    let spread = |f: usize| (at(f).map(|v| (v - mean[f]).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let sigma: Vec<f64> = (0..points).map(|f| spread(f).max(1e-9)).collect();
    let farthest = |c: &&Vec<f64>| {
        let scores = c.iter().zip(&mean).zip(&sigma).map(|((v, m), s)| (v - m).abs() / s);
        scores.fold(0.0, f64::max)
    };
    let k = quantile(curves.iter().map(farthest).collect(), rule.coverage);
    let tolerance =
        mean.iter().zip(&sigma).map(|(m, s)| Tolerance { low: m - k * s, high: m + k * s });
    let reference: Vec<f64> = (0..points).map(|f| quantile(at(f).collect(), 0.5)).collect();
    let uncertainty = reference.iter().enumerate().map(|(f, v)| uncertainty(f, *v)).collect();
    Band { tolerance: tolerance.collect(), acceptance: Vec::new(), reference, uncertainty }
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
