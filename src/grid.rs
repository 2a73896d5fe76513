//! The shared frequency axis and the complex spectra that live on it.
//!
//! A [`Grid`] is made once per analysis and shared by [`Arc`]. A [`Spectrum`] is one complex
//! sample per grid point, tagged with the quantity it holds, so that impedances cannot be summed
//! with pressures by mistake. Decibels, degrees and delays are views; they are never stored.
//!
//! Time factor e^{+jωt}: inductance and mass are +jω, a delay is a negative phase.

use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::marker::PhantomData;
use std::sync::Arc;

/// The level that an exact null is given, in dB, in every output.
pub const FLOOR_DB: f64 = -200.0;

/// A frequency axis: finite, positive, strictly rising frequencies in Hz.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    frequency_hz: Vec<f64>,
}

/// Why a frequency axis cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GridError {
    /// Too few points for the axis asked for.
    #[error("too few points: found {0}; an axis from a list needs 1, an even axis 2")]
    TooFewPoints(usize),
    /// A frequency that is not finite and positive, or not above the one before it.
    #[error("frequencies must be finite, positive and rising; point {index} is {value_hz} Hz")]
    NotRising {
        /// Index of the offending point, from 0.
        index: usize,
        /// Its value, in Hz.
        value_hz: f64,
    },
}

impl Grid {
    /// `points` frequencies from `start_hz` to `stop_hz`, both ends included exactly, spaced
    /// evenly in the logarithm.
    ///
    /// # Errors
    /// Fewer than two points, or ends that are not 0 < start < stop < ∞.
    pub fn log(start_hz: f64, stop_hz: f64, points: usize) -> Result<Arc<Self>, GridError> {
        if points < 2 {
            return Err(GridError::TooFewPoints(points));
        }
        let ratio = (stop_hz / start_hz).ln();
        let last = points - 1;
        let mut frequency_hz: Vec<f64> =
            (0..points).map(|k| start_hz * (ratio * k as f64 / last as f64).exp()).collect();
        frequency_hz[last] = stop_hz;
        Self::from_points(frequency_hz)
    }

    /// The audible band, 20 Hz to 20 kHz.
    ///
    /// # Errors
    /// Fewer than two points.
    pub fn audible(points: usize) -> Result<Arc<Self>, GridError> {
        Self::log(20.0, 20_000.0, points)
    }

    /// An axis of given frequencies in Hz.
    ///
    /// # Errors
    /// No point at all, or frequencies that are not finite, positive and rising.
    pub fn from_points(frequency_hz: Vec<f64>) -> Result<Arc<Self>, GridError> {
        if frequency_hz.is_empty() {
            return Err(GridError::TooFewPoints(0));
        }
        let mut before_hz = 0.0;
        for (index, &value_hz) in frequency_hz.iter().enumerate() {
            if !(value_hz.is_finite() && value_hz > before_hz) {
                return Err(GridError::NotRising { index, value_hz });
            }
            before_hz = value_hz;
        }
        Ok(Arc::new(Self { frequency_hz }))
    }

    /// The frequencies, in Hz.
    pub fn frequency_hz(&self) -> &[f64] {
        &self.frequency_hz
    }

    /// Number of points.
    pub fn len(&self) -> usize {
        self.frequency_hz.len()
    }

    /// Always false: an axis has points.
    pub fn is_empty(&self) -> bool {
        self.frequency_hz.is_empty()
    }

    /// Angular frequencies ω = 2πf, in rad/s, in order.
    pub fn omega(&self) -> impl Iterator<Item = f64> + '_ {
        self.frequency_hz.iter().map(|f| TAU * f)
    }

    /// Lowest frequency, in Hz.
    pub fn start_hz(&self) -> f64 {
        self.frequency_hz[0]
    }

    /// Highest frequency, in Hz.
    pub fn stop_hz(&self) -> f64 {
        self.frequency_hz[self.len() - 1]
    }

    /// Indices of the points within `low_hz..=high_hz`; may be empty.
    pub fn within(&self, low_hz: f64, high_hz: f64) -> std::ops::Range<usize> {
        let from = self.frequency_hz.partition_point(|&f| f < low_hz * (1.0 - 1e-12));
        let to = self.frequency_hz.partition_point(|&f| f <= high_hz * (1.0 + 1e-12));
        from..to.max(from)
    }
}

