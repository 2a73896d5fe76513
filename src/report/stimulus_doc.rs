//! What `stimulus` wrote, and what to mind before it is played.

use super::json::SCHEMA_VERSION;
use crate::signal::sweep::Sweep;
use crate::units::{hertz, plain};
use serde::Serialize;
use std::fmt::Write;

/// The document of `stimulus --json`.
#[derive(Debug, Clone, Serialize)]
pub struct StimulusDoc {
    schema_version: u32,
    wave: String,
    stimulus: String,
    from_hz: f64,
    to_hz: f64,
    sweep_s: f64,
    total_s: f64,
    rate_hz: u32,
    level_db: f64,
    cautions: Vec<String>,
}

impl StimulusDoc {
    /// For a sweep written to the two files.
    pub fn new(sweep: &Sweep, wave: &str, stimulus: &str) -> Self {
        Self {
            schema_version: SCHEMA_VERSION,
            wave: wave.to_owned(),
            stimulus: stimulus.to_owned(),
            from_hz: sweep.from_hz,
            to_hz: sweep.to_hz,
            sweep_s: sweep.seconds,
            total_s: sweep.silence_before_s + sweep.seconds + sweep.silence_after_s,
            rate_hz: sweep.rate_hz,
            level_db: sweep.level_db,
            cautions: cautions(sweep),
        }
    }
}

/// Sweeps from below this reach where tweeters break, Hz.
const TWEETER_HZ: f64 = 500.0;

fn cautions(sweep: &Sweep) -> Vec<String> {
    let mut told = vec![
        "hearing: the sweep is a loud steady tone. Begin with the volume at its lowest, raise it in steps, protect your ears and those of others.".to_owned(),
    ];
    if sweep.from_hz < TWEETER_HZ {
        told.push(format!(
            "tweeters: a sweep from {} can destroy one. Use --from {TWEETER_HZ} or higher, a lower level, and a protection capacitor in series (22 µF passes little below 1.2 kHz into 6 Ω); take the voltage behind it as the reference, or its own response stays in the curve.",
            hertz(sweep.from_hz)
        ));
    }
    told
}

/// The same for people.
pub fn text(document: &StimulusDoc) -> String {
    let d = document;
    let mut out = format!("Written: {} and {}, which extract needs\n", d.wave, d.stimulus);
    let _ = writeln!(
        out,
        "  {} to {} in {} s, peaks at {} dB of full scale, {} s with the silence, {} Hz",
        hertz(d.from_hz),
        hertz(d.to_hz),
        plain(d.sweep_s),
        plain(d.level_db),
        plain(d.total_s),
        d.rate_hz
    );
    for caution in &d.cautions {
        let _ = writeln!(out, "caution, {caution}");
    }
    out
}
