//! Values between measured points: monotone cubics over the logarithm of frequency, and phase
//! without its jumps.

use std::ops::Range;

use super::curve::CurveError;

/// What stands for a curve where nothing was measured. Phase is held at its end values in every
/// case: it is a stand-in there, whatever the magnitude does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outside {
    /// The end values go on.
    Hold,
    /// The magnitude goes on from its end values along straight lines, in dB per octave of rising
    /// frequency: below a closed box `low_db_per_octave` is +12.
    Slope {
        /// Below the first point.
        low_db_per_octave: f64,
        /// Above the last point.
        high_db_per_octave: f64,
    },
    /// Asking there is an error.
    Refuse,
}

impl Outside {
    /// Whether slopes are finite.
    pub(super) fn check(&self) -> Result<(), CurveError> {
        let Self::Slope { low_db_per_octave, high_db_per_octave } = *self else { return Ok(()) };
        let bad = [low_db_per_octave, high_db_per_octave].into_iter().find(|v| !v.is_finite());
        let what = "a slope outside the data";
        bad.map_or(Ok(()), |value| Err(CurveError::Number { what, value }))
    }

    /// What the level gains at `f_hz` over the end value of data from `from_hz` to `to_hz`, dB.
    pub(super) fn added_db(&self, f_hz: f64, from_hz: f64, to_hz: f64) -> f64 {
        match *self {
            Self::Slope { low_db_per_octave, .. } if f_hz < from_hz => {
                low_db_per_octave * (f_hz / from_hz).log2()
            }
            Self::Slope { high_db_per_octave, .. } if f_hz > to_hz => {
                high_db_per_octave * (f_hz / to_hz).log2()
            }
            _ => 0.0,
        }
    }
}

/// A curve on a grid: one value per grid point.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled<T> {
    /// The values, stand-ins among them.
    pub values: Vec<T>,
    /// Indices of the grid points that the data cover; may be empty.
    pub covered: Range<usize>,
}

/// The monotone piecewise cubic through points, over ln f.
///
/// It has a continuous slope, returns the points themselves, and between two neighbouring points
/// never leaves the range of their two values.
///
/// F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal.
/// 17 (1980) 238-246: slopes of the parabola through three points, set to zero at a turning point
/// and shrunk onto the circle α² + β² = 9 where they exceed it.
#[derive(Debug, Clone, PartialEq)]
pub struct LogCubic {
    x_hz: Vec<f64>,
    y: Vec<f64>,
    /// dy/d(ln f) at each point.
    slope: Vec<f64>,
}

impl LogCubic {
    /// The cubic through `y` at the frequencies `x_hz`.
    ///
    /// # Errors
    /// Fewer than two points, lists of different lengths, frequencies that are not finite, positive
    /// and rising, values that are not finite.
    pub fn new(x_hz: &[f64], y: &[f64]) -> Result<Self, CurveError> {
        let (found, needed) = (x_hz.len(), 2);
        if found < needed {
            return Err(CurveError::TooFewPoints { found, needed });
        }
        if y.len() != found {
            return Err(CurveError::LengthsDiffer { frequencies: found, values: y.len() });
        }
        let below = std::iter::once(0.0).chain(x_hz.iter().copied());
        let rises = |(before, &f): (f64, &f64)| f.is_finite() && f > before;
        if let Some(index) = below.zip(x_hz).position(|pair| !rises(pair)) {
            return Err(CurveError::Frequency { index, value_hz: x_hz[index] });
        }
        if let Some(index) = y.iter().position(|value| !value.is_finite()) {
            return Err(CurveError::Number { what: "a value to interpolate", value: y[index] });
        }
        Ok(Self { x_hz: x_hz.to_vec(), y: y.to_vec(), slope: limited_slopes(x_hz, y) })
    }

    /// The value at a frequency; beyond the ends, the value there.
    pub fn at(&self, f_hz: f64) -> f64 {
        let last = self.x_hz.len() - 1;
        let above = self.x_hz.partition_point(|&x| x <= f_hz);
        if above == 0 {
            return self.y[0];
        }
        if above > last {
            return self.y[last];
        }
        let (i, j) = (above - 1, above);
        let width = log_ratio(self.x_hz[i], self.x_hz[j]);
        let t = (log_ratio(self.x_hz[i], f_hz) / width).clamp(0.0, 1.0);
        let (y0, y1) = (self.y[i], self.y[j]);
        let (d0, d1) = (width * self.slope[i], width * self.slope[j]);
        let rise = y1 - y0;
        let bend = t * (3.0 * rise - 2.0 * d0 - d1 + t * (d0 + d1 - 2.0 * rise));
        // The clamp only takes off the last digit's rounding.
        (y0 + t * (d0 + bend)).clamp(y0.min(y1), y0.max(y1))
    }
}

/// Slopes against ln f at each of at least two points, limited as Fritsch and Carlson have it.
fn limited_slopes(x_hz: &[f64], y: &[f64]) -> Vec<f64> {
    let width: Vec<f64> = x_hz.windows(2).map(|pair| log_ratio(pair[0], pair[1])).collect();
    let steps = y.windows(2).zip(&width);
    let secant: Vec<f64> = steps.map(|(pair, h)| (pair[1] - pair[0]) / h).collect();
    let last = secant.len() - 1;
    let mut slope = Vec::with_capacity(y.len());
    slope.push(end_slope(secant[0], secant.get(1).copied(), width[0], width.get(1).copied()));
    for k in 0..last {
        let inner =
            (width[k + 1] * secant[k] + width[k] * secant[k + 1]) / (width[k] + width[k + 1]);
        slope.push(if secant[k] * secant[k + 1] > 0.0 { inner } else { 0.0 });
    }
    let before = last.checked_sub(1);
    let (s, w) = (before.map(|k| secant[k]), before.map(|k| width[k]));
    slope.push(end_slope(secant[last], s, width[last], w));
    for (k, &s) in secant.iter().enumerate() {
        if s == 0.0 {
            (slope[k], slope[k + 1]) = (0.0, 0.0);
            continue;
        }
        let radius = (slope[k] / s).hypot(slope[k + 1] / s);
        if radius > 3.0 {
            slope[k] *= 3.0 / radius;
            slope[k + 1] *= 3.0 / radius;
        }
    }
    slope
}

