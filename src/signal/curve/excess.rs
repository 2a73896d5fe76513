//! What a measured phase has beyond the minimum phase of its magnitude, and the delay in it.

use super::{Curve, CurveError};
use crate::grid::wrap_deg;
use crate::signal::interpolate::unwrap_deg;
use crate::signal::minimum_phase::{self, Tails};

/// A step of the excess phase above which whole turns may have been lost, degrees.
const UNSURE_DEG: f64 = 135.0;

/// A straight line through the excess phase against frequency, by least squares, every point
/// counting the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExcessDelay {
    /// Delay, s: the slope of the line, −dφ/dω.
    pub delay_s: f64,
    /// Standard error of the delay from the scatter about the line, s.
    pub standard_error_s: f64,
    /// Where the line meets 0 Hz, degrees within half a turn: near 0, or near ±180 for reversed
    /// polarity; anything else says that the rest is not a delay alone.
    pub at_zero_deg: f64,
    /// Scatter about the line, rms, degrees.
    pub rms_deg: f64,
    /// Points that the line was drawn through.
    pub points: usize,
}

impl Curve {
    /// Measured phase less minimum phase at each point, degrees, unwrapped from the first point
    /// on. A pure delay is −360 f τ.
    ///
    /// # Errors
    /// No phase, a curve that is not sound, or slopes that are not finite.
    pub fn excess_phase_deg(&self, tails: Tails) -> Result<Vec<f64>, CurveError> {
        let measured = self.phase_deg.as_ref().ok_or(CurveError::NoPhase)?;
        let minimum = minimum_phase::phase_rad(self, tails)?;
        let excess = measured.iter().zip(minimum).map(|(m, p)| m - p.to_degrees());
        Ok(unwrap_deg(&excess.collect::<Vec<f64>>()))
    }

    /// The delay in the excess phase of the points within `low_hz..=high_hz`.
    ///
    /// # Errors
    /// As [`Curve::excess_phase_deg`]; fewer than three points in the band; or an excess phase
    /// that turns so far between points that whole turns may be lost.
    pub fn excess_delay(
        &self,
        tails: Tails,
        low_hz: f64,
        high_hz: f64,
    ) -> Result<ExcessDelay, CurveError> {
        let excess = self.excess_phase_deg(tails)?;
        let pairs = self.frequency_hz.iter().copied().zip(excess);
        let points: Vec<_> = pairs.filter(|(f, _)| (low_hz..=high_hz).contains(f)).collect();
        for pair in points.windows(2) {
            let turn_deg = (pair[1].1 - pair[0].1).abs();
            if turn_deg > UNSURE_DEG {
                return Err(CurveError::Turning { at_hz: pair[1].0, turn_deg });
            }
        }
        line_through(&points)
    }
}

/// The line through points of frequency (Hz) and phase (degrees).
fn line_through(points: &[(f64, f64)]) -> Result<ExcessDelay, CurveError> {
    let (found, needed) = (points.len(), 3);
    if found < needed {
        return Err(CurveError::TooFewPoints { found, needed });
    }
    let count = found as f64;
    let mean_f = points.iter().map(|(f, _)| f).sum::<f64>() / count;
    let mean_p = points.iter().map(|(_, p)| p).sum::<f64>() / count;
    let spread: f64 = points.iter().map(|(f, _)| (f - mean_f).powi(2)).sum();
    let together: f64 = points.iter().map(|(f, p)| (f - mean_f) * (p - mean_p)).sum();
    let slope = together / spread;
    let left = points.iter().map(|(f, p)| (p - mean_p - slope * (f - mean_f)).powi(2));
    let left: f64 = left.sum();
    Ok(ExcessDelay {
        delay_s: -slope / 360.0,
        standard_error_s: (left / (count - 2.0) / spread).sqrt() / 360.0,
        at_zero_deg: wrap_deg(mean_p - slope * mean_f),
        rms_deg: (left / count).sqrt(),
        points: found,
    })
}
