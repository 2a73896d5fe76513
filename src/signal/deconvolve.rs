//! From two recorded channels to the impulse response between them.
//!
//! The spectrum of one channel is divided by that of the other, with a little added below so that
//! nothing is divided by nothing (regularisation, rising outside the band of the sweep). What
//! both channels have in common - the player's clock, level, filters, harmonics of the amplifier -
//! cancels. Harmonics that only the second channel has stand apart, before time zero (Farina
//! 2000, see [`super::sweep`]).

use super::fft;
use super::window::Window;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// An impulse response on a circle: negative times are at the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Impulse {
    /// Sample rate, Hz.
    pub rate_hz: f64,
    samples: Vec<f64>,
}

/// A band of frequencies, Hz.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low_hz: f64,
    /// Upper end.
    pub high_hz: f64,
}

/// What is added to the energy of the reference, as a share of its mean in its weakest third of an
/// octave: an error of 10⁻⁵ there.
const ADDED: f64 = 1e-5;

/// Impulse response that leads from `reference` to `response`, recorded together. `None` where the
/// reference has nothing in the band.
pub fn divide(response: &[f64], reference: &[f64], rate_hz: f64, band: Band) -> Option<Impulse> {
    // A second of room behind the longest time keeps the ends of the circle apart.
    let length = fft::good_length(response.len().max(reference.len()) + rate_hz as usize);
    let (y, x) = (fft::forward(response, length), fft::forward(reference, length));
    let bin_hz = rate_hz / length as f64;
    let energy: Vec<f64> = x.iter().map(|v| v.norm_sqr()).collect();
    let (weakest, strongest) = extremes(&energy, bin_hz, band)?;
    let low = (ADDED * weakest).max(1e-12 * strongest);
    let quotient = y.iter().zip(&x).zip(&energy).enumerate().map(|(k, ((y, x), e))| {
        let added = low * (strongest / low).powf(outside(k as f64 * bin_hz, band, rate_hz));
        y * x.conj() / (e + added)
    });
    Some(Impulse { rate_hz, samples: fft::inverse(quotient.collect(), length) })
}

/// 0 inside the band; rises to 1 two octaves below it, and above it by a quarter of the way to half
/// the rate, and further on.
fn outside(hz: f64, band: Band, rate_hz: f64) -> f64 {
    let below = 0.5 * (band.low_hz / hz.max(1e-3)).log2();
    let room_hz = (0.5 * rate_hz - band.high_hz).max(0.02 * band.high_hz);
    let above = (hz - band.high_hz) / (0.5 * room_hz);
    below.max(above).clamp(0.0, 1.2)
}

/// Mean energy a bin in the weakest and the strongest third of an octave of the band.
fn extremes(energy: &[f64], bin_hz: f64, band: Band) -> Option<(f64, f64)> {
    let thirds = (3.0 * (band.high_hz / band.low_hz).log2()).floor().max(1.0);
    let step = (band.high_hz / band.low_hz).powf(1.0 / thirds);
    let mean = |n: i32| {
        let from = (band.low_hz * step.powi(n) / bin_hz).ceil() as usize;
        let to = ((band.low_hz * step.powi(n + 1) / bin_hz) as usize).min(energy.len() - 1);
        let part = energy.get(from..=to).unwrap_or_default();
        part.iter().sum::<f64>() / part.len().max(1) as f64
    };
    let means: Vec<f64> = (0..thirds as i32).map(mean).collect();
    let finite = means.iter().all(|m| m.is_finite());
    let weakest = means.iter().copied().fold(f64::INFINITY, f64::min);
    let strongest = means.iter().copied().fold(0.0, f64::max);
    (finite && weakest > 1e-15 * strongest).then_some((weakest, strongest))
}

impl Impulse {
    /// Wraps samples of which the first is at time zero and those past the middle are negative
    /// times.
    pub fn new(rate_hz: f64, samples: Vec<f64>) -> Self {
        Self { rate_hz, samples }
    }

