//! `slabtone stimulus`.

use super::failure::Failure;
use super::measure_args;
use super::{Verdict, output};
use slabtone::input::reader::Bounds;
use slabtone::input::stimulus_file::{self, FADE, HZ, LEVEL, RATE, SECONDS};
use slabtone::input::wave_file::{self, Bits};
use slabtone::report::stimulus_doc::{self, StimulusDoc};
use slabtone::signal::sweep::Sweep;
use std::path::{Path, PathBuf};

/// Silences, s.
const SILENCE: Bounds = Bounds::new(0.0, 10.0, "s");

pub(super) fn run(arguments: &measure_args::Stimulus) -> Result<Verdict, Failure> {
    let sweep = sweep(arguments)?;
    let bits = match arguments.bits {
        24 => Bits::Integer24,
        32 => Bits::Float32,
        other => {
            let text =
                format!("--bits: found {other}, expected 24 (integers) or 32 (floating point)");
            return Err(Failure::Arguments(text));
        }
    };
    let (folder, wave, beside) = places(&arguments.out)?;
    let bytes = wave_file::encode(&sweep.samples(), sweep.rate_hz, arguments.channels, bits)
        .map_err(Failure::Program)?;
    let text = stimulus_file::text(&sweep, &wave.display().to_string());
    output::write_all(&folder, &[(wave, bytes), (beside.clone(), text.into_bytes())])?;
    let document = StimulusDoc::new(
        &sweep,
        &arguments.out.display().to_string(),
        &folder.join(beside).display().to_string(),
    );
    if arguments.json {
        output::print_json(&document)?;
    } else {
        output::print(&stimulus_doc::text(&document))?;
    }
    Ok(Verdict::Fit)
}

fn sweep(arguments: &measure_args::Stimulus) -> Result<Sweep, Failure> {
    let a = arguments;
    for (name, value, bounds) in [
        ("--from", a.from, HZ),
        ("--to", a.to, HZ),
        ("--seconds", a.seconds, SECONDS),
        ("--level-db", a.level_db, LEVEL),
        ("--fade-in-ms", a.fade_in_ms, FADE),
        ("--fade-out-ms", a.fade_out_ms, FADE),
        ("--silence", a.silence, SILENCE),
    ] {
        within(name, value, bounds)?;
    }
    if !RATE.contains(&a.rate) {
        let (low, high) = (RATE.start(), RATE.end());
        let text = format!("--rate: found {}, expected {low} to {high} Hz", a.rate);
        return Err(Failure::Arguments(text));
    }
    let sweep = Sweep {
        from_hz: a.from,
        to_hz: a.to,
        seconds: a.seconds,
        rate_hz: a.rate,
        level_db: a.level_db,
        fade_in_s: a.fade_in_ms * 1e-3,
        fade_out_s: a.fade_out_ms * 1e-3,
        silence_before_s: a.silence,
        silence_after_s: a.silence,
    };
    sweep.check().map_err(|e| Failure::Arguments(e.to_string()))?;
    Ok(sweep)
}

/// A number of the command line within bounds, or the argument named with what it may be.
pub(super) fn within(name: &str, value: f64, bounds: Bounds) -> Result<(), Failure> {
    match bounds.contains(value) {
        true => Ok(()),
        false => Err(Failure::Arguments(format!("{name}: found {value}, expected {bounds}"))),
    }
}

/// Folder, name of the WAV file, name of the file beside it.
fn places(out: &Path) -> Result<(PathBuf, PathBuf, PathBuf), Failure> {
    let is_wave = out.extension().is_some_and(|e| e.eq_ignore_ascii_case("wav"));
    match out.file_name().filter(|_| is_wave) {
        Some(name) => {
            let folder = out.parent().unwrap_or(Path::new("")).to_owned();
            Ok((folder, PathBuf::from(name), Path::new(name).with_extension("toml")))
        }
        None => Err(Failure::Arguments(format!(
            "--out: found `{}`, expected the name of a file that ends in .wav",
            out.display()
        ))),
    }
}
