//! From the fitted numbers to the parameters people know, each with its standard error.

use super::model::{COIL, OMEGA_S, QES, QMS, RE, Shape};
use super::solve::Fit;
use super::{CoilKind, Request};
use crate::model::driver::Motor;
use std::f64::consts::TAU;

/// A relative standard error above this is told as none: the sweeps do not see the parameter.
const UNDETERMINED: f64 = 10.0;

/// One parameter of a driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameter {
    /// Its key, with the unit: `re_ohm`, `fs_hz`, `qms`, `qes`, `qts`; `le_h`, `k_si`, `n`,
    /// `l2_h`, `r2_ohm`; `mms_kg`, `cms_m_per_n`, `rms_kg_per_s`, `bl_t_m`, `vas_m3`.
    pub key: &'static str,
    /// Its symbol, as the trade writes it.
    pub symbol: &'static str,
    /// Value, SI units.
    pub value: f64,
    /// Standard error (one sigma) from the noise of the sweeps, in the value's unit; 0 for
    /// what is held, `None` for what the sweeps do not determine.
    pub standard_error: Option<f64>,
    /// Held at a stated value or at the bound of its range.
    pub held: bool,
}

impl Parameter {
    /// Standard error relative to the value; infinite where it is not determined.
    pub fn relative_error(&self) -> f64 {
        self.standard_error.map_or(f64::INFINITY, |e| e / self.value.abs().max(f64::MIN_POSITIVE))
    }
}

/// A value, and how its logarithm (or it itself, where `linear`) changes with the fitted numbers.
struct Draft<'a> {
    key: &'static str,
    symbol: &'static str,
    value: f64,
    linear: bool,
    slopes: &'a [(usize, f64)],
}

impl Draft<'_> {
    /// Error propagation to first order.
    fn finish(&self, fit: &Fit) -> Parameter {
        let mut variance = 0.0;
        for (i, a) in self.slopes {
            for (j, b) in self.slopes {
                variance += a * b * fit.covariance[(*i, *j)];
            }
        }
        let error = variance.max(0.0).sqrt() * if self.linear { 1.0 } else { self.value.abs() };
        let seen = error.is_finite() && error <= UNDETERMINED * self.value.abs();
        let held = self.slopes.iter().all(|(at, _)| !fit.free.contains(at));
        Parameter {
            key: self.key,
            symbol: self.symbol,
            value: self.value,
            standard_error: seen.then_some(error),
            held,
        }
    }
}

/// All parameters of a fit.
pub(super) fn parameters(fit: &Fit, request: &Request) -> Vec<Parameter> {
    let mut all = resonator(fit);
    all.extend(coil(fit));
    all.extend(elements(fit, request));
    all
}

fn one(
    fit: &Fit,
    key: &'static str,
    symbol: &'static str,
    value: f64,
    slopes: &[(usize, f64)],
) -> Parameter {
    Draft { key, symbol, value, linear: false, slopes }.finish(fit)
}

fn resonator(fit: &Fit) -> Vec<Parameter> {
    let value = |at: usize| fit.theta[at].exp();
    let (qms, qes) = (value(QMS), value(QES));
    let qts = 1.0 / (1.0 / qms + 1.0 / qes);
    vec![
        one(fit, "re_ohm", "Re", value(RE), &[(RE, 1.0)]),
        one(fit, "fs_hz", "fs", value(OMEGA_S) / TAU, &[(OMEGA_S, 1.0)]),
        one(fit, "qms", "Qms", qms, &[(QMS, 1.0)]),
        one(fit, "qes", "Qes", qes, &[(QES, 1.0)]),
        // 1/Qts = 1/Qms + 1/Qes
        one(fit, "qts", "Qts", qts, &[(QMS, qts / qms), (QES, qts / qes)]),
    ]
}

fn coil(fit: &Fit) -> Vec<Parameter> {
    use crate::model::coil::VoiceCoil;
    let (first, second, third) = (COIL, COIL + 1, COIL + 2);
    match fit.shape.coil(&fit.theta) {
        VoiceCoil::Plain { le_h } => vec![one(fit, "le_h", "Le", le_h, &[(first, 1.0)])],
        VoiceCoil::PowerLaw { k_si, n } => {
            let slopes = [(second, 1.0)];
            let exponent = Draft { key: "n", symbol: "n", value: n, linear: true, slopes: &slopes };
            let slopes = [(first, 1.0), (second, -Shape::reference_ln())];
            vec![one(fit, "k_si", "K", k_si, &slopes), exponent.finish(fit)]
        }
        VoiceCoil::Shunted { le_h, l2_h, r2_ohm } => vec![
            one(fit, "le_h", "Le", le_h, &[(first, 1.0)]),
            one(fit, "l2_h", "L2", l2_h, &[(second, 1.0)]),
            one(fit, "r2_ohm", "R2", r2_ohm, &[(third, 1.0)]),
        ],
    }
}

/// Mms = M, Cms = 1/(ωs² M), Rms = ωs M/Qms, Bl = √(ωs M Re/Qes), Vas = ρc² Sd² Cms (Small 1972).
fn elements(fit: &Fit, request: &Request) -> Vec<Parameter> {
    let (Some(m), Some(motor)) = (fit.shape.mass(), motor(fit, request)) else {
        return Vec::new();
    };
    let vas_m3 = motor.vas_m3(&request.air);
    let spring = [(OMEGA_S, -2.0), (m, -1.0)];
    let loss = [(OMEGA_S, 1.0), (m, 1.0), (QMS, -1.0)];
    let force = [(OMEGA_S, 0.5), (m, 0.5), (RE, 0.5), (QES, -0.5)];
    vec![
        one(fit, "mms_kg", "Mms", motor.mms_kg, &[(m, 1.0)]),
        one(fit, "cms_m_per_n", "Cms", motor.cms_m_per_n, &spring),
        one(fit, "rms_kg_per_s", "Rms", motor.rms_kg_per_s, &loss),
        one(fit, "bl_t_m", "Bl", motor.bl_t_m, &force),
        one(fit, "vas_m3", "Vas", vas_m3, &spring),
    ]
}

/// The elements; `None` where nothing weighs the cone.
pub(super) fn motor(fit: &Fit, request: &Request) -> Option<Motor> {
    let mms_kg = fit.theta[fit.shape.mass()?].exp();
    let [re_ohm, omega_s, qms, qes] = [RE, OMEGA_S, QMS, QES].map(|at| fit.theta[at].exp());
    Some(Motor {
        re_ohm,
        bl_t_m: (omega_s * mms_kg * re_ohm / qes).sqrt(),
        mms_kg,
        cms_m_per_n: 1.0 / (omega_s * omega_s * mms_kg),
        rms_kg_per_s: omega_s * mms_kg / qms,
        sd_m2: request.sd_m2,
    })
}

/// Symbol of the fitted number at `at`, for words about bounds.
pub(super) fn symbol(shape: Shape, at: usize) -> &'static str {
    match (shape.kind, at) {
        (CoilKind::PowerLaw, _) if at == COIL + 1 => "n",
        _ => "Le",
    }
}
