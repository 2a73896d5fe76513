//! The edges in Kirchhoff's approximation: a quick look that never blows up, and a check.

use crate::model::place::Point;
use crate::model::quadrature::gauss_legendre;
use num_complex::Complex64;
use std::f64::consts::PI;

/// Phase over one panel of the quadrature, rad.
const PANEL_RAD: f64 = 12.0;

/// p/p∞ of a point source on a face `size_m` around the origin in z = 0, listener in front, at
/// wavenumber `k` (rad/m): half the exact field and half Kirchhoff's, as an integral round the edge,
/// 1 − (R e^{jkR}/4π) ∮ e^{−jk(s+l)}/(s l) |(l × s)·t|/(s l + l·s) dt, with s from the source and l
/// from the listener to the edge (Maggi-Rubinowicz form of Kirchhoff's integral; Born and Wolf,
/// *Principles of Optics*, 8.9).
pub fn ratio(size_m: [f64; 2], source_m: [f64; 2], listener: &Point, k: f64) -> Complex64 {
    let direct_m = Point::new(source_m[0], source_m[1], 0.0).distance_m(listener);
    let heard = [listener.x_m, listener.y_m];
    let mut sum = Complex64::default();
    for (along, across) in [(0, 1), (1, 0)] {
        for side in [-1.0, 1.0] {
            let edge = side * size_m[across] / 2.0;
            let (source_off, heard_off) = (edge - source_m[across], edge - heard[across]);
            let r_source = source_off.abs().max(1e-9);
            // z = z_S + r sinh u keeps the integrand smooth however near the source is.
            let end = |z: f64| ((z - source_m[along]) / r_source).asinh();
            let (from, to) = (end(-size_m[along] / 2.0), end(size_m[along] / 2.0));
            let panels = 2 + (k * size_m[along] * 2.0 / PANEL_RAD) as usize;
            let step = (to - from) / panels as f64;
            for panel in 0..panels {
                for (x, w) in gauss_legendre(16) {
                    let u = from + step * (panel as f64 + 0.5 * (1.0 + x));
                    let s_along = r_source * u.sinh();
                    let l_along = source_m[along] + s_along - heard[along];
                    let s = s_along.hypot(source_off);
                    let l = (l_along.powi(2) + heard_off.powi(2) + listener.z_m.powi(2)).sqrt();
                    let cross = (listener.z_m * source_off).abs();
                    let dot = s_along * l_along + source_off * heard_off;
                    let measure = 0.5 * w * step * r_source * u.cosh();
                    let size = measure * cross / (s * l * (s * l + dot));
                    sum += Complex64::from_polar(size, -k * (s + l - direct_m));
                }
            }
        }
    }
    1.0 - direct_m / (4.0 * PI) * sum
}

/// Edge strength A of a source in the middle of a disc, heard on its axis: p/p∞ = 1 − A e^{−jkd},
/// d = l + a − R, A = R²/(2 l (l + a)), l = √(R² + a²): every point of that edge is alike.
pub fn disc_edge_strength(radius_m: f64, distance_m: f64) -> f64 {
    let edge_m = distance_m.hypot(radius_m);
    distance_m * distance_m / (2.0 * edge_m * (edge_m + radius_m))
}
