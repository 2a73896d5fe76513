//! `slabtone extract`.

use super::failure::Failure;
use super::measure_args::{self, As, Condition};
use super::stimulus::within;
use super::{Verdict, output};
use slabtone::analysis::extract::impedance::Terminations;
use slabtone::analysis::extract::response::{Ask, GateAsk, ResponseError, Scale};
use slabtone::analysis::extract::{
    Channels, ExtractError, Heard, Quiet, distortion, hear, impedance, response,
};
use slabtone::grid::Grid;
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::fault::{Fault, InputError};
use slabtone::input::files::Disk;
use slabtone::input::reader::Bounds;
use slabtone::input::{stimulus_file, wave_file};
use slabtone::picture;
use slabtone::report::extract_doc::{self, Stated};
use slabtone::report::{extract_figures, json};
use slabtone::signal::curve::Curve;
use slabtone::signal::sweep::Sweep;
use std::path::{Path, PathBuf};

const OHM: Bounds = Bounds::new(0.1, 100_000.0, "ohm");
const GATE_MS: Bounds = Bounds::new(0.5, 1000.0, "ms");
const LEAD_MS: Bounds = Bounds::new(0.0, 1000.0, "ms");
const TAKE_OUT_MS: Bounds = Bounds::new(-100.0, 100.0, "ms");
const LEVEL_DB: Bounds = Bounds::new(0.0, 200.0, "dB");
const MV_PER_PA: Bounds = Bounds::positive(10_000.0, "mV/Pa");
const VOLTS: Bounds = Bounds::positive(1000.0, "V");
const METRES: Bounds = Bounds::positive(30.0, "m");
const DEGREES: Bounds = Bounds::symmetric(180.0, "degrees");

pub(super) fn run(arguments: &measure_args::Extract) -> Result<Verdict, Failure> {
    check(arguments)?;
    match (arguments.kind, &arguments.stimulus) {
        (As::Impedance, Some(played)) => {
            impedance(arguments, &stimulus_file::load(&Disk, played)?)?
        }
        (As::Response, Some(played)) => response(arguments, &stimulus_file::load(&Disk, played)?)?,
        (As::Impulse, None) => impulse(arguments)?,
        (As::Impulse, Some(_)) => {
            let text = "--stimulus means nothing with --as impulse: it is a response already";
            return Err(Failure::Arguments(text.into()));
        }
        (_, None) => return Err(Failure::Arguments("--stimulus is missing".into())),
    }
    Ok(Verdict::Fit)
}

/// Numbers within bounds, and no option of the other kind.
fn check(arguments: &measure_args::Extract) -> Result<(), Failure> {
    let (i, r, s) = (&arguments.impedance, &arguments.response, &arguments.stated);
    let numbers = [
        ("--resistor-ohm", i.resistor_ohm, OHM),
        ("--known-ohm", i.known_ohm, OHM),
        ("--gate-ms", r.gate_ms, GATE_MS),
        ("--lead-ms", r.lead_ms, LEAD_MS),
        ("--take-out-ms", r.take_out_ms, TAKE_OUT_MS),
        ("--level-at-1khz-db", r.level_at_1khz_db, LEVEL_DB),
        ("--mic-mv-per-pa", r.mic_mv_per_pa, MV_PER_PA),
        ("--full-scale-v", r.full_scale_v, VOLTS),
        ("--volts", s.volts, VOLTS),
        ("--distance-m", s.distance_m, METRES),
        ("--angle-deg", s.angle_deg, DEGREES),
    ];
    let files = [
        ("--short", &i.short),
        ("--open", &i.open),
        ("--known", &i.known),
        ("--mic-correction", &r.mic_correction),
    ];
    let given: Vec<&str> = numbers
        .iter()
        .filter_map(|(name, value, _)| value.map(|_| *name))
        .chain(files.iter().filter(|(_, f)| f.is_some()).map(|(name, _)| *name))
        .collect();
    let impedance = ["--resistor-ohm", "--known-ohm", "--short", "--open", "--known"];
    let level = ["--mic-mv-per-pa", "--full-scale-v"];
    let response =
        ["--gate-ms", "--lead-ms", "--take-out-ms", "--level-at-1khz-db", "--mic-correction"];
    let (kind, foreign) = match arguments.kind {
        As::Impedance => ("impedance", [&level[..], &response].concat()),
        As::Response => ("response", impedance.to_vec()),
        // How loud the sweep was is not known of a stored response.
        As::Impulse => ("impulse", [&level[..], &impedance].concat()),
    };
    if let Some(name) = given.iter().find(|name| foreign.contains(name)) {
        return Err(Failure::Arguments(format!("{name} means nothing with --as {kind}")));
    }
    if arguments.kind == As::Impedance && i.resistor_ohm.is_none() {
        let text = "--as impedance needs --resistor-ohm, the value of the series resistor";
        return Err(Failure::Arguments(text.to_owned()));
    }
    numbers.iter().try_for_each(|(name, value, bounds)| {
        value.map_or(Ok(()), |value| within(name, value, *bounds))
    })
}

