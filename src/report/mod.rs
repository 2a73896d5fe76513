//! Results made readable: figures, JSON documents, CSV tables, terminal text. Only formats what
//! the analyses found; computes nothing of its own.

pub mod cautions;
pub mod cavity_figure;
pub mod coil_doc;
pub mod compare_doc;
pub mod compare_figure;
pub mod crossover_doc;
pub mod curves;
pub mod directions_figure;
pub mod drive_doc;
pub mod drive_figures;
pub mod drive_text;
pub mod driver_doc;
pub mod explore_doc;
pub mod explore_figure;
pub mod extract_doc;
pub mod extract_figures;
pub mod figures;
pub mod fit_doc;
pub mod fit_figure;
pub mod in_panel_doc;
pub mod in_panel_figures;
pub mod json;
mod level_range;
pub mod listed_design;
pub mod needs;
pub mod offset_doc;
pub mod page;
pub mod panel_figure;
mod panel_section;
#[cfg(feature = "xlsx")]
pub mod parts_book;
pub mod parts_doc;
pub mod parts_table;
pub mod parts_words;
pub mod placement_figure;
pub mod quantity;
pub mod ratings_doc;
pub mod sheet_figure;
pub mod stimulus_doc;
pub mod study_doc;
pub mod summary;
pub mod table;
pub mod tune_doc;
