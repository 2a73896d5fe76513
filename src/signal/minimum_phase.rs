//! The phase that belongs to a magnitude, where a system is minimum-phase.
//!
//! H. W. Bode, *Network Analysis and Feedback Amplifier Design* (1945), chapter XIV, gives it as
//! φ(ω₀) = (1/π) ∫ (d ln A/du) ln coth|u/2| du with u = ln(ω/ω₀), for e^{+jωt}. With ln A straight
//! between the points over ln ω, and straight beyond them at stated slopes, each piece has the
//! integral ∫₀ᵛ ln coth(t/2) dt = 2 [χ₂(1) − χ₂(e⁻ᵛ)]: the sum is exact and has no singularity.
//!
//! What is *not* minimum-phase: time of flight, sums of edges and reflections, reversed polarity.

use std::f64::consts::{PI, SQRT_2};

use super::curve::{Curve, CurveError};
use super::interpolate::{LogCubic, log_ratio};

/// χ₂(1) = π²/8.
const CHI2_ONE: f64 = PI * PI / 8.0;

/// Terms of the series of χ₂ below √2 − 1: the first that is left out is under 2e-20.
const TERMS: usize = 22;

/// 1/(2k+1)².
const SERIES: [f64; TERMS] = {
    let mut terms = [0.0; TERMS];
    let mut k = 0;
    while k < TERMS {
        let odd = (2 * k + 1) as f64;
        terms[k] = 1.0 / (odd * odd);
        k += 1;
    }
    terms
};

/// Most points of a curve for which every pair of points is used.
pub const MOST_EXACT: usize = 2000;

/// How the magnitude goes on where it was not measured: as ωᵐ. One is 6.02 dB per octave; a closed
/// box has `low` = 2. A wrong slope costs [`tail_error_rad`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tails {
    /// Slope below the first point.
    pub low: f64,
    /// Slope above the last point; negative where the response falls.
    pub high: f64,
}

impl Tails {
    /// From slopes in dB per octave of rising frequency; 12 counts as the second order's 12.04.
    pub fn from_db_per_octave(low: f64, high: f64) -> Self {
        Self { low: low / 6.0, high: high / 6.0 }
    }
}

/// Legendre's χ₂(x) = Σ x²ᵏ⁺¹/(2k+1)² = (Li₂(x) − Li₂(−x))/2 for −1 ≤ x ≤ 1 (beyond, the value at
/// the end); within 1e-15.
///
/// Above √2 − 1 by L. Lewin, *Polylogarithms and Associated Functions* (1981), section 1.8:
/// χ₂(x) + χ₂((1−x)/(1+x)) = π²/8 + ½ ln x ln((1+x)/(1−x)).
pub fn chi2(x: f64) -> f64 {
    let size = x.abs().min(1.0);
    if size <= SQRT_2 - 1.0 {
        return chi2_series(x);
    }
    if size == 1.0 {
        return CHI2_ONE.copysign(x);
    }
    let other = (1.0 - size) / (1.0 + size);
    (CHI2_ONE - chi2_series(other) - 0.5 * size.ln() * other.ln()).copysign(x)
}

fn chi2_series(x: f64) -> f64 {
    let square = x * x;
    x * SERIES.iter().rev().fold(0.0, |sum, term| sum * square + term)
}

/// Phase error in radians per unit of error in a tail's slope, at a frequency whose distance from
/// that end of the data is `ratio`: f/f_end above, f_end/f below, at most 1. Exact.
pub fn tail_error_rad(ratio: f64) -> f64 {
    2.0 / PI * chi2(ratio)
}

/// ∫ ln coth|t/2| dt from 0 to ln(`f`/`f0`).
fn kernel(f: f64, f0: f64) -> f64 {
    if f >= f0 { 2.0 * (CHI2_ONE - chi2(f0 / f)) } else { -2.0 * (CHI2_ONE - chi2(f / f0)) }
}

