//! The impedance of a driver in the parameters that a fit moves, with its derivatives.

use super::CoilKind;
use crate::model::coil::VoiceCoil;
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, TAU};

/// Where the size of a lossy coil's impedance is fitted, rad/s: far from there K and n would be
/// hard to tell apart.
const REFERENCE_OMEGA: f64 = TAU * 5e3;

/// ln Re.
pub(super) const RE: usize = 0;
/// ln ωs.
pub(super) const OMEGA_S: usize = 1;
/// ln Qms.
pub(super) const QMS: usize = 2;
/// ln Qes.
pub(super) const QES: usize = 3;
/// First of the coil's: ln Le; ln |Zcoil| at the reference and n; ln Le, ln L2, ln R2.
pub(super) const COIL: usize = 4;
/// Most parameters that a model has.
pub(super) const MOST: usize = 8;

/// What the second sweep adds to the cone.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Load {
    /// Mass, kg.
    pub(super) mass_kg: f64,
    /// Stiffness, N/m.
    pub(super) stiffness_n_per_m: f64,
}

/// Which parameters there are: four, the coil's, and ln Mms (last) where a sweep weighs the cone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shape {
    pub(super) kind: CoilKind,
    pub(super) weighed: bool,
}

impl Shape {
    pub(super) fn len(self) -> usize {
        COIL + self.kind.parameters() + usize::from(self.weighed)
    }

    /// Place of ln Mms.
    pub(super) fn mass(self) -> Option<usize> {
        self.weighed.then(|| COIL + self.kind.parameters())
    }

    /// Impedance at `omega` (Ω), and its derivative by each parameter (Ω).
    ///
    /// Z = Re + Zcoil + (ωs Re/Qes)/D, D = jω(1 + m/M) + ωs/Qms + (ωs² + k/M)/jω: the lumped
    /// moving-coil model (Small 1972), mechanics divided by the free moving mass M, with mass m
    /// and stiffness k added.
    pub(super) fn impedance(
        self,
        theta: &[f64],
        omega: f64,
        load: Load,
    ) -> (Complex64, [Complex64; MOST]) {
        let jw = Complex64::new(0.0, omega);
        let (re, omega_s) = (theta[RE].exp(), theta[OMEGA_S].exp());
        let loss = (theta[OMEGA_S] - theta[QMS]).exp();
        let spring = omega_s * omega_s / jw;
        let added = self.mass().map_or(Complex64::default(), |at| {
            (-theta[at]).exp() * (jw * load.mass_kg + load.stiffness_n_per_m / jw)
        });
        let d = jw + loss + spring + added;
        let motional = omega_s * re * (-theta[QES]).exp() / d;
        let slope = motional / d;
        let mut by = [Complex64::default(); MOST];
        by[RE] = re + motional;
        by[OMEGA_S] = motional - slope * (loss + 2.0 * spring);
        by[QMS] = slope * loss;
        by[QES] = -motional;
        if let Some(at) = self.mass() {
            by[at] = slope * added;
        }
        (re + motional + self.coil_impedance(theta, omega, &mut by), by)
    }

    fn coil_impedance(self, theta: &[f64], omega: f64, by: &mut [Complex64; MOST]) -> Complex64 {
        let jw = Complex64::new(0.0, omega);
        match self.kind {
            CoilKind::Plain => {
                by[COIL] = jw * theta[COIL].exp();
                by[COIL]
            }
            CoilKind::PowerLaw => {
                let ln_s = Complex64::new((omega / REFERENCE_OMEGA).ln(), FRAC_PI_2);
                let z = (theta[COIL] + theta[COIL + 1] * ln_s).exp();
                by[COIL] = z;
                by[COIL + 1] = z * ln_s;
                z
            }
            CoilKind::Shunted => {
                let series = jw * theta[COIL].exp();
                let (second, shunt) = (jw * theta[COIL + 1].exp(), theta[COIL + 2].exp());
                let sum = second + shunt;
                by[COIL] = series;
                by[COIL + 1] = second * shunt * shunt / (sum * sum);
                by[COIL + 2] = shunt * second * second / (sum * sum);
                series + second * shunt / sum
            }
        }
    }

    /// The coil that the parameters stand for.
    pub(super) fn coil(self, theta: &[f64]) -> VoiceCoil {
        match self.kind {
            CoilKind::Plain => VoiceCoil::Plain { le_h: bare(theta[COIL]) },
            CoilKind::PowerLaw => {
                let n = theta[COIL + 1];
                VoiceCoil::PowerLaw { k_si: (theta[COIL] - n * REFERENCE_OMEGA.ln()).exp(), n }
            }
            CoilKind::Shunted => VoiceCoil::Shunted {
                le_h: bare(theta[COIL]),
                l2_h: theta[COIL + 1].exp(),
                r2_ohm: theta[COIL + 2].exp(),
            },
        }
    }

    /// Starting values of the coil that has about `x_ohm` of impedance at `omega`.
    pub(super) fn coil_starts(self, x_ohm: f64, omega: f64) -> Vec<Vec<f64>> {
        let l = x_ohm / omega;
        match self.kind {
            CoilKind::Plain => vec![vec![l.ln()]],
            CoilKind::PowerLaw => [0.85, 0.6]
                .map(|n| vec![x_ohm.ln() + n * (REFERENCE_OMEGA / omega).ln(), n])
                .to_vec(),
            CoilKind::Shunted => {
                [(0.5, 1.0, 1.0), (0.8, 2.0, 0.15), (0.3, 3.0, 0.5), (0.6, 0.5, 2.0)]
                    .map(|(le, l2, r2)| vec![(le * l).ln(), (l2 * l).ln(), (r2 * x_ohm).ln()])
                    .to_vec()
            }
        }
    }

    /// ln K of a lossy coil by its fitted parameters: ln |Zcoil| at the reference less n times
    /// this.
    pub(super) fn reference_ln() -> f64 {
        REFERENCE_OMEGA.ln()
    }
}

/// ln of an inductance that counts as none, H.
pub(super) const NO_INDUCTANCE_LN: f64 = -30.0;

fn bare(ln_henry: f64) -> f64 {
    if ln_henry <= NO_INDUCTANCE_LN { 0.0 } else { ln_henry.exp() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOAD: Load = Load { mass_kg: 2e-3, stiffness_n_per_m: 900.0 };

    fn some(kind: CoilKind) -> (Shape, Vec<f64>) {
        let mut theta = vec![5.6f64.ln(), (TAU * 78.0).ln(), 4.1f64.ln(), 0.62f64.ln()];
        theta.extend(Shape { kind, weighed: true }.coil_starts(12.0, TAU * 2e4).swap_remove(0));
        theta.push(3.9e-3f64.ln());
        (Shape { kind, weighed: true }, theta)
    }

    #[test]
    fn derivatives_are_those_of_differences() {
        for kind in CoilKind::ALL {
            let (shape, theta) = some(kind);
            for hz in [20.0, 78.0, 300.0, 9000.0] {
                let (_, by) = shape.impedance(&theta, TAU * hz, LOAD);
                for at in 0..shape.len() {
                    let moved = |h: f64| {
                        let mut theta = theta.clone();
                        theta[at] += h;
                        shape.impedance(&theta, TAU * hz, LOAD).0
                    };
                    let difference = (moved(1e-5) - moved(-1e-5)) / 2e-5;
                    assert!((difference - by[at]).norm() < 1e-6, "{kind:?} {hz} Hz, number {at}");
                }
            }
        }
    }
}
