//! The Fourier transform of real signals, by a well-kept library.

use num_complex::Complex64;
use realfft::RealFftPlanner;

/// A length of at least `least` samples for which the transform is fast: 1, 3 or 5 times a power
/// of two, even.
pub fn good_length(least: usize) -> usize {
    let least = least.max(2);
    let fill = |factor: usize| factor * least.div_ceil(factor).next_power_of_two();
    [1, 3, 5]
        .map(fill)
        .into_iter()
        .filter(|n| n.is_multiple_of(2))
        .min()
        .unwrap_or(least + least % 2)
}

/// X\[k\] = Σ x\[m\] e^(−j2πkm/n) for k = 0 … n/2 of `samples` followed by zeros up to `length`;
/// what is longer is cut off. Not normalised.
pub fn forward(samples: &[f64], length: usize) -> Vec<Complex64> {
    let transform = RealFftPlanner::<f64>::new().plan_fft_forward(length);
    let mut input = vec![0.0; length];
    let kept = samples.len().min(length);
    input[..kept].copy_from_slice(&samples[..kept]);
    let mut bins = transform.make_output_vec();
    let done = transform.process(&mut input, &mut bins);
    debug_assert!(done.is_ok(), "both vectors have the transform's lengths");
    bins
}

/// The real signal of `length` samples whose [`forward`] transform is `bins` (length/2 + 1 of
/// them). Imaginary parts at zero and at half the rate, which no real signal has, are dropped.
pub fn inverse(mut bins: Vec<Complex64>, length: usize) -> Vec<f64> {
    let transform = RealFftPlanner::<f64>::new().plan_fft_inverse(length);
    bins.resize(length / 2 + 1, Complex64::ZERO);
    bins[0].im = 0.0;
    if length.is_multiple_of(2) {
        bins[length / 2].im = 0.0;
    }
    let mut samples = transform.make_output_vec();
    let done = transform.process(&mut bins, &mut samples);
    debug_assert!(done.is_ok(), "both vectors have the transform's lengths");
    samples.iter_mut().for_each(|x| *x /= length as f64);
    samples
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signal_comes_back_and_a_cosine_sits_in_its_bin() {
        let n = good_length(90);
        let cosine = |m: usize| (std::f64::consts::TAU * 5.0 * m as f64 / n as f64).cos();
        let x: Vec<f64> = (0..n).map(cosine).collect();
        let bins = forward(&x, n);
        assert!((bins[5].re - n as f64 / 2.0).abs() < 1e-9 && bins[6].norm() < 1e-9);
        let back = inverse(bins, n);
        assert!(x.iter().zip(&back).all(|(a, b)| (a - b).abs() < 1e-12));
    }

    #[test]
    fn good_lengths_are_even_and_not_far_above() {
        for least in 0..3000 {
            let n = good_length(least);
            assert!(
                n >= least && n.is_multiple_of(2) && n <= 2 + least * 4 / 3 + least / 30,
                "{least}: {n}"
            );
        }
    }
}
