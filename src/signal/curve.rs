//! A curve as it was measured: on its own frequencies, with or without phase.
//!
//! ```
//! use slabtone::grid::Grid;
//! use slabtone::signal::curve::Curve;
//! use slabtone::signal::interpolate::Outside;
//! use slabtone::signal::minimum_phase::Tails;
//!
//! // A first-order low-pass at 1 kHz, magnitude only.
//! let frequency_hz: Vec<f64> = (0..200).map(|k| 20.0 * 1.04_f64.powi(k)).collect();
//! let magnitude = frequency_hz.iter().map(|f| 1.0 / (1.0 + f * f * 1e-6).sqrt()).collect();
//! let measured = Curve::new(frequency_hz, magnitude, None)?;
//! let whole = measured.to_minimum_phase(Tails { low: 0.0, high: -1.0 })?;
//! let grid = Grid::from_points(vec![1000.0])?;
//! let at_1_khz = whole.complex_on(&grid, Outside::Refuse)?.values[0];
//! assert!((at_1_khz.arg().to_degrees() + 45.0).abs() < 0.1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod excess;
mod splice;
#[cfg(test)]
mod tests;

pub use excess::ExcessDelay;
pub use splice::Splice;

use num_complex::Complex64;

use super::interpolate::{LogCubic, Outside, Sampled, unwrap_deg};
use super::minimum_phase::{self, Tails};
use crate::grid::{FLOOR_DB, Grid, Spectrum};

/// Magnitude, and phase where it was measured, on rising positive frequencies.
///
/// The fields are open, so every method that computes looks first whether they are as stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Frequencies, Hz, finite, positive, rising; at least two.
    pub frequency_hz: Vec<f64>,
    /// Magnitude at each, linear (Ω, Pa, or a ratio), positive.
    pub magnitude: Vec<f64>,
    /// Phase at each, degrees, as measured (wrapped or not).
    pub phase_deg: Option<Vec<f64>>,
}

/// Why something cannot be done with a curve. Points are counted from 0.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// Fewer points than needed.
    #[error("too few points: found {found}, needed {needed}")]
    TooFewPoints {
        /// How many there are.
        found: usize,
        /// How many there must be.
        needed: usize,
    },
    /// Frequencies, magnitudes and phases differ in number.
    #[error("a curve has one value per frequency: {frequencies} frequencies, {values} values")]
    LengthsDiffer {
        /// Number of frequencies.
        frequencies: usize,
        /// Number of magnitudes or phases.
        values: usize,
    },
    /// A frequency that is not finite and positive, or not above the one before it.
    #[error("frequencies must be finite, positive and rising; point {index} is {value_hz} Hz")]
    Frequency {
        /// Its index.
        index: usize,
        /// Its value, Hz.
        value_hz: f64,
    },
    /// A magnitude that is not finite and positive.
    #[error("magnitudes must be finite and positive; point {index} is {value}")]
    Magnitude {
        /// Its index.
        index: usize,
        /// Its value.
        value: f64,
    },
    /// A phase that is not finite.
    #[error("phases must be finite; point {index} is {value_deg} degrees")]
    Phase {
        /// Its index.
        index: usize,
        /// Its value, degrees.
        value_deg: f64,
    },
    /// Phase is needed and was not measured.
    #[error("the curve has no phase; have its minimum phase computed, or measure it with phase")]
    NoPhase,
    /// Values are wanted where nothing was measured.
    #[error(
        "the curve covers {from_hz:.4} Hz to {to_hz:.4} Hz, wanted are {wanted_from_hz:.4} Hz to \
         {wanted_to_hz:.4} Hz"
    )]
    Outside {
        /// First frequency of the curve, Hz.
        from_hz: f64,
        /// Last frequency of the curve, Hz.
        to_hz: f64,
        /// First frequency wanted, Hz.
        wanted_from_hz: f64,
        /// Last frequency wanted, Hz.
        wanted_to_hz: f64,
    },
    /// The phase turns so far between two points that whole turns may be lost.
    #[error(
        "the phase turns by {turn_deg:.0} degrees from one point to the next near {at_hz:.0} Hz; \
         take out the time of flight first, or measure at more frequencies"
    )]
    Turning {
        /// Where, Hz.
        at_hz: f64,
        /// By how much, degrees.
        turn_deg: f64,
    },
    /// A number given to a method that it cannot use.
    #[error("{what} cannot be {value}")]
    Number {
        /// What the number is.
        what: &'static str,
        /// The number.
        value: f64,
    },
}

impl Curve {
    /// A curve whose fields are as their descriptions say.
    ///
    /// # Errors
    /// Anything else: fewer than two points, lists of different lengths, frequencies that do not
    /// rise from above zero, magnitudes that are not positive, values that are not finite.
    pub fn new(
        frequency_hz: Vec<f64>,
        magnitude: Vec<f64>,
        phase_deg: Option<Vec<f64>>,
    ) -> Result<Self, CurveError> {
        let curve = Self { frequency_hz, magnitude, phase_deg };
        curve.check()?;
        Ok(curve)
    }

