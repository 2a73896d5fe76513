//! Limits for the factory as a document, as a table, as text, and as a sheet for the bench.

use super::json::SCHEMA_VERSION;
use super::limits_figure;
use crate::analysis::inspection::conformity::Tolerance;
use crate::analysis::inspection::gate::{Band, Gate, Rule};
use crate::analysis::inspection::key_figures;
use crate::analysis::inspection::measuring::{Measuring, Repeatability};
use crate::analysis::inspection::risk::Risk;
use crate::picture;
use crate::units::{plain, significant};
use askama::Template;
use serde::Serialize;
use std::fmt::Write;

/// Everything that the documents tell.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// Name of the design.
    pub design: &'a str,
    /// Name of the side.
    pub side: &'a str,
    /// The limits.
    pub gate: &'a Gate,
    /// How they were laid.
    pub rule: Rule,
    /// How the fixture measures.
    pub measuring: &'a Measuring,
    /// The repeatability study, where there was one.
    pub repeatability: Option<&'a Repeatability>,
    /// How often they err.
    pub risk: &'a Risk,
    /// The known resistor of the daily check, Ω.
    pub resistor_ohm: f64,
    /// Seed of the draws.
    pub seed: u64,
}

/// The document of `limits --json`.
#[derive(Debug, Clone, Serialize)]
pub struct LimitsDoc {
    schema_version: u32,
    design: String,
    side: String,
    seed: u64,
    drawn: usize,
    accepted: usize,
    coverage: f64,
    guard: f64,
    measuring: MeasuringDoc,
    #[serde(skip_serializing_if = "Option::is_none")]
    repeatability: Option<RepeatabilityDoc>,
    risk: RiskDoc,
    daily_check: DailyDoc,
    frequency_hz: Vec<f64>,
    /// Ω.
    impedance: BandDoc,
    /// dB re 20 µPa.
    response: BandDoc,
    key_figures: Vec<FigureDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct MeasuringDoc {
    noise: f64,
    gain: f64,
    leads_ohm: f64,
    temperature_k: f64,
    response_db: f64,
    level_db: f64,
}

#[derive(Debug, Clone, Serialize)]
struct RepeatabilityDoc {
    sweeps: usize,
    gain: f64,
    noise: f64,
}

#[derive(Debug, Clone, Serialize)]
struct RiskDoc {
    false_accept: f64,
    false_reject: f64,
    right_accept: f64,
    right_reject: f64,
    good_rejected: f64,
    unheard: f64,
}

#[derive(Debug, Clone, Serialize)]
struct DailyDoc {
    resistor_ohm: f64,
    resistor_allowance: f64,
    reference_unit_allowance: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct BandDoc {
    low: Vec<f64>,
    high: Vec<f64>,
    tolerance_low: Vec<f64>,
    tolerance_high: Vec<f64>,
    reference: Vec<f64>,
    standard_uncertainty: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct FigureDoc {
    key: &'static str,
    unit: &'static str,
    low: f64,
    high: f64,
}

impl LimitsDoc {
    /// The document.
    pub fn new(told: &Told<'_>) -> Self {
        let (gate, m, risk) = (told.gate, told.measuring, told.risk);
        let figure = |((key, unit), limits): (&(&'static str, &'static str), &Tolerance)| {
            FigureDoc { key, unit, low: limits.low, high: limits.high }
        };
        Self {
            schema_version: SCHEMA_VERSION,
            design: told.design.into(),
            side: told.side.into(),
            seed: told.seed,
            drawn: gate.drawn,
            accepted: gate.accepted,
            coverage: told.rule.coverage,
            guard: told.rule.guard,
            measuring: MeasuringDoc {
                noise: m.noise,
                gain: m.gain,
                leads_ohm: m.leads_ohm,
                temperature_k: m.temperature_k,
                response_db: m.response_db,
                level_db: m.level_db,
            },
            repeatability: told.repeatability.map(|r| RepeatabilityDoc {
                sweeps: r.sweeps,
                gain: r.gain,
                noise: r.noise,
            }),
            risk: RiskDoc {
                false_accept: risk.false_accept,
                false_reject: risk.false_reject,
                right_accept: risk.right_accept,
                right_reject: risk.right_reject,
                good_rejected: risk.good_rejected,
                unheard: risk.unheard,
            },
            daily_check: DailyDoc {
                resistor_ohm: told.resistor_ohm,
                resistor_allowance: m.resistor_allowance(told.resistor_ohm),
                reference_unit_allowance: drift(told),
            },
            frequency_hz: gate.frequency_hz.clone(),
            impedance: BandDoc::of(&gate.impedance, f64::exp, |ln, u| ln.exp() * u),
            response: BandDoc::of(&gate.response, |db| db, |_, u| u),
            key_figures: key_figures::NAMES.iter().zip(&gate.figures).map(figure).collect(),
        }
    }
}

impl BandDoc {
    fn of(band: &Band, value: impl Fn(f64) -> f64, spread: impl Fn(f64, f64) -> f64) -> Self {
        let all = |limits: &[Tolerance], pick: fn(&Tolerance) -> f64| -> Vec<f64> {
            limits.iter().map(|t| value(pick(t))).collect()
        };
        let pairs = band.reference.iter().zip(&band.uncertainty);
        Self {
            low: all(&band.acceptance, |t| t.low),
            high: all(&band.acceptance, |t| t.high),
            tolerance_low: all(&band.tolerance, |t| t.low),
            tolerance_high: all(&band.tolerance, |t| t.high),
            reference: band.reference.iter().map(|v| value(*v)).collect(),
            standard_uncertainty: pairs.map(|(v, u)| spread(*v, *u)).collect(),
        }
    }
}

/// Allowed difference of the reference unit from its first sweep, as a share, at each frequency.
fn drift(told: &Told<'_>) -> Vec<f64> {
    let pairs = told.gate.impedance.reference.iter().zip(&told.gate.copper_share);
    pairs.map(|(ln, copper)| told.measuring.drift_allowance(ln.exp(), *copper)).collect()
}

/// The limits as CSV (RFC 4180).
///
/// # Errors
/// None in practice: writing to memory.
pub fn csv(told: &Told<'_>) -> Result<String, csv::Error> {
    let doc = LimitsDoc::new(told);
    let mut out =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    out.write_record([
        "frequency_hz",
        "impedance_low_ohm",
        "impedance_high_ohm",
        "impedance_tolerance_low_ohm",
        "impedance_tolerance_high_ohm",
        "reference_ohm",
        "response_low_db",
        "response_high_db",
        "response_tolerance_low_db",
        "response_tolerance_high_db",
        "reference_db",
        "reference_unit_allowance_percent",
    ])?;
    let (z, p) = (&doc.impedance, &doc.response);
    for (f, hz) in doc.frequency_hz.iter().enumerate() {
        let allowance = 100.0 * doc.daily_check.reference_unit_allowance[f];
        let row = [
            *hz,
            z.low[f],
            z.high[f],
            z.tolerance_low[f],
            z.tolerance_high[f],
            z.reference[f],
            p.low[f],
            p.high[f],
            p.tolerance_low[f],
            p.tolerance_high[f],
            p.reference[f],
            allowance,
        ];
        out.write_record(row.map(|v| format!("{v:.5}")))?;
    }
    let bytes = out.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn percent(share: f64) -> String {
    format!("{:.2} %", 100.0 * share)
}

/// Heading and text of each part of the sheet.
fn sentences(told: &Told<'_>) -> Vec<(&'static str, String)> {
    let (m, risk, gate) = (told.measuring, told.risk, told.gate);
    let study = match told.repeatability {
        Some(r) => format!(
            "{} sweeps of one unit: {} noise at one frequency, {} common gain. Repeat it with a new fixture, a new operator, or once a quarter.",
            r.sweeps,
            percent(r.noise),
            percent(r.gain)
        ),
        None => format!(
            "None was read; stated are {} noise and {} gain. Sweep one unit ten times, taking it out in between, and give the files with --repeat.",
            percent(m.noise),
            percent(m.gain)
        ),
    };
    let drift = drift(told);
    let most = drift.iter().copied().fold(0.0, f64::max);
    vec![
        ("Limits", format!(
            "From {} accepted of {} drawn units, swept by simulation: {} of the sweeps lie within the limits of acceptance at all frequencies at once. A unit that passes keeps the tolerance; acceptance lies inside it by {} times the expanded uncertainty U = 2u (JCGM 106:2012, guarded acceptance).",
            gate.accepted, gate.drawn, percent(told.rule.coverage), plain(told.rule.guard)
        )),
        ("How often they err", format!(
            "By simulation with seed {}: {} of all units are outside the tolerance but accepted, {} inside but rejected; of the units that the design accepts {} are rejected. {} are accepted by their impedance although their response is not: no impedance sweep shows that.",
            told.seed, percent(risk.false_accept), percent(risk.false_reject), percent(risk.good_rejected), percent(risk.unheard)
        )),
        ("Before every shift", format!(
            "Sweep a known resistor of {} Ω at the unit's connector: it reads within ± {} at every frequency. Sweep the reference unit: it lies within {} of its first sweep (the table has the allowance for each frequency). If either fails, no unit is judged until the fixture is put right.",
            plain(told.resistor_ohm), percent(m.resistor_allowance(told.resistor_ohm)), percent(most)
        )),
        ("Reference unit", "A unit of the first batch that passes and lies nearest to the batch's median; `inspect` names it. Keep it with the fixture, sweep it cold, keep a second one locked away.".to_owned()),
        ("Temperature", format!(
            "Let units take the room's temperature. Copper changes by 0.393 % per kelvin: R at 20 °C = R/(1 + 0.00393 (T − 20 °C)). State T to `inspect` with --temperature-c; {} K are allowed for beside it.",
            plain(m.temperature_k)
        )),
        ("Repeatability", study),
    ]
}

/// For people.
pub fn text(told: &Told<'_>) -> String {
    let mut out = format!("Limits for {}, {} side\n\n", told.design, told.side);
    for (heading, text) in sentences(told) {
        let _ = writeln!(out, "{heading}: {text}");
    }
    out.push('\n');
    for ((key, unit), limits) in key_figures::NAMES.iter().zip(&told.gate.figures) {
        let (low, high) = (significant(limits.low, 4), significant(limits.high, 4));
        let _ = writeln!(out, "  {key}: {low} to {high} {unit}");
    }
    out
}

#[derive(Template)]
#[template(path = "limits.html")]
struct Sheet<'a> {
    design: &'a str,
    side: &'a str,
    figure: String,
    parts: Vec<(&'static str, String)>,
    rows: Vec<[String; 4]>,
    version: &'static str,
}

/// The sheet for the bench: one page that opens offline and prints on A4.
///
/// # Errors
/// A template that cannot be filled.
pub fn sheet(told: &Told<'_>) -> Result<String, askama::Error> {
    // A third of an octave apart is enough to read a sweep by eye.
    const ROWS: usize = 20;
    let doc = LimitsDoc::new(told);
    let step = (doc.frequency_hz.len() / ROWS).max(1);
    let row = |f: usize| {
        let number = |v: &[f64]| significant(v[f], 3);
        let (low, high) = (number(&doc.impedance.low), number(&doc.impedance.high));
        [number(&doc.frequency_hz), low, number(&doc.impedance.reference), high]
    };
    Sheet {
        design: told.design,
        side: told.side,
        figure: picture::svg(&limits_figure::figure(told.gate, told.side)),
        parts: sentences(told),
        rows: (0..doc.frequency_hz.len()).step_by(step).map(row).collect(),
        version: env!("CARGO_PKG_VERSION"),
    }
    .render()
}
