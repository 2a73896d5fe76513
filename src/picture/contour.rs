//! Outlines of the areas in which a field reaches a level: closed rings that never cross, so that
//! painting them from the largest to the smallest fills the map without seams.

use super::clip::Point;
use super::field::Field;
use std::collections::BTreeMap;

/// A closed line around an area at or above a level, or around a hole in it.
pub(super) struct Ring {
    /// Which colour lies inside, counted as in [`super::field::Shades::colour`]; `None`: no value.
    pub band: Option<usize>,
    /// Which edge runs along it; `None`: the rim of what has values.
    pub edge: Option<usize>,
    /// Corners in units of the panel; the last is joined to the first.
    pub points: Vec<Point>,
    /// Whether the corner lies between a value and none: the rim of the map, not a contour.
    pub rim: Vec<bool>,
}

/// The side of a cell: whether it runs upward, then the column and row of its first end.
type Edge = (bool, usize, usize);

/// A field with a rim of no values around it, in units of the panel.
struct Rimmed<'f> {
    field: &'f Field,
    x: Vec<f64>,
    y: Vec<f64>,
}

/// The rings of every level, those that enclose others first. `place` turns the field's places
/// into units of the panel.
pub(super) fn rings(field: &Field, place: impl Fn(f64, f64) -> Point) -> Vec<Ring> {
    let x: Vec<f64> = field.x.iter().map(|&v| place(v, 0.0).0).collect();
    let y: Vec<f64> = field.y.iter().map(|&v| place(0.0, v).1).collect();
    if x.iter().chain(&y).any(|v| !v.is_finite()) {
        return Vec::new();
    }
    let rimmed = Rimmed { field, x: doubled(&x), y: doubled(&y) };
    let levels = std::iter::once(f64::NEG_INFINITY).chain(field.shades.edges.iter().copied());
    let mut found: Vec<(f64, usize, Ring)> = Vec::new();
    for (number, level) in levels.enumerate() {
        for (points, rim) in rimmed.rings(level) {
            let area = signed_area(&points);
            // High ground lies to the left of the line: around a hole it runs clockwise.
            let (band, rank) = match area > 0.0 {
                true => (Some(number), number),
                false => (number.checked_sub(1), usize::MAX - number),
            };
            found.push((area.abs(), rank, Ring { band, edge: number.checked_sub(1), points, rim }));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    found.into_iter().map(|(_, _, ring)| ring).collect()
}

/// The outermost places twice, for the rim.
fn doubled(places: &[f64]) -> Vec<f64> {
    let ends = (places.first().copied(), places.last().copied());
    ends.0.into_iter().chain(places.iter().copied()).chain(ends.1).collect()
}

fn signed_area(points: &[Point]) -> f64 {
    let next = points.iter().cycle().skip(1);
    0.5 * points.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>()
}

impl Rimmed<'_> {
    fn value(&self, column: usize, row: usize) -> Option<f64> {
        self.field.value(column.checked_sub(1)?, row.checked_sub(1)?)
    }

    /// Every closed line along `level`, with high ground on its left.
    fn rings(&self, level: f64) -> Vec<(Vec<Point>, Vec<bool>)> {
        let mut next: BTreeMap<Edge, Edge> = BTreeMap::new();
        for row in 0..self.y.len().saturating_sub(1) {
            for column in 0..self.x.len().saturating_sub(1) {
                next.extend(self.steps(level, column, row));
            }
        }
        let mut rings = Vec::new();
        while let Some((&start, _)) = next.first_key_value() {
            let (mut points, mut rim) = (Vec::new(), Vec::new());
            let mut here = start;
            while let Some(onward) = next.remove(&here) {
                let (point, at_rim) = self.crossing(level, here);
                points.push(point);
                rim.push(at_rim);
                here = onward;
            }
            rings.push((points, rim));
        }
        rings
    }

    /// The pieces of the line through one cell, each from the edge it enters at to that it leaves
    /// at. Where opposite corners are high, the mean decides whether they belong together.
    fn steps(&self, level: f64, column: usize, row: usize) -> Vec<(Edge, Edge)> {
        let (i, j) = (column, row);
        let corners =
            [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| self.value(i, j));
        let edges: [Edge; 4] = [(false, i, j), (true, i + 1, j), (false, i, j + 1), (true, i, j)];
        let high = corners.map(|c| c.is_some_and(|v| v >= level));
        let falls = |k: &usize| high[*k] && !high[(*k + 1) % 4];
        let rises = |k: &usize| !high[*k] && high[(*k + 1) % 4];
        let starts: Vec<usize> = (0..4).filter(falls).collect();
        let ends: Vec<usize> = (0..4).filter(rises).collect();
        if starts.len() < 2 {
            return starts.iter().zip(&ends).map(|(&s, &e)| (edges[s], edges[e])).collect();
        }
        let mean = corners.iter().copied().sum::<Option<f64>>().map(|sum| sum / 4.0);
        let turn = if mean.is_some_and(|m| m >= level) { 1 } else { 3 };
        starts.iter().map(|&s| (edges[s], edges[(s + turn) % 4])).collect()
    }

    /// Where the line crosses an edge, and whether one end of it has no value.
    fn crossing(&self, level: f64, (upward, i, j): Edge) -> (Point, bool) {
        let (p, q) = if upward { (i, j + 1) } else { (i + 1, j) };
        let share = match (self.value(i, j), self.value(p, q)) {
            (Some(from), Some(to)) => Some(((level - from) / (to - from)).clamp(0.0, 1.0)),
            _ => None,
        };
        let t = share.unwrap_or(0.5);
        let between = |a: f64, b: f64| a + t * (b - a);
        ((between(self.x[i], self.x[p]), between(self.y[j], self.y[q])), share.is_none())
    }
}

/// The parts of a ring that are contours: the rim left out.
pub(super) fn lines(ring: &Ring) -> Vec<Vec<Point>> {
    let Some(start) = ring.rim.iter().position(|&rim| rim) else {
        return vec![ring.points.iter().chain(ring.points.first()).copied().collect()];
    };
    let mut marked: Vec<(Point, bool)> =
        ring.points.iter().copied().zip(ring.rim.iter().copied()).collect();
    marked.rotate_left(start);
    let runs = marked.split(|(_, rim)| *rim).filter(|run| run.len() > 1);
    runs.map(|run| run.iter().map(|(point, _)| *point).collect()).collect()
}
