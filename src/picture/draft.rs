//! Drawing the views of a sheet: shapes with their hatching, dimension lines, names.

use super::canvas::{Canvas, PAPER, RIMMED_TEXT, SOFT_TEXT, Side, TEXT, Type};
use super::clip::Point;
use super::drawing::{Dimension, Form, Label, Measure, Shape, Stand, Substance, View};
use super::hatch::{self, Hatch};
use super::layout::LABEL;
use super::place::{Rect, Room};
use super::sheet::{ASIDE, DIMENSION_ROW, LABEL_ROW, Placed, ScaleBar, aside_step, number};
use super::words::{fit, width};

const NOTE: Type = Type { size: LABEL, bold: false, colour: RIMMED_TEXT };
const HEIGHT: f64 = LABEL + 2.0;
const ARROW: f64 = 7.0;
/// Cuts thinner than this, in pixels, are filled rather than hatched.
const THINNEST_HATCHED: f64 = 7.0;

type Rgb = (u8, u8, u8);

/// Draws one view into its place.
pub(super) fn draw(canvas: &mut Canvas, view: &View, placed: &Placed) {
    let mut room = Room::new(placed.cell);
    for shape in &view.shapes {
        draw_shape(canvas, shape, placed, &mut room);
    }
    for stand in [Stand::Above, Stand::Below] {
        let row: Vec<&Label> = view.labels.iter().filter(|l| l.stand == stand).collect();
        draw_label_row(canvas, row, stand, placed, &mut room);
    }
    let step = aside_step(view);
    let mut lines: Vec<(&Dimension, Point, Point)> =
        view.dimensions.iter().map(|d| ends(d, placed, step)).collect();
    for (_, a, b) in &lines {
        room.line(&[*a, *b]);
    }
    // Numbers that fit over their line keep that place; short lines make do with what is left.
    lines.sort_by_key(|(d, a, b)| b.0 + b.1 - a.0 - a.1 < width(&number(d), LABEL) + 6.0);
    for (dimension, a, b) in lines {
        draw_dimension(canvas, dimension, (a, b), placed, &mut room);
    }
    for label in view.labels.iter().filter(|l| l.stand == Stand::Beside) {
        write_beside(canvas, label, placed, &mut room);
    }
}

/// The scale bar of a row of views, its name to the left of it.
pub(super) fn draw_bar(canvas: &mut Canvas, bar: &ScaleBar) {
    let (right, y) = bar.end;
    let left = right - bar.length;
    canvas.line(&[(left, y), (right, y)], TEXT, 1.5);
    for x in [left, right] {
        canvas.line(&[(x, y - 4.0), (x, y + 4.0)], TEXT, 1.5);
    }
    let kind = Type { colour: SOFT_TEXT, ..NOTE };
    canvas.text(&bar.text, (left - 8.0, y + 0.36 * LABEL), Side::End, kind);
}

/// The corners of a form in pixels, and whether it is closed.
fn corners(form: &Form, placed: &Placed) -> (Vec<Point>, bool) {
    let (points, closed) = match form {
        Form::Rectangle(a, b) => (vec![*a, (b.0, a.1), *b, (a.0, b.1)], true),
        Form::Circle((x, y), r) => {
            let corner = |k: i32| {
                let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 72.0).sin_cos();
                (x + r * cos, y + r * sin)
            };
            ((0..72).map(corner).collect(), true)
        }
        Form::Polygon(points) => (points.clone(), true),
        Form::Line(points) => (points.clone(), false),
    };
    let mut pixels: Vec<Point> = points.into_iter().map(|p| placed.at(p)).collect();
    pixels.retain(|p| p.0.abs() < 1e6 && p.1.abs() < 1e6);
    (pixels, closed)
}

fn draw_shape(canvas: &mut Canvas, shape: &Shape, placed: &Placed, room: &mut Room) {
    let (mut points, closed) = corners(&shape.form, placed);
    if points.len() < 2 {
        return;
    }
    if let Some(substance) = shape.substance.filter(|_| closed && points.len() > 2) {
        fill(canvas, &points, substance);
    }
    if closed {
        points.extend(points.first().copied());
    }
    if let Some(ink) = shape.ink {
        canvas.curve(&points, ink);
        room.line(&points);
    }
}

/// Colour, hatching and its colour.
fn look(substance: Substance) -> (Rgb, &'static [Hatch], Rgb) {
    const RISING: Hatch = Hatch { angle_deg: 45.0, apart: 7.0 };
    const FALLING: Hatch = Hatch { angle_deg: -45.0, apart: 7.0 };
    const CLOSE: Hatch = Hatch { angle_deg: -45.0, apart: 3.5 };
    const FLAT: Hatch = Hatch { angle_deg: 15.0, apart: 6.0 };
    match substance {
        Substance::Wood => ((240, 228, 208), &[RISING], (150, 116, 76)),
        Substance::Fibre => ((234, 226, 214), &[RISING, FALLING], (150, 132, 108)),
        Substance::Metal => ((206, 212, 219), &[CLOSE], (84, 93, 106)),
        Substance::Plastic => ((226, 236, 240), &[FLAT], (104, 134, 148)),
        Substance::Foam => ((246, 243, 228), &[], (160, 150, 112)),
        Substance::Device => ((222, 225, 230), &[], (222, 225, 230)),
    }
}

