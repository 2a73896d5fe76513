//! Two curves made one: the lower below a frequency, the upper above it, faded into one another.

use std::f64::consts::PI;

use super::{Curve, CurveError, amplitude};
use crate::grid::wrap_deg;
use crate::signal::interpolate::{LogCubic, unwrap_deg};

/// A spliced curve, and how well its halves met.
#[derive(Debug, Clone, PartialEq)]
pub struct Splice {
    /// The whole. Its phase, where it has one, is unwrapped.
    pub curve: Curve,
    /// Upper less lower curve at the splice, dB.
    pub level_step_db: f64,
    /// Upper less lower curve at the splice, degrees within half a turn. `None` without phase.
    pub phase_step_deg: Option<f64>,
    /// First frequency of the fade, Hz; below, the curve is the lower one.
    pub fade_from_hz: f64,
    /// Last frequency of the fade, Hz; above, the curve is the upper one.
    pub fade_to_hz: f64,
}

impl Curve {
    /// `low` below and `high` above `at_hz`, faded over `octaves` with `at_hz` in the middle.
    ///
    /// In the fade the level in dB and the unwrapped phase go over with a raised cosine in log
    /// frequency; whole turns are taken out so that the phases are nearest at `at_hz`. Neither
    /// curve is shifted to meet the other: the steps are told, and are the caller's to judge. With
    /// 0 octaves the curves are only joined.
    ///
    /// # Errors
    /// A curve that is not sound, one with and one without phase, a curve that does not cover the
    /// fade, or numbers for the splice that are not finite and positive.
    pub fn spliced(
        low: &Self,
        high: &Self,
        at_hz: f64,
        octaves: f64,
    ) -> Result<Splice, CurveError> {
        for (what, value, fits) in [
            ("the frequency of a splice", at_hz, at_hz > 0.0),
            ("the width of a fade", octaves, (0.0..=20.0).contains(&octaves)),
        ] {
            if !(fits && value.is_finite()) {
                return Err(CurveError::Number { what, value });
            }
        }
        let half = 2f64.powf(0.5 * octaves);
        let (from_hz, to_hz) = (at_hz / half, at_hz * half);
        low.covers(from_hz, to_hz)?;
        high.covers(from_hz, to_hz)?;
        let levels = [low, high].map(|curve| LogCubic::new(&curve.frequency_hz, &curve.level_db()));
        let [low_level, high_level] = levels;
        let level = Faded { low: low_level?, high: high_level?, shift: 0.0, from_hz, to_hz };
        let phase = match (&low.phase_deg, &high.phase_deg) {
            (None, None) => None,
            (Some(below), Some(above)) => {
                let below = LogCubic::new(&low.frequency_hz, &unwrap_deg(below))?;
                let above = LogCubic::new(&high.frequency_hz, &unwrap_deg(above))?;
                let step = above.at(at_hz) - below.at(at_hz);
                let shift = -360.0 * (step / 360.0).round();
                Some(Faded { low: below, high: above, shift, from_hz, to_hz })
            }
            _ => return Err(CurveError::NoPhase),
        };
        let frequency_hz = joined(low, high, from_hz, to_hz);
        let level_db = frequency_hz.iter().map(|&f| level.at(f));
        let magnitude = level_db.map(amplitude).collect();
        let phase_deg = phase.as_ref().map(|p| frequency_hz.iter().map(|&f| p.at(f)).collect());
        Ok(Splice {
            curve: Self::new(frequency_hz, magnitude, phase_deg)?,
            level_step_db: level.step(at_hz),
            phase_step_deg: phase.map(|phase| wrap_deg(phase.step(at_hz))),
            fade_from_hz: from_hz,
            fade_to_hz: to_hz,
        })
    }

    fn covers(&self, wanted_from_hz: f64, wanted_to_hz: f64) -> Result<(), CurveError> {
        self.check()?;
        let from_hz = self.frequency_hz[0];
        let to_hz = self.frequency_hz[self.frequency_hz.len() - 1];
        if from_hz <= wanted_from_hz && wanted_to_hz <= to_hz {
            return Ok(());
        }
        Err(CurveError::Outside { from_hz, to_hz, wanted_from_hz, wanted_to_hz })
    }
}

/// The lower curve's points below the fade, the upper one's above, and those of both within.
fn joined(low: &Curve, high: &Curve, from_hz: f64, to_hz: f64) -> Vec<f64> {
    let mut all: Vec<f64> = low.frequency_hz.iter().copied().filter(|f| *f <= to_hz).collect();
    all.extend(high.frequency_hz.iter().copied().filter(|f| *f >= from_hz));
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// One real value of two curves, faded.
struct Faded {
    low: LogCubic,
    high: LogCubic,
    /// What is added to the upper one.
    shift: f64,
    from_hz: f64,
    to_hz: f64,
}

impl Faded {
    fn step(&self, f_hz: f64) -> f64 {
        self.high.at(f_hz) + self.shift - self.low.at(f_hz)
    }

    fn at(&self, f_hz: f64) -> f64 {
        if f_hz < self.from_hz {
            return self.low.at(f_hz);
        }
        if f_hz >= self.to_hz {
            return self.high.at(f_hz) + self.shift;
        }
        let along = (f_hz / self.from_hz).ln() / (self.to_hz / self.from_hz).ln();
        self.low.at(f_hz) + 0.5 * (1.0 - (PI * along).cos()) * self.step(f_hz)
    }
}
