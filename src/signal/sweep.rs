//! The exponential sine sweep.
//!
//! After A. Farina, "Simultaneous measurement of impulse response and distortion with a
//! swept-sine technique", AES 108th Convention, Paris 2000, preprint 5093:
//! x(t) = sin(2π f₁ L (e^(t/L) − 1)) with L = T / ln(f₂/f₁). Its frequency f₁ e^(t/L) rises by the
//! same ratio in the same time, so the n-th harmonic is the sweep itself, L ln n earlier.

use super::window::half_hann;
use std::f64::consts::TAU;

/// A sweep with the silence around it, all that is needed to make it again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sweep {
    /// First frequency f₁, Hz.
    pub from_hz: f64,
    /// Last frequency f₂, Hz.
    pub to_hz: f64,
    /// Length T of the sweep proper, s.
    pub seconds: f64,
    /// Sample rate, Hz.
    pub rate_hz: u32,
    /// Peak level, dB re full scale.
    pub level_db: f64,
    /// Fade at the start, half a Hann window, s.
    pub fade_in_s: f64,
    /// Fade at the end, half a Hann window, s.
    pub fade_out_s: f64,
    /// Silence before, s.
    pub silence_before_s: f64,
    /// Silence after, s.
    pub silence_after_s: f64,
}

/// Why a sweep cannot be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SweepError {
    /// The band is too narrow or upside down.
    #[error(
        "the sweep goes from {from_hz} to {to_hz} Hz; it must rise by two octaves (four times) or more"
    )]
    Narrow {
        /// First frequency, Hz.
        from_hz: f64,
        /// Last frequency, Hz.
        to_hz: f64,
    },
    /// The rate cannot hold the last frequency.
    #[error(
        "a rate of {rate_hz} Hz holds frequencies up to {highest_hz} Hz, the sweep goes to {to_hz} Hz"
    )]
    Rate {
        /// Sample rate, Hz.
        rate_hz: u32,
        /// What it holds with a margin for the converters' filters, Hz.
        highest_hz: f64,
        /// Last frequency, Hz.
        to_hz: f64,
    },
    /// The fades leave nothing of the sweep.
    #[error("fades of {fades_s} s together are more than half of the sweep's {seconds} s")]
    Fades {
        /// Both fades, s.
        fades_s: f64,
        /// Length of the sweep, s.
        seconds: f64,
    },
}

/// Highest frequency as a share of the sample rate.
pub const HIGHEST_OF_RATE: f64 = 0.48;

impl Sweep {
    /// Whether its numbers go together; each alone is taken to be finite and positive.
    ///
    /// # Errors
    /// Less than two octaves, too high for the rate, or all fade.
    pub fn check(&self) -> Result<(), SweepError> {
        let &Self { from_hz, to_hz, seconds, rate_hz, .. } = self;
        let highest_hz = HIGHEST_OF_RATE * f64::from(rate_hz);
        let fades_s = self.fade_in_s + self.fade_out_s;
        if !(to_hz >= 4.0 * from_hz && from_hz > 0.0) {
            Err(SweepError::Narrow { from_hz, to_hz })
        } else if to_hz > highest_hz {
            Err(SweepError::Rate { rate_hz, highest_hz, to_hz })
        } else if fades_s > seconds / 2.0 {
            Err(SweepError::Fades { fades_s, seconds })
        } else {
            Ok(())
        }
    }

    /// L = T / ln(f₂/f₁): the time in which the frequency rises by e, s.
    pub fn rise_s(&self) -> f64 {
        self.seconds / (self.to_hz / self.from_hz).ln()
    }

    /// How much earlier than the linear response that of harmonic `order` appears: L ln n, s.
    pub fn lead_s(&self, order: u32) -> f64 {
        self.rise_s() * f64::from(order).ln()
    }

    /// Peak as a share of full scale.
    pub fn amplitude(&self) -> f64 {
        10_f64.powf(self.level_db / 20.0)
    }

    /// Value at `t_s` seconds after the sweep's start, ±1 being full scale; zero outside.
    pub fn at(&self, t_s: f64) -> f64 {
        if !(0.0..=self.seconds).contains(&t_s) {
            return 0.0;
        }
        let rise_s = self.rise_s();
        let phase = TAU * self.from_hz * rise_s * (t_s / rise_s).exp_m1();
        let fade = half_hann(t_s, self.fade_in_s) * half_hann(self.seconds - t_s, self.fade_out_s);
        self.amplitude() * fade * phase.sin()
    }

    /// Samples of the sweep proper, without the silence.
    pub fn bare(&self) -> Vec<f64> {
        let rate_hz = f64::from(self.rate_hz);
        let last = (self.seconds * rate_hz).floor() as usize;
        (0..=last).map(|k| self.at(k as f64 / rate_hz)).collect()
    }

    /// All samples, silence included.
    pub fn samples(&self) -> Vec<f64> {
        let silence = |s: f64| vec![0.0; (s * f64::from(self.rate_hz)).round() as usize];
        [silence(self.silence_before_s), self.bare(), silence(self.silence_after_s)].concat()
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) const SHORT: Sweep = Sweep {
        from_hz: 20.0,
        to_hz: 20_000.0,
        seconds: 2.0,
        rate_hz: 48_000,
        level_db: -12.0,
        fade_in_s: 0.05,
        fade_out_s: 0.005,
        silence_before_s: 0.3,
        silence_after_s: 1.0,
    };

    #[test]
    fn its_frequency_rises_from_the_first_to_the_last() {
        let mut sweep = SHORT;
        (sweep.fade_in_s, sweep.fade_out_s) = (0.0, 0.0);
        let crossings = |from_s: f64, to_s: f64| {
            let at = |k: usize| sweep.at(from_s + (to_s - from_s) * k as f64 / 1e5);
            (1..=100_000).filter(|&k| (at(k - 1) < 0.0) != (at(k) < 0.0)).count() as f64
        };
        // Half periods from t₁ to t₂: 2 f₁ L (e^(t₂/L) − e^(t₁/L)).
        let l = sweep.rise_s();
        let expected = |a: f64, b: f64| 2.0 * 20.0 * l * ((b / l).exp() - (a / l).exp());
        for (a, b) in [(0.0, 0.4), (0.9, 1.1), (1.99, 2.0)] {
            assert!((crossings(a, b) - expected(a, b)).abs() <= 1.0, "{a} to {b}");
        }
        assert_eq!((sweep.at(-1e-9), sweep.at(2.0 + 1e-9)), (0.0, 0.0));
    }

    #[test]
    fn peaks_reach_the_level_and_the_silence_is_silent() {
        let x = SHORT.samples();
        let peak = x.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        assert!((20.0 * peak.log10() + 12.0).abs() < 0.01);
        assert!(x[..14_400].iter().chain(&x[x.len() - 48_000..]).all(|v| *v == 0.0));
    }

    #[test]
    fn numbers_that_do_not_go_together_are_refused() {
        let with = |change: fn(&mut Sweep)| {
            let mut sweep = SHORT;
            change(&mut sweep);
            sweep.check()
        };
        assert_eq!(with(|_| ()), Ok(()));
        assert!(matches!(with(|s| s.to_hz = 60.0), Err(SweepError::Narrow { .. })));
        assert!(matches!(with(|s| s.from_hz = f64::NAN), Err(SweepError::Narrow { .. })));
        assert!(matches!(with(|s| s.rate_hz = 32_000), Err(SweepError::Rate { .. })));
        assert!(matches!(with(|s| s.fade_in_s = 1.2), Err(SweepError::Fades { .. })));
    }
}
