//! One screen of text: what a design comes to and what to look at.

use super::table::{Gives, lines, plain_table, right_align};
use super::{amplifier_text, cautions, drive_text, quantity, ratings_doc};
use crate::analysis::back_sheet::BackSheet;
use crate::analysis::face_sheet::FaceSheet;
use crate::analysis::finding::Severity;
use crate::analysis::in_panel::InPanel;
use crate::analysis::placement::Spot;
use crate::analysis::seat::SeatVerdict;
use crate::analysis::study::{SideStudy, Study};
use crate::circuit::ladder::Polarity;
use crate::design::Topology;
use crate::units;
use anstyle::{AnsiColor, Style};
use comfy_table::Table;
use std::fmt::Write;

/// A better place is told where it gains more than this, dB.
const WORTH_DB: f64 = 0.2;
/// A standing wave with less than this of its amplitude at the cone is not told as driven.
const WEAK_SHARE: f64 = 0.1;

const BOLD: Style = Style::new().bold();

/// The summary of a study in lines of `width` characters, styled; the terminal's writer strips
/// the styles where they do not fit.
pub fn text(study: &Study, width: u16) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{BOLD}{}{BOLD:#}: {}", study.design.name, crossover(study));
    let sides = study.distinct_sides();
    for (names, side) in &sides {
        let _ = writeln!(out, "\n{BOLD}{names}{BOLD:#}");
        let mut table = plain_table();
        for row in facts(side) {
            table.add_row(row);
        }
        out.push_str(&lines(table, width, Gives::Last));
    }
    let amplifier = amplifier_text::facts(study);
    if !amplifier.is_empty() {
        let _ = writeln!(out, "\n{BOLD}amplifier{BOLD:#}");
        let mut table = plain_table();
        for row in amplifier {
            table.add_row(row);
        }
        out.push_str(&lines(table, width, Gives::Last));
    }
    out.push_str(&networks(&sides, width));
    out.push_str(&ratings(&sides, width));
    out.push_str(&findings(study, width));
    let _ = writeln!(out, "\n{BOLD}Care{BOLD:#}");
    let mut care = plain_table();
    for caution in cautions::for_building(study) {
        care.add_row([caution]);
    }
    out.push_str(&lines(care, width, Gives::Last));
    out
}

/// The crossover in a few words: "lr4 at 2.60 kHz".
pub fn crossover(study: &Study) -> String {
    let at = units::hertz(study.design.crossover.at_hz);
    match &study.design.crossover.topology {
        Topology::Textbook { slope, .. } => format!("{slope} at {at}"),
        Topology::Listed(network) => format!("a network of {} parts, {at}", network.parts.len()),
    }
}

/// What a side comes to, a name and a sentence each.
pub fn facts(side: &SideStudy) -> Vec<[String; 2]> {
    let mut facts = Vec::new();
    let cavity = &side.cavity;
    facts.push([
        "Bass".to_owned(),
        format!(
            "{} l behind the woofer: fc {}, Qtc {:.2}, f3 {} ({}bare cavity on a stiff source: {}, {:.2})",
            units::significant(cavity.volume_m3 * 1e3, 3),
            units::hertz(cavity.alignment.fc_hz),
            cavity.alignment.qtc,
            units::hertz(cavity.alignment.f3_hz()),
            cavity.rigid.map_or(String::new(), |rigid| format!(
                "between walls that do not move: {}, {:.2}; ",
                units::hertz(rigid.fc_hz),
                rigid.qtc
            )),
            units::hertz(cavity.bare.fc_hz),
            cavity.bare.qtc
        ),
    ]);
    facts.push(["Tweeter".to_owned(), tweeter(side)]);
    let back = side.shared_back.map(|back| back.words(side.ratings.source_v));
    facts.extend(back.map(|words| ["Open back".to_owned(), words]));
    let limits = &side.limits;
    facts.push([
        "Impedance".to_owned(),
        format!(
            "lowest {} at {}; the amplifier allows {}",
            units::ohms(limits.lowest_ohm),
            units::hertz(limits.lowest_at_hz),
            units::ohms(limits.allowed_ohm)
        ),
    ]);
    for seat in &side.seats {
        facts.push([format!("At {}", seat.name), at_seat(seat)]);
    }
    facts.extend(drive_text::facts(side));
    facts.push(["Power".to_owned(), ratings_doc::power(&side.ratings)]);
    facts.extend(ratings_doc::coupling(side).map(|text| ["Coils".to_owned(), text]));
    facts.extend(side.in_panel.iter().flat_map(in_panel));
    facts
}

/// What a closer look at the panel comes to.
fn in_panel(look: &InPanel) -> Vec<[String; 2]> {
    let placement = &look.placement;
    let here = &placement.here.ripple;
    let waves = placement.waves.iter().filter(|w| w.share > WEAK_SHARE).take(3);
    let waves: Vec<String> = waves.map(|w| units::hertz(w.frequency_hz)).collect();
    let gain_db = |best: &Spot| here.span_db() - best.ripple.span_db();
    let best =
        placement.best.filter(|best| gain_db(best) > WORTH_DB).map_or(String::new(), |best| {
            format!(
                "; least at ({:.0}, {:.0}) mm with {:.1} dB",
                1e3 * best.x_m,
                1e3 * best.y_m,
                best.ripple.span_db()
            )
        });
    let foam = match placement.foam_m {
        Some(0.0) => "no foam is needed".to_owned(),
        Some(foam_m) => format!("{:.0} mm of foam on the back are enough", 1e3 * foam_m),
        None => "no foam is enough".to_owned(),
    };
    let driven = if waves.is_empty() { "none of the lowest".to_owned() } else { waves.join(", ") };
    let cavity = format!(
        "the woofer drives the standing waves at {driven}; they make it uneven by {:+.1}/{:.1} dB from 300 Hz to 3 kHz{best}; for {:.1} dB in all {foam}",
        here.above_db, here.below_db, placement.limit_db
    );
    let (down, up) = look.directions.lobe_deg;
    let lobe = format!(
        "at the crossover the sum stays within 3 dB of the first seat's from {down:.0}° to {up:.0}° (up is positive)"
    )
    .replace('-', "−");
    let mut facts = vec![["Cavity".to_owned(), cavity]];
    facts.extend(look.back.iter().map(|back| ["Back".to_owned(), moves(back)]));
    facts.extend(look.face.iter().map(|face| ["Face".to_owned(), follows(face)]));
    facts.push(["Lobe".to_owned(), lobe]);
    facts
}

