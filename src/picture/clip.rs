//! Curves cut to the unit square, in which (0, 0) is the lower left corner of a panel.

use super::axis::Axis;
use super::figure::{Band, Trace};

/// A place in units of the panel: 0 to 1 inside.
pub(super) type Point = (f64, f64);

/// The visible pieces of a line.
pub(super) fn pieces(trace: &Trace, x: &Axis, y: &Axis) -> Vec<Vec<Point>> {
    let mut out = Vec::new();
    for run in runs(trace, x, y) {
        clip_run(&run, &mut out);
    }
    out
}

/// Stretches of finite points, unclipped, parted also where a wrapped angle jumps.
fn runs(trace: &Trace, x: &Axis, y: &Axis) -> Vec<Vec<Point>> {
    let mut out = vec![Vec::new()];
    let mut before: Option<Point> = None;
    for (&vx, &vy) in trace.x.iter().zip(&trace.y) {
        let here = (near(x.place(vx)), near(y.place(vy)));
        if here.0.is_nan() || here.1.is_nan() {
            out.push(Vec::new());
            before = None;
            continue;
        }
        if let Some(last) = before.filter(|last| trace.wraps && (vy - last.1).abs() > 180.0) {
            let seam = seam(last, (here.0, vy));
            let edge = seam.map(|(place, edge)| ((place, y.place(edge)), (place, y.place(-edge))));
            extend(&mut out, edge.map(|e| e.0));
            out.push(edge.map(|e| e.1).into_iter().collect());
        }
        extend(&mut out, Some(here));
        before = Some((here.0, vy));
    }
    out
}

/// Keeps finite places where their differences can be calculated; others become NaN.
fn near(place: f64) -> f64 {
    if place.is_finite() { place.clamp(-1e6, 1e6) } else { f64::NAN }
}

fn extend(runs: &mut [Vec<Point>], point: Option<Point>) {
    if let Some(run) = runs.last_mut() {
        run.extend(point);
    }
}

/// Where an angle passes ±180 between two points, and at which of the two it leaves.
fn seam(from: Point, to: Point) -> Option<(f64, f64)> {
    let turn = if to.1 < from.1 { 360.0 } else { -360.0 };
    let edge = turn / 2.0;
    let t = (edge - from.1) / (to.1 + turn - from.1);
    (0.0..=1.0).contains(&t).then_some((from.0 + t * (to.0 - from.0), edge))
}

/// Appends what of a polyline lies inside the square.
pub(super) fn clip_run(run: &[Point], out: &mut Vec<Vec<Point>>) {
    let mut open = false;
    for pair in run.windows(2) {
        let Some((a, b)) = clip_segment(pair[0], pair[1]) else {
            open = false;
            continue;
        };
        match out.last_mut() {
            Some(piece) if open => piece.push(b),
            _ => out.push(vec![a, b]),
        }
        open = b == pair[1];
    }
}

/// The part of a segment inside the square, ends interpolated. An end inside is kept as
/// it is.
fn clip_segment(a: Point, b: Point) -> Option<(Point, Point)> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (step, room) in [(-dx, a.0), (dx, 1.0 - a.0), (-dy, a.1), (dy, 1.0 - a.1)] {
        if step == 0.0 && room < 0.0 {
            return None;
        } else if step < 0.0 {
            from = from.max(room / step);
        } else if step > 0.0 {
            to = to.min(room / step);
        }
    }
    let at = |t: f64| (a.0 + t * dx, a.1 + t * dy);
    let start = if from > 0.0 { at(from) } else { a };
    let end = if to < 1.0 { at(to) } else { b };
    (from <= to).then_some((start, end))
}

/// The visible polygons of an area.
pub(super) fn areas(band: &Band, x: &Axis, y: &Axis) -> Vec<Vec<Point>> {
    let edges = band.x.iter().zip(band.low.iter().zip(&band.high));
    let slices: Vec<(f64, f64, f64)> = edges
        .map(|(&vx, (&low, &high))| {
            (near(x.place(vx)), bounded(y.place(low)), bounded(y.place(high)))
        })
        .collect();
    slices
        .split(|s| s.0.is_nan() || s.1.is_nan() || s.2.is_nan())
        .map(|run| {
            let upper = run.iter().map(|s| (s.0, s.2));
            let lower = run.iter().rev().map(|s| (s.0, s.1));
            clip_polygon(upper.chain(lower).collect())
        })
        .filter(|polygon| polygon.len() > 2)
        .collect()
}

/// Keeps open ends of areas at a distance that can be calculated with; NaN stays NaN.
fn bounded(place: f64) -> f64 {
    place.clamp(-1e3, 1e3)
}

/// A polygon cut at the four sides of the square, one after the other.
pub(super) fn clip_polygon(mut polygon: Vec<Point>) -> Vec<Point> {
    let depths: [fn(Point) -> f64; 4] = [|p| p.0, |p| 1.0 - p.0, |p| p.1, |p| 1.0 - p.1];
    for depth in depths {
        let mut kept = Vec::with_capacity(polygon.len() + 4);
        for (k, &b) in polygon.iter().enumerate() {
            let a = polygon[(k + polygon.len() - 1) % polygon.len()];
            let (da, db) = (depth(a), depth(b));
            if (da < 0.0) != (db < 0.0) {
                let t = da / (da - db);
                kept.push((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)));
            }
            if db >= 0.0 {
                kept.push(b);
            }
        }
        polygon = kept;
    }
    polygon
}
