//! What `extract` found, as documents, as columns for a curve file, and as text.

use super::json::{ComplexArrays, SCHEMA_VERSION};
use crate::analysis::extract::Facts;
use crate::analysis::extract::distortion::{Distortion, ORDERS};
use crate::analysis::extract::impedance::{MeasuredImpedance, OCTAVE_FRACTION};
use crate::analysis::extract::response::MeasuredResponse;
use crate::grid::level_db;
use crate::units::{hertz, plain, significant};
use serde::Serialize;
use std::fmt::Write;

/// What the user stated about a measurement; told on, not used.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Stated {
    /// Where the driver was: `free_air`, `half_space`, `near_field`, `in_this_panel`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// Voltage at the driver, V rms.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volts: Option<f64>,
    /// Distance of the microphone, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_m: Option<f64>,
    /// Angle off the axis, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub angle_deg: Option<f64>,
}

impl Stated {
    fn lines(&self) -> Vec<String> {
        let mut lines = vec![match &self.condition {
            Some(condition) => format!("condition: {condition}"),
            None => "condition: not stated".to_owned(),
        }];
        let numbers = [
            ("voltage at the driver", self.volts, "V rms"),
            ("distance", self.distance_m, "m"),
            ("angle", self.angle_deg, "degrees off the axis"),
        ];
        for (what, value, unit) in numbers {
            lines.extend(value.map(|v| format!("{what}: {} {unit}", plain(v))));
        }
        lines
    }
}

#[derive(Debug, Clone, Serialize)]
struct RecordingDoc {
    file: String,
    sweep_start_s: f64,
    clock_ppm: f64,
    reference_peak_db: f64,
    signal_peak_db: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    signal_to_noise_db: Option<f64>,
}

fn recordings(facts: &[Facts]) -> Vec<RecordingDoc> {
    let one = |f: &Facts| RecordingDoc {
        file: f.file.clone(),
        sweep_start_s: f.start_s,
        clock_ppm: f.clock_ppm,
        reference_peak_db: f.reference_peak_db,
        signal_peak_db: f.signal_peak_db,
        signal_to_noise_db: f.snr_db,
    };
    facts.iter().map(one).collect()
}

/// The document of `extract --as impedance --json`.
#[derive(Debug, Clone, Serialize)]
pub struct ImpedanceDoc {
    schema_version: u32,
    kind: &'static str,
    stated: Stated,
    recordings: Vec<RecordingDoc>,
    spread_db: f64,
    uncorrected: Vec<&'static str>,
    cautions: Vec<String>,
    frequency_hz: Vec<f64>,
    impedance_ohm: ComplexArrays,
}

/// The document of `extract --as response --json`.
#[derive(Debug, Clone, Serialize)]
pub struct ResponseDoc {
    schema_version: u32,
    kind: &'static str,
    stated: Stated,
    recordings: Vec<RecordingDoc>,
    spread_db: f64,
    /// `pascal` or `ratio`.
    unit: &'static str,
    arrival_s: f64,
    taken_out_s: f64,
    gate_s: f64,
    lead_s: f64,
    lowest_valid_hz: f64,
    cautions: Vec<String>,
    frequency_hz: Vec<f64>,
    response: ComplexArrays,
    #[serde(skip_serializing_if = "Option::is_none")]
    distortion: Option<DistortionDoc>,
}

/// Shares of the fundamental; a harmonic beyond the sweep ends its list.
#[derive(Debug, Clone, Serialize)]
struct DistortionDoc {
    frequency_hz: Vec<f64>,
    second: Vec<f64>,
    third: Vec<f64>,
    total: Vec<f64>,
    floor: Vec<f64>,
}

fn shares(distortion: &Distortion, order: u32) -> Vec<f64> {
    let at = ORDERS.iter().position(|n| *n == order).unwrap_or(0);
    distortion.harmonics[at].iter().map_while(|share| *share).collect()
}

/// The document of an impedance.
pub fn impedance(measured: &MeasuredImpedance, stated: &Stated) -> ImpedanceDoc {
    ImpedanceDoc {
        schema_version: SCHEMA_VERSION,
        kind: "impedance",
        stated: stated.clone(),
        recordings: recordings(&measured.facts),
        spread_db: measured.spread_db,
        uncorrected: measured.uncorrected.clone(),
        cautions: cautions(&measured.facts),
        frequency_hz: measured.impedance.grid().frequency_hz().to_vec(),
        impedance_ohm: ComplexArrays::of(measured.impedance.values()),
    }
}

/// The document of a response.
pub fn response(
    measured: &MeasuredResponse,
    distortion: Option<&Distortion>,
    stated: &Stated,
) -> ResponseDoc {
    ResponseDoc {
        schema_version: SCHEMA_VERSION,
        kind: "response",
        stated: stated.clone(),
        recordings: recordings(&measured.facts),
        spread_db: measured.spread_db,
        unit: if measured.in_pascals { "pascal" } else { "ratio" },
        arrival_s: measured.gate.arrival_s,
        taken_out_s: measured.taken_out_s,
        gate_s: measured.gate.window.after_s,
        lead_s: measured.gate.window.before_s,
        lowest_valid_hz: measured.gate.lowest_hz,
        cautions: response_cautions(measured),
        frequency_hz: measured.grid.frequency_hz().to_vec(),
        response: ComplexArrays::of(&measured.values),
        distortion: distortion.map(|d| DistortionDoc {
            frequency_hz: d.frequency_hz.clone(),
            second: shares(d, 2),
            third: shares(d, 3),
            total: d.total.clone(),
            floor: d.floor.clone(),
        }),
    }
}