/// How far the back is from a wall.
fn moves(back: &BackSheet) -> String {
    let review = &back.review;
    format!(
        "moves at most {:.2} times the cone's air, at {}; adds {} l to the cavity; bends by at most {:.2} of half its thickness",
        10f64.powf(review.peak.level_db / 20.0),
        units::hertz(review.peak.frequency_hz),
        units::significant(1e3 * review.extra_volume_m3, 2),
        review.deflection_over_limit
    )
}

/// How far the face is from a wall.
fn follows(face: &FaceSheet) -> String {
    format!(
        "moves at most {:.2} times the cone's air, at {}; adds {} l to the cavity",
        10f64.powf(face.peak.level_db / 20.0),
        units::hertz(face.peak.frequency_hz),
        units::significant(1e3 * face.extra_volume_m3, 2)
    )
}

fn tweeter(side: &SideStudy) -> String {
    let polarity = match side.response().polarity {
        Polarity::Normal => "connected like the woofer",
        Polarity::Inverted => "reversed",
    };
    if side.synthesis.pad_db > 0.0 {
        format!("{polarity}, lowered by {:.1} dB", side.synthesis.pad_db)
    } else {
        polarity.to_owned()
    }
}

fn at_seat(seat: &SeatVerdict) -> String {
    let d = &seat.deviation;
    let meeting = match &seat.meeting {
        Some(m) => format!("; the ways meet at {}", units::hertz(m.hz)),
        None => String::new(),
    };
    format!(
        "{:.1} dB mean, {:+.1}/{:.1} dB from {} to {} ({:.1} dB rms){meeting} and cancel by {:.0} dB with one turned round",
        d.mean_db,
        d.above.0,
        d.below.0,
        units::hertz(d.band_hz.0),
        units::hertz(d.band_hz.1),
        d.rms_db,
        seat.cancel_db
    )
}

/// The parts, once for all sides where their networks are the same.
fn networks(sides: &[(String, &SideStudy)], width: u16) -> String {
    let Some(((_, first), rest)) = sides.split_first() else { return String::new() };
    if rest.iter().all(|(_, side)| side.synthesis.network == first.synthesis.network) {
        let each = lines(parts(first), width, Gives::Last);
        return format!("\n{BOLD}parts of each side{BOLD:#}\n{each}");
    }
    let of_side = |(names, side): &(String, &SideStudy)| {
        let listed = lines(parts(side), width, Gives::Last);
        format!("\n{BOLD}parts, {names}{BOLD:#}\n{listed}")
    };
    sides.iter().map(of_side).collect()
}

/// Exact values beside the preferred ones that are bought.
fn parts(side: &SideStudy) -> Table {
    let mut table = plain_table();
    let network = &side.synthesis.network;
    table.set_header(["part", "exact", "to buy", "error", "loss", "between"]);
    for (part, chosen) in network.parts.iter().zip(&side.chosen.parts) {
        let [from, to] = part.nodes.map(|n| network.name(n).to_owned());
        table.add_row([
            part.reference.clone(),
            quantity::part(&part.component, 3),
            quantity::choice(chosen),
            format!("{:+.1} %", chosen.error_percent()),
            quantity::loss(&part.component),
            format!("{from} to {to}"),
        ]);
    }
    for index in [1, 2, 3] {
        right_align(&mut table, index);
    }
    table
}

/// What the parts as bought have to stand.
fn ratings(sides: &[(String, &SideStudy)], width: u16) -> String {
    let mut out = String::new();
    for (names, side) in sides {
        let mut table = plain_table();
        table.set_header(["part", "value", "voltage", "current", "heat", "to ask for"]);
        for row in ratings_doc::rows(&side.ratings) {
            table.add_row(row);
        }
        let heading = ratings_doc::heading(&side.ratings);
        let _ = writeln!(out, "\n{BOLD}ratings, {names}{BOLD:#} {heading}");
        out.push_str(&lines(table, width, Gives::Last));
    }
    out
}

fn findings(study: &Study, width: u16) -> String {
    if study.findings.is_empty() {
        return String::new();
    }
    let mut table = plain_table();
    for finding in &study.findings {
        let text = format!("{}: {}", finding.subject, finding.text);
        table.add_row([finding.severity.word().to_owned(), text]);
    }
    let mut out = format!("\n{BOLD}What to look at{BOLD:#}\n");
    for line in lines(table, width, Gives::Last).lines() {
        out.push_str(&coloured(line));
        out.push('\n');
    }
    out
}

/// A line of the findings with its leading word coloured.
fn coloured(line: &str) -> String {
    for (severity, style) in [
        (Severity::Unfit, Style::new().fg_color(Some(AnsiColor::Red.into())).bold()),
        (Severity::Caution, Style::new().fg_color(Some(AnsiColor::Yellow.into()))),
    ] {
        let word = severity.word();
        if let Some(rest) = line.trim_start().strip_prefix(word) {
            return format!("  {style}{word}{style:#}{rest}");
        }
    }
    line.to_owned()
}
