//! The variants over each other.

use crate::analysis::compare::Outcome;
use crate::analysis::side::SeatResponse;
use crate::picture::{Axis, Figure, Ink, Panel, Rule, Trace};
use crate::units;

/// Level at the first seat of the first side for every variant, and what the amplifier sees.
/// `None` where there is nothing to draw.
pub fn figure(outcomes: &[Outcome]) -> Option<Figure> {
    let first = &outcomes.first()?.study;
    let seat = first.sides.first()?.response().seats.first()?;
    let hz = first.grid.frequency_hz();
    let mean_db = outcomes[0].study.sides[0].seats.first()?.deviation.mean_db;
    let top = ((mean_db + 8.0) / 5.0).ceil() * 5.0;
    let mut main = Panel::new(Axis::level_db("Level (dB re 20 µPa)", top - 30.0, top));
    let mut strip = Panel::new(Axis::ohm_log(2.0, 50.0));
    strip.height = 0.5;
    for (k, outcome) in outcomes.iter().enumerate() {
        let ink = Ink::Order(k as u8);
        let response = outcome.study.sides.first()?.response();
        let level = SeatResponse::level_db(&response.seats.first()?.sum);
        main.traces.push(Trace::new(outcome.label.as_str(), ink, hz.to_vec(), level));
        let magnitude = response.impedance.magnitude();
        strip.traces.push(Trace::new("", ink, hz.to_vec(), magnitude));
    }
    let allowed = first.design.amplifier.lowest_load_ohm;
    strip.rules.push(Rule {
        name: format!("amplifier allows {} or more", units::ohms(allowed)),
        y: allowed,
        ink: Ink::Limit,
    });
    let title = "What each choice does at the seat".to_owned();
    let subtitle = format!(
        "{}, {} V, at {}; each in the polarity that adds up better",
        first.design.name,
        units::significant(first.design.drive_v, 3),
        seat.name
    );
    let axis = Axis::frequency(first.grid.start_hz(), first.grid.stop_hz());
    let mut figure = Figure::new(title, subtitle, axis);
    figure.description = "Level and impedance against frequency for each variant.".into();
    figure.panels = vec![main, strip];
    figure.height = 620;
    Some(figure)
}