    /// A computed spectrum as a curve, with its phase. Exact nulls are raised to −200 dB of the
    /// largest value.
    ///
    /// # Errors
    /// Fewer than two points, nothing but zeros, or values that are not finite.
    pub fn from_spectrum<Q>(spectrum: &Spectrum<Q>) -> Result<Self, CurveError> {
        let sizes = spectrum.magnitude();
        let floor = sizes.iter().copied().fold(0.0, f64::max) * 10f64.powf(FLOOR_DB / 20.0);
        // Not `f64::max`, which would put the floor in the place of a NaN.
        let raised = sizes.into_iter().map(|m| if m < floor { floor } else { m }).collect();
        let frequency_hz = spectrum.grid().frequency_hz().to_vec();
        Self::new(frequency_hz, raised, Some(spectrum.phase_deg()))
    }

    /// Whether the fields are as their descriptions say.
    ///
    /// # Errors
    /// The first thing that is not.
    pub fn check(&self) -> Result<(), CurveError> {
        let (found, needed) = (self.frequency_hz.len(), 2);
        if found < needed {
            return Err(CurveError::TooFewPoints { found, needed });
        }
        let lengths = [self.magnitude.len(), self.phase_deg.as_ref().map_or(found, Vec::len)];
        if let Some(&values) = lengths.iter().find(|&&length| length != found) {
            return Err(CurveError::LengthsDiffer { frequencies: found, values });
        }
        let mut before_hz = 0.0;
        for (index, &value_hz) in self.frequency_hz.iter().enumerate() {
            if !(value_hz.is_finite() && value_hz > before_hz) {
                return Err(CurveError::Frequency { index, value_hz });
            }
            before_hz = value_hz;
        }
        let bad = |m: &f64| !(m.is_finite() && *m > 0.0);
        if let Some(index) = self.magnitude.iter().position(bad) {
            return Err(CurveError::Magnitude { index, value: self.magnitude[index] });
        }
        let phases = self.phase_deg.as_deref().unwrap_or_default();
        match phases.iter().position(|p| !p.is_finite()) {
            Some(index) => Err(CurveError::Phase { index, value_deg: phases[index] }),
            None => Ok(()),
        }
    }

    /// The same magnitude with the phase that a minimum-phase system of that magnitude has, in
    /// degrees, unwrapped; a measured phase is replaced. See [`minimum_phase::phase_rad`].
    ///
    /// # Errors
    /// A curve that is not sound, or slopes that are not finite.
    pub fn to_minimum_phase(&self, tails: Tails) -> Result<Self, CurveError> {
        let phase_rad = minimum_phase::phase_rad(self, tails)?;
        let phase_deg = phase_rad.into_iter().map(f64::to_degrees).collect();
        Ok(Self { phase_deg: Some(phase_deg), ..self.clone() })
    }

    /// Complex values on a grid: magnitude in dB and unwrapped phase, each through a monotone
    /// cubic over ln f. Outside the data as `outside` says.
    ///
    /// Between two points the phase is taken to turn by less than half a turn: take a time of
    /// flight out with [`Curve::delayed`] first; see [`Curve::largest_turn_deg`].
    ///
    /// # Errors
    /// No phase, a curve that is not sound, slopes that are not finite, or a grid that the data do
    /// not cover where `outside` refuses that.
    pub fn complex_on(
        &self,
        grid: &Grid,
        outside: Outside,
    ) -> Result<Sampled<Complex64>, CurveError> {
        let phase_deg = self.phase_deg.as_ref().ok_or(CurveError::NoPhase)?;
        let Sampled { values, covered } = self.magnitude_on(grid, outside)?;
        let phase = LogCubic::new(&self.frequency_hz, &unwrap_deg(phase_deg))?;
        let angles = grid.frequency_hz().iter().map(|&f| phase.at(f).to_radians());
        let values = values.into_iter().zip(angles);
        Ok(Sampled { values: values.map(|(m, a)| Complex64::from_polar(m, a)).collect(), covered })
    }

    /// Magnitudes on a grid, as [`Curve::complex_on`] has them.
    ///
    /// # Errors
    /// As there, but phase is not needed.
    pub fn magnitude_on(&self, grid: &Grid, outside: Outside) -> Result<Sampled<f64>, CurveError> {
        self.check()?;
        outside.check()?;
        let from_hz = self.frequency_hz[0];
        let to_hz = self.frequency_hz[self.frequency_hz.len() - 1];
        let covered = grid.within(from_hz, to_hz);
        let (wanted_from_hz, wanted_to_hz) = (grid.start_hz(), grid.stop_hz());
        if outside == Outside::Refuse && covered.len() < grid.len() {
            return Err(CurveError::Outside { from_hz, to_hz, wanted_from_hz, wanted_to_hz });
        }
        let level = LogCubic::new(&self.frequency_hz, &self.level_db())?;
        let value = |f: &f64| amplitude(level.at(*f) + outside.added_db(*f, from_hz, to_hz));
        Ok(Sampled { values: grid.frequency_hz().iter().map(value).collect(), covered })
    }

