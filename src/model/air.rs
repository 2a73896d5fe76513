//! Air: speed of sound and density from temperature, static pressure and humidity.

use std::f64::consts::PI;

/// Ratio of the specific heats of air. Common textbook value for a diatomic gas.
pub const GAMMA: f64 = 1.4;

/// Thermal diffusivity κ/(ρ cp) of air near 20 °C, m²/s (κ = 0.0257 W/m/K, cp = 1005 J/kg/K,
/// ρ = 1.2041 kg/m³; handbook values, from memory).
pub const THERMAL_DIFFUSIVITY_M2_PER_S: f64 = 0.0257 / (1.204_118_3 * 1005.0);

/// Viscosity of air near 20 °C, Pa·s (handbook value, from memory).
pub const VISCOSITY_PA_S: f64 = 1.81e-5;

/// Static pressure at sea level in the standard atmosphere, Pa (ISO 2533).
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;

/// The state of the air that matters to sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Speed of sound, m/s.
    pub c_m_per_s: f64,
    /// Density, kg/m³.
    pub rho_kg_per_m3: f64,
}

impl Air {
    /// Dry air at `temperature_c` (°C) and `pressure_pa` (Pa).
    ///
    /// c = 331.3 √(1 + T/273.15); ρ = p/(287.05 (T + 273.15)): ideal gas (Kinsler et al.,
    /// *Fundamentals of Acoustics*, ch. 5; constants from memory).
    pub fn dry(temperature_c: f64, pressure_pa: f64) -> Self {
        Self::humid(temperature_c, pressure_pa, 0.0)
    }

    /// Moist air; `relative_humidity` from 0 to 1.
    ///
    /// With the mole fraction of water x_w = RH·f·p_sat/p, c grows by 0.16 x_w and ρ falls by
    /// 0.378 x_w (ideal mixture). p_sat and the enhancement factor f are those of the CIPM
    /// density equation (Davis 1992, *Metrologia* 29, 67); within 0.05 % of Cramer (1993),
    /// *J. Acoust. Soc. Am.* 93, 2510.
    pub fn humid(temperature_c: f64, pressure_pa: f64, relative_humidity: f64) -> Self {
        let x = water_mole_fraction(temperature_c, pressure_pa, relative_humidity);
        let kelvin = temperature_c + 273.15;
        Self {
            c_m_per_s: 331.3 * (1.0 + temperature_c / 273.15).sqrt() * (1.0 + 0.16 * x),
            rho_kg_per_m3: pressure_pa * (1.0 - 0.378 * x) / (287.05 * kelvin),
        }
    }

    /// The same air `kelvin` warmer at the same pressure: c goes with √T, ρ with 1/T (ideal gas).
    #[must_use]
    pub fn warmer(&self, kelvin: f64) -> Self {
        let now = 273.15 * (self.c_m_per_s / 331.3).powi(2);
        let ratio = (now + kelvin) / now;
        Self { c_m_per_s: self.c_m_per_s * ratio.sqrt(), rho_kg_per_m3: self.rho_kg_per_m3 / ratio }
    }

    /// Characteristic impedance ρc, Pa·s/m.
    pub fn impedance_pa_s_per_m(&self) -> f64 {
        self.rho_kg_per_m3 * self.c_m_per_s
    }

    /// Adiabatic bulk modulus ρc², Pa.
    pub fn bulk_modulus_pa(&self) -> f64 {
        self.rho_kg_per_m3 * self.c_m_per_s.powi(2)
    }

    /// Acoustic mass of the air moved by a flat disc of radius `radius_m` on one side of a large
    /// baffle, 8ρ/(3π²a), kg/m⁴ (Kinsler et al., piston in an infinite baffle, low ka).
    pub fn disc_mass_kg_per_m4(&self, radius_m: f64) -> f64 {
        8.0 * self.rho_kg_per_m3 / (3.0 * PI * PI * radius_m)
    }
}

impl Default for Air {
    /// Dry air at 20 °C and 101 325 Pa: c = 343.21 m/s, ρ = 1.2041 kg/m³.
    fn default() -> Self {
        Self::dry(20.0, STANDARD_PRESSURE_PA)
    }
}

/// Mole fraction of water vapour in air (Davis 1992, eqs. for p_sat and f).
pub fn water_mole_fraction(temperature_c: f64, pressure_pa: f64, relative_humidity: f64) -> f64 {
    let t = temperature_c + 273.15;
    let saturation_pa =
        (1.281_180_5e-5 * t * t - 1.950_987_4e-2 * t + 34.049_260_34 - 6353.6311 / t).exp();
    let enhancement = 1.000_62 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c.powi(2);
    relative_humidity * enhancement * saturation_pa / pressure_pa
}
