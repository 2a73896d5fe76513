//! The inside of a panel.

use super::axis::{Axis, Scale};
use super::canvas::{Canvas, PAPER, RIMMED_TEXT, Side, Type};
use super::clip::{Point, areas, pieces};
use super::figure::{Mark, Panel, Trace};
use super::ink::Ink;
use super::layout::{LABEL, Slot};
use super::map;
use super::place::{Rect, Room};
use super::words::{fit, width};

/// Frames around panels and patches.
pub(super) const FRAME: (u8, u8, u8) = (120, 127, 138);
const BOLD_GRID: (u8, u8, u8) = (206, 210, 216);
const LIGHT_GRID: (u8, u8, u8) = (233, 236, 239);
/// Light grid lines closer than this are left out.
const CLOSEST_GRID: f64 = 6.0;
const DOT: f64 = 4.0;
const NOTE: Type = Type { size: LABEL, bold: false, colour: RIMMED_TEXT };
const NOTE_HEIGHT: f64 = LABEL + 4.0;

/// Draws areas, grid, lines and labels of a panel into its frame.
pub(super) fn draw(canvas: &mut Canvas, panel: &Panel, slot: &Slot, x: &Axis) {
    let (frame, y) = (&slot.frame, &slot.y);
    for band in &panel.bands {
        for polygon in areas(band, x, y) {
            canvas.area(&pixels(frame, &polygon), band.ink.colour(), band.ink.tint());
        }
    }
    let contours =
        panel.field.as_ref().map(|field| (&field.shades, map::paint(canvas, field, frame, (x, y))));
    grid(canvas, frame, (x, y), contours.is_some());
    let mut room = Room::new(*frame);
    for area in &panel.hatched {
        map::bar_off(canvas, area, frame, (x, y)).iter().for_each(|line| room.line(line));
    }
    outline(canvas, frame, FRAME, 1.0);
    let lines = upright_and_level(panel, frame, x, y);
    let mut traces: Vec<&Trace> = panel.traces.iter().collect();
    traces.sort_by(|a, b| a.ink.width().total_cmp(&b.ink.width()));
    let curves = traces.into_iter().flat_map(|trace| {
        pieces(trace, x, y).into_iter().map(|piece| (pixels(frame, &piece), trace.ink))
    });
    for (points, ink) in lines.into_iter().chain(curves) {
        if contours.is_some() {
            canvas.line(&points, PAPER, ink.width() + 2.5);
        }
        canvas.curve(&points, ink);
        room.line(&points);
    }
    let marks: Vec<(&Mark, Point)> = panel
        .marks
        .iter()
        .filter(|m| x.holds(m.x) && y.holds(m.y))
        .map(|m| (m, frame.at((x.place(m.x), y.place(m.y)))))
        .collect();
    for (_, p) in &marks {
        room.take(around(*p, DOT + 2.0));
    }
    if let Some((shades, lines)) = &contours {
        map::draw_contours(canvas, shades, lines, &mut room);
    }
    upright_names(canvas, panel, frame, x, &mut room);
    rule_names(canvas, panel, frame, y, &mut room);
    for (mark, p) in marks {
        draw_mark(canvas, mark, p, frame, &mut room);
    }
}

/// A thin unbroken rectangle.
pub(super) fn outline(canvas: &mut Canvas, r: &Rect, colour: (u8, u8, u8), width: f64) {
    let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)];
    canvas.line(&corners.map(|c| r.at(c)), colour, width);
}

fn pixels(frame: &Rect, places: &[Point]) -> Vec<Point> {
    places.iter().map(|&p| frame.at(p)).collect()
}

fn around((x, y): Point, reach: f64) -> Rect {
    Rect { left: x - reach, top: y - reach, width: 2.0 * reach, height: 2.0 * reach }
}

/// The grid; over a map only its strong lines, thin enough to see the colours through.
fn grid(canvas: &mut Canvas, frame: &Rect, (x, y): (&Axis, &Axis), over_map: bool) {
    let kinds = [(false, LIGHT_GRID, 0.75, 1.0), (true, BOLD_GRID, 1.0, 1.0)];
    let kinds = if over_map { &[(true, FRAME, 0.75, 0.4)][..] } else { &kinds[..] };
    for &(bold, colour, width, opacity) in kinds {
        for place in grid_places(x, frame.width, bold) {
            let line = [frame.at((place, 0.0)), frame.at((place, 1.0))];
            canvas.veil(&line, colour, width, opacity);
        }
        for place in grid_places(y, frame.height, bold) {
            let line = [frame.at((0.0, place)), frame.at((1.0, place))];
            canvas.veil(&line, colour, width, opacity);
        }
    }
}

/// Places of the strong or the faint grid lines. Faint ones too close together are left
/// out: on a linear axis then all, on a logarithmic one where they crowd.
fn grid_places(axis: &Axis, length: f64, bold: bool) -> Vec<f64> {
    let places = |list: &[f64]| -> Vec<f64> {
        list.iter().filter(|&&v| axis.holds(v)).map(|&v| axis.place(v)).collect()
    };
    let (strong, faint) = (places(&axis.bold), places(&axis.light));
    let far = |a: f64, b: f64| (a - b).abs() * length >= CLOSEST_GRID;
    if bold {
        return strong;
    }
    if axis.scale == Scale::Linear && faint.windows(2).any(|w| !far(w[0], w[1])) {
        return Vec::new();
    }
    let mut out: Vec<f64> = Vec::new();
    for place in faint {
        if out.last().is_none_or(|&l| far(l, place)) && strong.iter().all(|&s| far(s, place)) {
            out.push(place);
        }
    }
    out
}