fn fill(canvas: &mut Canvas, points: &[Point], substance: Substance) {
    let (base, hatches, dark) = look(substance);
    let spread = |of: fn(&Point) -> f64| {
        let (low, high) = points.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), ends_of);
        high - low
    };
    let thin = spread(|p| p.0).min(spread(|p| p.1)) < THINNEST_HATCHED;
    if thin && substance == Substance::Metal {
        canvas.area(points, dark, 1.0);
        return;
    }
    canvas.area(points, base, 1.0);
    let outline = [points.to_vec()];
    for hatch in hatches {
        hatch::lines(&outline, *hatch).iter().for_each(|l| canvas.line(l, dark, 0.75));
    }
    if substance == Substance::Foam {
        stipple(canvas, &outline, dark);
    }
}

fn ends_of((low, high): (f64, f64), value: f64) -> (f64, f64) {
    (low.min(value), high.max(value))
}

/// Short strokes in staggered rows.
fn stipple(canvas: &mut Canvas, outline: &[Vec<Point>], colour: Rgb) {
    for (n, [a, b]) in
        hatch::lines(outline, Hatch { angle_deg: 0.0, apart: 5.0 }).into_iter().enumerate()
    {
        let mut x = a.0.min(b.0) + if n % 2 == 0 { 3.0 } else { 8.0 };
        while x + 3.0 < a.0.max(b.0) {
            canvas.line(&[(x, a.1), (x + 2.5, a.1)], colour, 1.25);
            x += 10.0;
        }
    }
}

/// Where the line of a dimension begins and ends, in pixels.
fn ends<'d>(d: &'d Dimension, placed: &Placed, step: f64) -> (&'d Dimension, Point, Point) {
    let (a, b) = (placed.at(d.from), placed.at(d.to));
    match d.measure {
        Measure::Below(n) => {
            let y = placed.frame.bottom() + DIMENSION_ROW * f64::from(n + 1) - 2.0;
            let (left, right) = (a.0.min(b.0), a.0.max(b.0));
            (d, (left, y), (right, y))
        }
        measure => {
            let x = match measure {
                Measure::Left(n) => placed.frame.left - ASIDE - step * f64::from(n),
                Measure::Right(n) => placed.frame.right() + ASIDE + step * f64::from(n),
                _ => a.0,
            };
            let (top, bottom) = (a.1.min(b.1), a.1.max(b.1));
            (d, (x, top), (x, bottom))
        }
    }
}

fn draw_dimension(
    canvas: &mut Canvas,
    dimension: &Dimension,
    (a, b): (Point, Point),
    placed: &Placed,
    room: &mut Room,
) {
    let level = matches!(dimension.measure, Measure::Below(_));
    for end in [dimension.from, dimension.to].map(|p| placed.at(p)) {
        let over = if level {
            (end.0, a.1 + 3.0 * (a.1 - end.1).signum())
        } else {
            (a.0 + 3.0 * (a.0 - end.0).signum(), end.1)
        };
        if (over.0 - end.0).hypot(over.1 - end.1) > 5.0 {
            canvas.veil(&[end, over], SOFT_TEXT, 0.75, 0.6);
            room.line(&[end, over]);
        }
    }
    let length = (b.0 - a.0).hypot(b.1 - a.1);
    if length < 0.25 {
        return;
    }
    let along = ((b.0 - a.0) / length, (b.1 - a.1) / length);
    let inward = length > 3.0 * ARROW;
    let tail = if inward { 0.0 } else { 2.0 * ARROW };
    let line = [
        (a.0 - along.0 * tail, a.1 - along.1 * tail),
        (b.0 + along.0 * tail, b.1 + along.1 * tail),
    ];
    canvas.line(&line, SOFT_TEXT, 0.75);
    let turn = if inward { 1.0 } else { -1.0 };
    arrow(canvas, a, (along.0 * turn, along.1 * turn));
    arrow(canvas, b, (-along.0 * turn, -along.1 * turn));
    let text = number(dimension);
    let wishes = number_wishes(dimension.measure, (a, b), tail, width(&text, LABEL) + 6.0);
    if let Some(rect) = room.choose(&wishes, None) {
        let foot = (rect.left + rect.width / 2.0, rect.bottom() - 3.0);
        canvas.text(&text, foot, Side::Middle, NOTE);
    }
}

/// An arrowhead at `tip`, its body towards `body`.
fn arrow(canvas: &mut Canvas, tip: Point, body: Point) {
    let corner = |side: f64| {
        (tip.0 + ARROW * body.0 - 2.3 * side * body.1, tip.1 + ARROW * body.1 + 2.3 * side * body.0)
    };
    canvas.area(&[tip, corner(1.0), corner(-1.0)], SOFT_TEXT, 1.0);
}

