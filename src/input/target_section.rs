//! The `[target]` table of a design file.

use super::reader::{Bounds, Section};
use crate::circuit::slope::Slope;
use crate::design::{Crossover, Kinds, Target, Topology, USUAL_BOUNDS};
use crate::units::hertz;

/// The target, starting from the usual one of the crossover.
pub(super) fn read(section: &mut Section<'_>, crossover: &Crossover, lowest_ohm: f64) -> Target {
    let usual = Target::of(crossover, lowest_ohm);
    let hz = Bounds::new(20.0, 20_000.0, "Hz");
    let at_hz = section.number_or("at_hz", hz, usual.at_hz);
    let around = Target::of(&Crossover { at_hz, ..crossover.clone() }, lowest_ohm);
    let target = Target {
        slope: section.optional_parsed::<Slope>("slope", "lr4").unwrap_or(usual.slope),
        at_hz,
        tilt_db_per_octave: section.number_or(
            "tilt_db_per_octave",
            Bounds::symmetric(6.0, "dB/octave"),
            0.0,
        ),
        band_hz: (
            section.number_or("from_hz", hz, around.band_hz.0),
            section.number_or("to_hz", hz, around.band_hz.1),
        ),
        ways_weight: section.number_or(
            "ways_weight",
            Bounds::new(0.0, 100.0, ""),
            usual.ways_weight,
        ),
        power_weight: section.number_or("power_weight", Bounds::new(0.0, 100.0, ""), 0.0),
        lowest_ohm: section.number_or("lowest_ohm", Bounds::new(0.5, 100.0, "ohm"), lowest_ohm),
        loss_percent: section.optional_number("loss_percent", Bounds::positive(100.0, "%")),
        cost: section.optional_number("cost", Bounds::positive(1e6, "")),
        bounds: bounds(section),
        fixed: section.texts("fixed"),
    };
    check(section, &target, crossover);
    target
}

/// Smallest and largest values, from "0.05 to 3 mH" style pairs.
fn bounds(section: &mut Section<'_>) -> Kinds<(f64, f64)> {
    let mut pair = |key: &str, limits: Bounds, to_si: f64, usual: (f64, f64)| {
        let Some([low, high]) = section.optional_point(key, limits) else { return usual };
        if low >= high {
            section.refuse(key, "the smallest value is not below the largest", "write [low, high]");
        }
        (low * to_si, high * to_si)
    };
    Kinds {
        resistor: pair("resistor_ohm", Bounds::new(0.01, 1e4, "ohm"), 1.0, USUAL_BOUNDS.resistor),
        inductor: pair("inductor_mh", Bounds::new(1e-3, 100.0, "mH"), 1e-3, USUAL_BOUNDS.inductor),
        capacitor: pair("capacitor_uf", Bounds::new(1e-2, 5e3, "uF"), 1e-6, USUAL_BOUNDS.capacitor),
    }
}

fn check(section: &Section<'_>, target: &Target, crossover: &Crossover) {
    if !section.is_sound() {
        return;
    }
    if target.band_hz.1 < 2.0 * target.band_hz.0 {
        let help = "the sum is judged over a band: from_hz below to_hz, an octave or more apart";
        section.refuse("to_hz", "less than an octave above from_hz", help);
        return;
    }
    let outside = target.at_hz <= target.band_hz.0 || target.at_hz >= target.band_hz.1;
    if outside {
        let (at, [from, to]) =
            (hertz(target.at_hz), [target.band_hz.0, target.band_hz.1].map(hertz));
        let whose = if section.has("at_hz") { "" } else { " (the crossover's at_hz)" };
        let message = format!("{at}{whose} is outside from_hz to to_hz, {from} to {to}");
        section.refuse("at_hz", &message, "the ways meet inside the band");
    }
    if let Topology::Listed(network) = &crossover.topology {
        let known = |name: &String| network.parts.iter().any(|p| p.reference == *name);
        if let Some(stranger) = target.fixed.iter().find(|name| !known(name)) {
            let message = format!("no part is called `{stranger}`");
            section.refuse("fixed", &message, "name parts by their ref in [[crossover.part]]");
        }
    }
}
