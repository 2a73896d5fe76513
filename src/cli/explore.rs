//! `slabtone explore`.

use super::args;
use super::failure::Failure;
use super::held;
use super::paths::{file_name, relative};
use super::patience::Patience;
use super::{Verdict, output};
use slabtone::analysis::cost_down::{self, Saving};
use slabtone::analysis::explore;
use slabtone::analysis::explore::merit::Candidate;
use slabtone::analysis::tune::Effort;
use slabtone::input::design_file::{self, Source};
use slabtone::input::files::{self, Disk};
use slabtone::picture;
use slabtone::report::explore_doc::{self, CostDownDoc, ExploreDoc};
use slabtone::report::{compare_doc, explore_figure, listed_design};
use std::fs;
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: &args::Explore) -> Result<Verdict, Failure> {
    let (design, sources) = design_file::load_with_sources(&Disk, &arguments.file)?;
    held::check(&design, &sources[0])?;
    arguments.out.as_deref().map_or(Ok(()), output::try_folder)?;
    let patience = Patience::with("exploring");
    let go_on = || patience.step();
    let effort = Effort { starts: arguments.starts, seed: arguments.seed, go_on: &go_on };
    if arguments.cost_down {
        let savings = cost_down::cost_down(&design, effort)?;
        let interrupted = patience.end();
        show_savings(arguments, &sources, &savings, interrupted)?;
        return Ok(if interrupted { Verdict::Interrupted } else { Verdict::Fit });
    }
    let candidates = explore::explore(&design, effort)?;
    let interrupted = patience.end();
    show(arguments, &sources, &candidates, interrupted)?;
    Ok(match (interrupted, candidates.is_empty()) {
        (true, _) => Verdict::Interrupted,
        (false, true) => Verdict::Unfit,
        (false, false) => Verdict::Fit,
    })
}

/// Shown first: a disk that is full takes nothing of it away.
fn show(
    arguments: &args::Explore,
    sources: &[Source],
    candidates: &[Candidate],
    interrupted: bool,
) -> Result<(), Failure> {
    if arguments.json {
        output::print_json(&ExploreDoc::new(candidates, arguments.seed, interrupted))?;
    } else {
        output::print(&explore_doc::text(candidates, interrupted, output::width()))?;
    }
    let Some(dir) = &arguments.out else { return Ok(()) };
    let designs = candidates.iter().enumerate();
    let named = designs.map(|(k, c)| (format!("explored-{:02}.toml", k + 1), c)).collect();
    let mut files = texts(arguments, sources, named, dir)?;
    let table = compare_doc::csv(&explore_doc::outcomes(candidates))?;
    files.push(("explore.csv".into(), table));
    if let Some(figure) = explore_figure::figure(candidates) {
        files.push(("explore.svg".into(), picture::svg(&figure)));
    }
    output::write_all(dir, &files)?;
    tell_older(dir, &["explored-"], &files)
}

fn show_savings(
    arguments: &args::Explore,
    sources: &[Source],
    savings: &[Saving],
    interrupted: bool,
) -> Result<(), Failure> {
    if arguments.json {
        output::print_json(&CostDownDoc::new(savings, arguments.seed, interrupted))?;
    } else {
        output::print(&explore_doc::savings_text(savings, interrupted, output::width()))?;
    }
    let Some(dir) = &arguments.out else { return Ok(()) };
    let mut taken = Vec::new();
    let named = savings.iter().map(|s| {
        let stem = match (s.reference.as_str(), s.how) {
            ("", _) => "as-it-is".to_owned(),
            (gone, "left out") => format!("without-{gone}"),
            (gone, _) => format!("bridged-{gone}"),
        };
        taken.push(file_name(&stem, &taken));
        (format!("{}.toml", taken[taken.len() - 1]), &s.candidate)
    });
    let files = texts(arguments, sources, named.collect(), dir)?;
    output::write_all(dir, &files)?;
    tell_older(dir, &["without-", "bridged-"], &files)
}

/// Says so where the folder holds designs of an earlier run beside the new ones: nothing is
/// removed unasked.
fn tell_older(dir: &Path, starts: &[&str], written: &[(PathBuf, String)]) -> Result<(), Failure> {
    let older = fs::read_dir(dir).into_iter().flatten().flatten().filter(|entry| {
        let name = entry.file_name().to_string_lossy().into_owned();
        let ours = name.ends_with(".toml") && starts.iter().any(|s| name.starts_with(s));
        ours && written.iter().all(|(path, _)| path.as_os_str() != entry.file_name())
    });
    match older.count() {
        0 => Ok(()),
        count => output::remark(&format!(
            "{count} designs in `{}` are older than this run and not in its table",
            dir.display()
        )),
    }
}

/// Each candidate as a design file.
fn texts(
    arguments: &args::Explore,
    sources: &[Source],
    named: Vec<(String, &Candidate)>,
    dir: &Path,
) -> Result<Vec<(PathBuf, String)>, Failure> {
    let relocate = |driver: &str| relative(dir, &files::beside(&arguments.file, driver));
    let text = |(name, candidate): (String, &Candidate)| {
        listed_design::text(&sources[0].text, &candidate.design.crossover, relocate)
            .map(|text| (PathBuf::from(name), text))
            .ok_or_else(|| Failure::Program("a design could not be written out".into()))
    };
    named.into_iter().map(text).collect()
}
