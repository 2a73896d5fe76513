//! Parallel lines inside an outline.

use super::clip::Point;

/// How an area is hatched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hatch {
    /// Direction of the lines in degrees, counted from the right towards the top.
    pub angle_deg: f64,
    /// Distance between lines, pixels.
    pub apart: f64,
}

/// The hatching lines inside closed outlines in pixels; what lies inside two of them is a hole.
/// The lines of neighbours with the same hatching meet, as all are counted from the same origin.
pub(super) fn lines(outlines: &[Vec<Point>], hatch: Hatch) -> Vec<[Point; 2]> {
    // Pixels count downwards.
    let (sin, cos) = (-hatch.angle_deg).to_radians().sin_cos();
    let turned = |p: Point| (p.0 * cos + p.1 * sin, p.1 * cos - p.0 * sin);
    let back = |p: Point| (p.0 * cos - p.1 * sin, p.1 * cos + p.0 * sin);
    let outlines: Vec<Vec<Point>> =
        outlines.iter().map(|o| o.iter().copied().map(turned).collect()).collect();
    let heights = || outlines.iter().flatten().map(|p| p.1);
    let low = heights().fold(f64::INFINITY, f64::min);
    let high = heights().fold(f64::NEG_INFINITY, f64::max);
    let (first, last) = ((low / hatch.apart).ceil(), (high / hatch.apart).floor());
    if !(first <= last && last - first < 2000.0) {
        return Vec::new();
    }
    let mut out = Vec::new();
    for k in 0..=(last - first) as u32 {
        let height = (first + f64::from(k)) * hatch.apart;
        let mut cuts: Vec<f64> = outlines.iter().flat_map(|o| crossings(o, height)).collect();
        cuts.sort_by(f64::total_cmp);
        let pairs = cuts.chunks_exact(2).filter(|pair| pair[1] - pair[0] > 0.5);
        out.extend(pairs.map(|pair| [back((pair[0], height)), back((pair[1], height))]));
    }
    out
}

/// Where an outline crosses a height.
fn crossings(outline: &[Point], height: f64) -> Vec<f64> {
    let next = outline.iter().cycle().skip(1);
    let sides = outline.iter().zip(next).filter(|(a, b)| (a.1 <= height) != (b.1 <= height));
    sides.map(|(a, b)| a.0 + (height - a.1) / (b.1 - a.1) * (b.0 - a.0)).collect()
}