/// Quantity tag: electrical impedance, Ω.
#[derive(Debug, Clone, Copy)]
pub enum Ohms {}
/// Quantity tag: a transfer ratio, V/V.
#[derive(Debug, Clone, Copy)]
pub enum Ratio {}
/// Quantity tag: sound pressure, Pa (rms).
#[derive(Debug, Clone, Copy)]
pub enum Pascals {}
/// Quantity tag: acoustic impedance, Pa·s/m³.
#[derive(Debug, Clone, Copy)]
pub enum AcousticOhms {}
/// Quantity tag: volume velocity per volt at the driver's terminals, m³/s/V.
#[derive(Debug, Clone, Copy)]
pub enum FlowPerVolt {}
/// Quantity tag: pressure at a seat per volt at the driver's terminals, Pa/V.
#[derive(Debug, Clone, Copy)]
pub enum PascalsPerVolt {}

/// One complex sample per grid point; `Q` says of what.
#[derive(Debug, Clone)]
pub struct Spectrum<Q> {
    grid: Arc<Grid>,
    values: Vec<Complex64>,
    quantity: PhantomData<Q>,
}

/// Electrical impedance against frequency, Ω.
pub type Impedance = Spectrum<Ohms>;
/// Voltage transfer against frequency, V/V.
pub type Transfer = Spectrum<Ratio>;
/// Sound pressure against frequency, Pa (rms).
pub type Pressure = Spectrum<Pascals>;
/// Acoustic impedance against frequency, Pa·s/m³.
pub type AcousticImpedance = Spectrum<AcousticOhms>;
/// Volume velocity per volt against frequency, m³/s/V.
pub type Flow = Spectrum<FlowPerVolt>;
/// Pressure per volt at the driver's terminals against frequency, Pa/V.
pub type Sensitivity = Spectrum<PascalsPerVolt>;

impl<Q> Spectrum<Q> {
    /// Evaluates `value` at each angular frequency (rad/s) of the grid.
    pub fn from_fn(grid: &Arc<Grid>, mut value: impl FnMut(f64) -> Complex64) -> Self {
        let values = grid.omega().map(&mut value).collect();
        Self { grid: Arc::clone(grid), values, quantity: PhantomData }
    }

    /// Wraps samples that were computed on `grid`.
    ///
    /// # Panics
    /// If the number of values is not the number of grid points: a programming error.
    pub fn from_values(grid: &Arc<Grid>, values: Vec<Complex64>) -> Self {
        assert_eq!(grid.len(), values.len(), "a spectrum has one value per grid point");
        Self { grid: Arc::clone(grid), values, quantity: PhantomData }
    }

    /// The axis.
    pub fn grid(&self) -> &Arc<Grid> {
        &self.grid
    }

    /// The complex samples, one per grid point.
    pub fn values(&self) -> &[Complex64] {
        &self.values
    }

    /// Each sample through `change(ω, value)`; the quantity stays the same.
    pub fn map(&self, mut change: impl FnMut(f64, Complex64) -> Complex64) -> Self {
        let values = self.grid.omega().zip(&self.values).map(|(w, &v)| change(w, v)).collect();
        Self { grid: Arc::clone(&self.grid), values, quantity: PhantomData }
    }

    /// Each sample through `join(own, other)` with that of another spectrum on the same grid.
    pub fn map_with<R>(
        &self,
        other: &Spectrum<R>,
        mut join: impl FnMut(Complex64, Complex64) -> Complex64,
    ) -> Self {
        let pairs = self.values.iter().zip(&other.values);
        Self::from_values(&self.grid, pairs.map(|(&a, &b)| join(a, b)).collect())
    }

    /// This spectrum plus `sign` times the other.
    pub fn plus(&self, other: &Self, sign: f64) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(a, b)| a + b * sign).collect();
        Self::from_values(&self.grid, values)
    }

    /// Magnitude of each sample, in the quantity's own unit.
    pub fn magnitude(&self) -> Vec<f64> {
        self.values.iter().map(|v| v.norm()).collect()
    }

    /// Phase of each sample, wrapped to (−180°, 180°].
    pub fn phase_deg(&self) -> Vec<f64> {
        self.values.iter().map(|v| v.arg().to_degrees()).collect()
    }

    /// Level of each sample, 20 log10(|v|/`reference`), never below [`FLOOR_DB`].
    pub fn level_db(&self, reference: f64) -> Vec<f64> {
        self.values.iter().map(|v| level_db(v.norm(), reference)).collect()
    }

    /// Group delay −dφ/dω at each point, in seconds: the slope of the parabola through three
    /// neighbouring points of the phase (one-sided at the ends). The phase may turn by up to
    /// 180° from point to point.
    pub fn group_delay_s(&self) -> Vec<f64> {
        let omega: Vec<f64> = self.grid.omega().collect();
        let mut phase = vec![0.0; self.values.len()];
        for i in 1..phase.len() {
            phase[i] = phase[i - 1] + turn(self.values[i - 1], self.values[i]);
        }
        (0..phase.len()).map(|i| -slope(&omega, &phase, i)).collect()
    }
}

