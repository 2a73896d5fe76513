//! `slabtone yield`.

use super::args;
use super::failure::Failure;
use super::patience::Patience;
use super::{Verdict, output};
use slabtone::analysis::yields::YieldError;
use slabtone::analysis::yields::classes::Aim;
use slabtone::analysis::yields::whole::{Answer, Question};
use slabtone::design::Design;
use slabtone::input::design_file::{self, Source};
use slabtone::input::fault::{Fault, InputError};
use slabtone::input::files::Disk;
use slabtone::picture;
use slabtone::report::yield_doc::{self, YieldDoc};
use slabtone::report::{json, yield_figures};
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: &args::Yield) -> Result<Verdict, Failure> {
    let (mut design, sources) = design_file::load_with_sources(&Disk, &arguments.file)?;
    if let Some(units) = arguments.units {
        design.run.units = units;
    }
    arguments.out.as_deref().map_or(Ok(()), output::try_folder)?;
    let patience = Patience::with("drawing");
    let go_on = || patience.step();
    let question = Question {
        draws: arguments.draws.into(),
        points: arguments.points as usize,
        seed: arguments.seed,
        samples: arguments.samples as usize,
        aim: aim(arguments),
        go_on: &go_on,
    };
    let answer = Answer::of(&design, question).map_err(|e| failure(e, &sources[0]))?;
    let interrupted = patience.end();
    let document = YieldDoc::new(&design, &answer, arguments.seed, interrupted);
    if arguments.json {
        output::print_json(&document)?;
    } else {
        let width = output::width();
        output::print(&yield_doc::text(&design, &answer, arguments.seed, interrupted, width))?;
    }
    if let Some(dir) = &arguments.out {
        write(&design, &answer, &document, dir)?;
    }
    Ok(match (interrupted, answer.nominal.good(0)) {
        (true, _) => Verdict::Interrupted,
        (false, false) => Verdict::Unfit,
        (false, true) => Verdict::Fit,
    })
}

fn aim(arguments: &args::Yield) -> Option<Aim> {
    let reach = arguments.reach.map(|percent| Aim::Reach(percent / 100.0));
    reach.or(arguments.budget.map(Aim::Budget))
}

/// A missing window is a fault of the file, at its run.
fn failure(error: YieldError, source: &Source) -> Failure {
    match error {
        YieldError::Study(error) => error.into(),
        YieldError::NoPoint => Failure::Arguments(error.to_string()),
        YieldError::NoWindow => {
            let message = "the design states no window that a unit must keep";
            let fault = match source.text.find("[run]") {
                Some(from) => Fault::at(from..from + "[run]".len(), message),
                None => Fault::whole(message),
            };
            let help = "add [run.window] or [run.acceptance] with frequencies and limits";
            let faults = vec![fault.help(help)];
            Failure::Files(vec![InputError::new(&source.name, &source.text, faults)])
        }
    }
}

fn write(design: &Design, answer: &Answer, document: &YieldDoc, dir: &Path) -> Result<(), Failure> {
    let figures = yield_figures::all(design, answer).into_iter();
    let mut files: Vec<(PathBuf, String)> =
        figures.map(|(name, figure)| (PathBuf::from(name), picture::svg(&figure))).collect();
    files.push(("yield.json".into(), json::text(document)? + "\n"));
    output::write_all(dir, &files)
}
