//! Plane layers of fluid between two faces, seen by a standing wave across them: transmission
//! lines in depth, one for each transverse wavenumber κ, which all layers share.
//!
//! Source: plane waves in layers, e.g. Kinsler et al., *Fundamentals of Acoustics*, ch. 6 (from
//! memory). All is written in decaying exponentials, so that nothing overflows where κ is large.

use super::fluid::{Fluid, falling_root};
use num_complex::Complex64;
use std::f64::consts::PI;

/// A layer of one fluid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// What it is made of.
    pub fluid: Fluid,
    /// How thick it is, m.
    pub thickness_m: f64,
}

impl Layer {
    /// Square of the wavenumber in depth, β² = k² − κ² − jkκ/Q, 1/m².
    ///
    /// The modal loss is that of the standing wave: k·κ/Q for the transverse ones, and k²/Q from
    /// the first resonance in depth upwards (kL = π), which comes in so steeply below it, with
    /// (kL/π)⁸, that slow compression stays lossless. Without that the uniform mode would be
    /// infinite at kL = π.
    fn depth_wavenumber_squared(&self, kappa_per_m: f64) -> Complex64 {
        let k = self.fluid.wavenumber_per_m;
        let square = k * k - kappa_per_m * kappa_per_m;
        if self.fluid.modal_loss == 0.0 {
            return square;
        }
        let in_depth = (k.re * self.thickness_m / PI).powi(8).min(1.0) * k.re;
        square - Complex64::new(0.0, self.fluid.modal_loss * k.re * kappa_per_m.max(in_depth))
    }
}

/// Layers between a face and a back, per unit area: with the velocity u positive towards the
/// back, p(0) = face·u(0) − across·u(L) and p(L) = across·u(0) − back·u(L), all in Pa·s/m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoPort {
    /// Pressure at the face over velocity there, the back held still.
    pub face: Complex64,
    /// Pressure at the back over velocity there, the face held still.
    pub back: Complex64,
    /// Pressure on one side over the velocity of the other.
    pub across: Complex64,
}

impl TwoPort {
    /// The layers in order from face to back at the transverse wavenumber `kappa_per_m` and at
    /// `omega` (rad/s), the frequency that their fluids are for. A stack of no layer is nothing:
    /// zero throughout.
    pub fn of(layers: &[Layer], kappa_per_m: f64, omega: f64) -> Self {
        let mut ports = layers.iter().map(|layer| Self::single(layer, kappa_per_m, omega));
        let nothing = Self {
            face: Complex64::default(),
            back: Complex64::default(),
            across: Complex64::default(),
        };
        let first = ports.next().unwrap_or(nothing);
        ports.fold(first, |front, behind| front.followed_by(&behind))
    }

    /// One layer: face = back = −jωρ cot(βL)/β, across = −jωρ/(β sin βL).
    fn single(layer: &Layer, kappa_per_m: f64, omega: f64) -> Self {
        /// Keeps a lossless layer off its poles, where β is zero; far below any loss.
        const LEAST_PHASE_SQUARED: f64 = 1e-14;
        let length = layer.thickness_m;
        let mut square = layer.depth_wavenumber_squared(kappa_per_m);
        if square.norm_sqr() * length.powi(4) < LEAST_PHASE_SQUARED.powi(2) {
            square = Complex64::new(0.0, -LEAST_PHASE_SQUARED / (length * length));
        }
        let beta = falling_root(square);
        let once = (Complex64::new(beta.im, -beta.re) * length).exp();
        let twice = once * once;
        let wave = layer.fluid.density_kg_per_m3 * omega / (beta * (1.0 - twice));
        let face = wave * (1.0 + twice);
        Self { face, back: face, across: 2.0 * wave * once }
    }

    /// This stack with a leak in its face: a resistance per area of `leak` (Pa·s/m) beside it.
    #[must_use]
    pub fn leaking(self, leak: f64) -> Self {
        let share = leak / (leak + self.face);
        Self {
            face: self.face * share,
            back: self.back - self.across * self.across / (leak + self.face),
            across: self.across * share,
        }
    }

    /// This stack with `behind` at its back: the velocity between them eliminated.
    fn followed_by(&self, behind: &Self) -> Self {
        let between = 1.0 / (self.back + behind.face);
        Self {
            face: self.face - self.across * self.across * between,
            back: behind.back - behind.across * behind.across * between,
            across: self.across * behind.across * between,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::air::Air;
    use crate::model::fluid::{AirLoss, Foam};

    fn near(a: Complex64, b: Complex64) {
        assert!((a - b).norm() <= 1e-9 * b.norm(), "{a} {b}");
    }

    #[test]
    fn one_layer_is_two_halves_and_the_cotangent() {
        let (air, omega) = (Air::default(), 5000.0);
        let foam = Foam { flow_resistivity_pa_s_per_m2: 12_000.0 }.fluid(&air, omega);
        let of = |thickness_m| Layer { fluid: foam, thickness_m };
        for kappa in [0.0, 3.0, 60.0, 700.0] {
            let whole = TwoPort::of(&[of(0.034)], kappa, omega);
            let parts = TwoPort::of(&[of(0.01), of(0.02), of(0.004)], kappa, omega);
            near(parts.face, whole.face);
            near(parts.back, whole.back);
            near(parts.across, whole.across);
            let beta = (foam.wavenumber_per_m.powi(2) - kappa * kappa).sqrt();
            let factor = Complex64::new(0.0, -omega) * foam.density_kg_per_m3 / beta;
            near(whole.face, factor / (beta * 0.034).tan());
            near(whole.across, factor / (beta * 0.034).sin());
        }
    }

    #[test]
    fn air_before_foam_is_the_line_with_a_load() {
        let (air, omega, kappa) = (Air::default(), 3000.0, 12.0);
        let j = Complex64::i();
        let gas = Fluid::air(&air, AirLoss::Hysteretic { eta: 0.02 }, omega);
        let foam = Foam { flow_resistivity_pa_s_per_m2: 8000.0 }.fluid(&air, omega);
        let front = Layer { fluid: gas, thickness_m: 0.024 };
        let sheet = Layer { fluid: foam, thickness_m: 0.01 };
        let load = TwoPort::of(&[sheet], kappa, omega).face;
        let beta = (gas.wavenumber_per_m.powi(2) - kappa * kappa).sqrt();
        let (wave, turn) = (omega * gas.density_kg_per_m3 / beta, (beta * 0.024).tan());
        let want = wave * (load + j * wave * turn) / (wave + j * load * turn);
        near(TwoPort::of(&[front, sheet], kappa, omega).face, want);
    }

    #[test]
    fn no_wavenumber_overflows_and_a_lossless_pole_is_finite() {
        let (air, omega) = (Air::default(), 2000.0);
        let gas = Fluid::air(&air, AirLoss::None, omega);
        let layer = Layer { fluid: gas, thickness_m: 0.05 };
        let far = TwoPort::of(&[layer, layer], 1e6, omega);
        near(far.face, Complex64::new(0.0, omega * air.rho_kg_per_m3 / 1e6));
        assert!(far.across.norm() == 0.0);
        let pole = TwoPort::of(&[layer], gas.wavenumber_per_m.re, omega);
        assert!(pole.face.re >= 0.0 && pole.face.is_finite() && pole.across.is_finite());
    }
}
