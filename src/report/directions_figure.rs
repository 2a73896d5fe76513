//! `directions.svg`: how loud it is in which direction, with the seats in it.

use super::level_range::level_axis;
use crate::picture::{Axis, Field, Figure, Ink, Panel, Rule, Shades, Trace};

/// A seat as an angle in one plane.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatAngle {
    /// Its name.
    pub name: String,
    /// Its angle from the axis in this plane, degrees.
    pub angle_deg: f64,
}

/// Levels in one plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    /// Angles from the axis, degrees, ascending; to the listener's right or up is positive.
    pub angle_deg: Vec<f64>,
    /// Frequencies, Hz, ascending.
    pub frequency_hz: Vec<f64>,
    /// Levels in dB, a row for each angle, each as long as `frequency_hz`.
    pub level_db: Vec<f64>,
    /// Where the seats are.
    pub seats: Vec<SeatAngle>,
}

/// Levels in both planes.
#[derive(Debug, Clone, PartialEq)]
pub struct Directions {
    /// Of which design and side.
    pub subject: String,
    /// What 0 dB stands for: "on the axis", "at the reader".
    pub zero: String,
    /// To the left and right.
    pub horizontal: Plane,
    /// Down and up.
    pub vertical: Plane,
    /// Frequencies of the index, Hz.
    pub index_hz: Vec<f64>,
    /// Level towards the first seat over the mean of all directions, dB.
    pub index_db: Vec<f64>,
}

/// Level against frequency and angle, one plane over the other.
pub fn figure(directions: &Directions) -> Figure {
    let planes = [&directions.horizontal, &directions.vertical];
    let hz = || planes.into_iter().flat_map(|p| p.frequency_hz.iter().copied());
    let low = hz().fold(f64::INFINITY, f64::min);
    let high = hz().fold(f64::NEG_INFINITY, f64::max);
    let subtitle = format!("{}; 0 dB is the level {}", directions.subject, directions.zero);
    let title = "Where the sound goes, and where the seats are";
    let mut figure = Figure::new(title, subtitle, Axis::frequency(low, high));
    let label = "Angle, right is positive (°)";
    figure.panels.push(panel("Left to right", label, &directions.horizontal));
    let label = "Angle, up is positive (°)";
    figure.panels.push(panel("Down to up", label, &directions.vertical));
    let label = "Louder towards the seat than all round (dB)";
    let mut index = Panel::new(level_axis(label, &[&directions.index_db], 24.0));
    index.height = 0.5;
    let (hz, db) = (directions.index_hz.clone(), directions.index_db.clone());
    index.traces.push(Trace::new("", Ink::Sum, hz, db));
    figure.panels.push(index);
    figure.description = format!(
        "Two maps of the level against frequency and angle, horizontally and vertically, and how much louder it is towards the seat than all round; 0 dB is the level {}.",
        directions.zero
    );
    figure.height = 940;
    figure
}

fn panel(title: &str, label: &str, plane: &Plane) -> Panel {
    let ends = |of: fn(f64, f64) -> f64, start| plane.angle_deg.iter().copied().fold(start, of);
    let (low, high) = (ends(f64::min, f64::INFINITY), ends(f64::max, f64::NEG_INFINITY));
    let mut panel = Panel::new(Axis::stepped(label, low, high, 30.0, 15.0));
    panel.title = Some(title.to_owned());
    panel.field = Some(Field {
        x: plane.frequency_hz.clone(),
        y: plane.angle_deg.clone(),
        values: plane.level_db.iter().copied().map(Some).collect(),
        // No edge at 0 dB: the axis itself would be one long contour.
        shades: Shades {
            label: "Level (dB)".into(),
            edges: vec![-24.0, -18.0, -12.0, -6.0, -3.0, 3.0],
        },
    });
    let rule = |seat: &SeatAngle| Rule {
        name: format!("{}, {:.0}°", seat.name, seat.angle_deg).replace('-', "−"),
        y: seat.angle_deg,
        ink: Ink::Limit,
    };
    panel.rules = plane.seats.iter().map(rule).collect();
    panel
}
