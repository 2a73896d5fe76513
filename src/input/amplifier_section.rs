//! The `[amplifier]` table of a design file.

use super::reader::{Bounds, Section};
use crate::circuit::output_filter::{Damping, OutputFilter};
use crate::design::{Amplifier, BoardPlace, BuiltFor, Cable, Hardware, Stage};

pub(super) fn read(section: &mut Section<'_>) -> Amplifier {
    let ohm = Bounds::new(0.5, 100.0, "ohm");
    let power_w = section.number("power_w", Bounds::new(0.1, 2000.0, "W"));
    let into_ohm = section.number("into_ohm", ohm);
    let lowest_load_ohm = section.number("lowest_load_ohm", ohm);
    let output_ohm = section.number_or("output_ohm", Bounds::new(0.0, 20.0, "ohm"), 0.0);
    let supply_v = section.optional_number("supply_v", Bounds::new(1.0, 400.0, "V"));
    let bridged = bridged(section);
    let cut_below_hz = section.optional_number("cut_below_hz", Bounds::new(10.0, 2000.0, "Hz"));
    let hardware = hardware(section, bridged);
    let built_for = [("programme", BuiltFor::Programme), ("sine", BuiltFor::Sine)];
    let amplifier = Amplifier {
        power_w,
        into_ohm,
        lowest_load_ohm,
        output_ohm: output_ohm + hardware.cable.map_or(0.0, |cable| cable.ohm()),
        supply_v,
        bridged,
        cut_below_hz,
        hardware,
        built_for: section.choice_or("built_for", &built_for, BuiltFor::Programme),
    };
    supply_fits(section, &amplifier);
    amplifier
}

/// `output = "bridged"` or `"single_ended"`, or the older flag `bridged`.
fn bridged(section: &mut Section<'_>) -> bool {
    let stated = section.has("bridged");
    let flag = section.flag_or("bridged", false);
    let words = [("bridged", true), ("single_ended", false)];
    let Some(output) = section.optional_choice("output", &words) else { return flag };
    if stated && output != flag {
        section.refuse("output", "contradicts `bridged`", "keep one of the two keys");
    }
    output
}

fn hardware(section: &mut Section<'_>, bridged: bool) -> Hardware {
    let usual = Hardware::default();
    let micron = Bounds::new(5.0, 500.0, "um");
    let places = [("cavity", BoardPlace::Cavity), ("outside", BoardPlace::Outside)];
    let hardware = Hardware {
        current_limit_a: section.optional_number("current_limit_a", Bounds::new(0.05, 500.0, "A")),
        split_supply: section.choice_or("supply", &[("single", false), ("split", true)], false),
        coupling_f: section
            .optional_number("coupling_uf", Bounds::new(1.0, 1e6, "uF"))
            .map(|uf| uf * 1e-6),
        stage: stage(section),
        idle_w: section.number_or("idle_w", Bounds::new(0.0, 500.0, "W"), usual.idle_w),
        adaptor_w: section.optional_number("adaptor_w", Bounds::new(1.0, 5000.0, "W")),
        cable: section.optional_section("cable").map(|mut s| cable(&mut s)),
        copper_m: 1e-6 * section.number_or("copper_um", micron, 1e6 * usual.copper_m),
        trace_rise_k: section.number_or(
            "trace_rise_k",
            Bounds::new(1.0, 100.0, "K"),
            usual.trace_rise_k,
        ),
        board: section.choice_or("board", &places, usual.board),
        filter: section.optional_section("filter").map(|mut s| filter(&mut s)),
    };
    let single = !bridged && !hardware.split_supply;
    if hardware.coupling_f.is_some() && !single {
        let help = "only a single-ended output on a single supply rests above zero and needs one";
        section.refuse("coupling_uf", "this output needs no coupling capacitor", help);
    }
    hardware
}

fn stage(section: &mut Section<'_>) -> Stage {
    let percent = section.optional_number("efficiency_percent", Bounds::new(20.0, 99.5, "%"));
    let linear = section.choice_or("stage", &[("switching", false), ("linear", true)], false);
    match (linear, percent) {
        (true, Some(_)) => {
            let help = "what a linear stage takes follows from its supply; leave the key out";
            section.refuse("efficiency_percent", "does not go with stage = \"linear\"", help);
            Stage::Linear
        }
        (true, None) if !section.has("supply_v") => {
            let help = "state supply_v: what a linear stage takes follows from it";
            section.refuse("stage", "a linear stage without a supply", help);
            Stage::Linear
        }
        (true, None) => Stage::Linear,
        (false, Some(percent)) => Stage::Switching { efficiency: percent / 100.0 },
        (false, None) => Hardware::default().stage,
    }
}

fn cable(section: &mut Section<'_>) -> Cable {
    Cable {
        length_m: section.number("length_m", Bounds::new(0.01, 100.0, "m")),
        area_m2: 1e-6 * section.number("area_mm2", Bounds::new(0.05, 16.0, "mm2")),
    }
}

fn filter(section: &mut Section<'_>) -> OutputFilter {
    let loss = Bounds::new(0.0, 10.0, "ohm");
    let uf = Bounds::new(1e-3, 100.0, "uF");
    let henry = 1e-6 * section.number("inductance_uh", Bounds::new(0.1, 1000.0, "uH"));
    let dcr_ohm = section.number("dcr_ohm", Bounds::new(1e-3, 10.0, "ohm"));
    let farad = 1e-6 * section.number("capacitance_uf", uf);
    let esr_ohm = section.number_or("esr_ohm", loss, 0.0);
    let damped = ["damping_uf", "damping_ohm"];
    let damping = match damped.map(|key| section.has(key)) {
        [false, false] => None,
        _ => Some(Damping {
            farad: 1e-6 * section.number("damping_uf", uf),
            ohm: section.number("damping_ohm", Bounds::new(0.01, 1000.0, "ohm")),
        }),
    };
    OutputFilter { henry, dcr_ohm, farad, esr_ohm, damping }
}

/// A rating that its own supply cannot give is a slip.
fn supply_fits(section: &Section<'_>, amplifier: &Amplifier) {
    let Some(limit_v) = amplifier.supply_limit_v().filter(|_| section.is_sound()) else { return };
    if limit_v < 0.5 * amplifier.rated_v() {
        let message = format!(
            "allows {limit_v:.1} V rms, but {} W into {} ohm are {:.1} V",
            amplifier.power_w,
            amplifier.into_ohm,
            amplifier.rated_v()
        );
        let help = "a bridged output swings over the whole supply, a single-ended one over half";
        section.refuse("supply_v", &message, help);
    }
}
