//! An identified driver as a document, as text, and as a driver file.

use super::json::{ComplexArrays, SCHEMA_VERSION};
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::identify::{
    Condition, FittedSweep, Identified, Parameter, Score, ThreeFrequency,
};
use crate::model::coil::VoiceCoil;
use crate::model::driver::{Limits, MassCondition, Role, Size};
use crate::units;
use serde::Serialize;
use std::fmt::Write;

/// The document of `fit --json`, SI units.
#[derive(Debug, Clone, Serialize)]
pub struct FitDoc {
    schema_version: u32,
    coil: &'static str,
    residual_percent: f64,
    parameters: Vec<ParameterDoc>,
    /// Of the coil models; the criterion is that of Schwarz, lower is better.
    scores: Vec<ScoreDoc>,
    cross_check: CrossCheckDoc,
    findings: Vec<FindingDoc>,
    sweeps: Vec<SweepDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    driver_file: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
struct ParameterDoc {
    key: &'static str,
    value: f64,
    /// Left out where the sweeps do not determine the parameter.
    #[serde(skip_serializing_if = "Option::is_none")]
    standard_error: Option<f64>,
    held: bool,
}

#[derive(Debug, Clone, Serialize)]
struct ScoreDoc {
    coil: &'static str,
    bic: f64,
    residual_percent: f64,
    free_parameters: usize,
}

#[derive(Debug, Clone, Serialize)]
struct CrossCheckDoc {
    #[serde(skip_serializing_if = "Option::is_none")]
    three_frequency: Option<ThreeFrequencyDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    three_frequency_coil_bias_percent: Option<BiasDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    added_mass_mms_kg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sealed_volume_vas_m3: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct ThreeFrequencyDoc {
    r0: f64,
    f1_hz: f64,
    f2_hz: f64,
    fs_hz: f64,
    qms: f64,
    qes: f64,
    qts: f64,
}

#[derive(Debug, Clone, Serialize)]
struct BiasDoc {
    fs: f64,
    qms: f64,
    qes: f64,
}

#[derive(Debug, Clone, Serialize)]
struct FindingDoc {
    severity: &'static str,
    subject: String,
    text: String,
}

#[derive(Debug, Clone, Serialize)]
struct SweepDoc {
    condition: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    added_mass_kg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    volume_m3: Option<f64>,
    resonance_hz: f64,
    residual_percent: f64,
    residual_neighbour_correlation: f64,
    frequency_hz: Vec<f64>,
    measured_ohm: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    measured_phase_deg: Option<Vec<f64>>,
    model_ohm: ComplexArrays,
}

impl FitDoc {
    /// The document of what was found; `driver_file` is the path of the file made of it.
    pub fn new(found: &Identified, driver_file: Option<String>) -> Self {
        let check = &found.cross_check;
        Self {
            schema_version: SCHEMA_VERSION,
            coil: found.coil_kind.word(),
            residual_percent: found.residual_percent,
            parameters: found.parameters.iter().map(parameter).collect(),
            scores: found.scores.iter().map(score).collect(),
            cross_check: CrossCheckDoc {
                three_frequency: check.three_frequency.as_ref().map(three_frequency),
                three_frequency_coil_bias_percent: check
                    .coil_bias_percent
                    .map(|[fs, qms, qes]| BiasDoc { fs, qms, qes }),
                added_mass_mms_kg: check.added_mass_kg,
                sealed_volume_vas_m3: check.sealed_volume_m3,
            },
            findings: found.findings.iter().map(finding).collect(),
            sweeps: found.sweeps.iter().map(sweep).collect(),
            driver_file,
        }
    }
}

fn parameter(p: &Parameter) -> ParameterDoc {
    ParameterDoc { key: p.key, value: p.value, standard_error: p.standard_error, held: p.held }
}

fn score(s: &Score) -> ScoreDoc {
    ScoreDoc {
        coil: s.coil.word(),
        bic: s.bic,
        residual_percent: s.residual_percent,
        free_parameters: s.parameters,
    }
}

fn three_frequency(t: &ThreeFrequency) -> ThreeFrequencyDoc {
    let ThreeFrequency { r0, f1_hz, f2_hz, fs_hz, qms, qes, qts } = *t;
    ThreeFrequencyDoc { r0, f1_hz, f2_hz, fs_hz, qms, qes, qts }
}

fn finding(f: &crate::analysis::finding::Finding) -> FindingDoc {
    FindingDoc { severity: f.severity.word(), subject: f.subject.clone(), text: f.text.clone() }
}

fn sweep(s: &FittedSweep) -> SweepDoc {
    let (added_mass_kg, volume_m3) = match s.condition {
        Condition::FreeAir => (None, None),
        Condition::AddedMass(kg) => (Some(kg), None),
        Condition::Box(m3) => (None, Some(m3)),
    };
    SweepDoc {
        condition: s.condition.word(),
        added_mass_kg,
        volume_m3,
        resonance_hz: s.resonance_hz,
        residual_percent: s.rms_percent,
        residual_neighbour_correlation: s.neighbour_correlation,
        frequency_hz: s.curve.frequency_hz.clone(),
        measured_ohm: s.curve.magnitude.clone(),
        measured_phase_deg: s.curve.phase_deg.clone(),
        model_ohm: ComplexArrays::of(&s.model),
    }
}

/// Factor from SI, and unit, for a key.
fn shown(key: &str) -> (f64, &'static str) {
    match key {
        "re_ohm" | "r2_ohm" => (1.0, "Ω"),
        "fs_hz" => (1.0, "Hz"),
        "le_h" | "l2_h" => (1e3, "mH"),
        "k_si" => (1.0, "Ω·sⁿ"),
        "mms_kg" => (1e3, "g"),
        "cms_m_per_n" => (1e3, "mm/N"),
        "rms_kg_per_s" => (1.0, "kg/s"),
        "bl_t_m" => (1.0, "T·m"),
        "vas_m3" => (1e3, "l"),
        _ => (1.0, ""),
    }
}

/// Value and error to the same decimals: two digits of the error, at most six of the value.
fn with_error(value: f64, error: f64) -> (String, String) {
    let place = |v: f64, digits: i32| digits - 1 - v.abs().log10().floor() as i32;
    let fine = if value == 0.0 { 3 } else { place(value, 6) };
    let decimals = if error > 0.0 { place(error, 2).min(fine) } else { fine.min(4) };
    let decimals = decimals.clamp(0, 9) as usize;
    (format!("{value:.decimals$}"), format!("{error:.decimals$}"))
}

/// The table for people, in lines of `width` characters.
pub fn text(found: &Identified, width: u16) -> String {
    let mut table = plain_table();
    for p in &found.parameters {
        let (scale, unit) = shown(p.key);
        let (value, error) = with_error(p.value * scale, p.standard_error.unwrap_or(0.0) * scale);
        let (error, percent) = match p.standard_error {
            _ if p.held => ("held".to_owned(), String::new()),
            None => ("not determined".to_owned(), String::new()),
            Some(_) => (
                format!("± {error}"),
                format!("{} %", units::significant(100.0 * p.relative_error(), 2)),
            ),
        };
        table.add_row(vec![p.symbol.to_owned(), value, error, unit.to_owned(), percent]);
    }
    right_align(&mut table, 1);
    right_align(&mut table, 4);
    let mut out = lines(table, width, Gives::Last);
    let _ = writeln!(
        out,
        "\n  residual {} % rms; {} coil{}",
        units::significant(found.residual_percent, 3),
        found.coil_kind.word(),
        scores(found)
    );
    cross_check(found, &mut out);
    if !found.findings.is_empty() {
        out.push_str("\nCare\n");
        let mut care = plain_table();
        for f in &found.findings {
            care.add_row(vec![f.severity.word().to_owned(), format!("{}: {}", f.subject, f.text)]);
        }
        out.push_str(&lines(care, width, Gives::Last));
    }
    out
}

fn scores(found: &Identified) -> String {
    if found.scores.len() < 2 {
        return String::new();
    }
    let one = |s: &Score| format!("{} {:.0}", s.coil.word(), s.bic);
    let all: Vec<String> = found.scores.iter().map(one).collect();
    format!(", chosen by BIC (lower is better: {})", all.join(", "))
}

fn cross_check(found: &Identified, out: &mut String) {
    let check = &found.cross_check;
    let digits = |v: f64| units::significant(v, 4);
    if let Some(t) = &check.three_frequency {
        let _ = writeln!(
            out,
            "  three-frequency method: fs {} Hz, Qms {}, Qes {}, Qts {}",
            digits(t.fs_hz),
            digits(t.qms),
            digits(t.qes),
            digits(t.qts)
        );
    }
    if let Some([fs, qms, qes]) = check.coil_bias_percent {
        let _ = writeln!(
            out,
            "    this coil biases that method by {fs:+.2} % of fs, {qms:+.2} % of Qms, {qes:+.2} % of Qes; the fit is free of it"
        );
    }
    if let Some(kg) = check.added_mass_kg {
        let _ = writeln!(out, "  added mass by the two resonances: Mms {} g", digits(kg * 1e3));
    }
    if let Some(m3) = check.sealed_volume_m3 {
        let _ = writeln!(out, "  box by fc and Qec: Vas {} l", digits(m3 * 1e3));
    }
}

/// What a driver file holds beside what sweeps tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated {
    /// The driver's name.
    pub name: String,
    /// Woofer or tweeter.
    pub role: Role,
    /// How it was mounted.
    pub mass_condition: MassCondition,
    /// Excursion and power.
    pub limits: Limits,
    /// Dimensions.
    pub size: Size,
}

/// A driver file of what was found and what is stated, with the errors as comments and `origin`
/// as its first line; `None` without a second sweep.
pub fn driver_file(found: &Identified, stated: &Stated, origin: &str) -> Option<String> {
    let motor = found.motor.as_ref()?;
    let mut out = format!("# {}\n", one_line(origin));
    let role = stated.role.word();
    let name = quoted(&stated.name);
    let _ = write!(
        out,
        "# After each value: one standard error, from the noise of the sweeps.\nslabtone = 1\nkind = \"driver\"\nname = {name}\nrole = \"{role}\"\n\n[thiele_small]\n"
    );
    let line = |out: &mut String, key: &str, of: &str| {
        if let Some(p) = found.parameter(of) {
            let (scale, _) = shown(of);
            let error = match p.standard_error {
                _ if p.held => "held".to_owned(),
                Some(error) => format!("± {}", units::significant(error * scale, 2)),
                None => "not determined".to_owned(),
            };
            let _ = writeln!(out, "{key} = {} # {error}", units::plain(p.value * scale));
        }
    };
    for (key, of) in [("fs_hz", "fs_hz"), ("qms", "qms"), ("qes", "qes"), ("mms_g", "mms_kg")] {
        line(&mut out, key, of);
    }
    let _ = writeln!(out, "sd_cm2 = {}", units::plain(motor.sd_m2 * 1e4));
    line(&mut out, "re_ohm", "re_ohm");
    let mounted = match stated.mass_condition {
        MassCondition::FreeAir => "free_air",
        MassCondition::Baffled => "baffle",
    };
    let _ = writeln!(out, "mms_measured = \"{mounted}\"\n\n[voice_coil]");
    let coil: &[(&str, &str)] = match found.coil {
        VoiceCoil::Plain { .. } => &[("le_mh", "le_h")],
        VoiceCoil::PowerLaw { .. } => &[("power_law_k", "k_si"), ("power_law_n", "n")],
        VoiceCoil::Shunted { .. } => {
            &[("le_mh", "le_h"), ("shunted_le_mh", "l2_h"), ("shunt_ohm", "r2_ohm")]
        }
    };
    for (key, of) in coil {
        line(&mut out, key, of);
    }
    out.push_str(&stated_tables(stated));
    Some(out)
}

fn stated_tables(stated: &Stated) -> String {
    let (limits, size) = (&stated.limits, &stated.size);
    format!(
        "\n[limits]\nxmax_mm = {}\nnoise_power_w = {}\n\n[size]\nmounting_depth_mm = {}\ncutout_mm = {}\nflange_mm = {}\ndisplaced_volume_cm3 = {}\nacoustic_centre_mm = {}\n",
        units::plain(limits.xmax_m * 1e3),
        units::plain(limits.noise_power_w),
        units::plain(size.mounting_depth_m * 1e3),
        units::plain(size.cutout_m * 1e3),
        units::plain(size.flange_m * 1e3),
        units::plain(size.displaced_volume_m3 * 1e6),
        units::plain(size.acoustic_centre_m * 1e3),
    )
}

fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A TOML basic string.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
