//! `slabtone design` and `slabtone demo`.

use super::args;
use super::failure::Failure;
use super::paths::file_name;
use super::{Verdict, output};
use slabtone::analysis::assembly::Assembly;
use slabtone::analysis::parts_list::PartsList;
use slabtone::analysis::study::{SideStudy, Study};
use slabtone::analysis::{clearance, equivalent};
use slabtone::grid::Grid;
use slabtone::input::design_file::{self, Source};
use slabtone::input::files::{DEMO, Disk, Embedded, Files};
use slabtone::picture;
use slabtone::report::page::{self, Shown};
use slabtone::report::study_doc::StudyDoc;
use slabtone::report::template::Template;
use slabtone::report::{
    assembly_text, curves, diagram, figures, netlist, panel_figure, parts_doc, summary, wiring,
};
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: &args::Design) -> Result<Verdict, Failure> {
    study(&Disk, &arguments.file, &arguments.sweep)
}

pub(super) fn demo(arguments: &args::Demo) -> Result<Verdict, Failure> {
    study(&Embedded, Path::new(DEMO), &arguments.sweep)
}

fn study(files: &dyn Files, file: &Path, sweep: &args::Sweep) -> Result<Verdict, Failure> {
    let (design, sources) = design_file::load_with_sources(files, file)?;
    let grid = Grid::audible(sweep.points as usize)
        .map_err(|e| Failure::Arguments(format!("--points: {e}")))?;
    let mut study = Study::new(design, &grid)?;
    study.look_closer()?;
    let written = match &sweep.out {
        Some(dir) => write(&study, &sources, dir)?,
        None => Vec::new(),
    };
    if sweep.json {
        output::print_json(&StudyDoc::new(&study))?;
    } else {
        output::print(&summary::text(&study, output::width()))?;
        if let Some(dir) = &sweep.out {
            let names: Vec<_> = written.iter().map(|p| p.display().to_string()).collect();
            output::print(&format!("\nWritten to {}: {}\n", dir.display(), names.join(", ")))?;
        }
    }
    Ok(if study.is_unfit() { Verdict::Unfit } else { Verdict::Fit })
}

/// Pictures and tables of every side that differs; sides alike share theirs.
fn write(study: &Study, sources: &[Source], dir: &Path) -> Result<Vec<PathBuf>, Failure> {
    let sides = study.distinct_sides();
    let mut folders: Vec<String> = Vec::new();
    let mut files = Vec::new();
    for (names, side) in &sides {
        let folder = if sides.len() == 1 { String::new() } else { file_name(&side.name, &folders) };
        for (name, content) in of_side(study, side, names)? {
            files.push((Path::new(&folder).join(name), content));
        }
        folders.push(folder);
    }
    let panel = panel_figure::figure(&study.design, &clearance::rib_lines(&study.design));
    files.push((PathBuf::from("panel.svg"), picture::drawing_svg(&panel)));
    let template = Template::of(&study.design, &clearance::rib_lines(&study.design));
    files.push((PathBuf::from("template.svg"), template.svg()));
    files.push((PathBuf::from("template.dxf"), template.dxf()));
    let wires = wiring::wires(study);
    files.push((PathBuf::from("wiring.csv"), wiring::csv(&wires)?));
    files.push((PathBuf::from("wiring.txt"), wiring::text(&wires, 100)));
    let list = PartsList::of(study, study.design.run.units);
    files.push((PathBuf::from("parts.csv"), parts_doc::csv(&list)?));
    let assemblies = assemblies(study)?;
    files.push((PathBuf::from("assembly.txt"), assembly_text::text(study, &assemblies)));
    let shown = |s: &Source| Shown { name: s.name.clone(), text: s.text.clone() };
    let shown: Vec<Shown> = sources.iter().map(shown).collect();
    files.push((PathBuf::from("report.html"), page::html(study, &list, &assemblies, &shown)?));
    output::write_all(dir, &files)?;
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

/// What to build, once for all sides alike.
fn assemblies(study: &Study) -> Result<Vec<Assembly>, Failure> {
    let mut assemblies = Vec::new();
    for (names, side) in study.distinct_sides() {
        if let Some(designed) = study.design.sides.iter().find(|s| s.name == side.name) {
            assemblies.push(Assembly::of(&study.design, designed, side, &names)?);
        }
    }
    Ok(assemblies)
}

fn of_side(study: &Study, side: &SideStudy, names: &str) -> Result<Vec<(String, String)>, Failure> {
    let mut files: Vec<(String, String)> = figures::all(study, side, names)
        .iter()
        .map(|(name, figure)| ((*name).to_owned(), picture::svg(figure)))
        .collect();
    let circuit = diagram::of_side(study, side, names);
    files.push(("circuit.svg".into(), picture::schematic_svg(&circuit)));
    if let Some(panel_side) = study.design.sides.iter().find(|s| s.name == side.name) {
        let drivers = equivalent::of_side(&study.design, panel_side)?;
        files.push(("circuit.cir".into(), netlist::text(study, side, names, &drivers)));
    }
    files.push(("curves.csv".into(), curves::csv(side, &study.grid)?));
    Ok(files)
}
