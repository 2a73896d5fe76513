//! What a fill does to the springiness of the air in a cavity (uniform pressure).

use super::air::{GAMMA, THERMAL_DIFFUSIVITY_M2_PER_S};
use num_complex::Complex64;

/// The fill of a cavity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Fill {
    /// Air alone.
    #[default]
    Empty,
    /// The compliance multiplied by a factor from 1 to 1.4; 1.1 to 1.25 for a light fill is
    /// common practice, no source.
    Factor(f64),
    /// Open-cell foam in part of the volume.
    Foam {
        /// Share of the cavity's volume that the foam takes, 0 to 1.
        fraction: f64,
        /// Open porosity, 0 to 1.
        porosity: f64,
        /// Thermal length of the pores, m (100-400 µm: common practice, no source).
        thermal_length_m: f64,
        /// Static flow resistivity, Pa·s/m² (3000 to 20 000 for light foams: common practice, no
        /// source); counts in the wave field alone.
        flow_resistivity_pa_s_per_m2: f64,
    },
}

impl Fill {
    /// Complex compliance relative to the empty cavity; a negative imaginary part is loss.
    ///
    /// Foam: (1−s) + s φ [γ − (γ−1)/(1 − j 8a/(Λ'²ω) √(1 + jΛ'²ω/(16a)))] with the thermal
    /// diffusivity a (Champoux and Allard 1991, *J. Appl. Phys.* 70, 1975; mixing by volume for
    /// uniform pressure).
    pub fn compliance_factor(&self, omega: f64) -> Complex64 {
        match *self {
            Self::Empty => Complex64::new(1.0, 0.0),
            Self::Factor(factor) => Complex64::new(factor, 0.0),
            Self::Foam { fraction, porosity, thermal_length_m, .. } => {
                let x = thermal_length_m.powi(2) * omega / THERMAL_DIFFUSIVITY_M2_PER_S;
                let root = Complex64::new(1.0, x / 16.0).sqrt();
                let drag = 1.0 - Complex64::new(0.0, 8.0 / x) * root;
                let pores = GAMMA - (GAMMA - 1.0) / drag;
                (1.0 - fraction) + fraction * porosity * pores
            }
        }
    }
}