    /// Value at sample `at`, counted from time zero, negative times included.
    pub fn value(&self, at: i64) -> f64 {
        let n = self.samples.len() as i64;
        if n == 0 { 0.0 } else { self.samples[at.rem_euclid(n) as usize] }
    }

    /// Time of the largest value between two times, by a parabola through its neighbours, s.
    pub fn peak_s(&self, from_s: f64, to_s: f64) -> f64 {
        let sample = |s: f64| (s * self.rate_hz).round() as i64;
        let size = |k: i64| self.value(k).abs();
        let best = (sample(from_s)..=sample(to_s)).max_by(|a, b| size(*a).total_cmp(&size(*b)));
        let at = best.unwrap_or(0);
        let (a, b, c) = (size(at - 1), size(at), size(at + 1));
        let bend = a - 2.0 * b + c;
        let shift = if bend < 0.0 { (0.5 * (a - c) / bend).clamp(-0.5, 0.5) } else { 0.0 };
        (at as f64 + shift) / self.rate_hz
    }

    /// What a window around `centre_s` leaves.
    pub fn cut(&self, centre_s: f64, window: &Window) -> Segment {
        let sample = |s: f64| (s * self.rate_hz).floor() as i64;
        let first = sample(centre_s - window.before_s);
        let last = sample(centre_s + window.after_s) + 1;
        let weighted = |k: i64| self.value(k) * window.weight(k as f64 / self.rate_hz - centre_s);
        Segment {
            rate_hz: self.rate_hz,
            start_s: first as f64 / self.rate_hz,
            samples: (first..=last).map(weighted).collect(),
        }
    }

    /// Share of the energy between two times, 0 to 1.
    pub fn share(&self, from_s: f64, to_s: f64) -> f64 {
        let sample = |s: f64| (s * self.rate_hz).round() as i64;
        let part: f64 = (sample(from_s)..=sample(to_s)).map(|k| self.value(k).powi(2)).sum();
        let all: f64 = self.samples.iter().map(|x| x * x).sum();
        if all > 0.0 { part / all } else { 0.0 }
    }
}

/// A piece of an impulse response.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Sample rate, Hz.
    pub rate_hz: f64,
    /// Time of the first sample, s.
    pub start_s: f64,
    /// The samples.
    pub samples: Vec<f64>,
}

impl Segment {
    /// The Fourier transform Σ h e^(−jωt) at each frequency, exact; phase is against time zero.
    pub fn spectrum(&self, frequency_hz: &[f64]) -> Vec<Complex64> {
        let at = |hz: &f64| {
            let omega = TAU * hz;
            let step = Complex64::from_polar(1.0, -omega / self.rate_hz);
            // By Horner's rule from the last sample.
            let sum = self.samples.iter().rev().fold(Complex64::ZERO, |sum, h| sum * step + h);
            sum * Complex64::from_polar(1.0, -omega * self.start_s)
        };
        frequency_hz.iter().map(at).collect()
    }

    /// The Fourier transform, at each frequency averaged as a complex number over a Hann window
    /// that reaches `1/fraction` of an octave to both sides. For responses near time zero: those
    /// far from it cancel themselves.
    pub fn averaged(&self, frequency_hz: &[f64], fraction: f64) -> Vec<Complex64> {
        self.over_bins(frequency_hz, fraction, |bin, hz| {
            bin * Complex64::from_polar(1.0, -TAU * hz * self.start_s)
        })
    }

    /// Magnitude of the Fourier transform, at each frequency the root of the mean square over the
    /// same window as for [`Self::averaged`]: steady where noise would make single values jump.
    pub fn magnitude(&self, frequency_hz: &[f64], fraction: f64) -> Vec<f64> {
        let squares =
            self.over_bins(frequency_hz, fraction, |bin, _| Complex64::from(bin.norm_sqr()));
        squares.iter().map(|mean| mean.re.max(0.0).sqrt()).collect()
    }