/// Places for the number of a dimension line, the usual one first.
fn number_wishes(measure: Measure, (a, b): (Point, Point), tail: f64, w: f64) -> Vec<Rect> {
    let rect = |left: f64, top: f64| Rect { left, top, width: w, height: HEIGHT };
    let (x, y) = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
    let beside = |first: f64, second: f64| -> Vec<Rect> {
        let shifts = [0.0, -8.0, 8.0, -16.0, 16.0, -24.0, 24.0];
        let at = |left: f64| shifts.map(|shift| rect(left, y - HEIGHT / 2.0 + shift));
        at(first).into_iter().chain(at(second)).collect()
    };
    match measure {
        Measure::Below(_) => {
            let over = y - HEIGHT - 1.0;
            let wide = b.0 - a.0 >= w;
            let centred = if wide { vec![rect(x - w / 2.0, over)] } else { Vec::new() };
            let out = [rect(b.0 + tail + 1.0, over), rect(a.0 - tail - 1.0 - w, over)];
            let low = rect(x - w / 2.0, y + 2.0);
            centred.into_iter().chain(out).chain([low]).collect()
        }
        Measure::Left(_) => beside(x - 3.0 - w, x + 3.0),
        Measure::Right(_) | Measure::Upright => beside(x + 3.0, x - 3.0 - w),
    }
}

/// A row of names in the order of what they name, none over another.
fn draw_label_row(
    canvas: &mut Canvas,
    mut row: Vec<&Label>,
    stand: Stand,
    placed: &Placed,
    room: &mut Room,
) {
    row.sort_by(|a, b| a.at.0.total_cmp(&b.at.0));
    let cell = &placed.cell;
    let share = cell.width / row.len().max(1) as f64 - 14.0;
    let whole: f64 = row.iter().map(|l| width(&l.text, LABEL) + 14.0).sum();
    let most = if whole > cell.width { share } else { cell.width };
    let texts: Vec<String> = row.iter().map(|l| fit(&l.text, LABEL, most)).collect();
    let widths: Vec<f64> = texts.iter().map(|t| width(t, LABEL)).collect();
    let anchors: Vec<Point> = row.iter().map(|l| placed.at(l.at)).collect();
    let lefts = spread(&anchors, &widths, cell);
    let below = stand == Stand::Below;
    let foot = if below { cell.bottom() - 6.0 } else { placed.frame.top - LABEL_ROW + HEIGHT };
    let tip = if below { foot - LABEL } else { foot + 5.0 };
    for ((text, wide), (left, anchor)) in
        texts.iter().zip(widths).zip(lefts.into_iter().zip(anchors))
    {
        let from = (anchor.0.clamp(left + 4.0, (left + wide - 4.0).max(left + 4.0)), tip);
        canvas.line(&[from, anchor], PAPER, 2.5);
        canvas.line(&[from, anchor], TEXT, 0.75);
        room.line(&[from, anchor]);
        canvas.disc(anchor, 2.25, TEXT);
        canvas.text(text, (left, foot), Side::Start, Type { colour: TEXT, ..NOTE });
        room.take(Rect { left, top: foot - LABEL, width: wide, height: HEIGHT });
    }
}

/// Left ends of words in a row: centred on their points as far as there is room.
fn spread(anchors: &[Point], widths: &[f64], cell: &Rect) -> Vec<f64> {
    let mut lefts: Vec<f64> = Vec::new();
    let mut free = cell.left;
    for (anchor, wide) in anchors.iter().zip(widths) {
        let left = (anchor.0 - wide / 2.0).max(free);
        lefts.push(left);
        free = left + wide + 14.0;
    }
    let mut end = cell.right();
    for (left, wide) in lefts.iter_mut().zip(widths).rev() {
        *left = left.min(end - wide);
        end = *left - 14.0;
    }
    lefts
}

fn write_beside(canvas: &mut Canvas, label: &Label, placed: &Placed, room: &mut Room) {
    let text = fit(&label.text, LABEL, placed.cell.width - 8.0);
    let (w, (x, y)) = (width(&text, LABEL) + 6.0, placed.at(label.at));
    let rect = |left: f64, top: f64| Rect { left, top, width: w, height: HEIGHT };
    let wishes: Vec<Rect> = [5.0, 12.0, 22.0, 34.0]
        .into_iter()
        .flat_map(|d| {
            let middle = y - HEIGHT / 2.0;
            let (left, right) = (x - d - w, x + d);
            let (over, under) = (y - d - HEIGHT, y + d);
            [
                rect(right, middle),
                rect(left, middle),
                rect(x - w / 2.0, under),
                rect(x - w / 2.0, over),
                rect(right, over),
                rect(right, under),
                rect(left, over),
                rect(left, under),
            ]
        })
        .collect();
    if let Some(rect) = room.choose(&wishes, None) {
        canvas.text(&text, (rect.left + w / 2.0, rect.bottom() - 3.0), Side::Middle, NOTE);
    }
}
