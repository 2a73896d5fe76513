//! The methods of paper and pencil, as a cross-check of the fit.

use super::IdentifyError;
use super::start::{self, Peak};
use crate::model::coil::VoiceCoil;
use crate::signal::curve::Curve;
use num_complex::Complex64;

/// The three-frequency method (Small 1972, *J. Audio Eng. Soc.* 20, 383, cited from memory; steps
/// as restated by Pierce 2003): r0 = Zmax/Re; f1 < fs < f2 where |Z| = Re √r0; fs = √(f1 f2),
/// Qms = fs √r0/(f2 − f1), Qes = Qms/(r0 − 1), Qts = Qms/r0.
///
/// Exact for a driver without voice-coil inductance only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreeFrequency {
    /// Zmax/Re.
    pub r0: f64,
    /// Lower frequency, Hz.
    pub f1_hz: f64,
    /// Upper frequency, Hz.
    pub f2_hz: f64,
    /// Resonance, Hz.
    pub fs_hz: f64,
    /// Mechanical Q.
    pub qms: f64,
    /// Electrical Q.
    pub qes: f64,
    /// Total Q.
    pub qts: f64,
}

impl ThreeFrequency {
    /// From readings: Re and the highest magnitude (Ω), and the frequencies (Hz) at which
    /// the magnitude is [`Self::level_ohm`].
    pub fn from_readings(re_ohm: f64, zmax_ohm: f64, f1_hz: f64, f2_hz: f64) -> Self {
        let r0 = zmax_ohm / re_ohm;
        let fs_hz = (f1_hz * f2_hz).sqrt();
        let qms = fs_hz * r0.sqrt() / (f2_hz - f1_hz);
        Self { r0, f1_hz, f2_hz, fs_hz, qms, qes: qms / (r0 - 1.0), qts: qms / r0 }
    }

    /// The magnitude to look for at f1 and f2: √(Re Zmax), Ω.
    pub fn level_ohm(re_ohm: f64, zmax_ohm: f64) -> f64 {
        (re_ohm * zmax_ohm).sqrt()
    }

    /// By search on a smooth magnitude (Ω against Hz) whose highest point is within a factor of
    /// 1.6 of `near_hz`; `None` where it does not fall to the level on both sides within a
    /// factor of 30.
    pub fn of_model(magnitude: impl Fn(f64) -> f64, re_ohm: f64, near_hz: f64) -> Option<Self> {
        let top_hz = highest(near_hz / 1.6, near_hz * 1.6, &magnitude);
        let zmax = magnitude(top_hz);
        let level = Self::level_ohm(re_ohm, zmax);
        let side = |end_hz: f64| {
            let (mut inner, mut outer) = (top_hz.ln(), end_hz.ln());
            for _ in 0..80 {
                let middle = 0.5 * (inner + outer);
                if magnitude(middle.exp()) > level { inner = middle } else { outer = middle }
            }
            inner.exp()
        };
        // The first place below the level: the coil may rise above it again.
        let step = |up: bool| {
            let at = |k: i32| top_hz * 1.05f64.powi(if up { k } else { -k });
            (1..=70).map(at).find(|&hz| magnitude(hz) <= level)
        };
        Some(Self::from_readings(re_ohm, zmax, side(step(false)?), side(step(true)?)))
    }

    /// On a measured curve: the top by a parabola through the highest point and its neighbours,
    /// the sides by interpolation. `None` where the curve has no peak or misses a side.
    pub fn of_curve(curve: &Curve, re_ohm: f64) -> Option<Self> {
        let peak = start::peak(curve)?;
        let zmax = parabola_top(curve, peak);
        if zmax <= re_ohm {
            return None;
        }
        let (f1, f2) = start::flanks(curve, peak, Self::level_ohm(re_ohm, zmax));
        Some(Self::from_readings(re_ohm, zmax, f1?, f2?))
    }
}

/// Highest value of ln|Z| of a parabola in ln f through the peak and its neighbours, Ω.
fn parabola_top(curve: &Curve, peak: Peak) -> f64 {
    let i = peak.index;
    if i == 0 || i + 1 >= curve.magnitude.len() {
        return peak.ohm;
    }
    let x = |k: usize| (curve.frequency_hz[k] / peak.hz).ln();
    let y = |k: usize| (curve.magnitude[k] / peak.ohm).ln();
    let (xl, xr, yl, yr) = (x(i - 1), x(i + 1), y(i - 1), y(i + 1));
    let bend = (yr / xr - yl / xl) / (xr - xl);
    let slope = yl / xl - bend * xl;
    if bend < 0.0 { peak.ohm * (-slope * slope / (4.0 * bend)).exp() } else { peak.ohm }
}

/// Place of the highest value between two frequencies, by golden sections of ln f.
fn highest(low_hz: f64, high_hz: f64, f: impl Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (low_hz.ln(), high_hz.ln());
    for _ in 0..60 {
        let (c, d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
        if f(c.exp()) > f(d.exp()) { b = d } else { a = c }
    }
    (0.5 * (a + b)).exp()
}

/// Moving mass from the resonance without and with `mass_kg` on the cone, kg:
/// Mms = m/((fs/fs′)² − 1). Common practice, derived here.
///
/// # Errors
/// A resonance that the mass does not lower.
pub fn added_mass_kg(fs_hz: f64, loaded_hz: f64, mass_kg: f64) -> Result<f64, IdentifyError> {
    let ratio = fs_hz / loaded_hz;
    if !(ratio > 1.0 && ratio.is_finite() && mass_kg > 0.0) {
        return Err(IdentifyError::NotLowered { free_hz: fs_hz, loaded_hz });
    }
    Ok(mass_kg / (ratio * ratio - 1.0))
}

/// d ln Mms/d ln fs of [`added_mass_kg`], negative; by the loaded resonance it is the opposite.
pub fn added_mass_sensitivity(fs_hz: f64, loaded_hz: f64) -> f64 {
    let square = (fs_hz / loaded_hz).powi(2);
    -2.0 * square / (square - 1.0)
}

/// Equivalent volume from resonance (Hz) and electrical Q in free air and in a tight box of
/// `volume_m3`, m³: Vas = Vb (fc Qec/(fs Qes) − 1), which a change of the air's mass does not
/// disturb (Small 1972, as restated by Pierce 2003).
pub fn sealed_volume_m3(fs_hz: f64, qes: f64, fc_hz: f64, qec: f64, volume_m3: f64) -> f64 {
    volume_m3 * (fc_hz * qec / (fs_hz * qes) - 1.0)
}

/// A lossy coil through two points of the blocked impedance (ω in rad/s, Z − Re in Ω):
/// n = ln(|Za|/|Zb|)/ln(ωa/ωb), K = |Za|/ωaⁿ (Leach 2002, *J. Audio Eng. Soc.* 50, 442).
pub fn power_law_through(a: (f64, Complex64), b: (f64, Complex64)) -> VoiceCoil {
    let n = (a.1.norm() / b.1.norm()).ln() / (a.0 / b.0).ln();
    VoiceCoil::PowerLaw { k_si: a.1.norm() / a.0.powf(n), n }
}
