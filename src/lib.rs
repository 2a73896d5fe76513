//! slabtone: a crossover and enclosure designer for slim two-way panel speakers.
//!
//! The modules are listed in layer order; each imports only from those above it.
//!
//! | module | holds |
//! | --- | --- |
//! | [`grid`] | the frequency axis and the typed complex spectra on it |
//! | [`units`] | numbers with units as people write them |
//! | [`signal`] | measured curves, interpolation, phase from magnitude, sweeps |
//! | [`model`] | physics: air, driver, coil, closed box, fill, piston, places |
//! | [`circuit`] | prototypes, ladders, networks, the nodal solver |
//! | [`design`] | the whole problem as one value |
//! | [`input`] | files into designs and drivers, with located faults |
//! | [`analysis`] | synthesis, response at the seats, limits, findings |
//! | [`picture`] | figures as data, and their SVG |
//! | [`report`] | results as figures, JSON, CSV and text |
//!
//! Conventions: time factor e^{+jωt}, SI units inside, volts and pascals rms, levels in dB re
//! 20 µPa; positive volts at a driver's first terminal push its cone out. Names carry their unit
//! (`fs_hz`, `mms_kg`).
//!
//! ```
//! use slabtone::analysis::study::Study;
//! use slabtone::grid::Grid;
//! use slabtone::input::{design_file, files};
//!
//! let design = design_file::load(&files::Embedded, files::DEMO.as_ref())?;
//! let study = Study::new(design, &Grid::audible(480)?)?;
//! let left = &study.sides[0];
//! assert!(left.limits.lowest_ohm > study.design.amplifier.lowest_load_ohm);
//! println!("fc {:.0} Hz, Qtc {:.2}", left.cavity.alignment.fc_hz, left.cavity.alignment.qtc);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod grid;
pub mod units;

pub mod signal;

pub mod circuit;
pub mod model;

pub mod design;

pub mod analysis;
pub mod input;

pub mod picture;

pub mod report;
