//! Where in a recording the sweep is, and whether player and recorder count time alike.

use super::deconvolve::{Band, divide};
use super::sweep::Sweep;
use super::window::Window;
use nalgebra::{Matrix3, Vector3};
use num_complex::Complex64;
use std::f64::consts::TAU;

/// The sweep as a recording holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Start of the sweep after that of the recording, s.
    pub start_s: f64,
    /// By how much the player's clock is faster than the recorder's.
    pub offset: f64,
    /// Share of the recording's energy that is the sweep, 0 to 1.
    pub share: f64,
}

/// Time around the peak in which all of a compressed sweep must lie, s.
const NEAR_S: f64 = 0.02;

/// Looks for `sweep` in a channel recorded without much filtering: it is compressed by division
/// through the computed sweep. `None` where there is nothing to find.
///
/// A player whose clock is faster by δ plays x(t(1+δ)), which for this sweep is, to first order,
/// a group delay of −δL(ln(f/f₁) + 1): a phase of 2πδL f ln(f/f₁) beside a pure delay, which is
/// fitted by least squares.
pub fn locate(channel: &[f64], sweep: &Sweep) -> Option<Found> {
    let rate_hz = f64::from(sweep.rate_hz);
    let band = Band { low_hz: sweep.from_hz, high_hz: sweep.to_hz };
    let h = divide(channel, &sweep.bare(), rate_hz, band)?;
    let start_s = h.peak_s(-0.2 * sweep.seconds, channel.len() as f64 / rate_hz);
    let share = h.share(start_s - NEAR_S, start_s + NEAR_S);
    let window = Window { before_s: NEAR_S, rise_s: 0.005, after_s: NEAR_S, fall_s: 0.005 };
    let mut near = h.cut(start_s, &window);
    near.start_s -= start_s;
    let low_hz = (4.0 * sweep.from_hz).max(200.0).min(0.4 * sweep.to_hz);
    let step_hz = (0.75 * sweep.to_hz - low_hz) / 511.0;
    let hz: Vec<f64> = (0..512).map(|k| low_hz + step_hz * f64::from(k)).collect();
    let offset = fit(&hz, &near.spectrum(&hz), sweep).unwrap_or(0.0);
    Some(Found { start_s, offset, share })
}

/// Least squares of phase = a + b f + 2πδL f ln(f/f₁), all in units that are near 1.
fn fit(hz: &[f64], values: &[Complex64], sweep: &Sweep) -> Option<f64> {
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    let mut phase = 0.0;
    let mut before = *values.first()?;
    let top_hz = *hz.last()?;
    for (f, v) in hz.iter().zip(values) {
        phase += (v * before.conj()).arg();
        before = *v;
        let row = Vector3::new(1.0, f / top_hz, f / top_hz * (f / top_hz).ln());
        normal += row * row.transpose();
        right += row * phase;
    }
    let solved = normal.lu().solve(&right)?;
    let offset = solved[2] / (TAU * sweep.rise_s() * top_hz);
    offset.is_finite().then_some(offset)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::sweep::tests::SHORT;

    #[test]
    fn start_and_clock_are_found_within_a_microsecond_and_one_in_a_million() {
        for offset in [0.0, 50e-6, -120e-6] {
            let at = |k: u32| SHORT.at((f64::from(k) / 48_000.0 - 0.7) * (1.0 + offset));
            let x: Vec<f64> = (0..170_000).map(at).collect();
            let found = locate(&x, &SHORT).unwrap();
            assert!((found.offset - offset).abs() < 1e-6, "{} for {offset}", found.offset);
            assert!((found.start_s - 0.7).abs() < 1e-3 && found.share > 0.9, "{found:?}");
        }
    }

    #[test]
    fn what_is_no_such_sweep_has_no_share_near_one_moment() {
        let other = Sweep { seconds: 1.5, ..SHORT };
        let found = locate(&other.samples(), &SHORT).unwrap();
        assert!(found.share < 0.3, "{found:?}");
    }
}