/// Minimum phase in radians at each point of a curve, unwrapped (m·90° far below for a low tail m).
///
/// Up to [`MOST_EXACT`] points every pair is used, which takes time as the square of their number.
/// A longer curve is averaged onto that many points even in ln f, and the phase brought back by a
/// monotone cubic.
///
/// # Errors
/// A curve that is not sound, or slopes that are not finite.
pub fn phase_rad(curve: &Curve, tails: Tails) -> Result<Vec<f64>, CurveError> {
    if curve.frequency_hz.len() <= MOST_EXACT {
        return phase_rad_at(curve, tails, &curve.frequency_hz);
    }
    curve.check()?;
    let thinned = thinned(curve, MOST_EXACT);
    let phase = phase_rad_at(&thinned, tails, &thinned.frequency_hz)?;
    let cubic = LogCubic::new(&thinned.frequency_hz, &phase)?;
    Ok(curve.frequency_hz.iter().map(|&f| cubic.at(f)).collect())
}

/// Minimum phase in radians of a curve at any positive frequencies, inside its range or not. Exact
/// for ln A piecewise straight over ln f; takes time as points × frequencies.
///
/// # Errors
/// As [`phase_rad`]; also a frequency that is not finite and positive.
pub fn phase_rad_at(curve: &Curve, tails: Tails, at_hz: &[f64]) -> Result<Vec<f64>, CurveError> {
    curve.check()?;
    for value in [tails.low, tails.high] {
        if !value.is_finite() {
            return Err(CurveError::Number { what: "the slope of a tail", value });
        }
    }
    if let Some(index) = at_hz.iter().position(|f| !(f.is_finite() && *f > 0.0)) {
        return Err(CurveError::Frequency { index, value_hz: at_hz[index] });
    }
    let slopes: Vec<f64> = curve
        .frequency_hz
        .windows(2)
        .zip(curve.magnitude.windows(2))
        .map(|(f, a)| (a[1].ln() - a[0].ln()) / log_ratio(f[0], f[1]))
        .collect();
    let end = 2.0 * CHI2_ONE;
    let one = |&f0: &f64| {
        let mut before = kernel(curve.frequency_hz[0], f0);
        let mut sum = tails.low * (before + end);
        for (slope, &f) in slopes.iter().zip(&curve.frequency_hz[1..]) {
            let here = kernel(f, f0);
            sum += slope * (here - before);
            before = here;
        }
        (sum + tails.high * (end - before)) / PI
    };
    Ok(at_hz.iter().map(one).collect())
}