impl Spectrum<Ohms> {
    /// Smallest magnitude within `low_hz..=high_hz`: `(Ω, Hz)`; `None` if no point lies there.
    pub fn lowest(&self, low_hz: f64, high_hz: f64) -> Option<(f64, f64)> {
        let range = self.grid.within(low_hz, high_hz);
        let at = range.min_by(|&a, &b| self.values[a].norm().total_cmp(&self.values[b].norm()))?;
        Some((self.values[at].norm(), self.grid.frequency_hz[at]))
    }
}

impl Spectrum<Ratio> {
    /// Two transfers one after the other.
    pub fn then(&self, next: &Self) -> Self {
        let values = self.values.iter().zip(&next.values).map(|(a, b)| a * b).collect();
        Self::from_values(&self.grid, values)
    }
}

impl Spectrum<PascalsPerVolt> {
    /// Pressure for `drive_v` volts (rms; negative for reversed terminals) behind `transfer`.
    pub fn driven(&self, transfer: &Transfer, drive_v: f64) -> Pressure {
        let pairs = self.values.iter().zip(&transfer.values);
        Spectrum::from_values(&self.grid, pairs.map(|(p, h)| p * h * drive_v).collect())
    }
}

impl Spectrum<Pascals> {
    /// This pressure with the travel time over `distance_m` at `c_m_per_s` taken out.
    pub fn without_travel(&self, distance_m: f64, c_m_per_s: f64) -> Self {
        self.map(|omega, p| p * Complex64::from_polar(1.0, omega * distance_m / c_m_per_s))
    }
}

/// 20 log10(`amplitude`/`reference`), never below [`FLOOR_DB`] (the level of an exact null).
pub fn level_db(amplitude: f64, reference: f64) -> f64 {
    (20.0 * (amplitude / reference).log10()).max(FLOOR_DB)
}

/// Phase step from `a` to `b` in radians, within ±π; zero where either is zero.
fn turn(a: Complex64, b: Complex64) -> f64 {
    (b * a.conj()).arg()
}

/// An angle in degrees brought into (−180, 180].
pub fn wrap_deg(angle_deg: f64) -> f64 {
    let turned = angle_deg.to_radians();
    let wrapped = turned - TAU * ((turned + PI) / TAU).floor();
    let degrees = wrapped.to_degrees();
    if degrees <= -180.0 { 180.0 } else { degrees }
}

/// Derivative of the parabola through points `i−1, i, i+1` at point `i` (shifted inwards at the
/// ends; a straight line where there are only two points).
fn slope(x: &[f64], y: &[f64], i: usize) -> f64 {
    let n = x.len();
    if n < 2 {
        return 0.0;
    }
    if n == 2 {
        return (y[1] - y[0]) / (x[1] - x[0]);
    }
    let m = i.clamp(1, n - 2);
    let (h0, h1) = (x[m] - x[m - 1], x[m + 1] - x[m]);
    let (d0, d1) = ((y[m] - y[m - 1]) / h0, (y[m + 1] - y[m]) / h1);
    let curvature = (d1 - d0) / (h0 + h1);
    let at_middle = d0 + curvature * h0;
    at_middle + 2.0 * curvature * (x[i] - x[m])
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_log_grid_includes_both_ends_exactly() {
        let grid = Grid::audible(480).unwrap();
        assert_eq!((grid.start_hz(), grid.stop_hz(), grid.len()), (20.0, 20_000.0, 480));
    }

    #[test]
    fn a_grid_refuses_what_does_not_rise() {
        assert_eq!(Grid::log(20.0, 2e4, 1), Err(GridError::TooFewPoints(1)));
        assert!(Grid::log(100.0, 20.0, 8).is_err());
        assert!(Grid::log(f64::NAN, 20.0, 8).is_err());
        assert!(Grid::from_points(vec![20.0, f64::INFINITY]).is_err());
    }

    #[test]
    fn a_pure_delay_has_that_group_delay_although_its_phase_wraps() {
        let grid = Grid::audible(480).unwrap();
        let delay_s = 0.0004;
        let s: Transfer = Spectrum::from_fn(&grid, |w| Complex64::from_polar(1.0, -w * delay_s));
        for got in s.group_delay_s() {
            assert_relative_eq!(got, delay_s, max_relative = 1e-9);
        }
    }

    #[test]
    fn an_exact_null_is_the_floor_and_not_minus_infinity() {
        assert_eq!(level_db(0.0, 1.0), FLOOR_DB);
    }

    #[test]
    fn wrapping_keeps_angles_and_folds_turns() {
        for (angle, expected) in [(0.0, 0.0), (190.0, -170.0), (-190.0, 170.0), (720.5, 0.5)] {
            assert_relative_eq!(wrap_deg(angle), expected, epsilon = 1e-9);
        }
        assert_eq!(wrap_deg(180.0).abs(), 180.0);
    }
}
