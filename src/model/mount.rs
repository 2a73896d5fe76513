//! What stands in front of a cone: the short tunnel of a driver mounted behind the face, and a
//! grille.
//!
//! Plane waves in a tunnel of the cone's area, ended by the grille and the radiation of a piston in
//! a large baffle (Kinsler et al., *Fundamentals of Acoustics*, ch. 7 and 10). Valid while the
//! tunnel is narrow against the wavelength (ka below about 1.8, the first cross mode of a round
//! tube); above that the tunnel only adds its length to the path.

use super::air::Air;
use super::piston;
use crate::grid::{AcousticImpedance, Grid, Spectrum, Transfer};
use num_complex::Complex64;
use std::f64::consts::{PI, SQRT_2};
use std::sync::Arc;

/// Viscosity of air near 20 °C, Pa·s. Handbook value, from memory.
const VISCOSITY_PA_S: f64 = 1.82e-5;

/// What sound passes on its way from the cone to the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Grille {
    /// Cloth or felt with this specific flow resistance, Pa·s/m.
    Cloth {
        /// Flow resistance of a unit of area, Pa·s/m.
        resistance_pa_s_per_m: f64,
    },
    /// A sheet with round holes.
    Perforated {
        /// Its thickness, m.
        thickness_m: f64,
        /// Diameter of a hole, m.
        hole_m: f64,
        /// Share of the area that is open, 0 to 1.
        open_share: f64,
    },
}

impl Grille {
    /// Specific impedance, Pa·s/m. Of a perforated sheet (Maa 1987, *Noise Control Eng. J.* 29,
    /// 77, from memory), with x = (d/2) √(ωρ/η): friction 32ηt/d² [√(1 + x²/32) + √2/32 x d/t] and
    /// inertia jωρt [1 + 1/√(9 + x²/2)] + jωρ 0.85 d (1 − 1.13 √σ), all over the open share σ; the
    /// last bracket is Fok's correction to its first term.
    pub fn specific_impedance(&self, omega: f64, air: &Air) -> Complex64 {
        match *self {
            Self::Cloth { resistance_pa_s_per_m } => Complex64::new(resistance_pa_s_per_m, 0.0),
            Self::Perforated { thickness_m, hole_m, open_share } => {
                let x = 0.5 * hole_m * (omega * air.rho_kg_per_m3 / VISCOSITY_PA_S).sqrt();
                let ends_m = 0.85 * hole_m * (1.0 - 1.13 * open_share.sqrt()).max(0.0);
                let bore_m = thickness_m * (1.0 + 1.0 / (9.0 + 0.5 * x * x).sqrt());
                let bore = thickness_m * (1.0 + x * x / 32.0).sqrt();
                let rims = SQRT_2 / 32.0 * x * hole_m;
                let friction = 32.0 * VISCOSITY_PA_S * (bore + rims) / (hole_m * hole_m);
                let inertia = omega * air.rho_kg_per_m3 * (bore_m + ends_m);
                Complex64::new(friction, inertia) / open_share
            }
        }
    }
}

/// What is in front of a cone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Front {
    /// Radius of cone and tunnel, m.
    pub radius_m: f64,
    /// Length of the tunnel, m; 0 for none.
    pub tunnel_m: f64,
    /// The grille at its mouth.
    pub grille: Option<Grille>,
}

impl Front {
    /// Whether the cone looks straight into the room.
    pub fn is_open(&self) -> bool {
        self.tunnel_m <= 0.0 && self.grille.is_none()
    }

    /// What the front adds to the load on the cone beyond the radiation that it has without
    /// (Pa·s/m³), and the flow that leaves the mouth over the cone's.
    pub fn effect(&self, omega: f64, air: &Air) -> (Complex64, Complex64) {
        let one = Complex64::new(1.0, 0.0);
        if self.is_open() {
            return (Complex64::default(), one);
        }
        let area = PI * self.radius_m.powi(2);
        let k = omega / air.c_m_per_s;
        let open =
            piston::radiation_impedance(k * self.radius_m) * air.impedance_pa_s_per_m() / area;
        let grille =
            self.grille.map_or(Complex64::default(), |g| g.specific_impedance(omega, air) / area);
        let wave = air.impedance_pa_s_per_m() / area;
        let (end, (sin, cos)) = (open + grille, (k * self.tunnel_m).sin_cos());
        let j = Complex64::i();
        let mouth = one / (cos + j * end / wave * sin);
        let load = (end * cos + j * wave * sin) * mouth;
        (load - open, mouth)
    }

    /// The same over a grid: load beyond radiation, and transfer from cone to mouth.
    pub fn effect_on(&self, grid: &Arc<Grid>, air: &Air) -> (AcousticImpedance, Transfer) {
        let (load, mouth) = grid.omega().map(|w| self.effect(w, air)).unzip();
        (Spectrum::from_values(grid, load), Spectrum::from_values(grid, mouth))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At low frequency a tunnel adds its air as a mass, ρL/S.
    #[test]
    fn a_short_tunnel_is_a_mass() {
        let air = Air::default();
        let front = Front { radius_m: 0.035, tunnel_m: 0.009, grille: None };
        let omega = 300.0;
        let (load, mouth) = front.effect(omega, &air);
        let mass = air.rho_kg_per_m3 * 0.009 / (PI * 0.035f64.powi(2));
        assert!((load.im / (omega * mass) - 1.0).abs() < 0.01, "{}", load.im / (omega * mass));
        assert!((mouth - 1.0).norm() < 1e-3);
    }

    /// What the cone gives off into the tunnel is what leaves it, plus what the grille swallows.
    #[test]
    fn power_is_kept() {
        let air = Air::default();
        let cloth = Grille::Cloth { resistance_pa_s_per_m: 40.0 };
        let front = Front { radius_m: 0.03, tunnel_m: 0.012, grille: Some(cloth) };
        let area = PI * 0.03f64.powi(2);
        for omega in [500.0, 5e3, 2e4] {
            let (load, mouth) = front.effect(omega, &air);
            let k = omega / air.c_m_per_s;
            let open = piston::radiation_impedance(k * 0.03) * air.impedance_pa_s_per_m() / area;
            let out = mouth.norm_sqr() * (open.re + 40.0 / area);
            assert!(((load + open).re / out - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn an_open_front_does_nothing() {
        let front = Front { radius_m: 0.03, tunnel_m: 0.0, grille: None };
        let (load, mouth) = front.effect(1e3, &Air::default());
        assert_eq!((load, mouth), (Complex64::default(), Complex64::new(1.0, 0.0)));
    }
}
