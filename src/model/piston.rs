//! A rigid circular piston in a large baffle: how it narrows off axis.
//!
//! Source: Rayleigh's piston; Kinsler et al., *Fundamentals of Acoustics*, ch. 7. Cones break up:
//! above ka of about 2 a measured off-axis curve is better where there is one.

use super::air::Air;
use super::place::spherical_wave;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Far-field amplitude off axis over that on axis, signed: 2J1(x)/x, x = ka sin θ.
pub fn directivity(x: f64) -> f64 {
    if x.abs() < 1e-4 { 1.0 - x * x / 8.0 } else { 2.0 * libm::j1(x) / x }
}

/// Directivity factor over a sphere, (ka)²/(1 − J1(2ka)/(ka)); 2 at low ka, since all power goes
/// into the front half space.
pub fn directivity_factor(ka: f64) -> f64 {
    // The series keeps digits where the closed form cancels.
    if ka < 0.05 { 2.0 * (1.0 + ka * ka / 6.0) } else { ka * ka / (1.0 - libm::j1(2.0 * ka) / ka) }
}

/// Radiation impedance of one side over ρc/S: 1 − 2J1(2ka)/(2ka) + j 2H1(2ka)/(2ka) with Struve's
/// function H1 (Kinsler et al., ch. 7).
pub fn radiation_impedance(ka: f64) -> Complex64 {
    let z = 2.0 * ka;
    // The series keeps the digits that the closed form loses at low ka.
    let resistance = if z < 0.1 {
        z * z / 8.0 * (1.0 - z * z / 24.0 * (1.0 - z * z / 48.0))
    } else {
        1.0 - directivity(z)
    };
    Complex64::new(resistance, 2.0 * struve_1_over(z))
}

/// H1(z)/z of Struve's function (Abramowitz and Stegun, 12.1.3 and 12.1.31).
fn struve_1_over(z: f64) -> f64 {
    use std::f64::consts::PI;
    /// Above this the asymptotic series is exact to rounding; below, the power series loses no
    /// more than seven digits.
    const FAR: f64 = 18.0;
    let square = z * z;
    if z > FAR {
        let tail = 1.0 + (1.0 - (3.0 - (45.0 - 1575.0 / square) / square) / square) / square;
        return (libm::y1(z) + 2.0 / PI * tail) / z;
    }
    let mut term = 2.0 / (3.0 * PI) * z;
    let mut sum = term;
    for m in 1..60 {
        let m = f64::from(m);
        term *= -square / ((2.0 * m + 1.0) * (2.0 * m + 3.0));
        sum += term;
    }
    sum
}

/// Pressure per unit of volume velocity at a far point of the half space in front, Pa·s/m³:
/// jωρ/(2πr) e^{−jkr} 2J1(ka sin θ)/(ka sin θ).
///
/// `omega` rad/s, `radius_m` of the piston, `distance_m` and `sin_angle` from the acoustic centre
/// and its axis. Far field: r > 5a and r > 5a²/λ.
pub fn transfer_to(
    omega: f64,
    air: &Air,
    radius_m: f64,
    distance_m: f64,
    sin_angle: f64,
) -> Complex64 {
    spherical_wave(omega / air.c_m_per_s, distance_m) * strength(omega, air, radius_m, sin_angle)
}

/// The same at 1 m without the time of flight: jωρ/(2π) 2J1(ka sin θ)/(ka sin θ).
pub fn strength(omega: f64, air: &Air, radius_m: f64, sin_angle: f64) -> Complex64 {
    let k = omega / air.c_m_per_s;
    Complex64::new(0.0, omega * air.rho_kg_per_m3 / TAU) * directivity(k * radius_m * sin_angle)
}