/// Slope at an end, of the parabola through it and the two points inside; never against the secant
/// there.
fn end_slope(secant: f64, next: Option<f64>, width: f64, next_width: Option<f64>) -> f64 {
    let (Some(next), Some(next_width)) = (next, next_width) else { return secant };
    let slope = secant + (secant - next) * width / (width + next_width);
    if slope * secant > 0.0 { slope } else { 0.0 }
}

/// ln(`high`/`low`), also where the two agree to the last digit but one; positive for any two
/// different positive numbers in order.
pub(super) fn log_ratio(low: f64, high: f64) -> f64 {
    let excess = (high - low) / low;
    if excess < 1.0 { excess.ln_1p() } else { high.ln() - low.ln() }
}

/// The phases in degrees, whole turns added so that no step is larger than half a turn. The first
/// is kept as it is.
pub fn unwrap_deg(phase_deg: &[f64]) -> Vec<f64> {
    let mut turns = 0.0;
    let mut before = phase_deg.first().copied().unwrap_or_default();
    let mut unwrapped = Vec::with_capacity(phase_deg.len());
    for &phase in phase_deg {
        turns -= ((phase - before) / 360.0).round();
        before = phase;
        unwrapped.push(phase + 360.0 * turns);
    }
    unwrapped
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_straight_line_in_log_frequency_stays_one() {
        let x = [10.0, 20.0, 33.0, 80.0, 1000.0];
        let y: Vec<f64> = x.iter().map(|f: &f64| 3.0 - 2.0 * f.ln()).collect();
        let cubic = LogCubic::new(&x, &y).unwrap();
        for f in [10.0_f64, 15.0, 21.0, 500.0, 1000.0] {
            assert_relative_eq!(cubic.at(f), 3.0 - 2.0 * f.ln(), epsilon = 1e-12);
        }
        assert_eq!((cubic.at(1.0), cubic.at(1e6)), (y[0], y[4]));
    }

    /// Data of Fritsch and Carlson's kind: flat, then a steep rise. A plain cubic overshoots.
    #[test]
    fn a_step_is_not_overshot() {
        let x: Vec<f64> = (0..8).map(|k| f64::from(1 << k)).collect();
        let cubic = LogCubic::new(&x, &[0.0, 0.0, 0.0, 0.1, 9.9, 10.0, 10.0, 10.0]).unwrap();
        let mut before = 0.0;
        for k in 0..=700 {
            let value = cubic.at(2f64.powf(f64::from(k) / 100.0));
            assert!(value >= before && value <= 10.0, "{value} after {before}");
            before = value;
        }
    }

    /// Third-order away from turning points: halving the spacing takes at least 6/8 of the error.
    #[test]
    fn a_smooth_curve_is_met_to_third_order() {
        let truth = |f: f64| (f.ln() * 0.6).exp();
        let worst = |points: i32| {
            let x: Vec<f64> =
                (0..=points).map(|k| (f64::from(k) / f64::from(points)).exp()).collect();
            let y: Vec<f64> = x.iter().map(|&f| truth(f)).collect();
            let cubic = LogCubic::new(&x, &y).unwrap();
            let at = (0..=1000).map(|k| (f64::from(k) / 1000.0).exp());
            at.map(|f| (cubic.at(f) - truth(f)).abs()).fold(0.0, f64::max)
        };
        assert!(worst(20) < worst(10) / 6.0 && worst(40) < 1e-6);
    }

    #[test]
    fn neighbours_in_the_last_digit_do_no_harm() {
        let close = 1000.0_f64.next_up();
        let cubic = LogCubic::new(&[1000.0, close, 2000.0], &[1.0, 2.0, 3.0]).unwrap();
        assert_eq!((cubic.at(1000.0), cubic.at(close)), (1.0, 2.0));
        assert!((2.0..=3.0).contains(&cubic.at(1500.0)));
        let wide = LogCubic::new(&[f64::MIN_POSITIVE, f64::MAX], &[0.0, 1.0]).unwrap();
        assert!((0.4..0.6).contains(&wide.at(1.0)));
    }

    #[test]
    fn what_cannot_be_interpolated_is_refused() {
        assert!(LogCubic::new(&[1.0], &[1.0]).is_err());
        assert!(LogCubic::new(&[1.0, 2.0], &[1.0]).is_err());
        assert!(LogCubic::new(&[2.0, 2.0], &[1.0, 1.0]).is_err());
        assert!(LogCubic::new(&[0.0, 2.0], &[1.0, 1.0]).is_err());
        assert!(LogCubic::new(&[1.0, 2.0], &[1.0, f64::NAN]).is_err());
    }

    #[test]
    fn jumps_of_whole_turns_are_taken_out_and_nothing_else() {
        let wrapped = [170.0, -175.0, -160.0, 160.0, 10.0, -370.0];
        assert_eq!(unwrap_deg(&wrapped), [170.0, 185.0, 200.0, 160.0, 10.0, -10.0]);
        assert_eq!(unwrap_deg(&[]), [0.0; 0]);
    }
}
