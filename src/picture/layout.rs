//! Where the parts of a figure go.

use super::axis::Axis;
use super::figure::{Figure, Panel};
use super::ink::Ink;
use super::map;
use super::place::Rect;
use super::words::{fit, width, wrap};

pub(super) const TITLE: f64 = 19.0;
pub(super) const SUBTITLE: f64 = 14.0;
pub(super) const LABEL: f64 = 13.0;
pub(super) const MARGIN: f64 = 16.0;
/// Length of a line's sample in the legend.
pub(super) const SAMPLE: f64 = 34.0;
pub(super) const TITLE_LINE: f64 = 24.0;
pub(super) const SUBTITLE_LINE: f64 = 19.0;
const ROW: f64 = 19.0;
const FOOT: f64 = 50.0;
const BETWEEN: f64 = 16.0;
const LOWEST_PANEL: f64 = 64.0;
pub(super) const BOLD: f64 = 1.08;
/// Between a frame and its colour bar.
const BAR_GAP: f64 = 18.0;

/// A line of text standing on `y`.
pub(super) struct Line {
    pub x: f64,
    pub y: f64,
    pub text: String,
}

/// What stands before a name in the legend.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Sample {
    Stroke(Ink),
    Patch(Ink),
    Hatch,
}

/// One name of a legend with its sample, at `line.x`.
pub(super) struct Entry {
    pub line: Line,
    pub sample: Sample,
}

/// A panel's head and frame.
pub(super) struct Slot {
    pub title: Option<Line>,
    pub label: Line,
    pub legend: Vec<Entry>,
    pub frame: Rect,
    pub y: Axis,
    /// Left and right end of the column for a colour bar.
    pub bar: (f64, f64),
}

/// The whole figure.
pub(super) struct Sheet {
    pub width: u32,
    pub height: u32,
    pub title: Vec<Line>,
    pub subtitle: Vec<Line>,
    pub slots: Vec<Slot>,
}

/// Lays a figure out from top to bottom.
pub(super) fn lay_out(figure: &Figure) -> Sheet {
    let width_px = figure.width.clamp(320, 4000);
    let room = f64::from(width_px) - 2.0 * MARGIN;
    let mut y = 10.0;
    let title = stack(wrap(&figure.title, TITLE * BOLD, room, 3), TITLE_LINE, &mut y);
    let subtitle = stack(wrap(&figure.subtitle, SUBTITLE, room, 3), SUBTITLE_LINE, &mut y);
    y += 6.0;

    let axes: Vec<Axis> = figure.panels.iter().map(|p| p.y.safe()).collect();
    let left = MARGIN + 8.0 + axes.iter().map(widest_number).fold(18.0, f64::max);
    let end = f64::from(width_px) - MARGIN - 8.0;
    let bars = figure.panels.iter().filter_map(|p| p.field.as_ref()).map(map::bar_width);
    let bar = bars.fold(0.0, f64::max);
    let across = (left, end - if bar > 0.0 { bar + BAR_GAP } else { 0.0 });
    let heads: Vec<Head> = figure.panels.iter().map(|p| Head::new(p, across)).collect();
    let heights = plot_heights(figure, y, &heads);

    let mut slots = Vec::new();
    for ((head, axis), height) in heads.into_iter().zip(axes).zip(heights) {
        let top = y + head.height();
        let widest = Rect { left, top, width: across.1 - left, height };
        let frame = if figure.equal { to_scale(widest, &figure.x.safe(), &axis) } else { widest };
        let bar = (across.1 + BAR_GAP, across.1 + BAR_GAP + bar);
        slots.push(head.at(y, frame, axis, bar));
        y = frame.bottom() + BETWEEN;
    }
    let bottom = y - if slots.is_empty() { 0.0 } else { BETWEEN } + FOOT;
    let height =
        if slots.is_empty() { figure.height.clamp(120, 4000) } else { bottom.ceil() as u32 };
    Sheet { width: width_px, height, title, subtitle, slots }
}

/// The largest frame with one scale for both axes that fits into a width, and into a height unless
/// the axes make that unreadably narrow.
fn to_scale(room: Rect, x: &Axis, y: &Axis) -> Rect {
    let slope = (y.max - y.min) / (x.max - x.min);
    let width = (room.height / slope).min(room.width).max(0.4 * room.width);
    Rect {
        width: width.floor(),
        height: (width * slope).clamp(LOWEST_PANEL, 3000.0).floor(),
        ..room
    }
}

