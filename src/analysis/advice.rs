//! What is worth knowing of a study beyond its limits.

use super::finding::Finding;
use super::seat::SeatVerdict;
use super::study::SideStudy;
use crate::circuit::ladder::Meeting;
use crate::design::{Design, PolarityRule, Topology};
use crate::units;

/// What is worth knowing beyond the limits.
pub fn advice(design: &Design, sides: &[SideStudy]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (side, study) in design.sides.iter().zip(sides) {
        let at_hz = design.crossover.at_hz;
        let tweeter = &side.drivers.tweeter.driver.motor;
        if at_hz < 2.0 * tweeter.fs_hz() {
            findings.push(Finding::caution(
                format!("{} tweeter", side.name),
                format!(
                    "crosses at {}, less than an octave above its resonance of {} (common practice, no source: keep an octave)",
                    units::hertz(at_hz),
                    units::hertz(tweeter.fs_hz())
                ),
            ));
        }
        if study.synthesis.unmatched_db > 0.05 {
            findings.push(Finding::note(
                format!("{} tweeter", side.name),
                format!(
                    "is {:.1} dB quieter than the woofer; a pad can only lower it",
                    study.synthesis.unmatched_db
                ),
            ));
        }
        for remark in &study.synthesis.remarks {
            findings.push(Finding::caution(format!("{} crossover", side.name), remark.clone()));
        }
        findings.extend(polarity_note(design, study));
        findings.extend(study.seats.iter().filter_map(|seat| opposing_ways(&side.name, seat)));
        findings.push(cavity_note(design, study));
    }
    findings.extend(supply(design));
    findings
}

/// How far to trust what is computed of the cavity.
fn cavity_note(design: &Design, study: &SideStudy) -> Finding {
    let first = study.cavity.modes_hz.first().copied().unwrap_or(f64::INFINITY);
    let first_hz = units::hertz(first);
    let moves = design.models.sheets_move;
    let walls = match (moves.back, moves.face) {
        (true, true) => "back and face that bend (the face without its holes and drivers)",
        (true, false) => "a back that bends and a face that is a wall",
        (false, true) => "a face that bends (without its holes and drivers) and a rigid back",
        (false, false) => "rigid walls",
    };
    let text = if design.models.cavity_waves {
        format!(
            "is computed as a wave field with {walls} (first standing wave {first_hz}), the motor as a flat cone that takes its volume from the depth: a real panel is 1 to 3 dB from that"
        )
    } else {
        format!(
            "is computed as one lump of air with {walls}: trust it to about {}, half of its first standing wave at {first_hz}",
            units::hertz(0.5 * first)
        )
    };
    Finding::note(format!("{} cavity", study.name), text)
}

/// Ways that work against one another where they are equally loud.
fn opposing_ways(side: &str, seat: &SeatVerdict) -> Option<Finding> {
    let meeting = seat.meeting.filter(|m| m.gain_db < 0.0)?;
    Some(Finding::caution(
        format!("{side} ways at {}", seat.name),
        format!(
            "they meet at {} and together are {:.1} dB quieter than either: the response there rests on cancellation and shifts with the seat. Move the crossover or the drivers",
            units::hertz(meeting.hz),
            -meeting.gain_db
        ),
    ))
}

fn polarity_note(design: &Design, study: &SideStudy) -> Option<Finding> {
    let Topology::Textbook { slope, .. } = design.crossover.topology else { return None };
    let textbook = Meeting::of(slope).polarity();
    let chosen = study.response().polarity;
    (design.crossover.polarity == PolarityRule::Best && chosen != textbook).then(|| {
        Finding::note(
            format!("{} polarity", study.name),
            format!(
                "{} adds up better at the seats; the textbook polarity of {slope} on equal paths is {}",
                chosen.word(),
                textbook.word()
            ),
        )
    })
}

fn supply(design: &Design) -> Option<Finding> {
    let amplifier = &design.amplifier;
    let limit_v = amplifier.supply_limit_v()?;
    (limit_v < amplifier.rated_v()).then(|| {
        Finding::caution(
            "amplifier",
            format!(
                "{:.0} W into {:.1} Ω need {:.1} V rms, but its supply allows {limit_v:.1} V",
                amplifier.power_w,
                amplifier.into_ohm,
                amplifier.rated_v()
            ),
        )
    })
}
