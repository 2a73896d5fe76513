//! Programme noise that an amplifier clips: what the flat tops do to its spectrum.
//!
//! Noise of the programme's spectrum with phases of a fixed seed, made of one period of a Fourier
//! series, is cut off at the amplifier's peak and transformed back. Harmonics move power up to where
//! the tweeter is, and the whole grows denser: the two reasons why clipping burns tweeters.

use super::fft;
use super::programme::{CREST_FACTOR, Programme};
use crate::grid::Grid;
use num_complex::Complex64;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// Samples of one period.
const LENGTH: usize = 1 << 19;
/// Samples a second: products of 20 kHz up to the fifth order stay below half of it.
const RATE_HZ: f64 = 192_000.0;
/// Seed of the phases.
const SEED: u64 = 1985;

/// One period of programme noise with an rms of 1.
#[derive(Debug, Clone)]
pub struct ProgrammeNoise {
    samples: Vec<f64>,
}

impl ProgrammeNoise {
    /// Noise of `programme`'s spectrum, nothing below `cut_hz` (Hz).
    pub fn new(programme: &Programme, cut_hz: f64) -> Self {
        let step_hz = RATE_HZ / LENGTH as f64;
        let mut random = Pcg64Mcg::seed_from_u64(SEED);
        let bin = |k: usize| {
            let edge = |offset: f64| programme.below(((k as f64 + offset) * step_hz).max(cut_hz));
            let phase = std::f64::consts::TAU * random.random::<f64>();
            Complex64::from_polar((edge(0.5) - edge(-0.5)).max(0.0).sqrt(), phase)
        };
        let bins: Vec<Complex64> = (0..=LENGTH / 2).map(bin).collect();
        let mut samples = fft::inverse(bins, LENGTH);
        let rms = (samples.iter().map(|x| x * x).sum::<f64>() / LENGTH as f64).sqrt();
        let scale = if rms > 0.0 { 1.0 / rms } else { 0.0 };
        samples.iter_mut().for_each(|x| *x *= scale);
        Self { samples }
    }

    /// Mean square that each point of `grid` stands for (as [`Programme::shares`] does), with the
    /// amplifier clipping at a peak of 1 and the noise `over_db` (dB) above the level at which
    /// peaks of twice its rms just fit.
    pub fn clipped(&self, over_db: f64, grid: &Grid) -> Vec<f64> {
        let rms = 10f64.powf(over_db / 20.0) / CREST_FACTOR;
        let clipped: Vec<f64> = self.samples.iter().map(|x| (rms * x).clamp(-1.0, 1.0)).collect();
        let scale = 2.0 / (LENGTH as f64).powi(2);
        let bins = fft::forward(&clipped, LENGTH);
        let hz = grid.frequency_hz();
        let edges: Vec<f64> = hz.windows(2).map(|pair| (pair[0] * pair[1]).sqrt()).collect();
        let mut shares = vec![0.0; hz.len()];
        for (k, x) in bins.iter().enumerate().skip(1) {
            let at_hz = k as f64 * RATE_HZ / LENGTH as f64;
            shares[edges.partition_point(|edge| *edge <= at_hz)] += scale * x.norm_sqr();
        }
        shares
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean square of Gaussian noise of rms `sigma` clipped at 1 (integral of the normal density).
    fn gaussian(sigma: f64) -> f64 {
        let c = 1.0 / sigma;
        let inside = libm::erf(c / 2f64.sqrt());
        let edge = (2.0 / std::f64::consts::PI).sqrt() * c * (-0.5 * c * c).exp();
        sigma * sigma * (inside - edge) + 1.0 - inside
    }

    #[test]
    fn clipped_noise_has_the_power_of_clipped_gaussian_noise() {
        let noise = ProgrammeNoise::new(&Programme::iec_60268_1(), 0.0);
        let grid = Grid::audible(240).unwrap();
        for over_db in [-20.0, 0.0, 6.0, 10.0] {
            let all: f64 = noise.clipped(over_db, &grid).iter().sum();
            let expected = gaussian(10f64.powf(over_db / 20.0) / CREST_FACTOR);
            assert!((all / expected - 1.0).abs() < 5e-3, "{over_db}: {all} {expected}");
        }
    }

    #[test]
    fn noise_far_below_clipping_keeps_its_spectrum() {
        let programme = Programme::iec_60268_1();
        let grid = Grid::audible(31).unwrap();
        let shares = programme.shares(&grid, 100.0);
        let whole: f64 = shares.iter().sum();
        let found = ProgrammeNoise::new(&programme, 100.0).clipped(-40.0, &grid);
        let mean: f64 = found.iter().sum();
        for (share, got) in shares.iter().zip(found) {
            assert!((share / whole - got / mean).abs() < 2e-3, "{share} {got}");
        }
    }
}
