//! The real program, run as its user runs it: results, exit codes, messages, files.
//!
//! Bad input is made by spoiling a copy of a good file, or stands in `bad/` with the whole message
//! beside it. `SLABTONE_BLESS=1` writes these messages anew: read them before you keep them.

mod amplifier;
mod bad_arguments;
mod bad_compare;
mod bad_crossovers;
mod bad_designs;
mod bad_drivers;
mod bad_files;
mod bad_parts;
mod coil;
mod compare;
mod documents;
mod drive;
mod extract;
mod extract_bad;
mod fit;
mod impulse;
mod inspect;
#[cfg(feature = "live-browser")]
mod live_browser;
mod offset;
mod open_back;
mod panel;
mod parts;
mod prices;
mod report;
mod results;
mod stimulus;
mod studio;
mod support;
#[path = "../support/svg.rs"]
mod svg;
mod template;
mod unfit;
mod whole_messages;
mod writing;
mod yields;
