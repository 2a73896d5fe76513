//! Published checks: the crate against numbers that were made without it.
//!
//! One module a topic. The expected values stand in `data/` (one TOML row a case, with source,
//! provenance and tolerance) and in `netlists/` (results of a circuit simulator). A row's
//! tolerance is never widened here, every expected key of a row must be checked, and every kind of
//! row must be found in the number that its test states.

mod amplifier;
mod baffle;
mod bench;
mod cavity;
mod circuit_files;
mod closed_box;
mod coils;
mod compensation;
mod conformity;
mod coupled_sheets;
mod crossover;
mod driver_impedance;
mod drivers;
mod eseries;
mod identify;
mod live_ngspice;
mod minimum_phase;
mod netlists;
mod part_stress;
mod piston;
mod plates;
mod powers;
mod programme;
mod ripple;
mod rows;
mod search;
mod spice;
mod summation;
mod thermal;
mod tolerance;
mod two_cones;