    /// Every value times a real factor; a negative one turns the phase by half a turn.
    ///
    /// # Errors
    /// A factor that is zero or not finite, or one that makes magnitudes so.
    pub fn scaled(&self, factor: f64) -> Result<Self, CurveError> {
        if !(factor.is_finite() && factor != 0.0) {
            return Err(CurveError::Number { what: "a factor", value: factor });
        }
        let turn_deg = if factor < 0.0 { 180.0 } else { 0.0 };
        let turned = |phases: &Vec<f64>| phases.iter().map(|p| p + turn_deg).collect();
        Self::new(
            self.frequency_hz.clone(),
            self.magnitude.iter().map(|m| m * factor.abs()).collect(),
            self.phase_deg.as_ref().map(turned),
        )
    }

    /// The curve behind a pure delay, whose phase is −2πf·`delay_s`; a negative delay takes a time
    /// of flight out.
    ///
    /// # Errors
    /// No phase, or a delay that is not finite.
    pub fn delayed(&self, delay_s: f64) -> Result<Self, CurveError> {
        let phases = self.phase_deg.as_ref().ok_or(CurveError::NoPhase)?;
        let pairs = phases.iter().zip(&self.frequency_hz);
        let phase_deg = pairs.map(|(p, f)| p - 360.0 * f * delay_s).collect();
        if !delay_s.is_finite() {
            return Err(CurveError::Number { what: "a delay", value: delay_s });
        }
        Self::new(self.frequency_hz.clone(), self.magnitude.clone(), Some(phase_deg))
    }

    /// This curve times another, which is interpolated onto the frequencies of this one.
    ///
    /// Phases add where both have one. Where only this one has, it is kept as it is (the other is
    /// taken to have none); where this one has none, neither has the product.
    ///
    /// # Errors
    /// A curve that is not sound; or this one reaches beyond `by` and `outside` refuses that.
    pub fn multiplied(&self, by: &Self, outside: Outside) -> Result<Self, CurveError> {
        self.combined(by, outside, 1.0)
    }

    /// This curve divided by another, otherwise as [`Curve::multiplied`]. With the response of the
    /// microphone itself as `by` this is the correction for it.
    ///
    /// # Errors
    /// As there.
    pub fn divided(&self, by: &Self, outside: Outside) -> Result<Self, CurveError> {
        self.combined(by, outside, -1.0)
    }

    fn combined(&self, by: &Self, outside: Outside, power: f64) -> Result<Self, CurveError> {
        self.check()?;
        let frequency_hz = self.frequency_hz.clone();
        let grid = Grid::from_points(frequency_hz.clone())
            .map_err(|_| CurveError::TooFewPoints { found: frequency_hz.len(), needed: 2 })?;
        let factors = by.magnitude_on(&grid, outside)?.values;
        let magnitude = self.magnitude.iter().zip(&factors).map(|(m, by)| m * by.powf(power));
        let phase_deg = match (&self.phase_deg, &by.phase_deg) {
            (Some(own), Some(other)) => {
                let other = LogCubic::new(&by.frequency_hz, &unwrap_deg(other))?;
                let turned = |(p, f): (&f64, &f64)| p + power * other.at(*f);
                Some(own.iter().zip(&frequency_hz).map(turned).collect())
            }
            (own, _) => own.clone(),
        };
        Self::new(frequency_hz, magnitude.collect(), phase_deg)
    }

    /// Largest step of the phase from one point to the next, within half a turn: `(degrees, Hz)`.
    /// Steps above some 120° say that whole turns may be lost between points. `None` without
    /// phase.
    pub fn largest_turn_deg(&self) -> Option<(f64, f64)> {
        let phases = unwrap_deg(self.phase_deg.as_ref()?);
        let steps = phases.windows(2).map(|pair| (pair[1] - pair[0]).abs());
        steps.zip(self.frequency_hz.iter().copied()).max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Magnitudes in dB re 1; not clamped.
    fn level_db(&self) -> Vec<f64> {
        self.magnitude.iter().map(|m| 20.0 * m.log10()).collect()
    }
}

/// The amplitude of a level in dB re 1, within what a number can hold.
fn amplitude(level_db: f64) -> f64 {
    10f64.powf(level_db / 20.0).clamp(f64::MIN_POSITIVE, f64::MAX)
}
