//! The time offset between woofer and tweeter from three sweeps at one microphone place: each alone
//! and both together. The delay of the tweeter that makes the two reproduce the third is found.
//!
//! With W and T the single responses (their phases hold whatever delays they were taken with),
//! g |W + T e^{−jωτ}| is fitted to |B| in dB over the band where both matter; the gain g takes up a
//! third sweep that was a little louder. Derived here. Ways exactly in or against phase leave the
//! sign of τ open: the runner-up then fits as well.

use crate::grid::Grid;
use crate::signal::curve::{Curve, CurveError};
use crate::signal::interpolate::Outside;
use crate::units::hertz;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// The delay found, and how sure it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// Delay of the tweeter against what its own curve says, s; positive: the tweeter is later.
    pub delay_s: f64,
    /// Standard error from the curvature of the fit and its residual, s.
    pub standard_error_s: f64,
    /// Whether the tweeter was reversed in the third sweep.
    pub reversed: bool,
    /// Gain of the third sweep over the sum of the others, dB.
    pub gain_db: f64,
    /// Residual of the fit, dB rms.
    pub rms_db: f64,
    /// Residual at the best delay with the other polarity, dB rms: close to `rms_db` means that
    /// the polarity is not certain.
    pub other_polarity_db: f64,
    /// Next best separate minimum: its delay, s, and residual, dB rms, if there is one.
    pub runner_up: Option<(f64, f64)>,
    /// Band that was fitted, Hz.
    pub band_hz: (f64, f64),
}

/// Why no delay can be told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OffsetError {
    /// A single sweep without phase.
    #[error(
        "the {0}'s sweep has no phase: measure it with phase (a phase made from the level holds no time)"
    )]
    NoPhase(&'static str),
    /// A curve that cannot be used.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// The sweeps do not cover one band.
    #[error("the three sweeps share no band: woofer {0}, tweeter {1}, both together {2}")]
    NoBand(String, String, String),
    /// No band where both ways are heard.
    #[error(
        "woofer and tweeter are within {0} dB of each other nowhere from {1} to {2}: take them without the crossover, or closer to it"
    )]
    NoOverlap(f64, String, String),
}

/// A standard error beyond this share of a period in the middle of the band settles nothing.
const LOOSE: f64 = 0.05;
/// Gains of the third sweep beyond this are told, dB.
const LOUDER_DB: f64 = 1.0;
/// Residuals beyond this are told, dB rms: the sweeps do not belong together.
const APART_DB: f64 = 1.0;

impl Offset {
    /// What keeps the delay from being settled, in sentences; empty when nothing does.
    pub fn doubts(&self) -> Vec<String> {
        let mut doubts = Vec::new();
        let near = |rms: f64| rms < 1.25 * self.rms_db + 0.01;
        let micro = |s: f64| crate::units::significant(s * 1e6, 3);
        if let Some((delay_s, rms_db)) = self.runner_up.filter(|r| near(r.1)) {
            doubts.push(format!(
                "a delay of {} µs fits nearly as well ({rms_db:.2} dB rms): the sweeps do not settle which; sweep from another place as well",
                micro(delay_s)
            ));
        }
        if near(self.other_polarity_db) {
            doubts.push("the other polarity fits nearly as well: sweep closer to the crossover, or from another place".into());
        }
        let period_s = 1.0 / (self.band_hz.0 * self.band_hz.1).sqrt();
        if self.standard_error_s > LOOSE * period_s {
            doubts.push(
                "the sweeps determine no delay: its error is as large as a good part of a period"
                    .into(),
            );
        }
        if self.gain_db.abs() > LOUDER_DB {
            doubts.push(format!(
                "the third sweep is {:+.1} dB off the sum of the others: were all three taken with one drive, and is the third the sum?",
                self.gain_db
            ));
        }
        if self.rms_db > APART_DB {
            doubts.push(format!(
                "the sum misses the third sweep by {:.1} dB rms at its best: were all three taken at one place?",
                self.rms_db
            ));
        }
        doubts
    }
}

/// Ways count where they are within this of each other, dB.
const OVERLAP_DB: f64 = 15.0;
/// Narrowest band that is fitted, as a ratio of its ends: a third of an octave.
const NARROWEST: f64 = 1.26;
/// Delays searched, s, either way.
const REACH_S: f64 = 2e-3;
/// Points of the fit's grid.
const POINTS: usize = 400;

