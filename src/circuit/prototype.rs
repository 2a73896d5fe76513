//! Prototype polynomials and the lossless ladders that realise them between a stiff source and a
//! resistance.
//!
//! Butterworth (1930), *Wireless Engineer* 7, 536; Linkwitz (1976), *J. Audio Eng. Soc.* 24, 2
//! (both from memory). Ladder: Cauer's continued fraction of the even over the odd part.

use super::slope::{Family, Slope};
use num_complex::Complex64;
use std::f64::consts::PI;

/// Denominator of the normalised response (s in units of the crossover's ω), coefficients in
/// ascending powers, first and last equal to 1. Low-pass 1/D(s), high-pass sⁿ/D(s).
pub fn denominator(slope: Slope) -> Vec<f64> {
    match slope.family() {
        Family::Butterworth => butterworth(slope.order()),
        Family::LinkwitzRiley => {
            let root = butterworth(slope.order() / 2);
            multiply(&root, &root)
        }
    }
}

/// Normalised low-pass ladder into 1 Ω, from the source to the load: series L, shunt C, series L…
/// in H and F at ω = 1.
///
/// Seen from the load with the source shorted, the lossless two-port has the admittance
/// even(D)/odd(D); its continued fraction gives the elements from the load backwards.
pub fn ladder(slope: Slope) -> Vec<f64> {
    let d = denominator(slope);
    let part = |parity: usize| -> Vec<f64> {
        d.iter().enumerate().map(|(k, &c)| if k % 2 == parity { c } else { 0.0 }).collect()
    };
    let order = slope.order();
    let (mut upper, mut lower) = (part(order % 2), part((order + 1) % 2));
    let mut elements = Vec::with_capacity(order);
    for degree in (1..=order).rev() {
        let value = upper[degree] / lower[degree - 1];
        elements.push(value);
        for k in 0..degree {
            upper[k + 1] -= value * lower[k];
        }
        std::mem::swap(&mut upper, &mut lower);
    }
    elements.reverse();
    elements
}

/// The pair of responses (low-pass, high-pass) at s = j·`x`, x = f/fc.
pub fn responses(slope: Slope, x: f64) -> (Complex64, Complex64) {
    let s = Complex64::new(0.0, x);
    let d = denominator(slope).iter().rev().fold(Complex64::default(), |sum, &c| sum * s + c);
    (1.0 / d, s.powu(slope.order() as u32) / d)
}

fn butterworth(order: usize) -> Vec<f64> {
    let mut polynomial = vec![1.0];
    for pair in 0..order / 2 {
        let angle = PI * (2 * pair + 1) as f64 / (2 * order) as f64;
        polynomial = multiply(&polynomial, &[1.0, 2.0 * angle.sin(), 1.0]);
    }
    if order % 2 == 1 { multiply(&polynomial, &[1.0, 1.0]) } else { polynomial }
}

fn multiply(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut product = vec![0.0; a.len() + b.len() - 1];
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            product[i + j] += x * y;
        }
    }
    product
}
