//! Complex exponentials in bulk: without branches, so that a loop over them runs in lanes.

use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Adding and taking away 1.5·2⁵² rounds a double to the nearest whole number.
const ROUND: f64 = 6_755_399_441_055_744.0;

/// Sine and cosine of `x` rad, within 1e-11 for |x| below 1e4 (20 kHz, 27 m off).
///
/// Both by their power series at half the angle, which the reduction keeps within ±π/2; then
/// doubled.
#[inline(always)]
pub(super) fn sin_cos(x: f64) -> (f64, f64) {
    let turns = x * (1.0 / TAU);
    let h = (turns - ((turns + ROUND) - ROUND)) * PI;
    let y = h * h;
    let s = h
        * (1.0
            + y * (S[0]
                + y * (S[1]
                    + y * (S[2] + y * (S[3] + y * (S[4] + y * (S[5] + y * (S[6] + y * S[7]))))))));
    let c = 1.0
        + y * (C[0]
            + y * (C[1]
                + y * (C[2] + y * (C[3] + y * (C[4] + y * (C[5] + y * (C[6] + y * C[7])))))));
    (2.0 * s * c, 1.0 - 2.0 * s * s)
}

/// (−1)ⁿ/(2n+1)!, n from 1.
const S: [f64; 8] = [
    -1.0 / 6.0,
    1.0 / 120.0,
    -1.0 / 5_040.0,
    1.0 / 362_880.0,
    -1.0 / 39_916_800.0,
    1.0 / 6_227_020_800.0,
    -1.0 / 1_307_674_368_000.0,
    1.0 / 355_687_428_096_000.0,
];
/// (−1)ⁿ/(2n)!, n from 1.
const C: [f64; 8] = [
    -1.0 / 2.0,
    1.0 / 24.0,
    -1.0 / 720.0,
    1.0 / 40_320.0,
    -1.0 / 3_628_800.0,
    1.0 / 479_001_600.0,
    -1.0 / 87_178_291_200.0,
    1.0 / 20_922_789_888_000.0,
];

/// Σ weight e^{−jk·path}, the paths in m and `k` in rad/m.
pub(super) fn sum(k: f64, paths_m: &[f64], weights: &[f64]) -> Complex64 {
    const LANES: usize = 4;
    let (mut re, mut im) = ([0.0; LANES], [0.0; LANES]);
    let (paths, weights) = (paths_m.chunks_exact(LANES), weights.chunks_exact(LANES));
    let rest = paths.remainder().iter().zip(weights.remainder());
    for (path, weight) in paths.zip(weights) {
        for lane in 0..LANES {
            let (s, c) = sin_cos(k * path[lane]);
            re[lane] += weight[lane] * c;
            im[lane] -= weight[lane] * s;
        }
    }
    let mut total = Complex64::new(re.iter().sum(), im.iter().sum());
    for (path, weight) in rest {
        let (s, c) = sin_cos(k * path);
        total += Complex64::new(weight * c, -weight * s);
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sine_and_cosine_are_those_of_the_standard_library() {
        for n in -1500..1500 {
            let x = 0.37 * f64::from(n) * (1.0 + f64::from(n).abs() / 100.0);
            let (s, c) = sin_cos(x);
            assert!((s - x.sin()).abs() < 1e-11 && (c - x.cos()).abs() < 1e-11, "at {x}");
        }
    }

    #[test]
    fn the_sum_takes_every_term() {
        let paths: Vec<f64> = (0..7).map(|n| 0.1 * f64::from(n)).collect();
        let total = sum(2.0, &paths, &[1.0; 7]);
        let want: Complex64 = paths.iter().map(|p| Complex64::from_polar(1.0, -2.0 * p)).sum();
        assert!((total - want).norm() < 1e-11);
    }
}
