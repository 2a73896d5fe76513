//! Sound in all directions: power radiated, and how much the axis stands out of it.
//!
//! Directions lie on Gauss-Legendre rings in cos θ of each half space, so that a jump in the plane
//! of the face costs nothing, with equal steps round each ring (the trapezoidal rule, exact for
//! harmonics below the number of steps). Source of the directivity index: Beranek, *Acoustics*
//! (1954), section 4.10.

use super::place::Point;
use super::quadrature::gauss_between;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Mean of |pressure|² over all directions, Pa² where `pressure` is in Pa; a direction is a
/// point at distance 1 from the origin in panel coordinates.
///
/// `polar` rings in each half space with `around` directions each. A field that turns by kD rad
/// across its source needs about kD/2 + 4 rings and kD + 4 around; a field round the z axis one.
pub fn mean_square(polar: usize, around: usize, pressure: impl Fn(&Point) -> Complex64) -> f64 {
    let around = around.max(1);
    let ring = |z: f64| -> f64 {
        let out = (1.0 - z * z).max(0.0).sqrt();
        let heard = |step: usize| {
            let (sine, cosine) = (TAU * (step as f64 + 0.5) / around as f64).sin_cos();
            pressure(&Point::new(out * cosine, out * sine, z)).norm_sqr()
        };
        (0..around).map(heard).sum::<f64>() / around as f64
    };
    let halves = gauss_between(polar, -1.0, 0.0).chain(gauss_between(polar, 0.0, 1.0));
    halves.map(|(z, weight)| 0.5 * weight * ring(z)).sum()
}

/// Power through a sphere of radius `distance_m` round the origin, W: 4πr² p²/(ρc) for the mean
/// square `mean_square_pa2` of the rms pressure there, far enough away that the wave is plane.
pub fn power_w(mean_square_pa2: f64, distance_m: f64, rho_c: f64) -> f64 {
    2.0 * TAU * distance_m * distance_m * mean_square_pa2 / rho_c
}

/// Directivity index, dB: the level on the axis of the face over the level of a source of the same
/// power that sends alike in all directions. Finite: a silent axis counts as −200 dB.
pub fn directivity_index_db(
    polar: usize,
    around: usize,
    pressure: impl Fn(&Point) -> Complex64,
) -> f64 {
    let axis = pressure(&Point::new(0.0, 0.0, 1.0)).norm();
    crate::grid::level_db(axis, mean_square(polar, around, pressure).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_monopole_sends_alike_in_all_directions() {
        let one = |_: &Point| Complex64::new(0.6, 0.8);
        assert_relative_eq!(mean_square(3, 4, one), 1.0, max_relative = 1e-12);
        assert!(directivity_index_db(3, 4, one).abs() < 1e-9);
        // Power of a point source of flow U: ρc k²U²/4π (Kinsler et al., ch. 7).
        let (k, flow, rho_c, r) = (20.0, 1e-4, 413.0, 3.0);
        let pressure = rho_c * k * flow / (2.0 * TAU * r);
        let power = power_w(mean_square(3, 4, |_| Complex64::from(pressure)), r, rho_c);
        assert_relative_eq!(power, rho_c * (k * flow).powi(2) / (2.0 * TAU), max_relative = 1e-12);
    }

    #[test]
    fn a_figure_of_eight_has_an_index_of_3() {
        let across = |d: &Point| Complex64::from(d.z_m);
        let index = directivity_index_db(4, 1, across);
        assert_relative_eq!(index, 10.0 * 3f64.log10(), max_relative = 1e-12);
        // The same on its side, heard in the plane of the figure.
        let aside = mean_square(4, 4, |d| Complex64::from(d.x_m));
        assert_relative_eq!(aside, 1.0 / 3.0, max_relative = 1e-12);
    }

    #[test]
    fn silence_is_finite() {
        assert!(directivity_index_db(4, 4, |_| Complex64::default()).is_finite());
    }
}
