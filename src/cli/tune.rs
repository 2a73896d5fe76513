//! `slabtone tune`.

use super::args;
use super::failure::Failure;
use super::held;
use super::paths::relative;
use super::patience::Patience;
use super::{Verdict, output};
use slabtone::analysis::compare::{self, Outcome, Variant};
use slabtone::analysis::tune::{self, Effort, Tuned};
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{self, Disk};
use slabtone::picture;
use slabtone::report::tune_doc::{self, TuneDoc};
use slabtone::report::{compare_doc, compare_figure, listed_design};
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: &args::Tune) -> Result<Verdict, Failure> {
    let (design, sources) = design_file::load_with_sources(&Disk, &arguments.file)?;
    held::check(&design, &sources[0])?;
    arguments.out.as_deref().map_or(Ok(()), output::try_folder)?;
    let patience = Patience::with("tuning");
    let go_on = || patience.step();
    let effort = Effort { starts: arguments.starts, seed: arguments.seed, go_on: &go_on };
    let tuned = tune::tune(&design, &design.target(), effort)?;
    let interrupted = patience.end();
    let outcomes = outcomes(&design, &tuned)?;
    // Shown first: a disk that is full takes nothing of it away.
    if arguments.json {
        output::print_json(&TuneDoc::new(&tuned, &outcomes, arguments.seed, interrupted))?;
    } else {
        let text = tune_doc::text(&tuned, &outcomes, arguments.seed, interrupted, output::width());
        output::print(&text)?;
    }
    if let Some(dir) = &arguments.out {
        write(arguments, &sources[0].text, &tuned, &outcomes, dir)?;
    }
    let unfit = outcomes.last().is_some_and(|o| o.study.is_unfit()) || !tuned.missed.is_empty();
    Ok(match (interrupted, unfit) {
        (true, _) => Verdict::Interrupted,
        (false, true) => Verdict::Unfit,
        (false, false) => Verdict::Fit,
    })
}

/// Before, with the best values, and with preferred values.
fn outcomes(design: &Design, tuned: &Tuned) -> Result<Vec<Outcome>, Failure> {
    let grid = Grid::audible(480).map_err(|e| Failure::Program(e.to_string()))?;
    let variant =
        |label: &str, design: &Design| Variant { label: label.into(), design: design.clone() };
    let variants = vec![
        variant("as it was", design),
        variant("continuous", &tuned.exact),
        variant("preferred", &tuned.chosen),
    ];
    Ok(compare::outcomes(variants, &grid)?)
}

fn write(
    arguments: &args::Tune,
    source: &str,
    tuned: &Tuned,
    outcomes: &[Outcome],
    dir: &Path,
) -> Result<(), Failure> {
    let relocate = |driver: &str| relative(dir, &files::beside(&arguments.file, driver));
    let text = listed_design::text(source, &tuned.chosen.crossover, relocate)
        .ok_or_else(|| Failure::Program("the tuned design could not be written out".into()))?;
    let mut files = vec![
        (PathBuf::from("tuned.toml"), text),
        (PathBuf::from("tune.csv"), compare_doc::csv(outcomes)?),
    ];
    if let Some(figure) = compare_figure::figure(outcomes) {
        files.push((PathBuf::from("tune.svg"), picture::svg(&figure)));
    }
    output::write_all(dir, &files)
}