/// Fits the delay. All three curves are in Pa (or all in the same unit) and the first two have
/// phase; all were taken at one place with one drive.
///
/// # Errors
/// A curve without phase, curves that do not overlap, or ways that never meet in level.
pub fn fit(woofer: &Curve, tweeter: &Curve, both: &Curve) -> Result<Offset, OffsetError> {
    let curves = [woofer, tweeter, both];
    for (name, curve) in [("woofer", woofer), ("tweeter", tweeter)] {
        if curve.phase_deg.is_none() {
            return Err(OffsetError::NoPhase(name));
        }
    }
    let ends = curves.map(|c| (c.frequency_hz[0], c.frequency_hz[c.frequency_hz.len() - 1]));
    let low = ends.iter().map(|(from, _)| *from).fold(0.0, f64::max);
    let high = ends.iter().map(|(_, to)| *to).fold(f64::INFINITY, f64::min);
    let shared = (high > NARROWEST * low).then(|| Grid::log(low, high, POINTS).ok()).flatten();
    let Some(grid) = shared else {
        let [w, t, b] = ends.map(|(from, to)| format!("{} to {}", hertz(from), hertz(to)));
        return Err(OffsetError::NoBand(w, t, b));
    };
    let w = woofer.complex_on(&grid, Outside::Refuse)?.values;
    let t = tweeter.complex_on(&grid, Outside::Refuse)?.values;
    let b = both.magnitude_on(&grid, Outside::Refuse)?.values;
    let near = |i: &usize| (20.0 * (w[*i].norm() / t[*i].norm()).log10()).abs() < OVERLAP_DB;
    let points: Vec<Point> = (0..grid.len())
        .filter(near)
        .map(|i| Point { omega: TAU * grid.frequency_hz()[i], w: w[i], t: t[i], b: b[i] })
        .collect();
    if points.len() < 8 {
        return Err(OffsetError::NoOverlap(OVERLAP_DB, hertz(low), hertz(high)));
    }
    let (normal, inverted) = (search(&points, 1.0), search(&points, -1.0));
    let reversed = inverted[0].1 < normal[0].1;
    let (minima, other) = if reversed { (inverted, normal) } else { (normal, inverted) };
    let (delay_s, rms_db) = minima[0];
    let sign = if reversed { -1.0 } else { 1.0 };
    Ok(Offset {
        delay_s,
        standard_error_s: standard_error(&points, sign, delay_s, rms_db),
        reversed,
        gain_db: -mean_and_rms_db(&points, sign, delay_s).0,
        rms_db,
        other_polarity_db: other[0].1,
        runner_up: minima.get(1).copied(),
        band_hz: (points[0].omega / TAU, points[points.len() - 1].omega / TAU),
    })
}

/// One frequency of the three sweeps.
struct Point {
    omega: f64,
    w: Complex64,
    t: Complex64,
    b: f64,
}

/// What the sum lacks to the third sweep at a delay, dB.
fn residual_db(point: &Point, sign: f64, delay_s: f64) -> f64 {
    let turned = point.t * Complex64::from_polar(sign, -point.omega * delay_s);
    20.0 * ((point.w + turned).norm().max(1e-9 * point.b) / point.b).log10()
}

/// Mean and scatter of what the sum lacks, dB.
fn mean_and_rms_db(points: &[Point], sign: f64, delay_s: f64) -> (f64, f64) {
    let residuals: Vec<f64> = points.iter().map(|p| residual_db(p, sign, delay_s)).collect();
    let count = residuals.len() as f64;
    let mean = residuals.iter().sum::<f64>() / count;
    let square: f64 = residuals.iter().map(|r| (r - mean).powi(2)).sum();
    (mean, (square / count).sqrt())
}

fn rms_db(points: &[Point], sign: f64, delay_s: f64) -> f64 {
    mean_and_rms_db(points, sign, delay_s).1
}