/// The curve's magnitude on `points` frequencies even in ln f: each the mean of ln A, taken as
/// straight between the points, over its share of the axis.
fn thinned(curve: &Curve, points: usize) -> Curve {
    let (f, last) = (&curve.frequency_hz, curve.frequency_hz.len() - 1);
    let whole = log_ratio(f[0], f[last]);
    let step = whole / (points - 1) as f64;
    let x: Vec<f64> = f.iter().map(|&f_hz| log_ratio(f[0], f_hz)).collect();
    let y: Vec<f64> = curve.magnitude.iter().map(|m| m.ln()).collect();
    let mut area = vec![0.0];
    for i in 0..last {
        area.push(area[i] + 0.5 * (y[i] + y[i + 1]) * (x[i + 1] - x[i]));
    }
    // Integral of ln A from the first point to `to`.
    let integral = |to: f64| {
        let i = x.partition_point(|&x| x <= to).clamp(1, last) - 1;
        let (width, part) = (x[i + 1] - x[i], to - x[i]);
        let here = if width > 0.0 { y[i] + (y[i + 1] - y[i]) * part / width } else { y[i] };
        area[i] + 0.5 * (y[i] + here) * part
    };
    let mean = |k: usize| {
        let centre = step * k as f64;
        let half = (0.5 * step).min(centre).min(whole - centre).max(0.0);
        match k {
            0 => y[0],
            _ if k == points - 1 => y[last],
            _ => (integral(centre + half) - integral(centre - half)) / (2.0 * half),
        }
    };
    let mut frequency_hz: Vec<f64> = (0..points).map(|k| f[0] * (step * k as f64).exp()).collect();
    frequency_hz[points - 1] = f[last];
    let magnitude = (0..points).map(|k| mean(k).exp()).collect();
    Curve { frequency_hz, magnitude, phase_deg: None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The closed forms in Lewin, section 1.8.
    #[test]
    fn chi2_has_its_known_values() {
        let golden = (5f64.sqrt() + 1.0) / 2.0;
        for (x, value) in [
            (0.0, 0.0),
            (1.0, PI * PI / 8.0),
            (SQRT_2 - 1.0, PI * PI / 16.0 - (SQRT_2 + 1.0).ln().powi(2) / 4.0),
            (golden - 1.0, PI * PI / 12.0 - 0.75 * golden.ln().powi(2)),
            (5f64.sqrt() - 2.0, PI * PI / 24.0 - 0.75 * golden.ln().powi(2)),
        ] {
            assert_relative_eq!(chi2(x), value, epsilon = 2e-15);
            assert_relative_eq!(chi2(-x), -value, epsilon = 2e-15);
        }
    }

    #[test]
    fn chi2_is_its_series_within_1e_12_up_to_the_end() {
        let summed = |x: f64| {
            let terms = (4e4 / (1.0 - x).max(1e-3)).min(4e6) as u32;
            let term = |k: u32| x.powi(2 * k as i32 + 1) / f64::from(2 * k + 1).powi(2);
            (0..terms.min(400_000)).rev().map(term).sum::<f64>()
        };
        for x in [1e-9, 0.01, 0.1, 0.3, 0.41, 0.4142, 0.42, 0.5, 0.7, 0.9, 0.99, 0.999, 0.9999] {
            assert!((chi2(x) - summed(x)).abs() < 1e-12, "at {x}");
        }
        // Near one by its own expansion: χ₂(1) − χ₂(e⁻ᵛ) = v/2 (1 + ln 2 − ln v) + v³/72 + …
        for v in [1e-3_f64, 1e-6, 1e-9] {
            let near = 0.5 * v * (1.0 + 2f64.ln() - v.ln()) + v.powi(3) / 72.0;
            assert!((CHI2_ONE - chi2((-v).exp()) - near).abs() < 1e-12, "at 1 - {v}");
        }
    }

    fn evenly(points: usize, magnitude: impl Fn(f64) -> f64) -> Curve {
        let f: Vec<f64> =
            (0..points).map(|k| 10f64.powf(4.0 * k as f64 / (points - 1) as f64)).collect();
        let magnitude = f.iter().map(|&f| magnitude(f)).collect();
        Curve::new(f, magnitude, None).unwrap()
    }

    #[test]
    fn a_power_of_frequency_has_its_quarter_turns_everywhere() {
        let curve = evenly(37, |f| f.powf(1.5));
        let tails = Tails { low: 1.5, high: 1.5 };
        let everywhere = [1e-6, 1.0, 10.0, 123.0, 1e4, 1e9];
        for phase in phase_rad_at(&curve, tails, &everywhere).unwrap() {
            assert_relative_eq!(phase, 0.75 * PI, epsilon = 1e-13);
        }
        for phase in phase_rad(&curve, tails).unwrap() {
            assert_relative_eq!(phase, 0.75 * PI, epsilon = 1e-13);
        }
    }

    #[test]
    fn a_long_curve_is_thinned_without_harm() {
        let resonance = |f: f64| {
            let x = f / 300.0;
            1.0 / ((1.0 - x * x).powi(2) + (x / 5.0).powi(2)).sqrt()
        };
        let tails = Tails { low: 0.0, high: -2.0 };
        let curve = evenly(20_001, resonance);
        for (f, phase) in curve.frequency_hz.iter().zip(phase_rad(&curve, tails).unwrap()) {
            let x = f / 300.0;
            let exact = -(x / 5.0).atan2(1.0 - x * x);
            assert!((phase - exact).abs().to_degrees() < 0.05, "{phase} for {exact} at {f} Hz");
        }
    }

    #[test]
    fn what_cannot_have_a_phase_is_refused() {
        let curve = evenly(5, |_| 1.0);
        let flat = Tails { low: 0.0, high: 0.0 };
        assert!(phase_rad(&curve, Tails { low: f64::NAN, ..flat }).is_err());
        assert!(phase_rad_at(&curve, flat, &[0.0]).is_err());
        let silent = Curve { magnitude: vec![0.0; 5], ..curve };
        assert!(matches!(phase_rad(&silent, flat), Err(CurveError::Magnitude { index: 0, .. })));
    }

    #[test]
    fn slopes_in_decibels_mean_whole_orders() {
        assert_eq!(Tails::from_db_per_octave(12.0, -24.0), Tails { low: 2.0, high: -4.0 });
    }
}
