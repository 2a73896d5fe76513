//! slabtone: a crossover and enclosure designer for slim two-way panel speakers.
pub mod analysis;
pub mod circuit;
pub mod design;
pub mod grid;
pub mod input;
pub mod model;
pub mod picture;
pub mod report;
