//! What `crossover` answers, as a document and as text.

use super::json::SCHEMA_VERSION;
use super::quantity;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::textbook::{Named, Textbook};
use crate::circuit::ladder::{Place, Polarity};
use crate::circuit::slope::{Family, Slope};
use crate::units;
use serde::Serialize;
use std::fmt::Write;

/// The document of `crossover --json`.
#[derive(Debug, Clone, Serialize)]
pub struct CrossoverDoc {
    schema_version: u32,
    slope: String,
    frequency_hz: f64,
    woofer_ohm: f64,
    tweeter_ohm: f64,
    low_pass: Vec<PartDoc>,
    high_pass: Vec<PartDoc>,
    tweeter_polarity: &'static str,
    /// Level of each way at the crossover frequency, dB.
    each_at_crossover_db: f64,
    /// Level of the sum there with that polarity, dB.
    sum_at_crossover_db: f64,
    /// Level of the sum there with the other polarity, dB.
    other_polarity_at_crossover_db: f64,
}

#[derive(Debug, Clone, Serialize)]
struct PartDoc {
    #[serde(rename = "ref")]
    reference: String,
    kind: &'static str,
    place: &'static str,
    /// Henry, farad.
    value: f64,
}

impl CrossoverDoc {
    /// The document of a textbook crossover.
    pub fn new(slope: Slope, at_hz: f64, loads: [f64; 2], textbook: &Textbook) -> Self {
        let meeting = textbook.meeting;
        let parts = |named: &[Named]| named.iter().map(part).collect();
        Self {
            schema_version: SCHEMA_VERSION,
            slope: slope.to_string(),
            frequency_hz: at_hz,
            woofer_ohm: loads[0],
            tweeter_ohm: loads[1],
            low_pass: parts(&textbook.low_pass),
            high_pass: parts(&textbook.high_pass),
            tweeter_polarity: meeting.polarity().word(),
            each_at_crossover_db: meeting.each_db,
            sum_at_crossover_db: meeting.sum_db(),
            other_polarity_at_crossover_db: meeting.normal_db.min(meeting.inverted_db),
        }
    }
}

fn part(named: &Named) -> PartDoc {
    PartDoc {
        reference: named.reference.clone(),
        kind: named.element.component.kind(),
        place: place(named.element.place),
        value: named.element.component.value(),
    }
}

fn place(place: Place) -> &'static str {
    match place {
        Place::Series => "series",
        Place::Shunt => "shunt",
    }
}

/// The same for people.
pub fn text(slope: Slope, at_hz: f64, loads: [f64; 2], textbook: &Textbook) -> String {
    let name = match slope.family() {
        Family::Butterworth => "Butterworth",
        Family::LinkwitzRiley => "Linkwitz-Riley",
    };
    let mut out = String::new();
    let order = slope.order();
    let title = format!("{slope}: {name} of order {order} at {}", units::hertz(at_hz));
    let _ = writeln!(out, "{title}\n");
    let mut table = plain_table();
    for (feeds, ohm, parts) in
        [("woofer", loads[0], &textbook.low_pass), ("tweeter", loads[1], &textbook.high_pass)]
    {
        for (k, named) in parts.iter().enumerate() {
            let to = if k == 0 { format!("{feeds}, {}", units::ohms(ohm)) } else { String::new() };
            let component = &named.element.component;
            table.add_row([
                to,
                named.reference.clone(),
                format!("{} {}", place(named.element.place), component.kind()),
                quantity::part(component, 4),
            ]);
        }
    }
    right_align(&mut table, 3);
    let _ = writeln!(out, "{}", lines(table, 80, Gives::Last));
    let _ = writeln!(out, "{}", meeting(slope, textbook));
    out
}

fn meeting(slope: Slope, textbook: &Textbook) -> String {
    let meeting = textbook.meeting;
    let (polarity, sum) = (meeting.polarity(), meeting.sum_db());
    let other = if (meeting.normal_db - meeting.inverted_db).abs() < 1e-6 {
        "either polarity gives that level".to_owned()
    } else {
        let lower = meeting.normal_db.min(meeting.inverted_db);
        let how = if lower <= crate::grid::FLOOR_DB {
            "a full null".into()
        } else {
            format!("{lower:+.2} dB")
        };
        format!("{} gives {how}", polarity.flipped().word())
    };
    let advice = match polarity {
        Polarity::Normal => "connect both drivers the same way",
        Polarity::Inverted => "reverse the tweeter",
    };
    format!(
        "Tweeter {}: {advice}. At the crossover each way is at {:+.2} dB and\nthe sum at {sum:+.2} dB; {other}.\nTextbook values of {slope} for resistors on a stiff source: real drivers differ.",
        polarity.word(),
        meeting.each_db
    )
}
