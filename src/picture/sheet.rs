//! Where the views of a drawing go, and at which scale.

use super::axis::Axis;
use super::clip::Point;
use super::drawing::{Dimension, Drawing, Form, Measure, Row, Stand, View};
use super::layout::{BOLD, LABEL, Line, MARGIN, SUBTITLE, SUBTITLE_LINE, TITLE, TITLE_LINE, stack};
use super::place::Rect;
use super::words::{width, wrap};

/// Height of a row of dimension lines or of labels with their leaders.
pub(super) const DIMENSION_ROW: f64 = 24.0;
pub(super) const LABEL_ROW: f64 = 40.0;
/// From a view to its nearest dimension line at the side.
pub(super) const ASIDE: f64 = 14.0;
const VIEW_TITLE: f64 = 19.0;
const BETWEEN_VIEWS: f64 = 28.0;
const BETWEEN_ROWS: f64 = 18.0;
/// Room for the scale bar beside the last title.
const BAR_ROOM: f64 = 180.0;
const LARGEST_SCALE: f64 = 8.0;

/// A view in its place.
pub(super) struct Placed {
    /// Where dimension lines and labels may go.
    pub cell: Rect,
    /// What the shapes take.
    pub frame: Rect,
    pub title: Vec<Line>,
    left_mm: f64,
    bottom_mm: f64,
    pub px_per_mm: f64,
}

impl Placed {
    /// The pixel at a place in mm.
    pub fn at(&self, place: Point) -> Point {
        let x = self.frame.left + (place.0 - self.left_mm) * self.px_per_mm;
        (x, self.frame.bottom() - (place.1 - self.bottom_mm) * self.px_per_mm)
    }
}

/// The scale bar of a row: its right end, its length in pixels and its name.
pub(super) struct ScaleBar {
    pub end: Point,
    pub length: f64,
    pub text: String,
}

/// The whole sheet.
pub(super) struct Sheet {
    pub width: u32,
    pub height: u32,
    pub title: Vec<Line>,
    pub subtitle: Vec<Line>,
    /// In the order of the drawing's rows and views.
    pub views: Vec<Placed>,
    pub bars: Vec<ScaleBar>,
}

/// Lays a drawing out from top to bottom.
pub(super) fn lay_out(drawing: &Drawing) -> Sheet {
    let width_px = drawing.width.clamp(320, 4000);
    let room = f64::from(width_px) - 2.0 * MARGIN;
    let mut y = 10.0;
    let title = stack(wrap(&drawing.title, TITLE * BOLD, room, 3), TITLE_LINE, &mut y);
    let subtitle = stack(wrap(&drawing.subtitle, SUBTITLE, room, 3), SUBTITLE_LINE, &mut y);
    let (mut views, mut bars) = (Vec::new(), Vec::new());
    for row in &drawing.rows {
        y += BETWEEN_ROWS;
        let (placed, bar) = lay_row(row, room, y);
        y = placed.iter().map(|p| p.cell.bottom()).fold(y, f64::max);
        views.extend(placed);
        bars.extend(bar);
    }
    let height = (y + 14.0).ceil().clamp(60.0, 20_000.0) as u32;
    Sheet { width: width_px, height, title, subtitle, views, bars }
}

/// Smallest and largest x and y of a view's shapes, mm.
struct Extent {
    low: Point,
    high: Point,
}

impl Extent {
    fn width(&self) -> f64 {
        self.high.0 - self.low.0
    }

    fn height(&self) -> f64 {
        self.high.1 - self.low.1
    }
}

fn extent(view: &View) -> Extent {
    let points = view.shapes.iter().flat_map(|shape| match &shape.form {
        Form::Rectangle(a, b) => vec![*a, *b],
        Form::Circle((x, y), r) => vec![(x - r, y - r), (x + r, y + r)],
        Form::Polygon(points) | Form::Line(points) => points.clone(),
    });
    let points: Vec<Point> = points.filter(|p| p.0.abs() < 1e6 && p.1.abs() < 1e6).collect();
    let ends = |of: fn(&Point) -> f64| {
        let low = points.iter().map(of).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        if high - low > 1e-3 { (low, high) } else { (low.min(0.0), low.min(0.0) + 1.0) }
    };
    let ((left, right), (bottom, top)) = (ends(|p| p.0), ends(|p| p.1));
    Extent { low: (left, bottom), high: (right, top) }
}

