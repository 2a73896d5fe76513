//! `slabtone crossover`.

use super::args;
use super::failure::Failure;
use super::{Verdict, output};
use slabtone::analysis::textbook::Textbook;
use slabtone::report::crossover_doc::{self, CrossoverDoc};
use std::ops::RangeInclusive;

/// Crossover frequencies of loudspeakers, Hz.
const AT_HZ: RangeInclusive<f64> = 20.0..=20_000.0;
/// Loads of loudspeakers, Ω.
const LOAD_OHM: RangeInclusive<f64> = 0.1..=10_000.0;

pub(super) fn run(arguments: &args::Crossover) -> Result<Verdict, Failure> {
    let &args::Crossover { slope, at, woofer, tweeter, json } = arguments;
    within("--at", at, &AT_HZ, "Hz")?;
    within("--woofer", woofer, &LOAD_OHM, "ohm")?;
    within("--tweeter", tweeter, &LOAD_OHM, "ohm")?;
    let textbook =
        Textbook::new(slope, at, woofer, tweeter).map_err(|e| Failure::Arguments(e.to_string()))?;
    let loads = [woofer, tweeter];
    if json {
        let document = CrossoverDoc::new(slope, at, loads, &textbook);
        output::print_json(&document)?;
    } else {
        output::print(&crossover_doc::text(slope, at, loads, &textbook))?;
    }
    Ok(Verdict::Fit)
}

fn within(name: &str, found: f64, range: &RangeInclusive<f64>, unit: &str) -> Result<(), Failure> {
    if range.contains(&found) {
        return Ok(());
    }
    Err(Failure::Arguments(format!(
        "{name}: found {found}, expected a number from {} to {} {unit}",
        range.start(),
        range.end()
    )))
}
