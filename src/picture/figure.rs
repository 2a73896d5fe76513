//! Figures as plain data.

use super::axis::Axis;
use super::field::{Field, Hatched};
use super::ink::Ink;

/// A line through points. Lists of unequal length end with the shorter one.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Name in the legend; a line without name is left out there.
    pub name: String,
    /// What the line stands for.
    pub ink: Ink,
    /// Places along the figure's x axis, ascending.
    pub x: Vec<f64>,
    /// Values in the unit of the panel's y axis; one that is not finite interrupts the line.
    pub y: Vec<f64>,
    /// Whether y is an angle in degrees wrapped to ±180: a jump by more than 180 is then
    /// drawn as leaving at one edge and coming back at the other.
    pub wraps: bool,
}

impl Trace {
    /// A line that does not wrap.
    pub fn new(name: impl Into<String>, ink: Ink, x: Vec<f64>, y: Vec<f64>) -> Trace {
        Trace { name: name.into(), ink, x, y, wraps: false }
    }

    /// A wrapped angle in degrees.
    pub fn wrapped(name: impl Into<String>, ink: Ink, x: Vec<f64>, y: Vec<f64>) -> Trace {
        Trace { wraps: true, ..Trace::new(name, ink, x, y) }
    }
}

/// A tinted area between two curves, such as an acceptance window.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Name in the legend; an area without name is left out there.
    pub name: String,
    /// Gives the tint.
    pub ink: Ink,
    /// Places along the figure's x axis, ascending.
    pub x: Vec<f64>,
    /// Lower edge in the unit of the panel's y axis; −∞ for an area open below.
    pub low: Vec<f64>,
    /// Upper edge in the unit of the panel's y axis; +∞ for an area open above.
    pub high: Vec<f64>,
}

impl Band {
    /// An area between `low` and `high` at the places `x`.
    pub fn new(
        name: impl Into<String>,
        ink: Ink,
        x: Vec<f64>,
        low: Vec<f64>,
        high: Vec<f64>,
    ) -> Band {
        Band { name: name.into(), ink, x, low, high }
    }
}

/// A level line with a label, such as an amplifier's lowest load.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Written at the line.
    pub name: String,
    /// Height in the unit of the panel's y axis.
    pub y: f64,
    /// What the line stands for.
    pub ink: Ink,
}

/// An upright line with a label, such as the crossover frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Upright {
    /// Written at the line; may be empty.
    pub name: String,
    /// Place along the figure's x axis.
    pub x: f64,
}

/// A point with a short label, left out where the point lies outside the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Written near the point.
    pub text: String,
    /// Place along the figure's x axis.
    pub x: f64,
    /// Height in the unit of the panel's y axis.
    pub y: f64,
    /// Usually that of the line it marks.
    pub ink: Ink,
    /// A filled dot instead of a ring.
    pub solid: bool,
}

/// One plot of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Shown in bold before the y axis' label.
    pub title: Option<String>,
    /// The y axis.
    pub y: Axis,
    /// Share of the figure's height relative to the other panels.
    pub height: f64,
    /// Areas, drawn first.
    pub bands: Vec<Band>,
    /// What makes the panel a map: a quantity over both axes, with a colour bar beside it.
    pub field: Option<Field>,
    /// Areas that are out of bounds.
    pub hatched: Vec<Hatched>,
    /// Upright lines.
    pub uprights: Vec<Upright>,
    /// Level lines.
    pub rules: Vec<Rule>,
    /// Lines; heavier inks lie on top, among equals the later one.
    pub traces: Vec<Trace>,
    /// Points.
    pub marks: Vec<Mark>,
}

impl Panel {
    /// An empty panel with a share of 1 of the height.
    pub fn new(y: Axis) -> Panel {
        Panel {
            title: None,
            y,
            height: 1.0,
            bands: Vec::new(),
            field: None,
            hatched: Vec::new(),
            uprights: Vec::new(),
            rules: Vec::new(),
            traces: Vec::new(),
            marks: Vec::new(),
        }
    }
}

/// Panels one above the other over a common x axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What the figure shows, as a short statement.
    pub title: String,
    /// Under which conditions: where, at which voltage.
    pub subtitle: String,
    /// A sentence or two for readers who do not see the picture.
    pub description: String,
    /// The x axis of all panels, labelled under the lowest.
    pub x: Axis,
    /// From top to bottom.
    pub panels: Vec<Panel>,
    /// Whether a step in y is as long as the same step in x, as on a plan. Axes are then linear.
    pub equal: bool,
    /// Width in pixels; held between 320 and 4000.
    pub width: u32,
    /// Height in pixels, at most 4000; grows where the panels would become too low.
    pub height: u32,
}

impl Figure {
    /// A figure of 900 × 560 pixels without panels.
    pub fn new(title: impl Into<String>, subtitle: impl Into<String>, x: Axis) -> Figure {
        Figure {
            title: title.into(),
            subtitle: subtitle.into(),
            description: String::new(),
            x,
            panels: Vec::new(),
            equal: false,
            width: 900,
            height: 560,
        }
    }
}
