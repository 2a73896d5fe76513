//! Mutual inductance of circular filaments and of whole windings.
//!
//! Coaxial filaments: Maxwell, A Treatise on Electricity and Magnetism, art. 701, M = µ0 √(ab)
//! ((2/k − k) K − (2/k) E), k² = 4ab/((a + b)² + h²). Any other place: the vector potential of one
//! filament (the same functions) taken round the other, which is Neumann's double integral with one
//! of the two done in closed form. Windings are averaged over their sections by Gauss's rule.
//!
//! (1 − k²/2) K − E is summed from the steps of the arithmetic-geometric mean, where the terms that
//! nearly cancel between distant filaments are gone (Abramowitz and Stegun 17.6).

use super::winding::Winding;
use super::wire::MU_0;
use std::f64::consts::PI;

/// Gauss's points a direction for coaxial windings, and for any other place.
const COAXIAL_POINTS: usize = 6;
const ANYWHERE_POINTS: usize = 4;
/// Points round a filament; the trapezoidal rule on a circle converges faster than any power.
const AROUND: usize = 96;

/// Abscissas and weights of Gauss's rule on −1 … 1 (Abramowitz and Stegun 25.4.30).
const GAUSS_4: [(f64, f64); 4] = [
    (-0.861_136_311_594_053, 0.347_854_845_137_454),
    (-0.339_981_043_584_856, 0.652_145_154_862_546),
    (0.339_981_043_584_856, 0.652_145_154_862_546),
    (0.861_136_311_594_053, 0.347_854_845_137_454),
];
const GAUSS_6: [(f64, f64); 6] = [
    (-0.932_469_514_203_152, 0.171_324_492_379_170),
    (-0.661_209_386_466_265, 0.360_761_573_048_139),
    (-0.238_619_186_083_197, 0.467_913_934_572_691),
    (0.238_619_186_083_197, 0.467_913_934_572_691),
    (0.661_209_386_466_265, 0.360_761_573_048_139),
    (0.932_469_514_203_152, 0.171_324_492_379_170),
];

/// Where a second coil stands, the first at the origin with its axis along z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Its middle, m.
    pub centre_m: [f64; 3],
    /// Direction of its axis; the length does not matter, the sense is that of the winding.
    pub axis: [f64; 3],
}

impl Placement {
    /// On the same axis, `m` between the middles.
    pub fn coaxial(m: f64) -> Self {
        Self { centre_m: [0.0, 0.0, m], axis: [0.0, 0.0, 1.0] }
    }

    /// Side by side on one plane, axes parallel.
    pub fn beside(m: f64) -> Self {
        Self { centre_m: [m, 0.0, 0.0], axis: [0.0, 0.0, 1.0] }
    }

    /// Side by side, the second one turned so that its axis points at the first.
    pub fn crossed(m: f64) -> Self {
        Self { centre_m: [m, 0.0, 0.0], axis: [1.0, 0.0, 0.0] }
    }

    fn is_coaxial(&self) -> bool {
        let [x, y, _] = self.centre_m;
        let [u, v, _] = self.axis;
        x == 0.0 && y == 0.0 && u == 0.0 && v == 0.0
    }
}

/// (1 − k²/2) K(k) − E(k) for k² and its complement 1 − k².
fn flux_integral(square: f64, complement: f64) -> f64 {
    let root = complement.sqrt();
    let (mut a, mut b) = (0.5 * (1.0 + root), root.sqrt());
    // c₁ = (1 − b₀)/2 without the difference of near numbers.
    let mut c = 0.5 * square / (1.0 + root);
    let (mut sum, mut weight) = (c * c, 1.0);
    while c > 1e-17 * a {
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
        c = 0.25 * c * c / a;
        weight *= 2.0;
        sum += weight * c * c;
    }
    0.5 * PI / a * sum
}

/// Mutual inductance of two coaxial circular filaments of radius `a_m` and `b_m`, `h_m` apart, H.
/// Infinite for two in one place.
pub fn loops_h(a_m: f64, b_m: f64, h_m: f64) -> f64 {
    let whole = (a_m + b_m).powi(2) + h_m * h_m;
    let square = 4.0 * a_m * b_m / whole;
    let complement = ((a_m - b_m).powi(2) + h_m * h_m) / whole;
    if complement == 0.0 {
        return f64::INFINITY;
    }
    2.0 * MU_0 * (a_m * b_m / square).sqrt() * flux_integral(square, complement)
}

/// Vector potential round the axis of a filament of radius `a_m` for 1 A, at `rho_m` off its axis
/// and `z_m` above its plane, T·m.
fn potential(a_m: f64, rho_m: f64, z_m: f64) -> f64 {
    if rho_m == 0.0 { 0.0 } else { loops_h(a_m, rho_m, z_m) / (2.0 * PI * rho_m) }
}

type Vector = [f64; 3];

fn combined(a: f64, u: Vector, b: f64, v: Vector) -> Vector {
    [0, 1, 2].map(|i| a * u[i] + b * v[i])
}