/// The lines that stand above the columns of an impedance, and in its text.
fn about_impedance(measured: &MeasuredImpedance, stated: &Stated) -> Vec<String> {
    let mut lines = stated.lines();
    lines.push(format!(
        "each point is the complex mean over a Hann window of 1/{OCTAVE_FRACTION} octave to both sides"
    ));
    lines.push(format!("not corrected: {}", measured.uncorrected.join("; ")));
    lines.extend(about_recordings(&measured.facts, measured.spread_db));
    lines
}

/// The lines that stand above the columns of a response, and in its text.
fn about_response(measured: &MeasuredResponse, stated: &Stated) -> Vec<String> {
    let mut lines = stated.lines();
    // Nothing finer than a nanosecond is meant.
    let ms = |s: f64| significant((s * 1e9).round() * 1e-6, 4);
    let (gate, arrival_s) = (&measured.gate, measured.gate.arrival_s);
    // A stored impulse response has no recording behind it.
    let stored = measured.facts.is_empty();
    let zero = if stored { "the first sample" } else { "the reference" };
    let unit = match (measured.in_pascals, stored) {
        (true, _) => "dB re 20 µPa rms",
        (false, true) => "dB re full scale",
        (false, false) => "dB re the reference channel",
    };
    lines.push(format!("level: {unit}"));
    lines.push(format!(
        "arrival: peak {} ms after {zero}, {} m of air at 20 °C",
        ms(arrival_s),
        significant((arrival_s * 343.2e6).round() * 1e-6, 4)
    ));
    lines.push(format!(
        "gate: from {} ms before the peak to {} ms after it, half a Hann window at each end",
        ms(gate.window.before_s),
        ms(gate.window.after_s)
    ));
    lines.push(format!(
        "lowest valid frequency: {} (1/gate); nothing is told below, nor in the last 2/gate of the sweep",
        hertz(gate.lowest_hz)
    ));
    lines.push(format!(
        "time zero: {} ms after {zero} (taken out of the phase)",
        ms(measured.taken_out_s)
    ));
    lines.extend(about_recordings(&measured.facts, measured.spread_db));
    lines
}

fn about_recordings(facts: &[Facts], spread_db: f64) -> Vec<String> {
    let one = |f: &Facts| {
        let noise = match f.snr_db {
            Some(db) => format!("{} dB over the noise", significant(db, 2)),
            None => "noise unknown".to_owned(),
        };
        let peaks = (significant(f.reference_peak_db, 3), significant(f.signal_peak_db, 3));
        let clock = if f.clock_ppm.abs() < 1.0 {
            "one clock".to_owned()
        } else {
            format!("player's clock {} ppm off", significant(f.clock_ppm, 3))
        };
        format!("{}: peaks {} and {} dB of full scale, {noise}, {clock}", f.file, peaks.0, peaks.1)
    };
    let mut lines: Vec<String> = facts.iter().map(one).collect();
    if facts.len() > 1 {
        lines.push(format!(
            "mean of {} recordings, which differ from it by up to {} dB",
            facts.len(),
            significant(spread_db, 2)
        ));
    }
    lines
}

/// Peaks above this are close to clipping, dB.
const HIGH_PEAK_DB: f64 = -1.0;
/// Less than this over the noise is told, dB.
const LOW_SNR_DB: f64 = 40.0;

/// What makes a sound recording worse than it could be.
fn cautions(facts: &[Facts]) -> Vec<String> {
    let mut told = Vec::new();
    for f in facts {
        if let Some(db) = f.snr_db.filter(|db| *db < LOW_SNR_DB) {
            told.push(format!(
                "{}: the sweep is only {} dB over the noise; a longer sweep, a quieter room or more recordings help",
                f.file,
                significant(db, 2)
            ));
        }
        if f.reference_peak_db.max(f.signal_peak_db) > HIGH_PEAK_DB {
            told.push(format!("{}: peaks are within 1 dB of full scale", f.file));
        }
        if f.clock_ppm.abs() > 5.0 {
            told.push(format!(
                "{}: player and recorder count time differently by {} ppm; with the reference recorded beside the signal this cancels, frequencies are the recorder's",
                f.file,
                significant(f.clock_ppm, 3)
            ));
        }
    }
    told
}

fn response_cautions(measured: &MeasuredResponse) -> Vec<String> {
    let mut told = cautions(&measured.facts);
    let (low, high) = (measured.grid.start_hz(), measured.grid.stop_hz());
    // A correction that ends a third of an octave early is as good as whole.
    let short = |(from, to): &(f64, f64)| *from > 1.26 * low || 1.26 * to < high;
    told.extend(measured.microphone_hz.filter(short).map(|(from, to)| {
        format!(
            "the microphone's correction covers {} to {} only; beyond, its last value goes on",
            hertz(from),
            hertz(to)
        )
    }));
    told
}

