//! Round copper wire: gauge, resistance, weight, how much room its enamel takes.

use std::f64::consts::PI;

/// Resistivity of annealed copper at 20 °C, Ω·m (100 % IACS: 1.7241·10⁻⁸, IEC 60028).
pub const RESISTIVITY_OHM_M: f64 = 1.7241e-8;
/// Rise of its resistance a kelvin, referred to 20 °C (IEC 60028).
pub const PER_K: f64 = 0.003_93;
/// Its density, kg/m³ (IEC 60028).
pub const DENSITY_KG_PER_M3: f64 = 8890.0;
/// Permeability of free space, H/m.
pub const MU_0: f64 = 4e-7 * PI;

/// Nominal diameters of winding wire, mm: the R 20 series of IEC 60317-0-1 (from memory).
pub const NOMINAL_MM: [f64; 21] = [
    0.2, 0.224, 0.25, 0.28, 0.315, 0.355, 0.4, 0.45, 0.5, 0.56, 0.63, 0.71, 0.8, 0.9, 1.0, 1.12,
    1.25, 1.4, 1.6, 1.8, 2.0,
];

/// Diameter of American wire gauge `awg`, m: 0.127 mm · 92^((36 − n)/39) (ASTM B258).
pub fn awg_diameter_m(awg: i32) -> f64 {
    0.127e-3 * 92f64.powf(f64::from(36 - awg) / 39.0)
}

/// The gauge whose diameter is nearest by ratio to `diameter_m`.
pub fn nearest_awg(diameter_m: f64) -> i32 {
    (36.0 - 39.0 * (diameter_m / 0.127e-3).ln() / 92f64.ln()).round() as i32
}

/// Section of a round wire, m².
pub fn area_m2(diameter_m: f64) -> f64 {
    0.25 * PI * diameter_m.powi(2)
}

/// Resistance of a metre of copper wire of `area_m2` at 20 °C, Ω/m.
pub fn ohm_per_m(area_m2: f64) -> f64 {
    RESISTIVITY_OHM_M / area_m2
}

/// Resistance at `temperature_c` over that at 20 °C.
pub fn resistance_ratio(temperature_c: f64) -> f64 {
    1.0 + PER_K * (temperature_c - 20.0)
}

/// Depth at which an alternating current has fallen to 1/e, √(ρ/(π f µ0)), m; `hz` above 0.
pub fn skin_depth_m(hz: f64) -> f64 {
    (RESISTIVITY_OHM_M / (PI * hz * MU_0)).sqrt()
}

/// Diameter over the enamel, m: a fit to the largest ones of grade 2 in IEC 60317-0-1 (0.566 mm
/// over 0.5 mm, 1.094 mm over 1 mm; from memory).
pub fn overall_m(diameter_m: f64) -> f64 {
    diameter_m + 0.094e-3 * (diameter_m / 1e-3).sqrt()
}
