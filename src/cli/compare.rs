//! `slabtone compare`.

use super::args;
use super::failure::Failure;
use super::{Verdict, output};
use slabtone::analysis::compare::{self, Outcome, Variant};
use slabtone::circuit::slope::Slope;
use slabtone::design::{Design, Topology};
use slabtone::grid::Grid;
use slabtone::input::fault::{Fault, InputError};
use slabtone::input::files::{Disk, Files};
use slabtone::input::{design_file, driver_file};
use slabtone::model::driver::{Driver, Role};
use slabtone::picture;
use slabtone::report::compare_doc::{self, CompareDoc};
use slabtone::report::compare_figure;
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: &args::Compare) -> Result<Verdict, Failure> {
    let grid = Grid::audible(arguments.points as usize)
        .map_err(|e| Failure::Arguments(format!("--points: {e}")))?;
    let outcomes = compare::outcomes(variants(arguments)?, &grid)?;
    if let Some(dir) = &arguments.out {
        write(&outcomes, dir)?;
    }
    if arguments.json {
        output::print_json(&CompareDoc::new(&outcomes))?;
    } else if arguments.csv {
        output::print(&compare_doc::csv(&outcomes)?)?;
    } else {
        output::print(&compare_doc::text(&outcomes, output::width()))?;
    }
    Ok(Verdict::Fit)
}

fn write(outcomes: &[Outcome], dir: &Path) -> Result<(), Failure> {
    let mut files = vec![(PathBuf::from("compare.csv"), compare_doc::csv(outcomes)?)];
    if let Some(figure) = compare_figure::figure(outcomes) {
        files.push((PathBuf::from("compare.svg"), picture::svg(&figure)));
    }
    output::write_all(dir, &files)
}

fn variants(arguments: &args::Compare) -> Result<Vec<Variant>, Failure> {
    let first = design_file::load(&Disk, &arguments.files[0])?;
    let vary = &arguments.vary;
    if arguments.files.len() > 1 {
        if vary.slopes.is_some()
            || vary.at.is_some()
            || vary.woofer.is_some()
            || vary.tweeter.is_some()
        {
            let text = "several files are compared as they are; leave out --slopes, --at, --woofer and --tweeter, or name one file";
            return Err(Failure::Arguments(text.into()));
        }
        return whole_files(arguments, first);
    }
    if let Some(at_hz) = &vary.at {
        if let Some(wrong) = at_hz.iter().find(|hz| !(20.0..=20_000.0).contains(*hz)) {
            let text = format!("--at: found {wrong}, expected frequencies from 20 to 20000 Hz");
            return Err(Failure::Arguments(text));
        }
        if matches!(first.crossover.topology, Topology::Listed(_)) {
            let text = "--at: a crossover listed part by part stays the same at any frequency; give the design a slope, or tune it";
            return Err(Failure::Arguments(text.into()));
        }
        return Ok(compare::frequencies(&first, at_hz));
    }
    if let Some(files) = &vary.woofer {
        return of_drivers(&first, &drivers(files, Role::Woofer)?);
    }
    if let Some(files) = &vary.tweeter {
        return of_drivers(&first, &drivers(files, Role::Tweeter)?);
    }
    let slopes = vary.slopes.as_deref().unwrap_or(&Slope::ALL);
    Ok(compare::slopes(&first, slopes))
}

/// Variants of the design with other drivers, all priced in its currency.
fn of_drivers(design: &Design, drivers: &[(Driver, String)]) -> Result<Vec<Variant>, Failure> {
    let currency = design.purchase.currency.as_ref();
    let foreign = drivers.iter().find(|(driver, _)| {
        driver.price.as_ref().is_some_and(|p| currency.is_some_and(|c| *c != p.currency))
    });
    match foreign {
        Some((driver, file)) => Err(Failure::Arguments(format!(
            "`{file}`: {} is priced in another currency than the design; bring all prices to one",
            driver.name
        ))),
        None => Ok(compare::drivers(design, drivers)),
    }
}

fn drivers(files: &[PathBuf], role: Role) -> Result<Vec<(Driver, String)>, Failure> {
    let load = |path: &PathBuf| {
        let driver = driver_file::load(&Disk, path)?.driver;
        let file = path.display().to_string();
        if driver.role == role {
            return Ok((driver, file));
        }
        let asked = role.word();
        Err(Failure::Arguments(format!(
            "`{file}` is no {asked}: name a file with role = \"{asked}\""
        )))
    };
    files.iter().map(load).collect()
}

/// Whole designs side by side: they must be heard by the same listeners.
fn whole_files(arguments: &args::Compare, first: Design) -> Result<Vec<Variant>, Failure> {
    let label = |path: &Path| {
        path.file_stem().map_or_else(|| path.display().to_string(), |s| s.to_string_lossy().into())
    };
    let names: Vec<String> = arguments.files.iter().map(|f| label(f)).collect();
    let distinct = names.iter().enumerate().all(|(i, n)| !names[..i].contains(n));
    let mut variants: Vec<Variant> = Vec::new();
    for (path, name) in arguments.files.iter().zip(names) {
        let design = design_file::load(&Disk, path)?;
        if design.listeners != first.listeners {
            return Err(other_listeners(path, &arguments.files[0])?);
        }
        let label = if distinct { name } else { path.display().to_string() };
        variants.push(Variant { label, design: compare::free_polarity(&design) });
    }
    Ok(variants)
}

/// The first `[[listener]]` that heads a table, comments passed over.
fn header_span(text: &str) -> std::ops::Range<usize> {
    const HEADER: &str = "[[listener]]";
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        if line.trim_start().starts_with(HEADER) {
            let at = start + line.len() - line.trim_start().len();
            return at..at + HEADER.len();
        }
        start += line.len();
    }
    0..0
}

fn other_listeners(path: &Path, first: &Path) -> Result<Failure, Failure> {
    let text = Disk.read(path)?;
    let at = header_span(&text);
    let fault = Fault::at(at, format!("its listeners are not those of `{}`", first.display()))
        .label("from here on")
        .help(
            "designs are compared at the same seats: give both files the same [[listener]] tables",
        );
    Ok(Failure::Files(vec![InputError::new(&path.display().to_string(), &text, vec![fault])]))
}
