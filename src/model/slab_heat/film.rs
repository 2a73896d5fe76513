//! What a surface gives off to air and walls: natural convection and radiation, W/(m²·K).
//!
//! Upright: Churchill and Chu 1975 (*Int. J. Heat Mass Transfer* 18, 1323, from memory), for all
//! Rayleigh numbers. Lying: McAdams 1954 (from memory), 0.54 Ra^¼ and 0.15 Ra^⅓ where warm air can
//! rise, 0.27 Ra^¼ where it cannot. Radiation: ε σ (T₁² + T₂²)(T₁ + T₂) to walls of the room's
//! temperature.

/// Stefan and Boltzmann's constant, W/(m²·K⁴) (CODATA).
pub const SIGMA: f64 = 5.670374e-8;
/// Emissivity of wood, paint and plastic (handbook value, from memory).
pub const EMISSIVITY_DULL: f64 = 0.9;
/// Emissivity of bare, dull metal (handbook value for rolled aluminium, from memory).
pub const EMISSIVITY_BARE_METAL: f64 = 0.1;
/// Zero Celsius in kelvin.
pub const ZERO_C_K: f64 = 273.15;
/// Gravity, m/s².
const G: f64 = 9.80665;

/// How a slab stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Its face is upright.
    Upright,
    /// It lies with the face up.
    FaceUp,
}

/// Air at a film's temperature: conductivity W/(m·K), kinematic viscosity m²/s, Prandtl's number.
/// Power laws through handbook values at 20 and 100 °C (from memory; within 1 % between).
pub fn air(film_c: f64) -> (f64, f64, f64) {
    let t = (film_c + ZERO_C_K) / 293.15;
    (0.0257 * t.powf(0.84), 15.1e-6 * t.powf(1.75), 0.71)
}

/// Rayleigh's number of a surface `length_m` (m) long, `rise_k` (K) off air, at a film temperature.
pub fn rayleigh(length_m: f64, rise_k: f64, film_c: f64) -> f64 {
    let (_, nu, pr) = air(film_c);
    G * rise_k.abs() * length_m.powi(3) * pr / ((film_c + ZERO_C_K) * nu * nu)
}

/// Nusselt's number of an upright surface (Churchill and Chu).
pub fn nusselt_upright(ra: f64, pr: f64) -> f64 {
    let shape = (1.0 + (0.492 / pr).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.825 + 0.387 * ra.powf(1.0 / 6.0) / shape).powi(2)
}

/// Nusselt's number of a lying surface (McAdams); `rises`: warm air leaves it freely.
pub fn nusselt_lying(ra: f64, rises: bool) -> f64 {
    match rises {
        true if ra > 1e7 => 0.15 * ra.cbrt(),
        true => (0.54 * ra.powf(0.25)).max(1.0),
        false => (0.27 * ra.powf(0.25)).max(1.0),
    }
}

/// Convection of a surface at `surface_c` in air of `air_c` (°C), W/(m²·K).
pub fn convection(
    standing: Standing,
    length_m: f64,
    surface_c: f64,
    air_c: f64,
    warm_below: bool,
) -> f64 {
    let film_c = 0.5 * (surface_c + air_c);
    let ra = rayleigh(length_m, surface_c - air_c, film_c);
    let (k, _, pr) = air(film_c);
    let nusselt = match standing {
        Standing::Upright => nusselt_upright(ra, pr),
        Standing::FaceUp => nusselt_lying(ra, warm_below),
    };
    nusselt * k / length_m
}

/// Radiation between `surface_c` and walls of `walls_c` (°C), W/(m²·K).
pub fn radiation(emissivity: f64, surface_c: f64, walls_c: f64) -> f64 {
    let (a, b) = (surface_c + ZERO_C_K, walls_c + ZERO_C_K);
    emissivity * SIGMA * (a * a + b * b) * (a + b)
}