/// Columns of frequency, magnitude and phase under comment lines.
fn columns(about: &[String], header: &str, rows: impl Iterator<Item = [f64; 3]>) -> String {
    let mut out = String::new();
    about.iter().for_each(|line| out.push_str(&format!("# {line}\n")));
    let _ = writeln!(out, "{header}");
    for [hz, size, phase] in rows {
        let _ = writeln!(out, "{hz:.4},{size:.6},{phase:.4}");
    }
    out
}

/// The curve file of an impedance: frequency_hz, magnitude_ohm, phase_deg.
pub fn impedance_columns(measured: &MeasuredImpedance, stated: &Stated) -> String {
    let z = &measured.impedance;
    let pairs = z.grid().frequency_hz().iter().zip(z.values());
    let rows = pairs.map(|(hz, z)| [*hz, z.norm(), z.arg().to_degrees()]);
    let about = about_impedance(measured, stated);
    columns(&about, "frequency_hz,magnitude_ohm,phase_deg", rows)
}

/// The curve file of a response: frequency_hz, level_db, phase_deg.
pub fn response_columns(measured: &MeasuredResponse, stated: &Stated) -> String {
    let levels = levels_db(measured);
    let pairs = measured.grid.frequency_hz().iter().zip(&levels).zip(&measured.values);
    let rows = pairs.map(|((hz, db), v)| [*hz, *db, v.arg().to_degrees()]);
    columns(&about_response(measured, stated), "frequency_hz,level_db,phase_deg", rows)
}

/// Levels of a response, dB re 20 µPa or re the reference channel.
pub fn levels_db(measured: &MeasuredResponse) -> Vec<f64> {
    let reference = if measured.in_pascals { 20e-6 } else { 1.0 };
    measured.values.iter().map(|v| level_db(v.norm(), reference)).collect()
}

/// The table of distortion in percent of the fundamental; empty cells beyond the sweep.
pub fn distortion_columns(distortion: &Distortion) -> String {
    let mut out = String::from("# in percent of the fundamental at frequency_hz\n");
    out.push_str("frequency_hz,second_percent,third_percent,total_percent,noise_percent\n");
    let cell = |share: Option<f64>| share.map_or(String::new(), |s| format!("{:.5}", 100.0 * s));
    for (k, hz) in distortion.frequency_hz.iter().enumerate() {
        let [second, third] = [0, 1].map(|n| cell(distortion.harmonics[n][k]));
        let (total, floor) = (cell(Some(distortion.total[k])), cell(Some(distortion.floor[k])));
        let _ = writeln!(out, "{hz:.4},{second},{third},{total},{floor}");
    }
    out
}

/// An impedance for people.
pub fn impedance_text(measured: &MeasuredImpedance, stated: &Stated) -> String {
    let z = &measured.impedance;
    let (low, high) = (z.grid().start_hz(), z.grid().stop_hz());
    let mut out = format!("Impedance from {} to {}", hertz(low), hertz(high));
    if let Some((ohm, at)) = z.lowest(low, high) {
        let _ = write!(out, ", lowest {} Ω at {}", significant(ohm, 4), hertz(at));
    }
    out.push('\n');
    finish(out, &about_impedance(measured, stated), &cautions(&measured.facts))
}

/// A response for people.
pub fn response_text(
    measured: &MeasuredResponse,
    distortion: Option<&Distortion>,
    stated: &Stated,
) -> String {
    let (low, high) = (measured.grid.start_hz(), measured.grid.stop_hz());
    let out = format!("Response from {} to {}\n", hertz(low), hertz(high));
    let mut about = about_response(measured, stated);
    match distortion {
        Some(d) => about.push(distortion_line(d)),
        None if measured.facts.is_empty() => {}
        None => about.push("the sweep is too short to keep harmonics apart".to_owned()),
    }
    finish(out, &about, &response_cautions(measured))
}

/// Second and third harmonic at a few frequencies that the sweep covers.
fn distortion_line(d: &Distortion) -> String {
    let at = |hz: f64| {
        let near = d.near(hz)?;
        // Within 6 dB of the noise it is noise that is told.
        let share = |share: f64| match share > 2.0 * near.floor {
            true => significant(100.0 * share, 2),
            false => format!("<{}", significant(200.0 * near.floor, 1)),
        };
        Some(format!("{} and {} % at {}", share(near.second), share(near.third), hertz(hz)))
    };
    let told: Vec<String> = [100.0, 300.0, 1000.0, 3000.0].into_iter().filter_map(at).collect();
    format!("second and third harmonic: {} (< is noise)", told.join(", "))
}

fn finish(mut out: String, about: &[String], cautions: &[String]) -> String {
    about.iter().for_each(|line| out.push_str(&format!("  {line}\n")));
    cautions.iter().for_each(|line| out.push_str(&format!("caution: {line}\n")));
    out
}