fn impedance(arguments: &measure_args::Extract, sweep: &Sweep) -> Result<(), Failure> {
    let options = &arguments.impedance;
    let quiet = |path: &Option<PathBuf>| -> Result<Option<Heard>, Failure> {
        path.as_deref().map(|p| listen(arguments, p, Quiet::Allowed, sweep)).transpose()
    };
    let recordings = listen_all(arguments, sweep)?;
    let (short, open, known) =
        (quiet(&options.short)?, quiet(&options.open)?, quiet(&options.known)?);
    let terminations = Terminations {
        short: short.as_ref(),
        open: open.as_ref(),
        known: options.known_ohm.zip(known.as_ref()),
    };
    let grid = Grid::log(sweep.from_hz, sweep.to_hz, arguments.points as usize)
        .map_err(|e| Failure::Arguments(format!("--points: {e}")))?;
    let resistor_ohm = options.resistor_ohm.unwrap_or_default();
    let measured = impedance::measure(&recordings, resistor_ohm, terminations, sweep, &grid)
        .map_err(refused)?;
    let stated = stated(arguments);
    let figure = extract_figures::impedance(&measured, &title(arguments));
    let files = [
        ("extract.csv", extract_doc::impedance_columns(&measured, &stated)),
        ("extract.svg", picture::svg(&figure)),
    ];
    let text = match arguments.json {
        true => json::text(&extract_doc::impedance(&measured, &stated))? + "\n",
        false => extract_doc::impedance_text(&measured, &stated),
    };
    finish(arguments, &files, text)
}

/// The response of the microphone itself, where it is given.
fn microphone(arguments: &measure_args::Extract) -> Result<Option<Curve>, Failure> {
    let path = arguments.response.mic_correction.as_ref();
    Ok(path.map(|p| curve_file::load(&Disk, p, MagnitudeUnit::Db)).transpose()?.map(|f| f.curve))
}

fn ask<'m>(arguments: &measure_args::Extract, microphone: Option<&'m Curve>) -> Ask<'m> {
    let options = &arguments.response;
    let seconds = |ms: Option<f64>| ms.map(|ms| ms * 1e-3);
    let scale = match (options.level_at_1khz_db, options.mic_mv_per_pa, options.full_scale_v) {
        (Some(db), _, _) => Scale::LevelAt1k(db),
        (None, Some(mv), Some(v)) => Scale::Sensitivity { v_per_pa: mv * 1e-3, full_scale_v: v },
        _ => Scale::Ratio,
    };
    Ask {
        gate: GateAsk { gate_s: seconds(options.gate_ms), lead_s: seconds(options.lead_ms) },
        scale,
        microphone,
        take_out_s: seconds(options.take_out_ms),
        points: arguments.points as usize,
    }
}

/// A stored impulse response as a curve, its window shown.
fn impulse(arguments: &measure_args::Extract) -> Result<(), Failure> {
    let [path] = arguments.recordings.as_slice() else {
        return Err(Failure::Arguments("--as impulse takes one file".into()));
    };
    let take = wave_file::read(path)?;
    let channel = if take.channels.len() == 1 { 0 } else { usize::from(arguments.signal) - 1 };
    let Some(samples) = take.channels.get(channel) else {
        let text =
            format!("--signal {}: the file has {} channels", channel + 1, take.channels.len());
        return Err(Failure::Arguments(text));
    };
    if samples.iter().all(|s| *s == 0.0) {
        let fault = Fault::whole(format!("`{}` holds only silence", path.display()));
        return Err(InputError::new(&path.display().to_string(), "", vec![fault]).into());
    }
    if let Some(at) = samples.iter().position(|s| !s.is_finite()) {
        let message = format!("`{}`: sample {} is not a finite number", path.display(), at + 1);
        let fault = Fault::whole(message).help("export the response again, as 24-bit numbers");
        return Err(InputError::new(&path.display().to_string(), "", vec![fault]).into());
    }
    let rate_hz = f64::from(take.rate_hz);
    let own = microphone(arguments)?;
    let band_hz = (20.0, (0.45 * rate_hz).min(20_000.0));
    let ask = ask(arguments, own.as_ref());
    let measured = response::of_impulse(samples, rate_hz, &ask, band_hz)
        .map_err(|e| Failure::Arguments(e.to_string()))?;
    let (stated, title) = (stated(arguments), title(arguments));
    let files = [
        ("extract.csv", extract_doc::response_columns(&measured, &stated)),
        ("extract.svg", picture::svg(&extract_figures::response(&measured, &title))),
        ("impulse.svg", picture::svg(&extract_figures::impulse(&measured, &title))),
    ];
    let text = match arguments.json {
        true => json::text(&extract_doc::response(&measured, None, &stated))? + "\n",
        false => extract_doc::response_text(&measured, None, &stated),
    };
    finish(arguments, &files, text)
}

