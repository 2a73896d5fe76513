//! Sweeps of many units examined one by one and together.

use super::batch::{self, Capability, Drift};
use super::conformity::Tolerance;
use super::diagnose::{Diagnosed, Diagnosis, Opinion, Sounded};
use super::gate::Gate;
use super::key_figures::{self, KeyFigures};
use super::measuring::{Measuring, REFERENCE_C};
use super::pairs::{self, Pair};
use super::twin::Twin;
use crate::circuit::solve::SolveError;
use crate::grid::{Grid, level_db};
use crate::model::driver::REFERENCE_PRESSURE_PA;
use crate::model::heat::COPPER_PER_K;
use crate::signal::curve::{Curve, CurveError};
use crate::signal::interpolate::Outside;
use num_complex::Complex64;
use std::sync::Arc;

/// A unit as it was swept.
#[derive(Debug, Clone)]
pub struct Swept {
    /// What it is called.
    pub name: String,
    /// Index of the side among the inspectors.
    pub side: usize,
    /// Its serial number, or its place in the batch.
    pub serial: f64,
    /// Impedance, Ω.
    pub impedance: Curve,
    /// Sound pressure, Pa, where it was measured.
    pub response: Option<Curve>,
}

/// What a unit comes to.
#[derive(Debug, Clone)]
pub struct Examined {
    /// What it is called.
    pub name: String,
    /// Index of its side.
    pub side: usize,
    /// Its serial number.
    pub serial: f64,
    /// Logarithm of the magnitude on the axis of its side, Ω, copper at 20 °C.
    pub ln_ohm: Vec<f64>,
    /// Key figures.
    pub figures: KeyFigures,
    /// Frequencies at which the impedance lies outside its limits, Hz.
    pub outside_hz: Vec<f64>,
    /// Frequencies at which the response does, Hz; empty without one.
    pub response_outside_hz: Vec<f64>,
    /// What is wrong.
    pub diagnosed: Diagnosed,
    /// Whether it passes: inside all limits, and nothing suspect.
    pub passes: bool,
}

/// All that is known of a side before its units are.
#[derive(Debug)]
pub struct Inspector {
    /// The side.
    pub twin: Arc<Twin>,
    /// Its limits.
    pub gate: Gate,
    /// With and without phase, with and without response: made when a sweep needs it.
    ready: [Option<Diagnosis>; 4],
    /// Temperature of the copper during the sweeps, °C.
    celsius: f64,
}

/// Why a unit cannot be examined.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ExamineError {
    /// The sweep does not cover the axis.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// A network that cannot be solved.
    #[error(transparent)]
    Network(#[from] SolveError),
}

fn kind(has_phase: bool, has_response: bool) -> usize {
    usize::from(has_phase) + 2 * usize::from(has_response)
}

impl Inspector {
    /// Ready for those kinds of sweeps that are in `units`.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn new<'u>(
        twin: &Arc<Twin>,
        gate: Gate,
        measuring: &Measuring,
        celsius: Option<f64>,
        units: impl Iterator<Item = &'u Swept>,
    ) -> Result<Self, SolveError> {
        let mut ready = [None, None, None, None];
        for unit in units {
            let (phase, response) = (unit.impedance.phase_deg.is_some(), unit.response.is_some());
            let slot = &mut ready[kind(phase, response)];
            if slot.is_none() {
                *slot = Some(Diagnosis::new(twin, measuring, phase, response)?);
            }
        }
        let celsius = celsius.unwrap_or(REFERENCE_C);
        Ok(Self { twin: Arc::clone(twin), gate, ready, celsius })
    }

    /// Examines one unit.
    ///
    /// # Errors
    /// A sweep that does not cover the axis.
    pub fn examine(&self, unit: &Swept) -> Result<Examined, ExamineError> {
        let sounded = self.sounded(unit)?;
        let ln_ohm: Vec<f64> = sounded.ln_z.iter().map(|z| z.re).collect();
        let hz = &self.gate.frequency_hz;
        let at = |places: Vec<usize>| places.into_iter().map(|f| hz[f]).collect::<Vec<f64>>();
        let outside_hz = at(self.gate.impedance.outside(&ln_ohm));
        let response_outside_hz = sounded.ln_p.as_ref().map_or_else(Vec::new, |ln_p| {
            let db = |p: &f64| level_db(p.exp(), REFERENCE_PRESSURE_PA);
            at(self.gate.response.outside(&ln_p.iter().map(db).collect::<Vec<_>>()))
        });
        let diagnosis = &self.ready[kind(sounded.has_phase, sounded.ln_p.is_some())];
        let diagnosed = match diagnosis {
            Some(diagnosis) => diagnosis.of(&sounded)?,
            None => {
                Diagnosed { causes: Vec::new(), good: 1.0, misfit: 0.0, opinion: Opinion::Good }
            }
        };
        let within = outside_hz.is_empty() && response_outside_hz.is_empty();
        Ok(Examined {
            name: unit.name.clone(),
            side: unit.side,
            serial: unit.serial,
            figures: KeyFigures::of(hz, &ln_ohm),
            ln_ohm,
            outside_hz,
            response_outside_hz,
            passes: within && diagnosed.opinion == Opinion::Good,
            diagnosed,
        })
    }

    /// The sweep on the axis of the side, resistances of copper told for 20 °C.
    fn sounded(&self, unit: &Swept) -> Result<Sounded, CurveError> {
        let grid = &self.twin.grid;
        let magnitude = unit.impedance.magnitude_on(grid, Outside::Refuse)?.values;
        let phase: Vec<f64> = match unit.impedance.phase_deg {
            Some(_) => {
                let values = unit.impedance.complex_on(grid, Outside::Refuse)?.values;
                values.iter().map(|z| z.arg()).collect()
            }
            None => vec![0.0; grid.len()],
        };
        let warmth = (1.0 + COPPER_PER_K * (self.celsius - REFERENCE_C)).ln();
        let one = |((ohm, rad), copper): ((&f64, &f64), &f64)| {
            Complex64::new(ohm.ln() - warmth * copper, *rad)
        };
        let ln_z = magnitude.iter().zip(&phase).zip(&self.gate.copper_share).map(one).collect();
        let ln_p = match &unit.response {
            Some(curve) => {
                let pascal = curve.magnitude_on(grid, Outside::Refuse)?.values;
                Some(pascal.iter().map(|p| p.ln()).collect())
            }
            None => None,
        };
        Ok(Sounded { ln_z, has_phase: unit.impedance.phase_deg.is_some(), ln_p })
    }
}