/// The upright and level lines, in pixels.
fn upright_and_level(panel: &Panel, frame: &Rect, x: &Axis, y: &Axis) -> Vec<(Vec<Point>, Ink)> {
    let uprights = panel.uprights.iter().filter(|u| x.holds(u.x)).map(|u| {
        let place = x.place(u.x);
        (vec![frame.at((place, 0.0)), frame.at((place, 1.0))], Ink::Reference)
    });
    let rules = panel.rules.iter().filter(|r| y.holds(r.y)).map(|r| {
        let place = y.place(r.y);
        (vec![frame.at((0.0, place)), frame.at((1.0, place))], r.ink)
    });
    uprights.chain(rules).collect()
}

/// The size of a label, as a rectangle at no particular place.
fn note(text: &str, frame: &Rect) -> (String, Rect) {
    let text = fit(text, LABEL, frame.width - 12.0);
    let width = width(&text, LABEL) + 6.0;
    (text, Rect { left: 0.0, top: 0.0, width, height: NOTE_HEIGHT })
}

fn write_note(canvas: &mut Canvas, text: &str, rect: &Rect, side: Side) {
    let x = match side {
        Side::Start => rect.left + 3.0,
        Side::Middle => rect.left + rect.width / 2.0,
        Side::End => rect.right() - 3.0,
    };
    canvas.text(text, (x, rect.bottom() - 4.5), side, NOTE);
}

/// Names of upright lines: beside the line, near the top if there is room.
fn upright_names(canvas: &mut Canvas, panel: &Panel, frame: &Rect, x: &Axis, room: &mut Room) {
    for upright in panel.uprights.iter().filter(|u| x.holds(u.x) && !u.name.trim().is_empty()) {
        let (text, size) = note(&upright.name, frame);
        let (line, _) = frame.at((x.place(upright.x), 0.0));
        let count = (frame.height / NOTE_HEIGHT).clamp(1.0, 40.0) as u32;
        let rows = (0..count).map(|n| frame.top + 4.0 + f64::from(n) * NOTE_HEIGHT);
        let wishes: Vec<Rect> = rows
            .flat_map(|top| {
                [line + 2.0, line - 2.0 - size.width].map(|left| Rect { left, top, ..size })
            })
            .collect();
        if let Some(rect) = room.choose(&wishes, None) {
            let side = if rect.left > line { Side::Start } else { Side::End };
            write_note(canvas, &text, &rect, side);
        }
    }
}

/// Names of level lines: on or under the line, near the right if there is room.
fn rule_names(canvas: &mut Canvas, panel: &Panel, frame: &Rect, y: &Axis, room: &mut Room) {
    for rule in panel.rules.iter().filter(|r| y.holds(r.y) && !r.name.trim().is_empty()) {
        let (text, size) = note(&rule.name, frame);
        let (_, line) = frame.at((0.0, y.place(rule.y)));
        let span = frame.width - size.width - 8.0;
        let wishes: Vec<Rect> = (0..=12)
            .map(|n| frame.left + 4.0 + span * (1.0 - f64::from(n) / 12.0))
            .flat_map(|left| {
                [line - 1.0 - NOTE_HEIGHT, line + 2.0].map(|top| Rect { left, top, ..size })
            })
            .collect();
        if let Some(rect) = room.choose(&wishes, None) {
            let side = if rect.right() > frame.right() - 8.0 { Side::End } else { Side::Start };
            write_note(canvas, &text, &rect, side);
        }
    }
}

fn draw_mark(canvas: &mut Canvas, mark: &Mark, p: Point, frame: &Rect, room: &mut Room) {
    let (text, size) = note(&mark.text, frame);
    let rect = room.choose(&mark_wishes(p, size), Some(p)).filter(|_| !text.trim().is_empty());
    if let Some(near) = rect.map(|r| r.nearest(p)).filter(|n| (n.0 - p.0).hypot(n.1 - p.1) > 14.0) {
        canvas.line(&[p, near], FRAME, 0.75);
    }
    canvas.disc(p, DOT + 1.25, PAPER);
    canvas.disc(p, DOT, mark.ink.colour());
    if !mark.solid {
        canvas.disc(p, DOT - 1.75, PAPER);
    }
    if let Some(rect) = rect {
        let side = if rect.left > p.0 {
            Side::Start
        } else if rect.right() < p.0 {
            Side::End
        } else {
            Side::Middle
        };
        write_note(canvas, &text, &rect, side);
    }
}

/// Places around a point, the near ones first.
fn mark_wishes((x, y): Point, size: Rect) -> Vec<Rect> {
    let (w, h) = (size.width, size.height);
    let ring = |d: f64| {
        [
            (x + d, y - d - h),
            (x - d - w, y - d - h),
            (x + d, y + d),
            (x - d - w, y + d),
            (x - 0.85 * w, y - 1.6 * d - h),
            (x - 0.15 * w, y - 1.6 * d - h),
            (x - w / 2.0, y - 1.6 * d - h),
            (x - w / 2.0, y + 1.6 * d),
            (x + 1.6 * d, y - h / 2.0),
            (x - 1.6 * d - w, y - h / 2.0),
        ]
    };
    let places = [5.0, 14.0, 28.0, 46.0].into_iter().flat_map(ring);
    places.map(|(left, top)| Rect { left, top, ..size }).collect()
}
