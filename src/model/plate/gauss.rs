//! Gauss-Legendre quadrature and the Legendre polynomials it rests on.

use std::f64::consts::PI;

/// P_0 to P_degree at `x`.
pub(crate) fn legendre(degree: usize, x: f64) -> Vec<f64> {
    let mut p = vec![1.0, x];
    for n in 1..degree.max(1) {
        let k = n as f64;
        p.push(((2.0 * k + 1.0) * x * p[n] - k * p[n - 1]) / (k + 1.0));
    }
    p.truncate(degree + 1);
    p
}

/// Nodes and weights of the rule of `count` points on (−1, 1), exact for polynomials up to degree
/// 2·count − 1 (Abramowitz and Stegun 25.4.29; nodes by Newton's method).
pub(crate) fn nodes(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    (0..count)
        .map(|i| {
            let mut x = -((i as f64 + 0.75) / (n + 0.5) * PI).cos();
            let mut slope = 1.0;
            for _ in 0..8 {
                let p = legendre(count, x);
                slope = n * (x * p[count] - p[count - 1]) / (x * x - 1.0);
                x -= p[count] / slope;
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// The rule on (0, `length`).
pub(crate) fn nodes_along(count: usize, length: f64) -> Vec<(f64, f64)> {
    let half = 0.5 * length;
    nodes(count).into_iter().map(|(x, w)| (half * (1.0 + x), half * w)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rule_is_exact_for_polynomials_and_close_for_waves() {
        for count in [1, 2, 5, 12, 40] {
            for power in 0..2 * count {
                let got: f64 =
                    nodes_along(count, 1.0).iter().map(|(x, w)| w * x.powi(power as i32)).sum();
                assert!((got * (power as f64 + 1.0) - 1.0).abs() < 1e-12, "{count} {power}");
            }
        }
        let wave: f64 = nodes_along(40, 1.0).iter().map(|(x, w)| w * (40.0 * x).cos()).sum();
        assert!((wave - 40f64.sin() / 40.0).abs() < 1e-13);
    }
}
