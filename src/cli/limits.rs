//! `slabtone limits`.

use super::failure::Failure;
use super::fixture_args::{self, Fixture};
use super::stimulus::within;
use super::{Verdict, output};
use clap::Args;
use slabtone::analysis::inspection::risk::Risk;
use slabtone::analysis::spread::Spread;
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::Disk;
use slabtone::input::reader::Bounds;
use slabtone::picture;
use slabtone::report::limits_doc::{self, LimitsDoc, Told};
use slabtone::report::limits_figure;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone limits examples/reading-bench.toml --out limits")]
pub(super) struct Arguments {
    /// The design file
    file: PathBuf,
    /// Which side, by its name; the first if left out
    #[arg(long, value_name = "NAME")]
    side: Option<String>,
    #[command(flatten)]
    fixture: Fixture,
    /// The known resistor of the daily check, ohm
    #[arg(long, value_name = "OHM", default_value_t = 8.2, allow_negative_numbers = true)]
    resistor_ohm: f64,
    /// Frequencies from 20 Hz to 20 kHz, both included, evenly spaced in the logarithm
    #[arg(long, default_value_t = 120, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(20..=2000))]
    points: u32,
    /// Folder for limits.csv, limits.svg and limits.html, made if it is not there
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the result as a JSON document
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<Verdict, Failure> {
    within("--resistor-ohm", arguments.resistor_ohm, Bounds::new(0.1, 1000.0, "ohm"))?;
    let (measuring, study) = fixture_args::measuring(&arguments.fixture)?;
    let design = design_file::load(&Disk, &arguments.file)?;
    arguments.out.as_deref().map_or(Ok(()), output::try_folder)?;
    let index = side(&design, arguments.side.as_deref())?;
    let spread = Spread::of(&design)?;
    let grid =
        Grid::audible(arguments.points as usize).map_err(|e| Failure::Program(e.to_string()))?;
    let made = fixture_args::made(&design, &spread, index, &measuring, &arguments.fixture, &grid)?;
    let risk = Risk::of(&made.gate, &made.population, &measuring, arguments.fixture.seed);
    let told = Told {
        design: &design.name,
        side: &design.sides[index].name,
        gate: &made.gate,
        rule: made.rule,
        measuring: &measuring,
        repeatability: study.as_ref(),
        risk: &risk,
        resistor_ohm: arguments.resistor_ohm,
        seed: arguments.fixture.seed,
    };
    if arguments.json {
        output::print_json(&LimitsDoc::new(&told))?;
    } else {
        output::print(&limits_doc::text(&told))?;
    }
    if let Some(dir) = &arguments.out {
        let sheet = limits_doc::sheet(&told).map_err(|e| Failure::Program(e.to_string()))?;
        let figure = picture::svg(&limits_figure::figure(&made.gate, told.side));
        let files = [
            (PathBuf::from("limits.csv"), limits_doc::csv(&told)?),
            (PathBuf::from("limits.svg"), figure),
            (PathBuf::from("limits.html"), sheet),
        ];
        output::write_all(dir, &files)?;
    }
    Ok(Verdict::Fit)
}

/// The side of that name.
fn side(design: &Design, name: Option<&str>) -> Result<usize, Failure> {
    let Some(name) = name else { return Ok(0) };
    let names: Vec<&str> = design.sides.iter().map(|s| s.name.as_str()).collect();
    names.iter().position(|n| *n == name).ok_or_else(|| {
        Failure::Arguments(format!("--side: no side `{name}`; there are {}", names.join(", ")))
    })
}