    /// The mean of `value` of each bin and its frequency, under a Hann window in frequency.
    fn over_bins(
        &self,
        frequency_hz: &[f64],
        fraction: f64,
        value: impl Fn(&Complex64, f64) -> Complex64,
    ) -> Vec<Complex64> {
        let length = fft::good_length(4 * self.samples.len());
        let bin_hz = self.rate_hz / length as f64;
        let bins = fft::forward(&self.samples, length);
        let reach = 2_f64.powf(1.0 / fraction) - 1.0;
        let at = |hz: &f64| {
            let half_hz = (hz * reach).max(2.0 * bin_hz);
            let from = ((hz - half_hz) / bin_hz).ceil().max(0.0) as usize;
            let to = (((hz + half_hz) / bin_hz) as usize).min(bins.len() - 1);
            let (mut sum, mut weights) = (Complex64::ZERO, 0.0);
            for (k, bin) in bins.iter().enumerate().take(to + 1).skip(from) {
                let here_hz = k as f64 * bin_hz;
                let weight = 1.0 + (PI * (here_hz - hz) / half_hz).cos();
                sum += value(bin, here_hz) * weight;
                weights += weight;
            }
            sum / weights.max(f64::MIN_POSITIVE)
        };
        frequency_hz.iter().map(at).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::sweep::tests::SHORT;

    const BAND: Band = Band { low_hz: 20.0, high_hz: 20_000.0 };

    #[test]
    fn a_delayed_and_halved_copy_is_an_impulse_of_a_half() {
        let x = SHORT.samples();
        let y: Vec<f64> =
            (0..x.len()).map(|k| if k < 96 { 0.0 } else { 0.5 * x[k - 96] }).collect();
        let h = divide(&y, &x, 48_000.0, BAND).unwrap();
        assert!((h.peak_s(-0.1, 0.5) - 0.002).abs() < 1e-7);
        let window = Window { before_s: 0.2, rise_s: 0.1, after_s: 0.5, fall_s: 0.2 };
        let hz = [20.0, 25.0, 30.0, 40.0, 100.0, 1000.0, 19_900.0];
        for (k, v) in h.cut(0.0, &window).spectrum(&hz).iter().enumerate() {
            let expected = Complex64::from_polar(0.5, -TAU * hz[k] * 0.002);
            // The lowest third of an octave rings longest, and the window cuts that off.
            let bound = if hz[k] < 30.0 { 2e-3 } else { 4e-4 };
            assert!((v - expected).norm() < 0.5 * bound, "{} {v} {expected}", hz[k]);
        }
    }

    #[test]
    fn averaging_keeps_a_smooth_response_and_agrees_with_the_exact_sum() {
        let decay: Vec<f64> = (0..4000).map(|k| (-f64::from(k) / 300.0).exp()).collect();
        let segment = Segment { rate_hz: 48_000.0, start_s: -0.01, samples: decay };
        let hz = [30.0, 300.0, 3000.0];
        let centred = Segment { start_s: 0.0, ..segment.clone() };
        for (exact, averaged) in centred.spectrum(&hz).iter().zip(centred.averaged(&hz, 48.0)) {
            // The corner is at 25 Hz and the window no narrower than four bins, 12 Hz.
            assert!((exact - averaged).norm() < 1e-2 * exact.norm(), "{exact} {averaged}");
        }
        let shift = segment.spectrum(&hz)[1] / centred.spectrum(&hz)[1];
        assert!((shift - Complex64::from_polar(1.0, TAU * 300.0 * 0.01)).norm() < 1e-9);
    }

    #[test]
    fn nothing_to_divide_by_is_told() {
        assert!(divide(&[1.0; 4096], &[0.0; 4096], 48_000.0, BAND).is_none());
        assert!(divide(&[f64::NAN; 4096], &[f64::NAN; 4096], 48_000.0, BAND).is_none());
    }
}
