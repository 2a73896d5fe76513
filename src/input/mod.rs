//! Files in: from text to a checked [`crate::design::Design`] or driver, with every fault of a
//! file told at once and at its place.

mod amplifier_section;
pub mod cavity_section;
mod coil_section;
mod companions;
pub mod crossover_section;
pub mod curve_file;
pub mod design_file;
pub mod driver_file;
pub mod fault;
pub mod file;
pub mod files;
pub mod limits_file;
pub mod measured_section;
pub mod panel_section;
mod production_section;
mod purchase_section;
pub mod reader;
pub mod side_section;
pub mod stimulus_file;
pub mod stock_file;
mod stock_section;
pub mod target_section;
pub mod touchstone;
pub mod wave_file;