fn response(arguments: &measure_args::Extract, sweep: &Sweep) -> Result<(), Failure> {
    let own = microphone(arguments)?;
    let recordings = listen_all(arguments, sweep)?;
    let ask = ask(arguments, own.as_ref());
    let measured = response::measure(&recordings, &ask, sweep).map_err(|error| {
        Failure::Arguments(match error {
            ResponseError::Band(_) => format!(
                "--gate-ms: nothing lies between 1/gate and 2/gate below the sweep's end at {} Hz",
                sweep.to_hz
            ),
            other => other.to_string(),
        })
    })?;
    let harmonics =
        recordings.first().and_then(|r| distortion::measure(r, measured.gate.arrival_s, sweep));
    let (stated, title) = (stated(arguments), title(arguments));
    let mut files = vec![
        ("extract.csv", extract_doc::response_columns(&measured, &stated)),
        ("extract.svg", picture::svg(&extract_figures::response(&measured, &title))),
        ("impulse.svg", picture::svg(&extract_figures::impulse(&measured, &title))),
    ];
    if let Some(found) = &harmonics {
        files.push(("distortion.csv", extract_doc::distortion_columns(found)));
        files.push(("distortion.svg", picture::svg(&extract_figures::distortion(found, &title))));
    }
    let text = match arguments.json {
        true => json::text(&extract_doc::response(&measured, harmonics.as_ref(), &stated))? + "\n",
        false => extract_doc::response_text(&measured, harmonics.as_ref(), &stated),
    };
    finish(arguments, &files, text)
}

fn finish(
    arguments: &measure_args::Extract,
    files: &[(&str, String)],
    mut text: String,
) -> Result<(), Failure> {
    if let Some(dir) = &arguments.out {
        let named: Vec<(PathBuf, &str)> =
            files.iter().map(|(name, content)| (PathBuf::from(name), content.as_str())).collect();
        output::write_all(dir, &named)?;
        if !arguments.json {
            let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
            text.push_str(&format!("\nWritten to {}: {}\n", dir.display(), names.join(", ")));
        }
    }
    output::print(&text)
}

/// Every recording heard, or what is wrong with each that cannot be.
fn listen_all(arguments: &measure_args::Extract, sweep: &Sweep) -> Result<Vec<Heard>, Failure> {
    let (mut heard, mut faults) = (Vec::new(), Vec::new());
    for path in &arguments.recordings {
        match listen(arguments, path, Quiet::Refused, sweep) {
            Ok(one) => heard.push(one),
            Err(Failure::Files(found)) => faults.extend(found),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(heard) } else { Err(Failure::Files(faults)) }
}

fn listen(
    arguments: &measure_args::Extract,
    path: &Path,
    quiet: Quiet,
    sweep: &Sweep,
) -> Result<Heard, Failure> {
    let channels = Channels {
        reference: usize::from(arguments.reference) - 1,
        signal: usize::from(arguments.signal) - 1,
    };
    let take = wave_file::read(path)?;
    hear(&path.display().to_string(), &take, channels, quiet, sweep).map_err(refused)
}

fn refused(error: ExtractError) -> Failure {
    let fault = Fault::whole(error.to_string()).help(error.fault.help());
    Failure::from(InputError::new(&error.file, "", vec![fault]))
}

fn stated(arguments: &measure_args::Extract) -> Stated {
    let s = &arguments.stated;
    let word = |condition| match condition {
        Condition::FreeAir => "free_air",
        Condition::HalfSpace => "half_space",
        Condition::NearField => "near_field",
        Condition::InThisPanel => "in_this_panel",
    };
    Stated {
        condition: s.condition.map(word).map(str::to_owned),
        volts: s.volts,
        distance_m: s.distance_m,
        angle_deg: s.angle_deg,
    }
}

fn title(arguments: &measure_args::Extract) -> String {
    let names: Vec<String> = arguments
        .recordings
        .iter()
        .map(|p| p.file_name().unwrap_or_default().to_string_lossy().into_owned())
        .collect();
    names.join(", ")
}
