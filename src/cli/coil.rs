//! `slabtone coil`.

use super::failure::Failure;
use super::{Verdict, output};
use clap::Args;
use slabtone::circuit::mutual::Placement;
use slabtone::circuit::winding::recipe::{Recipe, Wish};
use slabtone::circuit::wire;
use slabtone::report::coil_doc::{self, CoilDoc, Near};
use std::ops::RangeInclusive;

/// An option, its word, its distance and the placement that it stands for.
type Place<'w> = (&'w str, &'w str, Option<f64>, fn(f64) -> Placement);

const HENRY_MH: RangeInclusive<f64> = 1e-3..=1e3;
const WIRE_MM: RangeInclusive<f64> = 0.05..=5.0;
const SIZE_MM: RangeInclusive<f64> = 0.1..=500.0;
const APART_MM: RangeInclusive<f64> = 0.1..=2000.0;

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone coil --mh 0.47 --wire-mm 0.8 --height-mm 12 --beside-mm 60"
)]
pub(super) struct Arguments {
    /// Inductance, mH
    #[arg(long, allow_negative_numbers = true)]
    mh: f64,
    /// Diameter of the bare wire, mm
    #[arg(
        long,
        value_name = "MM",
        allow_negative_numbers = true,
        required_unless_present = "awg",
        conflicts_with = "awg"
    )]
    wire_mm: Option<f64>,
    /// American wire gauge instead
    #[arg(long, value_parser = clap::value_parser!(i32).range(0..=44), allow_negative_numbers = true)]
    awg: Option<i32>,
    /// Largest height of the winding, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    height_mm: f64,
    /// Diameter of the former, mm; the one that takes the least wire if left out
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    inner_mm: Option<f64>,
    /// Coupling to an equal coil beside it, middle to middle, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    beside_mm: Option<f64>,
    /// Coupling to an equal coil above it, middle to middle, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    above_mm: Option<f64>,
    /// Coupling to an equal coil beside it that is turned towards it, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    crossed_mm: Option<f64>,
    /// Print the result as a JSON document
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<Verdict, Failure> {
    let wire_mm = match (arguments.wire_mm, arguments.awg) {
        (Some(mm), _) => within("--wire-mm", mm, &WIRE_MM, "mm")?,
        (None, Some(awg)) => 1e3 * wire::awg_diameter_m(awg),
        (None, None) => return Err(Failure::Arguments("--wire-mm: name the wire".into())),
    };
    let wish = Wish {
        henry: 1e-3 * within("--mh", arguments.mh, &HENRY_MH, "mH")?,
        wire_m: 1e-3 * wire_mm,
        height_m: 1e-3 * within("--height-mm", arguments.height_mm, &SIZE_MM, "mm")?,
        inner_m: distance("--inner-mm", arguments.inner_mm, &SIZE_MM)?,
    };
    let recipe = Recipe::of(&wish).map_err(|e| Failure::Arguments(e.to_string()))?;
    let places: [Place<'_>; 3] = [
        ("--beside-mm", "beside", arguments.beside_mm, Placement::beside),
        ("--above-mm", "above", arguments.above_mm, Placement::coaxial),
        ("--crossed-mm", "crossed", arguments.crossed_mm, Placement::crossed),
    ];
    let mut near = Vec::new();
    for (name, words, mm, place) in places {
        if let Some(apart_m) = distance(name, mm, &APART_MM)? {
            let pair = Near::of(&recipe.winding, words, apart_m, &place(apart_m));
            near.push(pair.ok_or_else(|| {
                Failure::Arguments(format!(
                    "{name}: the two coils need the same room {} mm apart",
                    1e3 * apart_m
                ))
            })?);
        }
    }
    if arguments.json {
        output::print_json(&CoilDoc::new(&wish, &recipe, &near))?;
    } else {
        output::print(&coil_doc::text(&wish, &recipe, &near, output::width()))?;
    }
    Ok(Verdict::Fit)
}

fn distance(
    name: &str,
    mm: Option<f64>,
    range: &RangeInclusive<f64>,
) -> Result<Option<f64>, Failure> {
    mm.map(|mm| within(name, mm, range, "mm").map(|mm| 1e-3 * mm)).transpose()
}

fn within(name: &str, found: f64, range: &RangeInclusive<f64>, unit: &str) -> Result<f64, Failure> {
    if range.contains(&found) {
        return Ok(found);
    }
    Err(Failure::Arguments(format!(
        "{name}: found {found}, expected a number from {} to {} {unit}",
        range.start(),
        range.end()
    )))
}