/// An axis for a batch: even in the logarithm over what most of its sweeps cover within 20 Hz to
/// 20 kHz; `None` where that is less than an octave.
pub fn axis<'u>(sweeps: impl Iterator<Item = &'u Curve>, points: usize) -> Option<Arc<Grid>> {
    let ends = |c: &Curve| Some((*c.frequency_hz.first()?, *c.frequency_hz.last()?));
    let (starts, stops): (Vec<f64>, Vec<f64>) = sweeps.filter_map(ends).unzip();
    if starts.is_empty() {
        return None;
    }
    let (from_hz, to_hz) = (batch::median(starts).max(20.0), batch::median(stops).min(20_000.0));
    let wide = to_hz > 2.0 * from_hz;
    wide.then(|| Grid::log(from_hz, to_hz, points).ok()).flatten()
}

/// A key figure over a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureSummary {
    /// Its name.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Its limits.
    pub limits: Tolerance,
    /// How it sits between them.
    pub capability: Option<Capability>,
    /// Over the serial number.
    pub drift: Option<Drift>,
    /// Indices of units that stand apart from the rest.
    pub outliers: Vec<usize>,
}

/// A batch of one side.
#[derive(Debug, Clone)]
pub struct SideSummary {
    /// The side.
    pub side: usize,
    /// Its units that were examined and that pass.
    pub units: usize,
    /// Of these, passed.
    pub passed: usize,
    /// Key figures, over the units without a fault that is decided.
    pub figures: Vec<FigureSummary>,
    /// The unit nearest to the median: a candidate for the reference unit.
    pub reference: Option<usize>,
}

/// Summary of the units of `side` among `all`.
pub fn summary(all: &[Examined], side: usize, gate: &Gate) -> SideSummary {
    let own: Vec<usize> = (0..all.len()).filter(|k| all[*k].side == side).collect();
    let sound: Vec<usize> =
        own.iter().copied().filter(|k| all[*k].diagnosed.opinion == Opinion::Good).collect();
    let serial: Vec<f64> = sound.iter().map(|k| all[*k].serial).collect();
    let one = |k: usize| {
        let values: Vec<f64> = sound.iter().map(|u| all[*u].figures.values()[k]).collect();
        let scores = batch::robust_scores(&values);
        let far = |(u, s): (&usize, f64)| (s.abs() > batch::OUTLYING).then_some(*u);
        FigureSummary {
            name: key_figures::NAMES[k].0,
            unit: key_figures::NAMES[k].1,
            limits: gate.figures[k],
            capability: Capability::of(&values, gate.figures[k]),
            drift: Drift::of(&serial, &values),
            outliers: sound.iter().zip(scores).filter_map(far).collect(),
        }
    };
    let points = gate.frequency_hz.len();
    let middle = |f| batch::median(sound.iter().map(|k| all[*k].ln_ohm[f]).collect());
    let median: Vec<f64> = (0..points).map(middle).collect();
    let passed = |k: &usize| all[*k].passes;
    let away = |k: &usize| distance_db(&all[*k].ln_ohm, &median);
    SideSummary {
        side,
        units: own.len(),
        passed: own.iter().copied().filter(|k| passed(k)).count(),
        figures: (0..key_figures::COUNT).map(one).collect(),
        reference: own.iter().copied().filter(passed).min_by(|a, b| away(a).total_cmp(&away(b))),
    }
}

/// Left and right units that pass, paired for the smallest mismatch of their impedances; indices
/// are those of `all`.
pub fn pairs(all: &[Examined], left: usize, right: usize) -> Vec<Pair> {
    let of = |side| -> Vec<usize> {
        (0..all.len()).filter(|k| all[*k].side == side && all[*k].passes).collect()
    };
    let (lefts, rights) = (of(left), of(right));
    let apart = |l: &usize, r: &usize| distance_db(&all[*l].ln_ohm, &all[*r].ln_ohm);
    let cost: Vec<Vec<f64>> =
        lefts.iter().map(|l| rights.iter().map(|r| apart(l, r)).collect()).collect();
    let found = pairs::matched(&cost).into_iter();
    found.map(|p| Pair { left: lefts[p.left], right: rights[p.right], ..p }).collect()
}

/// Difference of two curves of logarithms, dB rms; infinite for curves of different lengths.
fn distance_db(a: &[f64], b: &[f64]) -> f64 {
    const DB_PER_NEPER: f64 = 20.0 / std::f64::consts::LN_10;
    if a.len() != b.len() {
        return f64::INFINITY;
    }
    let squares: f64 = a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum();
    DB_PER_NEPER * (squares / a.len().max(1) as f64).sqrt()
}
