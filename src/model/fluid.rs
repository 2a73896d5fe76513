//! What fills a layer at one frequency: air with some loss, or a rigid-frame foam as an equivalent
//! fluid, told by its complex density and wavenumber (time factor e^{+jωt}).
//!
//! A fluid is passive when Im ρ ≤ 0 and Im K ≥ 0: then neither motion nor compression gives energy.

use super::air::Air;
use num_complex::Complex64;

/// A fluid at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fluid {
    /// Density ρ, kg/m³; a negative imaginary part is drag.
    pub density_kg_per_m3: Complex64,
    /// Wavenumber k, 1/m; a negative imaginary part is decay.
    pub wavenumber_per_m: Complex64,
    /// 1/Q of every standing wave, on top of what density and wavenumber hold; see
    /// [`AirLoss::ModalQ`].
    pub modal_loss: f64,
}

/// How the air in a cavity loses energy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AirLoss {
    /// Not at all: infinite at every resonance, for checks.
    None,
    /// Hysteretic: K = ρc²(1 + jη) at every frequency.
    Hysteretic {
        /// Loss factor η.
        eta: f64,
    },
    /// Every standing wave has this Q; slow, uniform compression loses nothing. 60 to 100 for a
    /// bare wooden box is common practice, no source.
    ModalQ {
        /// Quality Q.
        q: f64,
    },
}

impl Fluid {
    /// Air at `omega` (rad/s).
    pub fn air(air: &Air, loss: AirLoss, omega: f64) -> Self {
        let k = omega / air.c_m_per_s;
        let (wavenumber_per_m, modal_loss) = match loss {
            AirLoss::None => (Complex64::from(k), 0.0),
            AirLoss::Hysteretic { eta } => (k / Complex64::new(1.0, eta).sqrt(), 0.0),
            AirLoss::ModalQ { q } => (Complex64::from(k), 1.0 / q),
        };
        Self { density_kg_per_m3: air.rho_kg_per_m3.into(), wavenumber_per_m, modal_loss }
    }

    /// Bulk modulus K = ρω²/k² at the fluid's own `omega` (rad/s), Pa.
    pub fn bulk_modulus_pa(&self, omega: f64) -> Complex64 {
        self.density_kg_per_m3 * (omega / self.wavenumber_per_m).powi(2)
    }

    /// The same fluid without energy gain: a negative Im K is put to zero, ρ kept.
    fn passive(self, omega: f64) -> Self {
        let bulk_pa = self.bulk_modulus_pa(omega);
        if bulk_pa.im >= 0.0 {
            return self;
        }
        let wavenumber_per_m = falling_root(self.density_kg_per_m3 / bulk_pa.re) * omega;
        Self { wavenumber_per_m, ..self }
    }
}

/// Open-cell foam or wool with a rigid frame and a porosity near 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foam {
    /// Flow resistivity σ, Pa·s/m²; 5000 to 20 000 for usual foams.
    pub flow_resistivity_pa_s_per_m2: f64,
}

impl Foam {
    /// The equivalent fluid at `omega` (rad/s), with X = 1000 f/σ:
    ///
    /// Zc = ρc (1 + 5.50 X^−0.632 − j 8.43 X^−0.632), k = (ω/c)(1 + 7.81 X^−0.618 − j 11.41 X^−0.618)
    /// (Miki 1990, *J. Acoust. Soc. Jpn. (E)* 11, 19), ρ = Zc k/ω.
    ///
    /// Stated for 0.01 < f/σ < 1. Below f/σ of about 0.001 the formulas give energy (Im K down to
    /// −0.013 ρc²); there Im K is zero here. The frame does not move: a light foam whose frame the
    /// air carries along damps less than this at low frequencies.
    pub fn fluid(&self, air: &Air, omega: f64) -> Fluid {
        let x = 1000.0 * omega / (std::f64::consts::TAU * self.flow_resistivity_pa_s_per_m2);
        let (a, b) = (x.powf(-0.632), x.powf(-0.618));
        let relative_impedance = Complex64::new(1.0 + 5.50 * a, -8.43 * a);
        let relative_wavenumber = Complex64::new(1.0 + 7.81 * b, -11.41 * b);
        let fluid = Fluid {
            density_kg_per_m3: air.rho_kg_per_m3 * relative_impedance * relative_wavenumber,
            wavenumber_per_m: omega / air.c_m_per_s * relative_wavenumber,
            modal_loss: 0.0,
        };
        fluid.passive(omega)
    }
}

/// The square root whose imaginary part is not positive: of a squared wavenumber, the wave that
/// decays the way it goes.
pub(super) fn falling_root(square: Complex64) -> Complex64 {
    let length = (square.re * square.re + square.im * square.im).sqrt();
    let large = (0.5 * (length + square.re.abs())).sqrt();
    if large == 0.0 {
        return Complex64::default();
    }
    let small = 0.5 * square.im.abs() / large;
    let (re, im) = if square.re >= 0.0 { (large, small) } else { (small, large) };
    // Twice the product of the parts has the sign of the square's imaginary part.
    if square.im > 0.0 { Complex64::new(-re, -im) } else { Complex64::new(re, -im) }
}
