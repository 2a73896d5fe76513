//! `slabtone explore`.

use super::args;
use super::failure::Failure;
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
use slabtone::report::{compare_doc, explore_figure, json, listed_design};
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: &args::Explore) -> Result<Verdict, Failure> {
    let (design, sources) = design_file::load_with_sources(&Disk, &arguments.file)?;
    let patience = Patience::with("exploring");
    let go_on = || patience.step();
    let effort = Effort { starts: arguments.starts, seed: arguments.seed, go_on: &go_on };
    if arguments.cost_down {
        let savings = cost_down::cost_down(&design, effort)?;
        return finish(patience, || show_savings(arguments, &sources, &savings));
    }
    let candidates = explore::explore(&design, effort)?;
    finish(patience, || show(arguments, &sources, &candidates))
}

fn finish(
    patience: Patience,
    show: impl FnOnce() -> Result<(), Failure>,
) -> Result<Verdict, Failure> {
    let interrupted = patience.end();
    show()?;
    Ok(if interrupted { Verdict::Interrupted } else { Verdict::Fit })
}

fn show(
    arguments: &args::Explore,
    sources: &[Source],
    candidates: &[Candidate],
) -> Result<(), Failure> {
    if let Some(dir) = &arguments.out {
        let designs = candidates.iter().enumerate();
        let named = designs.map(|(k, c)| (format!("explored-{:02}.toml", k + 1), c)).collect();
        let mut files = texts(arguments, sources, named, dir)?;
        let table = compare_doc::csv(&explore_doc::outcomes(candidates))?;
        files.push(("explore.csv".into(), table));
        if let Some(figure) = explore_figure::figure(candidates) {
            files.push(("explore.svg".into(), picture::svg(&figure)));
        }
        output::write_all(dir, &files)?;
    }
    if arguments.json {
        let document = ExploreDoc::new(candidates, arguments.seed);
        return output::print(&format!("{}\n", json::text(&document)?));
    }
    output::print(&explore_doc::text(candidates, output::width()))
}

fn show_savings(
    arguments: &args::Explore,
    sources: &[Source],
    savings: &[Saving],
) -> Result<(), Failure> {
    if let Some(dir) = &arguments.out {
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
        output::write_all(dir, &texts(arguments, sources, named.collect(), dir)?)?;
    }
    if arguments.json {
        let document = CostDownDoc::new(savings, arguments.seed);
        return output::print(&format!("{}\n", json::text(&document)?));
    }
    output::print(&explore_doc::savings_text(savings, output::width()))
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
