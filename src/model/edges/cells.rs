//! Rectangular cells of the slab's skin and their integrals of Green's function.
//!
//! G = e^{−jkr}/(4πr), and its slope along the outward normal at the cell,
//! ∂G/∂n' = −(n'·d)(1 + jkr) e^{−jkr}/(4πr³) with d from the point to the cell. The part that
//! stays at k = 0 is exact near the cell: the solid angle as a sum of arcus tangents over the
//! corners, and the potential of a uniformly charged rectangle (Durand, *Électrostatique*, 1964;
//! closed forms also in Hess and Smith 1967, *Prog. Aerosp. Sci.* 8). The rest is smooth and taken
//! by 2 × 2 Gauss points.

use super::phasor::sin_cos;
use num_complex::Complex64;
use std::f64::consts::PI;

/// A rectangle whose outward normal is the positive `axis`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    pub centre_m: [f64; 3],
    /// Half sides along the two other axes, in their order.
    pub half_m: [f64; 2],
    pub axis: usize,
}

/// Gauss points of a cell.
const POINTS: usize = 4;
/// Beyond this many times the cell's half diagonal the Gauss points alone are exact enough.
const FAR: f64 = 8.0;

impl Cell {
    pub fn area_m2(&self) -> f64 {
        4.0 * self.half_m[0] * self.half_m[1]
    }

    /// Distances along the two sides and the normal from `point` to the cell's centre, m.
    fn seen_from(&self, point: [f64; 3]) -> [f64; 3] {
        let [u, v] = [[1, 2], [0, 2], [0, 1]][self.axis];
        [u, v, self.axis].map(|axis| self.centre_m[axis] - point[axis])
    }

    /// ∫ ∂G/∂n' and ∫ G at k = 0, exactly.
    fn at_rest(&self, [u, v, n]: [f64; 3]) -> (f64, f64) {
        let (mut angle, mut potential) = (0.0, 0.0);
        let away = n.abs();
        for (x, sign_x) in [(u + self.half_m[0], 1.0), (u - self.half_m[0], -1.0)] {
            for (y, sign_y) in [(v + self.half_m[1], 1.0), (v - self.half_m[1], -1.0)] {
                let r = (x * x + y * y + n * n).sqrt();
                let corner = (x * y).atan2(away * r);
                let wave = |a: f64, b: f64| {
                    let base = a.hypot(n);
                    if base > 0.0 { a * (b / base).asinh() } else { 0.0 }
                };
                angle += sign_x * sign_y * corner;
                potential += sign_x * sign_y * (wave(x, y) + wave(y, x) - away * corner);
            }
        }
        let side = if n == 0.0 { 0.0 } else { n.signum() };
        (-side * angle / (4.0 * PI), potential / (4.0 * PI))
    }
}

/// Many pairs of a point and a cell: what of their integrals does not depend on frequency.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    /// Distance, weight of ∂G/∂n' and weight of G, at each Gauss point of each pair.
    nodes: Vec<[[f64; POINTS]; 3]>,
    /// What the exact integrals at rest have over the Gauss points.
    rest: Vec<(f64, f64)>,
}

impl Pairs {
    pub fn with_capacity(pairs: usize) -> Self {
        Self { nodes: Vec::with_capacity(pairs), rest: Vec::with_capacity(pairs) }
    }

    /// Adds the pair of `point` and `cell`, with all its weights times `scale`.
    pub fn push(&mut self, point: [f64; 3], cell: &Cell, scale: f64) {
        let [u, v, normal] = cell.seen_from(point);
        // A cell in the plane of the point has no slope towards it.
        let n = if normal.abs() < 1e-9 { 0.0 } else { normal };
        let reach = 1.0 / 3f64.sqrt();
        let weight = scale * cell.area_m2() / 4.0 / (4.0 * PI);
        let mut node = [[0.0; POINTS]; 3];
        let (mut double, mut single) = (0.0, 0.0);
        for at in 0..POINTS {
            let (side_x, side_y) = ([1.0, 1.0, -1.0, -1.0][at], [1.0, -1.0, 1.0, -1.0][at]);
            let (x, y) = (u + side_x * reach * cell.half_m[0], v + side_y * reach * cell.half_m[1]);
            let r = (x * x + y * y + n * n).sqrt().max(1e-9);
            node[0][at] = r;
            node[1][at] = -weight * n / (r * r * r);
            node[2][at] = weight / r;
            double += node[1][at];
            single += node[2][at];
        }
        let far = FAR * FAR * (cell.half_m[0].powi(2) + cell.half_m[1].powi(2));
        self.nodes.push(node);
        self.rest.push(if u * u + v * v + n * n > far {
            (0.0, 0.0)
        } else {
            let (angle, potential) = cell.at_rest([u, v, n]);
            (scale * angle - double, scale * potential - single)
        });
    }

    /// ∫ ∂G/∂n' and ∫ G of pair `at` for the wavenumber `k`.
    #[inline(always)]
    pub fn get(&self, at: usize, k: f64) -> (Complex64, Complex64) {
        let [r, double, single] = &self.nodes[at];
        let rest = self.rest[at];
        let (mut sine, mut cosine) = ([0.0; POINTS], [0.0; POINTS]);
        for i in 0..POINTS {
            (sine[i], cosine[i]) = sin_cos(k * r[i]);
        }
        let mut sums = [rest.0, 0.0, rest.1, 0.0];
        for i in 0..POINTS {
            let kr = k * r[i];
            sums[0] += double[i] * (cosine[i] + kr * sine[i]);
            sums[1] += double[i] * (kr * cosine[i] - sine[i]);
            sums[2] += single[i] * cosine[i];
            sums[3] -= single[i] * sine[i];
        }
        (Complex64::new(sums[0], sums[1]), Complex64::new(sums[2], sums[3]))
    }
}