/// All separate minima over the delays, the deepest first: a scan in steps of an eighth of the
/// shortest period, then golden section.
fn search(points: &[Point], sign: f64) -> Vec<(f64, f64)> {
    let shortest = TAU / points[points.len() - 1].omega;
    let steps = (2.0 * REACH_S / (shortest / 8.0)).ceil() as usize;
    let at = |k: usize| -REACH_S + 2.0 * REACH_S * k as f64 / steps as f64;
    let scan: Vec<f64> = (0..=steps).map(|k| rms_db(points, sign, at(k))).collect();
    let mut minima: Vec<(f64, f64)> = (0..=steps)
        .filter(|&k| {
            let left = k == 0 || scan[k] <= scan[k - 1];
            left && (k == steps || scan[k] < scan[k + 1])
        })
        .map(|k| {
            golden(at(k.saturating_sub(1)), at((k + 1).min(steps)), |d| rms_db(points, sign, d))
        })
        .collect();
    minima.sort_by(|a, b| a.1.total_cmp(&b.1));
    minima
}

fn golden(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> (f64, f64) {
    const SHARE: f64 = 0.618_033_988_749_895;
    for _ in 0..60 {
        let (a, b) = (high - SHARE * (high - low), low + SHARE * (high - low));
        if f(a) < f(b) { high = b } else { low = a }
    }
    let middle = 0.5 * (low + high);
    (middle, f(middle))
}

/// Standard error of the delay: residual over the root of the summed squared slopes, with two
/// parameters fitted. Neighbouring points of a smooth curve are not independent, so this is a lower
/// bound.
fn standard_error(points: &[Point], sign: f64, delay_s: f64, rms_db: f64) -> f64 {
    const STEP_S: f64 = 1e-8;
    let slope = |p: &Point| {
        (residual_db(p, sign, delay_s + STEP_S) - residual_db(p, sign, delay_s - STEP_S))
            / (2.0 * STEP_S)
    };
    let count = points.len() as f64;
    let mean = points.iter().map(slope).sum::<f64>() / count;
    let information: f64 = points.iter().map(|p| (slope(p) - mean).powi(2)).sum();
    (rms_db * (count / (count - 2.0)).sqrt() / information.sqrt()).min(REACH_S)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two smooth ways that meet near 2.5 kHz, the tweeter `delay_s` later and reversed or not.
    fn sweeps(delay_s: f64, sign: f64, gain: f64) -> [Curve; 3] {
        let grid = Grid::log(200.0, 20_000.0, 600).unwrap();
        let way = |f: f64, high: bool| {
            let s = Complex64::new(0.0, f / 2500.0);
            let d = 1.0 + s * std::f64::consts::SQRT_2 + s * s;
            // The ways are neither in phase nor against it, as with real drivers.
            if high { s * s / d } else { 1.0 / (d * (1.0 + 0.4 * s)) }
        };
        let curve = |value: &dyn Fn(f64) -> Complex64| {
            let values: Vec<Complex64> = grid.frequency_hz().iter().map(|f| value(*f)).collect();
            Curve::new(
                grid.frequency_hz().to_vec(),
                values.iter().map(|v| v.norm()).collect(),
                Some(values.iter().map(|v| v.arg().to_degrees()).collect()),
            )
            .unwrap()
        };
        let lag = |f: f64| Complex64::from_polar(sign, -TAU * f * delay_s);
        [
            curve(&|f| way(f, false)),
            curve(&|f| way(f, true)),
            // The third take is louder by a gain that the fit does not know of.
            curve(&|f| (way(f, false) + way(f, true) * lag(f)) * gain),
        ]
    }

    #[test]
    fn a_delay_and_its_polarity_come_back() {
        for (delay_s, sign) in [(52e-6, 1.0), (-118e-6, -1.0), (0.0, -1.0)] {
            let [w, t, b] = sweeps(delay_s, sign, 1.0);
            let found = fit(&w, &t, &b).unwrap();
            assert!((found.delay_s - delay_s).abs() < 2e-7, "{found:?}");
            assert_eq!(found.reversed, sign < 0.0);
        }
    }

    #[test]
    fn a_louder_third_sweep_is_taken_up_by_the_gain() {
        let [w, t, b] = sweeps(52e-6, 1.0, 1.03);
        let found = fit(&w, &t, &b).unwrap();
        assert!((found.delay_s - 52e-6).abs() < 2e-7, "{found:?}");
        assert!((found.gain_db - 0.2567).abs() < 1e-3, "{found:?}");
    }

    #[test]
    fn ways_that_never_meet_are_refused() {
        let [w, t, b] = sweeps(0.0, 1.0, 1.0);
        let quiet = t.scaled(1e-4).unwrap();
        assert!(matches!(fit(&w, &quiet, &b), Err(OffsetError::NoOverlap(..))));
    }
}