pub(super) fn stack(lines: Vec<String>, step: f64, y: &mut f64) -> Vec<Line> {
    let mut down = |text| {
        *y += step;
        Line { x: MARGIN, y: *y - 4.0, text }
    };
    lines.into_iter().map(&mut down).collect()
}

fn widest_number(axis: &Axis) -> f64 {
    axis.bold.iter().map(|&v| width(&axis.number(v), LABEL)).fold(0.0, f64::max).min(90.0)
}

/// The height left by heads and foot, divided by the panels' shares.
fn plot_heights(figure: &Figure, top: f64, heads: &[Head]) -> Vec<f64> {
    let share = |p: &Panel| if p.height > 0.0 { p.height.clamp(0.01, 100.0) } else { 1.0 };
    let total: f64 = figure.panels.iter().map(share).sum();
    let used: f64 = heads.iter().map(|h| h.height() + BETWEEN).sum::<f64>() - BETWEEN;
    let free = f64::from(figure.height.min(4000)) - top - used - FOOT;
    figure.panels.iter().map(|p| (free * share(p) / total).max(LOWEST_PANEL).floor()).collect()
}

/// A panel's title, axis label and legend, with y still counted from its own top.
struct Head {
    title: Option<Line>,
    label: Line,
    legend: Vec<Entry>,
    rows: usize,
}

impl Head {
    /// Arranges the names in rows flush right; the first row also holds title and label.
    fn new(panel: &Panel, (left, right): (f64, f64)) -> Head {
        let room = right - MARGIN;
        let named = panel.title.as_deref().filter(|t| !t.trim().is_empty());
        let mut x = MARGIN;
        let title = named.map(|t| Line { x, y: 0.0, text: fit(t, LABEL * BOLD, room * 0.5) });
        if let Some(line) = &title {
            x += width(&line.text, LABEL * BOLD) + 10.0;
        }
        let label = Line { x, y: 0.0, text: fit(&panel.y.label, LABEL, room * 0.5) };
        x += width(&label.text, LABEL) + 24.0;

        let mut rows: Vec<Vec<(String, Sample, f64)>> = vec![Vec::new()];
        let mut free = right - x;
        for (name, sample) in names(panel) {
            let text = fit(&name, LABEL, right - left - SAMPLE - 8.0);
            let wide = SAMPLE + 7.0 + width(&text, LABEL) + 18.0;
            if wide - 18.0 > free {
                rows.push(Vec::new());
                free = right - left;
            }
            free -= wide;
            rows.last_mut().into_iter().for_each(|row| row.push((text.clone(), sample, wide)));
        }
        let count = rows.len();
        let legend =
            rows.into_iter().enumerate().flat_map(|(n, row)| flush(row, n, right)).collect();
        Head { title, label, legend, rows: count }
    }

    fn height(&self) -> f64 {
        self.rows as f64 * ROW + 7.0
    }

    fn at(mut self, top: f64, frame: Rect, y: Axis, bar: (f64, f64)) -> Slot {
        let down = top + ROW - 4.0;
        self.label.y += down;
        self.title.iter_mut().for_each(|t| t.y += down);
        self.legend.iter_mut().for_each(|e| e.line.y += down);
        Slot { title: self.title, label: self.label, legend: self.legend, frame, y, bar }
    }
}

/// One row of a legend, ending at `right`.
fn flush(row: Vec<(String, Sample, f64)>, n: usize, right: f64) -> Vec<Entry> {
    let mut x = right + 18.0 - row.iter().map(|r| r.2).sum::<f64>();
    let mut entry = |(text, sample, wide)| {
        let line = Line { x, y: n as f64 * ROW, text };
        x += wide;
        Entry { line, sample }
    };
    row.into_iter().map(&mut entry).collect()
}

/// What the legend names, each pair of name and look once.
fn names(panel: &Panel) -> Vec<(String, Sample)> {
    let traces = panel.traces.iter().map(|t| (t.name.clone(), Sample::Stroke(t.ink)));
    let bands = panel.bands.iter().map(|b| (b.name.clone(), Sample::Patch(b.ink)));
    let hatched = panel.hatched.iter().map(|h| (h.name.clone(), Sample::Hatch));
    let mut out: Vec<(String, Sample)> = Vec::new();
    for entry in traces.chain(bands).chain(hatched) {
        if !entry.0.trim().is_empty() && !out.contains(&entry) {
            out.push(entry);
        }
    }
    out
}
