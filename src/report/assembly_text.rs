//! The assembly sheet: what a second person needs to build a side and to check it before and at the
//! first power-on. The same lines go to the terminal's file and to the page.

use super::quantity;
use crate::analysis::assembly::{Assembly, DRIVER_SHARE, Fitted, Reading};
use crate::analysis::study::Study;
use crate::circuit::ladder::Polarity;
use crate::design::{BoardPlace, Design};
use crate::units::{self, significant};
use std::fmt::Write;

/// A headed list of steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Its heading.
    pub title: &'static str,
    /// Its steps, in order.
    pub steps: Vec<String>,
}

/// The stages for a side.
pub fn stages(study: &Study, assembly: &Assembly) -> Vec<Stage> {
    let design = &study.design;
    let stage = |title, steps| Stage { title, steps };
    vec![
        stage("Fit the parts, the lowest first", fitting(design, &assembly.parts)),
        stage("Wire", wiring(design, assembly)),
        stage("Measure before the power is on", measuring(assembly)),
        stage("First power-on", powering(study)),
    ]
}

/// All sides as plain text.
pub fn text(study: &Study, assemblies: &[Assembly]) -> String {
    let mut out = format!("Assembly sheet: {}\n", study.design.name);
    for assembly in assemblies {
        let _ = writeln!(out, "\n{}", assembly.names);
        for stage in stages(study, assembly) {
            let _ = writeln!(out, "\n  {}", stage.title);
            for (k, step) in stage.steps.iter().enumerate() {
                let _ = writeln!(out, "  [ ] {:>2}. {step}", k + 1);
            }
        }
    }
    out
}

fn fitting(design: &Design, parts: &[Fitted]) -> Vec<String> {
    let mut steps: Vec<String> = parts.iter().map(fitted).collect();
    if let Some(farad) = design.amplifier.hardware.coupling_f {
        steps.push(format!(
            "Coupling capacitor {} µF in series with the side's input, polarised: its plus to the amplifier's output",
            significant(1e6 * farad, 3)
        ));
    }
    steps
}

fn fitted(part: &Fitted) -> String {
    let family = part.family.as_ref().map_or(String::new(), |f| format!(", {f}"));
    let way = match part.component.letter() {
        'C' => ": not polarised, either way round (never a polarised electrolytic here)",
        'L' => ": axis at right angles to its neighbours, away from metal and magnets",
        _ if part.reference.starts_with('R') => {
            ": clear of foam, wood and capacitors, raised off the board"
        }
        _ => "",
    };
    format!(
        "{} {}{family}, {} to {}{way}",
        part.reference,
        quantity::part(&part.component, 3),
        part.between[0],
        part.between[1]
    )
}

fn wiring(design: &Design, assembly: &Assembly) -> Vec<String> {
    let [woofer_plus, woofer_minus] = &assembly.terminals.woofer;
    let [tweeter_plus, tweeter_minus] = &assembly.terminals.tweeter;
    let (plus, minus, note) = match assembly.polarity {
        Polarity::Normal => ("+", "−", ""),
        Polarity::Inverted => ("−", "+", " (reversed on purpose)"),
    };
    let mut steps = vec![
        format!("Woofer + to {woofer_plus}, woofer − to {woofer_minus}"),
        format!("Tweeter {plus} to {tweeter_plus}, tweeter {minus} to {tweeter_minus}{note}"),
    ];
    steps.push(match design.amplifier.bridged {
        true => "Amplifier's positive output to amp+, its negative output to amp-: both are driven, so that no return may touch ground, the metal back or the other side's return".to_owned(),
        false => "Amplifier's output to amp+, its ground to amp-".to_owned(),
    });
    if design.amplifier.hardware.board == BoardPlace::Cavity {
        steps.push("Lead the cables through the cavity's wall air-tight and hold them so that they cannot buzz".to_owned());
    }
    steps
}

fn limits(reading: &Reading) -> String {
    format!(
        "{} to {} Ω (nominal {} Ω)",
        significant(reading.low_ohm, 3),
        significant(reading.high_ohm, 3),
        significant(reading.nominal_ohm, 3)
    )
}

fn measuring(assembly: &Assembly) -> Vec<String> {
    let mut steps = vec![
        "Amplifier disconnected. Look: every joint, every reference, nothing bridged by solder".to_owned(),
        format!("Ohmmeter from amp+ to amp-, both drivers connected: {}", limits(&assembly.direct)),
        "Far lower: solder across a part or a driver shorted. Far higher: woofer not connected, or a coil open".to_owned(),
    ];
    steps.push(match &assembly.without_woofer {
        Some(reading) => format!("The same with the woofer off: {}", limits(reading)),
        None => "The same with the woofer off: nothing conducts (the reading creeps up as capacitors charge)".to_owned(),
    });
    steps.push(
        "A cell of 1.5 V, plus at amp+: the woofer's cone moves out and stays, the tweeter clicks faintly at most; if the tweeter moves, a capacitor is shorted".to_owned(),
    );
    for (hz, reading) in &assembly.impedance {
        steps.push(format!("Impedance at {}: {}", units::hertz(*hz), limits(reading)));
    }
    steps.push(format!(
        "The limits hold the parts' tolerances and {:.0} % of the drivers; both drivers in their closed cavity",
        100.0 * DRIVER_SHARE
    ));
    steps
}

fn powering(study: &Study) -> Vec<String> {
    let Some(amplifier) = &study.amplifier else { return Vec::new() };
    let design = &study.design;
    let mut steps = Vec::new();
    let fuse = amplifier
        .supply
        .fuse_a
        .map_or(String::new(), |a| format!(", fuse T {} A in its line", units::plain(a)));
    steps.push(format!("Approved, enclosed adaptor{fuse}; volume at its lowest"));
    if let Some(volts) = design.amplifier.supply_v {
        let supply = units::plain(volts);
        let idle = amplifier.supply.idle.supply_a.map_or(String::new(), |a| {
            format!(", a current of about {} A without a signal", significant(a, 2))
        });
        steps.push(format!("Crossover not connected yet: {supply} V at the board{idle}"));
    }
    let rest = match (design.amplifier.bridged, &amplifier.sides[0].standing.coupling) {
        (true, _) => {
            "between amp+ and amp-: under 50 mV of direct voltage (each may stand at half the supply to ground)"
        }
        (false, Some(_)) => {
            "behind the coupling capacitor: under 50 mV of direct voltage once it has charged"
        }
        (false, None) => "at the output: under 50 mV of direct voltage",
    };
    steps.push(format!("Voltmeter {rest}; more: stop"));
    steps.push(
        "Power off, wait a minute for the supply's capacitors, connect the crossover".to_owned(),
    );
    steps.push("Power on, music softly: woofer and tweeter both play; nothing hums, smells or grows hot in ten minutes".to_owned());
    steps.push("Never plug or unplug a driver while it plays: an open crossover nearly shorts the amplifier and overvolts its capacitors".to_owned());
    steps
}
