//! Gauss-Legendre quadrature.

use std::f64::consts::PI;

/// Nodes and weights of the Gauss-Legendre rule of `count` points on −1..1, exact for polynomials
/// of degree 2·`count` − 1.
///
/// The roots of the Legendre polynomial by Newton's method from the usual cosine estimate
/// (Abramowitz and Stegun, 25.4.29 and 22.16.6).
pub fn gauss_legendre(count: usize) -> Vec<(f64, f64)> {
    (0..count)
        .map(|i| {
            let mut x = (PI * (i as f64 + 0.75) / (count as f64 + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..20 {
                let (value, derivative) = legendre(count, x);
                slope = derivative;
                let step = value / derivative;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// The same rule moved to `from..to`.
pub fn gauss_between(count: usize, from: f64, to: f64) -> impl Iterator<Item = (f64, f64)> {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    gauss_legendre(count).into_iter().map(move |(x, w)| (middle + half * x, half * w))
}

/// Legendre polynomial of degree `n` and its derivative at `x`, |x| < 1.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut now) = (0.0, 1.0);
    for i in 0..n {
        let i = i as f64;
        (before, now) = (now, ((2.0 * i + 1.0) * x * now - i * before) / (i + 1.0));
    }
    (now, n as f64 * (x * now - before) / (x * x - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_rule_integrates_the_polynomials_it_should() {
        for count in [1, 2, 3, 8, 40] {
            let power = 2 * count as i32 - 2;
            let sum: f64 = gauss_between(count, 0.0, 2.0).map(|(x, w)| w * x.powi(power)).sum();
            let exact = 2f64.powi(power + 1) / f64::from(power + 1);
            assert_relative_eq!(sum, exact, max_relative = 1e-11);
        }
    }
}
