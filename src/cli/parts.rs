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
use slabtone::report::{json, parts_table};
use std::path::PathBuf;

/// Points of the sweep behind the list: its values hang on the crossover, not on the sweep.
const POINTS: usize = 480;

pub(super) fn run(arguments: &args::Parts) -> Result<Verdict, Failure> {
    let design = design_file::load(&Disk, &arguments.file)?;
    let units = arguments.units.unwrap_or(design.run.units);
    let grid = Grid::audible(POINTS).map_err(|e| Failure::Program(e.to_string()))?;
    let list = PartsList::of(&Study::new(design, &grid)?, units);
    if let Some(dir) = &arguments.out {
        output::write_all(dir, &files(&list)?)?;
    }
    if arguments.json {
        output::print_json(&PartsDoc::new(&list))?;
    } else if arguments.csv {
        output::print(&parts_doc::csv(&list)?)?;
    } else if arguments.markdown {
        output::print(&parts_table::markdown(&list))?;
    } else {
        output::print(&parts_doc::text(&list, output::width()))?;
    }
    Ok(Verdict::Fit)
}

/// The list in every form.
fn files(list: &PartsList) -> Result<Vec<(PathBuf, Vec<u8>)>, Failure> {
    let document = json::text(&PartsDoc::new(list))? + "\n";
    let texts = [
        ("parts.csv", parts_doc::csv(list)?),
        ("orders.csv", parts_table::orders_csv(list)?),
        ("parts.md", parts_table::markdown(list)),
        ("parts.json", document),
    ];
    let files = texts.map(|(name, text)| (PathBuf::from(name), text.into_bytes()));
    #[cfg_attr(not(feature = "xlsx"), allow(unused_mut))]
    let mut files = Vec::from(files);
    #[cfg(feature = "xlsx")]
    files.push((
        PathBuf::from("parts.xlsx"),
        slabtone::report::parts_book::xlsx(list).map_err(|e| Failure::Program(e.to_string()))?,
    ));
    Ok(files)
}
