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
