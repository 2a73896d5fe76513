//! Maps: bands of colour, contour lines with their values, hatched areas, the colour bar.

use super::axis::Axis;
use super::canvas::{Canvas, PAPER, RIMMED_TEXT, SOFT_TEXT, Side, Type};
use super::clip::{Point, clip_polygon, clip_run};
use super::contour::{self, Ring};
use super::field::{Field, Hatched, Shades};
use super::hatch::{self, Hatch};
use super::layout::{LABEL, Slot};
use super::place::{Rect, Room};
use super::plot::{FRAME, outline};
use super::words::{fit, width};

const BAR: f64 = 16.0;
/// Contour lines, and hatching over colours.
const DARK: (u8, u8, u8) = (30, 36, 48);
const NOTE: Type = Type { size: LABEL, bold: false, colour: RIMMED_TEXT };
/// Where there is no value, and where something is in the way.
const NO_VALUE: Hatch = Hatch { angle_deg: 45.0, apart: 14.0 };
const NO_VALUE_LINE: (u8, u8, u8) = (190, 196, 204);
pub(super) const IN_THE_WAY: Hatch = Hatch { angle_deg: -45.0, apart: 6.0 };
/// Shorter contour lines than this, in pixels, carry no value.
const SHORTEST_LABELLED: f64 = 60.0;

/// A contour line in pixels and the number of its edge.
type Contour = (usize, Vec<Point>);

/// Width of the colour bar with its numbers and name.
pub(super) fn bar_width(field: &Field) -> f64 {
    let numbers = field.shades.edges.iter().map(|&v| BAR + 6.0 + width(&number(v), LABEL));
    numbers.fold(width(&field.shades.label, LABEL).min(140.0), f64::max)
}

/// Paints the field and returns its contour lines, which are drawn later over the grid.
pub(super) fn paint(
    canvas: &mut Canvas,
    field: &Field,
    frame: &Rect,
    axes: (&Axis, &Axis),
) -> Vec<Contour> {
    let rings = contour::rings(field, |x, y| (axes.0.place(x), axes.1.place(y)));
    let mut present: Vec<Vec<Point>> = vec![corners(frame)];
    for ring in &rings {
        let inside: Vec<Point> =
            clip_polygon(ring.points.clone()).iter().map(|&p| frame.at(p)).collect();
        if inside.len() > 2 {
            canvas.area(&inside, ring.band.map_or(PAPER, |band| field.shades.colour(band)), 1.0);
            if ring.edge.is_none() {
                present.push(inside);
            }
        }
    }
    for line in hatch::lines(&present, NO_VALUE) {
        canvas.line(&line, NO_VALUE_LINE, 0.75);
    }
    rings.iter().flat_map(|ring| contours(ring, frame)).collect()
}

fn corners(frame: &Rect) -> Vec<Point> {
    [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|c| frame.at(c)).to_vec()
}

/// The contour lines of a ring, cut at the frame.
fn contours(ring: &Ring, frame: &Rect) -> Vec<Contour> {
    let Some(edge) = ring.edge else { return Vec::new() };
    let mut pieces = Vec::new();
    contour::lines(ring).iter().for_each(|line| clip_run(line, &mut pieces));
    let pixels = |piece: Vec<Point>| (edge, piece.iter().map(|&p| frame.at(p)).collect());
    pieces.into_iter().map(pixels).collect()
}

/// Draws contour lines and writes each edge's value on its longest one.
pub(super) fn draw_contours(
    canvas: &mut Canvas,
    shades: &Shades,
    contours: &[Contour],
    room: &mut Room,
) {
    for (_, line) in contours {
        canvas.veil(line, DARK, 0.75, 0.55);
    }
    for (edge, value) in shades.edges.iter().enumerate() {
        let own = contours.iter().filter(|(e, _)| *e == edge).map(|(_, line)| line);
        let Some(longest) = own.max_by(|a, b| length(a).total_cmp(&length(b))) else { continue };
        if length(longest) < SHORTEST_LABELLED {
            continue;
        }
        let text = number(*value);
        let (w, h) = (width(&text, LABEL) + 6.0, LABEL + 4.0);
        let count = longest.len();
        let shares = [5, 4, 6, 3, 7, 2, 8].map(|tenth| longest[(count - 1) * tenth / 10]);
        let wishes =
            shares.map(|p| Rect { left: p.0 - w / 2.0, top: p.1 - h / 2.0, width: w, height: h });
        if let Some(rect) = room.choose(&wishes, None) {
            canvas.text(&text, (rect.left + w / 2.0, rect.bottom() - 4.5), Side::Middle, NOTE);
        }
    }
}

fn length(line: &[Point]) -> f64 {
    line.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum()
}

/// Hatches an area that is out of bounds, on paper that lets the colours through; returns its lines.
pub(super) fn bar_off(
    canvas: &mut Canvas,
    area: &Hatched,
    frame: &Rect,
    axes: (&Axis, &Axis),
) -> Vec<[Point; 2]> {
    let places: Vec<Point> =
        area.outline.iter().map(|&(x, y)| (axes.0.place(x), axes.1.place(y))).collect();
    if places.iter().any(|p| !(p.0.is_finite() && p.1.is_finite())) {
        return Vec::new();
    }
    let inside: Vec<Point> = clip_polygon(places).iter().map(|&p| frame.at(p)).collect();
    if inside.len() < 3 {
        return Vec::new();
    }
    canvas.area(&inside, PAPER, 0.7);
    let closed: Vec<Point> = inside.iter().chain(inside.first()).copied().collect();
    canvas.line(&closed, DARK, 1.0);
    let lines = hatch::lines(&[inside], IN_THE_WAY);
    lines.iter().for_each(|l| canvas.line(l, DARK, 0.75));
    lines
}

/// The colour bar beside a panel: a block for each band, the value of each edge between.
pub(super) fn bar(canvas: &mut Canvas, shades: &Shades, slot: &Slot) {
    let (left, right) = slot.bar;
    let foot = (left, slot.frame.top - 10.0);
    canvas.text(
        &fit(&shades.label, LABEL, right - left),
        foot,
        Side::Start,
        Type { colour: SOFT_TEXT, ..NOTE },
    );
    let count = shades.count();
    let height = slot.frame.height / count as f64;
    for band in 0..count {
        let top = slot.frame.bottom() - (band + 1) as f64 * height;
        // A little more than its share, under the next one: no seam.
        let block =
            Rect { left, top, width: BAR, height: height + if band > 0 { 0.5 } else { 0.0 } };
        canvas.block(block, shades.colour(band), 1.0);
    }
    outline(canvas, &Rect { left, width: BAR, ..slot.frame }, FRAME, 0.75);
    let every = ((LABEL + 1.0) / height).ceil().max(1.0) as usize;
    for (k, value) in shades.edges.iter().enumerate().step_by(every) {
        let y = slot.frame.bottom() - (k + 1) as f64 * height;
        canvas.line(&[(left, y), (left + BAR + 3.0, y)], DARK, 0.75);
        let kind = Type { colour: SOFT_TEXT, ..NOTE };
        canvas.text(&number(*value), (left + BAR + 6.0, y + 0.36 * LABEL), Side::Start, kind);
    }
}

/// Edges are decibels, degrees or the like, never thousands.
fn number(value: f64) -> String {
    Axis::linear("", 0.0, 1.0).number(value)
}
