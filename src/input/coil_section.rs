//! The tables `[[coil]]` of a design file: coils of the crossover that are wound, or whose place on
//! the board counts.

use super::reader::{Bounds, Section};
use crate::circuit::wire;
use crate::design::{Axis, CoilRule, Crossover, Make, Stand, Topology};

/// The rules; names are held against a listed network at once, against others when it is made.
pub(super) fn read(root: &mut Section<'_>, crossover: Option<&Crossover>) -> Vec<CoilRule> {
    let mut rules: Vec<CoilRule> = Vec::new();
    for section in &mut root.sections("coil") {
        let reference = section.text("ref");
        if rules.iter().any(|r| r.reference == reference) {
            section.refuse("ref", "told twice", "one table [[coil]] for each coil");
        }
        if section.is_sound() {
            known(section, &reference, crossover);
        }
        let make = make(section);
        let stand = stand(section);
        rules.push(CoilRule { reference, make, stand });
    }
    rules
}

fn known(section: &Section<'_>, reference: &str, crossover: Option<&Crossover>) {
    let Some(Crossover { topology: Topology::Listed(network), .. }) = crossover else { return };
    let coils: Vec<&str> = network
        .parts
        .iter()
        .filter(|p| p.component.letter() == 'L')
        .map(|p| p.reference.as_str())
        .collect();
    if !coils.contains(&reference) {
        let help = match coils.is_empty() {
            true => "the network has no coil".to_owned(),
            false => format!("its coils are {}", coils.join(", ")),
        };
        section.refuse("ref", &format!("no coil of the network is called `{reference}`"), &help);
    }
}

fn make(section: &mut Section<'_>) -> Make {
    let size = Bounds::positive(500.0, "mm");
    let wire_mm = section.optional_number("wire_mm", Bounds::new(0.05, 5.0, "mm"));
    let awg = section.optional_integer("wire_awg", 10..=40);
    let height_m = section.number("height_mm", size) * 1e-3;
    let inner_m = section.optional_number("inner_mm", size).map(|mm| mm * 1e-3);
    let outer_m = section.optional_number("outer_mm", size).map(|mm| mm * 1e-3);
    if wire_mm.is_some() && awg.is_some() {
        section.refuse("wire_awg", "the wire is told twice", "give wire_mm or wire_awg");
    }
    let wire_m = wire_mm.map(|mm| mm * 1e-3).or(awg.map(|n| wire::awg_diameter_m(n as i32)));
    match (wire_m, inner_m, outer_m) {
        (Some(wire_m), inner_m, None) => Make::Wound { wire_m, height_m, inner_m },
        (None, Some(inner_m), Some(outer_m)) => {
            if outer_m <= inner_m {
                section.refuse("outer_mm", "not above inner_mm", "the winding needs a depth");
            }
            Make::Bought { inner_m, outer_m, height_m }
        }
        (Some(_), _, Some(_)) => {
            let help = "the recipe gives the outer diameter of a coil to wind: leave it out";
            section.refuse("outer_mm", "does not go with a wire", help);
            Make::Bought { inner_m: height_m, outer_m: 2.0 * height_m, height_m }
        }
        _ => {
            let help = "wire_mm or wire_awg for a coil to wind; inner_mm and outer_mm of the winding \
                        for one that is bought";
            if section.is_sound() {
                section.refuse("ref", "neither wound nor bought", help);
            }
            Make::Bought { inner_m: height_m, outer_m: 2.0 * height_m, height_m }
        }
    }
}

fn stand(section: &mut Section<'_>) -> Option<Stand> {
    let at = section.optional_point::<3>("at_mm", Bounds::symmetric(2000.0, "mm"));
    let axes = [("x", Axis::X), ("y", Axis::Y), ("z", Axis::Z)];
    let axis = section.optional_choice("axis", &axes);
    let reversed = section.flag_or("reversed", false);
    if at.is_none() && (axis.is_some() || section.has("reversed")) {
        let key = if axis.is_some() { "axis" } else { "reversed" };
        section.refuse(key, "a direction without a place", "give at_mm = [x, y, z] too");
    }
    at.map(|mm| Stand { at_m: mm.map(|v| v * 1e-3), axis: axis.unwrap_or(Axis::Z), reversed })
}
