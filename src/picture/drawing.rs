//! Drawings to scale as plain data: lengths in mm, x to the right, y up.

use super::ink::Ink;

/// What a cut or a body is made of, and therefore how it is hatched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Substance {
    /// Wood with a grain.
    Wood,
    /// Board pressed from fibres.
    Fibre,
    /// Metal; a thin sheet is drawn solid.
    Metal,
    /// Plastic.
    Plastic,
    /// Foam.
    Foam,
    /// Something bought ready-made, not cut open.
    Device,
}

/// The geometry of a shape, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// A rectangle between two opposite corners.
    Rectangle((f64, f64), (f64, f64)),
    /// A circle: centre and radius.
    Circle((f64, f64), f64),
    /// A closed outline.
    Polygon(Vec<(f64, f64)>),
    /// An open line.
    Line(Vec<(f64, f64)>),
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Where it is.
    pub form: Form,
    /// Its outline; `None`: only filled.
    pub ink: Option<Ink>,
    /// What fills it; a line is never filled.
    pub substance: Option<Substance>,
}

impl Shape {
    /// An outline without filling.
    pub fn outline(form: Form, ink: Ink) -> Shape {
        Shape { form, ink: Some(ink), substance: None }
    }

    /// A body or a cut with a visible edge.
    pub fn solid(form: Form, substance: Substance) -> Shape {
        Shape { form, ink: Some(Ink::Edge), substance: Some(substance) }
    }
}

/// Where a dimension line runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Along x, under the view; 0 is nearest to it.
    Below(u8),
    /// Along y, left of the view; 0 is nearest to it.
    Left(u8),
    /// Along y, right of the view; 0 is nearest to it.
    Right(u8),
    /// Along y, inside the view, at the x of its first end.
    Upright,
}

/// A dimension line with arrows. What it says is the distance it spans, so it cannot disagree with
/// the drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// First end, mm.
    pub from: (f64, f64),
    /// Second end, mm.
    pub to: (f64, f64),
    /// Where the line runs.
    pub measure: Measure,
}

impl Dimension {
    /// The length it shows, mm.
    pub fn length_mm(&self) -> f64 {
        match self.measure {
            Measure::Below(_) => (self.to.0 - self.from.0).abs(),
            _ => (self.to.1 - self.from.1).abs(),
        }
    }
}

/// A name with a line to what it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The name.
    pub text: String,
    /// The point it names, mm.
    pub at: (f64, f64),
    /// Where it stands.
    pub stand: Stand,
}

/// Where a label stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// In a row over the view.
    Above,
    /// In a row under the view.
    Below,
    /// Beside its point, without a line.
    Beside,
}

/// One view of a thing.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// What is seen, from where.
    pub title: String,
    /// From the back to the front.
    pub shapes: Vec<Shape>,
    /// Dimension lines.
    pub dimensions: Vec<Dimension>,
    /// Names.
    pub labels: Vec<Label>,
}

impl View {
    /// An empty view.
    pub fn new(title: impl Into<String>) -> View {
        View { title: title.into(), shapes: Vec::new(), dimensions: Vec::new(), labels: Vec::new() }
    }
}

/// Views side by side at one scale, with one scale bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// From left to right.
    pub views: Vec<View>,
    /// Most that a view may take in height, pixels; held between 40 and 2000.
    pub highest: f64,
}

/// A sheet with rows of views.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What the drawing shows, as a short statement.
    pub title: String,
    /// Of what, and under which conventions.
    pub subtitle: String,
    /// A sentence or two for readers who do not see the picture.
    pub description: String,
    /// From top to bottom.
    pub rows: Vec<Row>,
    /// Width in pixels; held between 320 and 4000.
    pub width: u32,
}

impl Drawing {
    /// An empty sheet 900 pixels wide.
    pub fn new(title: impl Into<String>, subtitle: impl Into<String>) -> Drawing {
        Drawing {
            title: title.into(),
            subtitle: subtitle.into(),
            description: String::new(),
            rows: Vec::new(),
            width: 900,
        }
    }
}
