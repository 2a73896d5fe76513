//! `slabtone parts`.

use super::args;
use super::failure::Failure;
use super::{Verdict, output};
use slabtone::analysis::parts_list::PartsList;
use slabtone::analysis::study::Study;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::Disk;
use slabtone::report::parts_doc::{self, PartsDoc};
use std::path::PathBuf;

/// Points of the sweep behind the list: its values hang on the crossover, not on the sweep.
const POINTS: usize = 480;

pub(super) fn run(arguments: &args::Parts) -> Result<Verdict, Failure> {
    let design = design_file::load(&Disk, &arguments.file)?;
    let units = arguments.units.unwrap_or(design.run.units);
    let grid = Grid::audible(POINTS).map_err(|e| Failure::Program(e.to_string()))?;
    let list = PartsList::of(&Study::new(design, &grid)?, units);
    if let Some(dir) = &arguments.out {
        output::write_all(dir, &[(PathBuf::from("parts.csv"), parts_doc::csv(&list)?)])?;
    }
    if arguments.json {
        output::print_json(&PartsDoc::new(&list))?;
    } else if arguments.csv {
        output::print(&parts_doc::csv(&list)?)?;
    } else {
        output::print(&parts_doc::text(&list, output::width()))?;
    }
    Ok(Verdict::Fit)
}
