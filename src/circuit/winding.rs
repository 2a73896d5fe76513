//! Air-core coils: the inductance of a winding, its wire, resistance and weight.
//!
//! Wheeler's formulas (H. A. Wheeler, Simple Inductance Formulas for Radio Coils, Proc. IRE 16,
//! 1928) in SI, with the MEAN radius of the winding; beside them the sum over the section, which is
//! the physics they approximate (J. C. Maxwell; F. W. Grover, Inductance Calculations, 1946).

pub mod recipe;

use super::mutual;
use super::wire::{self, MU_0};
use std::f64::consts::PI;

/// An inch, m: Wheeler's formulas are in inches.
const INCH_M: f64 = 0.0254;
/// Cells that a section is cut into for its sum.
const CELLS: f64 = 1600.0;

/// A winding of rectangular section, turns evenly spread over it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    /// Turns.
    pub turns: u32,
    /// Mean radius, m.
    pub mean_radius_m: f64,
    /// Axial length, m.
    pub length_m: f64,
    /// Radial depth, m.
    pub depth_m: f64,
}

/// Multilayer coil, L = 0.8 a²N²/(6a + 9b + 10c) µH in inches, here in H and m (Wheeler 1928:
/// about 1 % where the three terms are about equal).
pub fn wheeler_multilayer_h(turns: f64, mean_radius_m: f64, length_m: f64, depth_m: f64) -> f64 {
    let below = 6.0 * mean_radius_m + 9.0 * length_m + 10.0 * depth_m;
    0.8e-6 / INCH_M * (mean_radius_m * turns).powi(2) / below
}

/// One layer, L = a²N²/(9a + 10b) µH in inches, here in H and m (Wheeler 1928: 1 % where
/// b > 0.8 a).
pub fn wheeler_single_layer_h(turns: f64, mean_radius_m: f64, length_m: f64) -> f64 {
    1e-6 / INCH_M * (mean_radius_m * turns).powi(2) / (9.0 * mean_radius_m + 10.0 * length_m)
}

/// Flat spiral, L = a²N²/(8a + 11c) µH in inches, here in H and m (Wheeler 1928: 5 % where
/// c > 0.2 a).
pub fn wheeler_spiral_h(turns: f64, mean_radius_m: f64, depth_m: f64) -> f64 {
    1e-6 / INCH_M * (mean_radius_m * turns).powi(2) / (8.0 * mean_radius_m + 11.0 * depth_m)
}

/// Brooks's coil, the most inductance from a length of wire: b = c, a = 1.5 c,
/// L = 1.6994 µH/m · a N² (Grover 1946, from memory).
pub fn brooks_h(turns: f64, mean_radius_m: f64) -> f64 {
    1.6994e-6 * mean_radius_m * turns * turns
}

/// A cylindrical current sheet, H (Lorenz 1879; Nagaoka 1909): complete elliptic integrals by the
/// arithmetic-geometric mean.
pub fn current_sheet_h(turns: f64, radius_m: f64, length_m: f64) -> f64 {
    let square = 4.0 * radius_m.powi(2) / (4.0 * radius_m.powi(2) + length_m.powi(2));
    let complement = 1.0 - square;
    let (first, second) = complete_elliptic(square);
    let bracket = complement / square * (first - second) + second - square.sqrt();
    let nagaoka = 4.0 / (3.0 * PI * complement.sqrt()) * bracket;
    MU_0 * turns * turns * PI * radius_m.powi(2) / length_m * nagaoka
}

/// K and E of the parameter m = k², 0 ≤ m < 1 (Abramowitz and Stegun 17.6).
fn complete_elliptic(parameter: f64) -> (f64, f64) {
    let (mut a, mut b) = (1.0, (1.0 - parameter).sqrt());
    let (mut sum, mut weight, mut c) = (0.5 * parameter, 1.0, 1.0);
    while c > 1e-16 {
        c = 0.5 * (a - b);
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
        sum += weight * c * c;
        weight *= 2.0;
    }
    let first = 0.5 * PI / a;
    (first, first * (1.0 - sum))
}

/// A rectangular section with even current density, H: the section cut into coaxial filaments,
/// Maxwell's mutuals between them, the geometric mean distance 0.2235 (w + h) of a cell from itself.
pub fn section_h(turns: f64, mean_radius_m: f64, length_m: f64, depth_m: f64) -> f64 {
    let side = (length_m * depth_m / CELLS).sqrt();
    let number = |size: f64| (size / side).round().clamp(1.0, 400.0) as usize;
    let (high, deep) = (number(length_m), number(depth_m));
    let (dz, dr) = (length_m / high as f64, depth_m / deep as f64);
    let radius = |i: usize| mean_radius_m + ((i as f64 + 0.5) * dr - 0.5 * depth_m);
    let own = |r: f64| MU_0 * r * ((8.0 * r / (0.2235 * (dz + dr))).ln() - 2.0);
    let mut sum = 0.0;
    for i in 0..deep {
        for j in 0..=i {
            let both_ways = if i == j { 1.0 } else { 2.0 };
            for step in 0..high {
                // Pairs of rows that far apart.
                let pairs = (high - step) as f64 * if step == 0 { 1.0 } else { 2.0 };
                let one = match (i == j, step) {
                    (true, 0) => own(radius(i)),
                    _ => mutual::loops_h(radius(i), radius(j), step as f64 * dz),
                };
                sum += both_ways * pairs * one;
            }
        }
    }
    let cells = (high * deep) as f64;
    sum * (turns / cells).powi(2)
}

impl Winding {
    /// Inductance by the sum over its section, H.
    pub fn section_h(&self) -> f64 {
        section_h(f64::from(self.turns), self.mean_radius_m, self.length_m, self.depth_m)
    }

    /// Largest radius, m.
    pub fn outer_radius_m(&self) -> f64 {
        self.mean_radius_m + 0.5 * self.depth_m
    }

    /// Length of its wire, without leads, m.
    pub fn wire_m(&self) -> f64 {
        wire_length_m(self.turns, self.mean_radius_m)
    }
}

/// Length of the wire of a winding, 2π a N, m.
pub fn wire_length_m(turns: u32, mean_radius_m: f64) -> f64 {
    2.0 * PI * mean_radius_m * f64::from(turns)
}

/// Resistance of `length_m` of round copper wire at 20 °C, Ω.
pub fn wire_ohm(length_m: f64, diameter_m: f64) -> f64 {
    length_m * wire::ohm_per_m(wire::area_m2(diameter_m))
}

/// Mass of the copper in `length_m` of round wire, kg.
pub fn copper_kg(length_m: f64, diameter_m: f64) -> f64 {
    length_m * wire::area_m2(diameter_m) * wire::DENSITY_KG_PER_M3
}
