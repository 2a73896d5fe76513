//! `slabtone inspect`.

use super::failure::Failure;
use super::fixture_args::{self, Fixture};
use super::patience::Patience;
use super::stimulus::within;
use super::sweeps::{self, Read};
use super::{Verdict, output};
use clap::Args;
use rayon::prelude::*;
use slabtone::analysis::inspection::conformity::Tolerance;
use slabtone::analysis::inspection::examine::{self, ExamineError, Examined, Inspector, Swept};
use slabtone::analysis::inspection::gate::Gate;
use slabtone::analysis::spread::Spread;
use slabtone::analysis::study::StudyError;
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::fault::{Fault, InputError};
use slabtone::input::files::Disk;
use slabtone::input::limits_file::{self, LimitTable};
use slabtone::input::reader::Bounds;
use slabtone::picture;
use slabtone::report::inspect_doc::{Batch, Unreadable};
use slabtone::report::{json, limits_figure};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Points of the axis that sweeps are examined on.
const POINTS: usize = 120;

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone inspect examples/reading-bench.toml sweeps --out inspected

A side's name in a file's name says which side it is of (unit-017-left.csv), the last number its
serial number. Exit code 1: a unit fails; 2: a file could not be used."
)]
pub(super) struct Arguments {
    /// The design file
    file: PathBuf,
    /// Impedance sweeps, or folders of them: columns of frequency (Hz), magnitude (ohm) and phase
    /// (degrees, may be left out), or Touchstone files (.s1p)
    #[arg(required = true, value_name = "SWEEP")]
    sweeps: Vec<PathBuf>,
    /// Responses of the same units, named alike: frequency and level in dB re 20 uPa
    #[arg(long, value_name = "FILE", num_args = 1..)]
    response: Vec<PathBuf>,
    /// Their distortion, named alike: frequency and percent
    #[arg(long, value_name = "FILE", num_args = 1..)]
    distortion: Vec<PathBuf>,
    /// Limits written by `limits`; computed from the design if left out
    #[arg(long, value_name = "CSV")]
    limits: Option<PathBuf>,
    /// Temperature of the units during the sweeps, °C
    #[arg(long, value_name = "C", allow_negative_numbers = true)]
    temperature_c: Option<f64>,
    #[command(flatten)]
    fixture: Fixture,
    /// Folder for units.csv, pairs.csv, inspect.json, inspect.txt and inspect-SIDE.svg, made if it
    /// is not there
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the result as a JSON document
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<Verdict, Failure> {
    if let Some(celsius) = arguments.temperature_c {
        within("--temperature-c", celsius, Bounds::new(-20.0, 60.0, "°C"))?;
    }
    let design = design_file::load(&Disk, &arguments.file)?;
    let limits = arguments.limits.as_deref().map(|p| limits_file::load(&Disk, p)).transpose()?;
    arguments.out.as_deref().map_or(Ok(()), output::try_folder)?;
    let read =
        sweeps::read(&design, &arguments.sweeps, &arguments.response, &arguments.distortion)?;
    let curves = read.units.iter().map(|u| &u.impedance);
    let grid = examine::axis(curves, POINTS);
    let Read { units, distortion, mut broken } = read;
    let Some(grid) = grid else { return Err(nothing(broken)) };
    let sides: Vec<usize> =
        (0..design.sides.len()).filter(|s| units.iter().any(|u| u.side == *s)).collect();
    let units: Vec<Swept> = units.into_iter().map(|u| renumbered(u, &sides)).collect();
    let inspectors = inspectors(arguments, &design, &sides, &units, limits.as_ref(), &grid)?;
    let mut examined = Vec::new();
    for (unit, result) in units.iter().zip(examined_all(&inspectors, &units)) {
        match result {
            Ok(unit) => examined.push(unit),
            Err(error) => {
                let fault = Fault::whole(error.to_string());
                broken.push(InputError::new(&unit.name, "", vec![fault]));
            }
        }
    }
    let rubs = sweeps::rubs(&distortion, &examined);
    rubs.iter().for_each(|r| examined[r.unit].passes = false);
    let has_response = !arguments.response.is_empty();
    told(arguments, &design, &inspectors, &examined, &rubs, &broken, has_response)?;
    match broken.is_empty() {
        true if examined.iter().all(|u| u.passes) => Ok(Verdict::Fit),
        true => Ok(Verdict::Unfit),
        false => Err(refused(broken)),
    }
}

/// One bad file in a folder is the file's fault, whatever the system says of it.
fn refused(mut broken: Vec<InputError>) -> Failure {
    broken.iter_mut().for_each(|b| b.machine = false);
    Failure::Files(broken)
}

/// Not one sweep to examine.
fn nothing(broken: Vec<InputError>) -> Failure {
    match broken.is_empty() {
        true => Failure::Arguments("no sweep covers an octave between 20 Hz and 20 kHz".into()),
        false => refused(broken),
    }
}

fn renumbered(mut unit: Swept, sides: &[usize]) -> Swept {
    unit.side = sides.iter().position(|s| *s == unit.side).unwrap_or(0);
    unit
}

/// Every unit in its order, whatever the number of threads.
fn examined_all(inspectors: &[Inspector], units: &[Swept]) -> Vec<Result<Examined, ExamineError>> {
    let patience = Patience::with("inspecting");
    let one = |unit: &Swept| {
        patience.step();
        inspectors[unit.side].examine(unit)
    };
    let all = units.par_iter().map(one).collect();
    patience.end();
    all
}

fn inspectors(
    arguments: &Arguments,
    design: &Design,
    sides: &[usize],
    units: &[Swept],
    limits: Option<&LimitTable>,
    grid: &Arc<Grid>,
) -> Result<Vec<Inspector>, Failure> {
    let (measuring, _) = fixture_args::measuring(&arguments.fixture)?;
    let spread = Spread::of(design)?;
    let one = |(k, side): (usize, &usize)| {
        let made =
            fixture_args::made(design, &spread, *side, &measuring, &arguments.fixture, grid)?;
        let mut gate = made.gate;
        if let Some(table) = limits {
            put(table, &mut gate)?;
        }
        let own = units.iter().filter(|u| u.side == k);
        Inspector::new(&made.twin, gate, &measuring, arguments.temperature_c, own)
            .map_err(|e| Failure::Study(StudyError::Network(e)))
    };
    sides.iter().enumerate().map(one).collect()
}

/// Puts the limits of a table in the place of those computed; they must cover the axis.
fn put(table: &LimitTable, gate: &mut Gate) -> Result<(), Failure> {
    let hz = &table.frequency_hz;
    let covers = hz[0] <= gate.frequency_hz[0] * 1.0001
        && hz[hz.len() - 1] >= gate.frequency_hz[gate.frequency_hz.len() - 1] * 0.9999;
    if !covers {
        let text = "--limits: the table does not cover the frequencies of the sweeps";
        return Err(Failure::Arguments(text.into()));
    }
    let at = |f: f64, values: &[(f64, f64)]| {
        let next = hz.partition_point(|h| *h < f).clamp(1, hz.len() - 1);
        let share = ((f / hz[next - 1]).ln() / (hz[next] / hz[next - 1]).ln()).clamp(0.0, 1.0);
        let (a, b) = (values[next - 1], values[next]);
        Tolerance { low: a.0 + share * (b.0 - a.0), high: a.1 + share * (b.1 - a.1) }
    };
    let ln: Vec<(f64, f64)> = table.impedance_ohm.iter().map(|(a, b)| (a.ln(), b.ln())).collect();
    gate.impedance.acceptance = gate.frequency_hz.iter().map(|f| at(*f, &ln)).collect();
    gate.response.acceptance =
        gate.frequency_hz.iter().map(|f| at(*f, &table.response_db)).collect();
    Ok(())
}

fn told(
    arguments: &Arguments,
    design: &Design,
    inspectors: &[Inspector],
    units: &[Examined],
    rubs: &[slabtone::analysis::inspection::rub::Rub],
    broken: &[InputError],
    has_response: bool,
) -> Result<(), Failure> {
    let summary = |(k, i): (usize, &Inspector)| examine::summary(units, k, &i.gate);
    let summaries: Vec<_> = inspectors.iter().enumerate().map(summary).collect();
    let pairs = if inspectors.len() == 2 { examine::pairs(units, 0, 1) } else { Vec::new() };
    let unreadable: Vec<Unreadable> = broken.iter().map(unreadable).collect();
    let batch = Batch {
        design: &design.name,
        inspectors,
        units,
        summaries: &summaries,
        pairs: &pairs,
        rubs,
        unreadable: &unreadable,
        has_response,
        seed: arguments.fixture.seed,
    };
    if arguments.json {
        output::print_json(&batch.document())?;
    } else {
        output::print(&batch.text(output::width()))?;
    }
    let Some(dir) = &arguments.out else { return Ok(()) };
    let mut files = vec![
        (PathBuf::from("units.csv"), batch.csv()?),
        (PathBuf::from("pairs.csv"), batch.pairs_csv()?),
        (PathBuf::from("inspect.json"), json::text(&batch.document())? + "\n"),
        (PathBuf::from("inspect.txt"), batch.text(100)),
    ];
    for (k, i) in inspectors.iter().enumerate() {
        let figure = limits_figure::failures(&i.gate, &i.twin.name, units, k);
        let name = super::paths::file_name(&format!("inspect-{}", i.twin.name), &[]);
        files.push((Path::new(&format!("{name}.svg")).to_owned(), picture::svg(&figure)));
    }
    output::write_all(dir, &files)
}

fn unreadable(error: &InputError) -> Unreadable {
    let first = &error.faults[0];
    Unreadable {
        file: error.file.clone(),
        line: error.position(first).map(|p| p.0),
        fault: first.message.clone(),
    }
}
