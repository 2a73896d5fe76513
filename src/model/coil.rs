//! The blocked voice coil beyond its resistance: a model of its own, so that a lossy coil fits in.

use num_complex::Complex64;

/// Electrical impedance of the coil's inductive part, in series with Re.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum VoiceCoil {
    /// A plain inductance: jωLe.
    Plain {
        /// Inductance, H.
        le_h: f64,
    },
    /// A power law: K (jω)ⁿ, 0 ≤ n ≤ 1, with losses in the iron (Leach 2002, *J. Audio Eng.
    /// Soc.* 50, 442, section 1). n = 1 is a plain inductance of K henry, n = 0 a resistance.
    PowerLaw {
        /// Factor K, Ω·sⁿ.
        k_si: f64,
        /// Exponent n.
        n: f64,
    },
    /// An inductance in series with a second one that eddy currents shunt: jωLe + (jωL2 ∥ R2).
    /// Common practice, no source.
    Shunted {
        /// Series inductance, H.
        le_h: f64,
        /// Shunted inductance, H.
        l2_h: f64,
        /// Resistance across it, Ω.
        r2_ohm: f64,
    },
}

impl VoiceCoil {
    /// The same coil with its whole impedance times `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        match *self {
            Self::Plain { le_h } => Self::Plain { le_h: le_h * factor },
            Self::PowerLaw { k_si, n } => Self::PowerLaw { k_si: k_si * factor, n },
            Self::Shunted { le_h, l2_h, r2_ohm } => {
                Self::Shunted { le_h: le_h * factor, l2_h: l2_h * factor, r2_ohm: r2_ohm * factor }
            }
        }
    }

    /// Impedance in Ω at angular frequency `omega` (rad/s).
    pub fn impedance(&self, omega: f64) -> Complex64 {
        let jw = Complex64::new(0.0, omega);
        match *self {
            Self::Plain { le_h } => jw * le_h,
            Self::PowerLaw { k_si, n } => {
                let angle = n * std::f64::consts::FRAC_PI_2;
                Complex64::from_polar(k_si * omega.powf(n), angle)
            }
            Self::Shunted { le_h, l2_h, r2_ohm } => {
                let second = jw * l2_h;
                jw * le_h + second * r2_ohm / (second + r2_ohm)
            }
        }
    }
}