fn crossed(u: Vector, v: Vector) -> Vector {
    [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
}

fn of_length_one(v: Vector) -> Vector {
    let length = v.iter().map(|x| x * x).sum::<f64>().sqrt();
    v.map(|x| x / length)
}

/// Unit vectors that make a right-handed set with the axis: u × v = axis.
fn across(axis: Vector) -> [Vector; 2] {
    let other = if axis[0].abs() < 0.9 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    let u = of_length_one(crossed(other, axis));
    [u, crossed(axis, u)]
}

/// Mutual inductance of a filament of radius `a_m` around z at the origin and one of radius `b_m`
/// around `centre` with the axis `axis` (of length 1), H.
fn filaments_h(a_m: f64, b_m: f64, centre: Vector, axis: Vector) -> f64 {
    let [u, v] = across(axis);
    let step = 2.0 * PI / AROUND as f64;
    let sum: f64 = (0..AROUND)
        .map(|k| {
            let (sin, cos) = (step * k as f64).sin_cos();
            let at = combined(1.0, centre, b_m, combined(cos, u, sin, v));
            let along = combined(-sin, u, cos, v);
            let rho = at[0].hypot(at[1]);
            if rho == 0.0 {
                return 0.0;
            }
            potential(a_m, rho, at[2]) * (at[0] * along[1] - at[1] * along[0]) / rho
        })
        .sum();
    sum * step * b_m
}

/// Points of a winding's section: radius, height over its middle, and share of the turns.
fn section(winding: &Winding, points: usize) -> Vec<(f64, f64, f64)> {
    let rule: &[(f64, f64)] = if points == COAXIAL_POINTS { &GAUSS_6 } else { &GAUSS_4 };
    let radii = rule.iter().map(|(x, w)| (winding.mean_radius_m + 0.5 * x * winding.depth_m, w));
    let heights = rule.iter().map(|(x, w)| (0.5 * x * winding.length_m, w));
    radii.flat_map(|(r, wr)| heights.clone().map(move |(z, wz)| (r, z, 0.25 * wr * wz))).collect()
}

/// Mutual inductance of two windings wound in the same sense, H: negative where they stand side by
/// side. Windings that overlap have no sensible value; see [`overlap`].
pub fn windings_h(first: &Winding, second: &Winding, place: &Placement) -> f64 {
    let turns = f64::from(first.turns) * f64::from(second.turns);
    if place.is_coaxial() {
        let sense = place.axis[2].signum();
        let (one, two) = (section(first, COAXIAL_POINTS), section(second, COAXIAL_POINTS));
        let pairs = one.iter().flat_map(|p| two.iter().map(move |q| (p, q)));
        let sum: f64 =
            pairs.map(|(p, q)| p.2 * q.2 * loops_h(p.0, q.0, place.centre_m[2] + q.1 - p.1)).sum();
        return sense * turns * sum;
    }
    let axis = of_length_one(place.axis);
    let (one, two) = (section(first, ANYWHERE_POINTS), section(second, ANYWHERE_POINTS));
    let pairs = one.iter().flat_map(|p| two.iter().map(move |q| (p, q)));
    let sum: f64 = pairs
        .map(|(p, q)| {
            let centre = combined(1.0, place.centre_m, q.1, axis);
            let seen = [centre[0], centre[1], centre[2] - p.1];
            p.2 * q.2 * filaments_h(p.0, q.0, seen, axis)
        })
        .sum();
    turns * sum
}

/// Coupling factor k = M/√(L1 L2) of two windings, each with its own inductance (H).
pub fn coupling_factor(mutual_h: f64, [first_h, second_h]: [f64; 2]) -> f64 {
    mutual_h / (first_h * second_h).sqrt()
}

/// Inductance of two coupled coils in series, H: `aiding` one another or not,
/// L1 + L2 ± 2 k √(L1 L2).
pub fn in_series_h([first_h, second_h]: [f64; 2], factor: f64, aiding: bool) -> f64 {
    let sign = if aiding { 1.0 } else { -1.0 };
    first_h + second_h + sign * 2.0 * factor * (first_h * second_h).sqrt()
}

/// Whether two windings as placed would need the same room: their enclosing cylinders, the second
/// one taken as a ball where its axis is turned.
pub fn overlap(first: &Winding, second: &Winding, place: &Placement) -> bool {
    let [x, y, z] = place.centre_m;
    let (off_m, high_m) = (x.hypot(y), z.abs());
    let axis = of_length_one(place.axis);
    let (half, radius) = (0.5 * second.length_m, second.outer_radius_m());
    let upright = axis[2].abs();
    let turned = (1.0 - upright * upright).max(0.0).sqrt();
    // How far the second one's cylinder reaches along z, and away from it.
    let (tall_m, wide_m) = (half * upright + radius * turned, radius.max(half * turned));
    high_m < 0.5 * first.length_m + tall_m && off_m < first.outer_radius_m() + wide_m
}
