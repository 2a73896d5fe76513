//! From a figure to a document.

use super::axis::Axis;
use super::canvas::{Canvas, SOFT_TEXT, Side, TEXT, Type, document};
use super::draft;
use super::drawing::Drawing;
use super::figure::Figure;
use super::hatch;
use super::layout::{Entry, LABEL, Line, SAMPLE, SUBTITLE, Sample, Slot, TITLE, lay_out};
use super::map;
use super::place::Rect;
use super::plot;
use super::sheet;
use super::words::{fit, width};

const SMALL: Type = Type { size: LABEL, bold: false, colour: TEXT };
const SOFT: Type = Type { size: LABEL, bold: false, colour: SOFT_TEXT };

/// The figure as an SVG document, the same for the same figure every time.
///
/// Text stays text, no ids are used, and the document has a title and a description for
/// screen readers. The picture may be higher than asked for, see [`Figure::height`].
pub fn svg(figure: &Figure) -> String {
    let sheet = lay_out(figure);
    let x = figure.x.safe();
    document((sheet.width, sheet.height), &figure.title, &figure.description, |canvas| {
        headings(canvas, &sheet.title, &sheet.subtitle);
        for (slot, panel) in sheet.slots.iter().zip(&figure.panels) {
            head(canvas, slot);
            plot::draw(canvas, panel, slot, &x);
            y_numbers(canvas, slot);
            panel.field.iter().for_each(|field| map::bar(canvas, &field.shades, slot));
        }
        if let Some(lowest) = sheet.slots.last() {
            x_numbers(canvas, &x, &lowest.frame);
        }
    })
}

/// A drawing to scale as an SVG document, under the same rules as [`svg`].
pub fn drawing_svg(drawing: &Drawing) -> String {
    let sheet = sheet::lay_out(drawing);
    let size = (sheet.width, sheet.height);
    document(size, &drawing.title, &drawing.description, |canvas| {
        headings(canvas, &sheet.title, &sheet.subtitle);
        let views = drawing.rows.iter().flat_map(|row| &row.views);
        for (view, placed) in views.zip(&sheet.views) {
            for line in &placed.title {
                let kind = Type { bold: true, ..SMALL };
                canvas.text(&line.text, (line.x, line.y), Side::Start, kind);
            }
            draft::draw(canvas, view, placed);
        }
        sheet.bars.iter().for_each(|bar| draft::draw_bar(canvas, bar));
    })
}

pub(super) fn headings(canvas: &mut Canvas, title: &[Line], subtitle: &[Line]) {
    for line in title {
        let kind = Type { size: TITLE, bold: true, colour: TEXT };
        canvas.text(&line.text, (line.x, line.y), Side::Start, kind);
    }
    for line in subtitle {
        let kind = Type { size: SUBTITLE, ..SOFT };
        canvas.text(&line.text, (line.x, line.y), Side::Start, kind);
    }
}

/// Title, axis label and legend of a panel.
fn head(canvas: &mut Canvas, slot: &Slot) {
    if let Some(line) = &slot.title {
        canvas.text(&line.text, (line.x, line.y), Side::Start, Type { bold: true, ..SMALL });
    }
    canvas.text(&slot.label.text, (slot.label.x, slot.label.y), Side::Start, SOFT);
    slot.legend.iter().for_each(|entry| legend_entry(canvas, entry));
}

fn legend_entry(canvas: &mut Canvas, entry: &Entry) {
    let (x, y) = (entry.line.x, entry.line.y);
    let middle = y - 4.0;
    match entry.sample {
        Sample::Stroke(ink) => canvas.curve(&[(x, middle), (x + SAMPLE, middle)], ink),
        Sample::Hatch => {
            let patch = Rect { left: x + 10.0, top: y - 9.5, width: SAMPLE - 10.0, height: 11.0 };
            let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|c| patch.at(c));
            for line in hatch::lines(&[corners.to_vec()], map::IN_THE_WAY) {
                canvas.line(&line, TEXT, 0.75);
            }
            plot::outline(canvas, &patch, plot::FRAME, 0.75);
        }
        Sample::Patch(ink) => {
            let patch = Rect { left: x + 10.0, top: y - 9.5, width: SAMPLE - 10.0, height: 11.0 };
            canvas.block(patch, ink.colour(), ink.tint());
            plot::outline(canvas, &patch, plot::FRAME, 0.75);
        }
    }
    canvas.text(&entry.line.text, (x + SAMPLE + 7.0, y), Side::Start, SMALL);
}

/// Numbers at the left: all of them or, where they would touch, every second, third …
fn y_numbers(canvas: &mut Canvas, slot: &Slot) {
    let shown: Vec<f64> = slot.y.bold.iter().copied().filter(|&v| slot.y.holds(v)).collect();
    let heights: Vec<f64> =
        shown.iter().map(|&v| slot.frame.at((0.0, slot.y.place(v))).1).collect();
    let closest = heights.windows(2).map(|w| (w[0] - w[1]).abs()).fold(f64::INFINITY, f64::min);
    let every = ((LABEL + 1.0) / closest.max(0.1)).ceil().max(1.0) as usize;
    let anchor = shown.iter().position(|&v| v == 0.0).unwrap_or(0) % every;
    for (value, y) in shown.iter().zip(heights).skip(anchor).step_by(every) {
        let foot = (slot.frame.left - 7.0, y + 0.36 * LABEL);
        canvas.text(&slot.y.number(*value), foot, Side::End, SOFT);
    }
}

/// Numbers below, leaving out those that would touch the one before, and the axis' label.
fn x_numbers(canvas: &mut Canvas, x: &Axis, frame: &Rect) {
    let mut free = f64::NEG_INFINITY;
    for &value in x.bold.iter().filter(|&&v| x.holds(v)) {
        let (place, _) = frame.at((x.place(value), 0.0));
        let text = x.number(value);
        let half = width(&text, LABEL) / 2.0;
        if place - half >= free {
            canvas.text(&text, (place, frame.bottom() + 18.0), Side::Middle, SOFT);
            free = place + half + 5.0;
        }
    }
    let label = fit(&x.label, LABEL, frame.width);
    let foot = (frame.left + frame.width / 2.0, frame.bottom() + 38.0);
    canvas.text(&label, foot, Side::Middle, SOFT);
}