/// Pixels around the shapes that dimension lines and labels need.
struct Margins {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

fn margins(view: &View) -> Margins {
    let any = |stand| view.labels.iter().any(|l| l.stand == stand);
    let rows = |row: fn(Measure) -> Option<u8>| {
        view.dimensions.iter().filter_map(|d| row(d.measure)).map(|n| n + 1).max().unwrap_or(0)
    };
    let below = rows(|m| if let Measure::Below(n) = m { Some(n) } else { None });
    let left = rows(|m| if let Measure::Left(n) = m { Some(n) } else { None });
    let right = rows(|m| if let Measure::Right(n) = m { Some(n) } else { None });
    let step = aside_step(view);
    let beside = if any(Stand::Beside) { LABEL + 6.0 } else { 0.0 };
    let label_row = |stand| if any(stand) { LABEL_ROW } else { 0.0 };
    Margins {
        left: f64::from(left) * step + beside + 2.0,
        right: f64::from(right) * step + beside + 2.0,
        top: label_row(Stand::Above).max(beside) + 8.0,
        bottom: f64::from(below) * DIMENSION_ROW + label_row(Stand::Below).max(beside) + 6.0,
    }
}

/// Distance between dimension lines at the sides, which their widest number decides.
pub(super) fn aside_step(view: &View) -> f64 {
    let widths = view.dimensions.iter().map(|d| width(&number(d), LABEL));
    ASIDE + 8.0 + widths.fold(0.0, f64::max)
}

/// The number at a dimension line, to a tenth of a mm.
pub(super) fn number(dimension: &Dimension) -> String {
    let tenths = (dimension.length_mm() * 10.0).round() / 10.0;
    Axis::linear("", 0.0, 1.0).number(if tenths.is_finite() { tenths } else { 0.0 })
}

/// The views of a row from left to right, all at the largest scale at which they fit.
fn lay_row(row: &Row, room: f64, top: f64) -> (Vec<Placed>, Option<ScaleBar>) {
    let sizes: Vec<(Extent, Margins)> = row.views.iter().map(|v| (extent(v), margins(v))).collect();
    let gaps = BETWEEN_VIEWS * sizes.len().saturating_sub(1) as f64;
    let around: f64 = sizes.iter().map(|(_, m)| m.left + m.right).sum::<f64>() + gaps;
    let total: f64 = sizes.iter().map(|(e, _)| e.width()).sum();
    let tallest = sizes.iter().map(|(e, _)| e.height()).fold(1e-3, f64::max);
    let by_width = (room - around).max(40.0) / total.max(1e-3);
    let px_per_mm = by_width.min(row.highest.clamp(40.0, 2000.0) / tallest).min(LARGEST_SCALE);
    // What is left over widens every cell alike, so titles and labels have room.
    let spare = (room - around - px_per_mm * total).max(0.0) / sizes.len().max(1) as f64;
    let spans = sizes.iter().map(|(e, m)| m.left + m.right + px_per_mm * e.width() + spare);
    let spans: Vec<f64> = spans.collect();
    let titles = titles(row, &spans, top);
    let foot = titles.iter().flatten().map(|line| line.y + 4.0).fold(top, f64::max);
    let head = sizes.iter().map(|(_, m)| m.top).fold(0.0, f64::max);
    let mut left = MARGIN;
    let mut placed = Vec::new();
    for ((title, span), (extent, margins)) in titles.into_iter().zip(spans).zip(&sizes) {
        let (width, height) = (px_per_mm * extent.width(), px_per_mm * extent.height());
        let frame = Rect { left: left + margins.left, top: foot + head, width, height };
        let bottom = frame.bottom() + margins.bottom;
        let cell = Rect { left, top: foot, width: span, height: bottom - foot };
        let (left_mm, bottom_mm) = extent.low;
        placed.push(Placed { cell, frame, title, left_mm, bottom_mm, px_per_mm });
        left += span + BETWEEN_VIEWS;
    }
    let bar = scale_bar(px_per_mm, (MARGIN + room, top + VIEW_TITLE - 8.0));
    (placed, (!row.views.is_empty()).then_some(bar))
}

/// The titles of a row's views; the last leaves room for the scale bar.
fn titles(row: &Row, spans: &[f64], top: f64) -> Vec<Vec<Line>> {
    let mut left = MARGIN;
    let mut out = Vec::new();
    for (n, (view, &span)) in row.views.iter().zip(spans).enumerate() {
        let last = n + 1 == spans.len();
        let room = if last { (span - BAR_ROOM).max(60.0) } else { span };
        let mut y = top;
        let mut lines = stack(wrap(&view.title, LABEL * BOLD, room, 3), VIEW_TITLE, &mut y);
        lines.iter_mut().for_each(|line| line.x = left);
        out.push(lines);
        left += span + BETWEEN_VIEWS;
    }
    out
}

/// A round length between 40 and 100 pixels.
fn scale_bar(px_per_mm: f64, end: Point) -> ScaleBar {
    let rounds = (-2..6).flat_map(|power| [1.0, 2.0, 5.0].map(|m| m * 10f64.powi(power)));
    let length_mm = rounds.into_iter().find(|mm| mm * px_per_mm >= 40.0).unwrap_or(1e6);
    let text = format!("{} mm", Axis::linear("", 0.0, 1.0).number(length_mm));
    ScaleBar { end, length: (length_mm * px_per_mm).min(100.0), text }
}
