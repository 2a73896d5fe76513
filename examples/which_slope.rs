//! Every slope on the built-in reading bench, judged at the reader's seat.
//!
//! `cargo run --example which_slope` prints the slopes by how little they deviate around the
//! crossover, with what each asks of the amplifier.
#![allow(clippy::print_stdout)]

use slabtone::analysis::compare;
use slabtone::circuit::slope::Slope;
use slabtone::grid::Grid;
use slabtone::input::{design_file, files};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let design = design_file::load(&files::Embedded, files::DEMO.as_ref())?;
    let variants = compare::slopes(&design, &Slope::ALL);
    let mut outcomes = compare::outcomes(variants, &Grid::audible(480)?)?;
    outcomes.sort_by(|a, b| a.rms_db.total_cmp(&b.rms_db));
    for outcome in outcomes {
        println!(
            "{:<4} {:>4.1} dB rms, lowest {:.1} ohm at {:.0} Hz, {} parts a side",
            outcome.label, outcome.rms_db, outcome.lowest_ohm, outcome.lowest_at_hz, outcome.parts
        );
    }
    Ok(())
}
