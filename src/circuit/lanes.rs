//! Real and complex numbers of several units side by side, laid out for vector instructions.

/// Units that are computed side by side.
pub const LANES: usize = 8;

/// One real number a unit.
pub type Real = [f64; LANES];

/// One complex number a unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Complex {
    /// Real parts.
    pub re: Real,
    /// Imaginary parts.
    pub im: Real,
}

/// A real number for each unit.
#[inline(always)]
pub fn each(value: impl Fn(usize) -> f64) -> Real {
    let mut out = [0.0; LANES];
    for (lane, out) in out.iter_mut().enumerate() {
        *out = value(lane);
    }
    out
}

impl Complex {
    /// Nothing.
    pub const ZERO: Self = Self { re: [0.0; LANES], im: [0.0; LANES] };

    /// The same number for all.
    #[inline(always)]
    pub fn all(re: f64, im: f64) -> Self {
        Self { re: [re; LANES], im: [im; LANES] }
    }

    /// One over it.
    #[inline(always)]
    pub fn inverse(&self) -> Self {
        let scale = each(|l| 1.0 / (self.re[l] * self.re[l] + self.im[l] * self.im[l]));
        Self { re: each(|l| self.re[l] * scale[l]), im: each(|l| -self.im[l] * scale[l]) }
    }

    /// The product.
    #[inline(always)]
    pub fn times(&self, other: &Self) -> Self {
        Self {
            re: each(|l| self.re[l] * other.re[l] - self.im[l] * other.im[l]),
            im: each(|l| self.re[l] * other.im[l] + self.im[l] * other.re[l]),
        }
    }

    /// The product with one number for all.
    #[inline(always)]
    pub fn times_one(&self, re: f64, im: f64) -> Self {
        Self {
            re: each(|l| self.re[l] * re - self.im[l] * im),
            im: each(|l| self.re[l] * im + self.im[l] * re),
        }
    }

    /// The product with a real number for each.
    #[inline(always)]
    pub fn scaled(&self, by: &Real) -> Self {
        Self { re: each(|l| self.re[l] * by[l]), im: each(|l| self.im[l] * by[l]) }
    }

    /// The sum.
    #[inline(always)]
    pub fn plus(&self, other: &Self) -> Self {
        Self { re: each(|l| self.re[l] + other.re[l]), im: each(|l| self.im[l] + other.im[l]) }
    }

    /// The difference.
    #[inline(always)]
    pub fn minus(&self, other: &Self) -> Self {
        Self { re: each(|l| self.re[l] - other.re[l]), im: each(|l| self.im[l] - other.im[l]) }
    }

    /// Less than nothing by as much.
    #[inline(always)]
    pub fn negative(&self) -> Self {
        Self { re: each(|l| -self.re[l]), im: each(|l| -self.im[l]) }
    }

    /// Squared magnitude.
    #[inline(always)]
    pub fn norm_sqr(&self) -> Real {
        each(|l| self.re[l] * self.re[l] + self.im[l] * self.im[l])
    }
}

/// 10 lg of positive numbers to 10⁻⁹ dB: the exponent from the bits, the rest by the series of
/// artanh (Abramowitz and Stegun 4.1.27 and 4.6.22).
#[inline(always)]
pub fn decibels(power: &Real) -> Real {
    const DB_PER_E: f64 = 10.0 * std::f64::consts::LOG10_E;
    const DB_PER_TWO: f64 = 10.0 * std::f64::consts::LOG10_2;
    // 2⁵² in the exponent turns small whole numbers in the mantissa into numbers.
    const MAGIC: u64 = 0x4330_0000_0000_0000;
    each(|l| {
        // Moves the cut of the mantissa from 1 to √½, so that it lies around 1.
        let bits = power[l].to_bits().wrapping_add(0x3ff0_0000_0000_0000 - 0x3fe6_a09e_667f_3bcd);
        let exponent = f64::from_bits((bits >> 52) | MAGIC) - 4_503_599_627_370_496.0 - 1023.0;
        let mantissa =
            f64::from_bits((bits & 0x000f_ffff_ffff_ffff).wrapping_add(0x3fe6_a09e_667f_3bcd));
        let s = (mantissa - 1.0) / (mantissa + 1.0);
        let q = s * s;
        let series = 1.0 / 9.0 + q * (1.0 / 11.0);
        let series = 1.0 / 3.0 + q * (1.0 / 5.0 + q * (1.0 / 7.0 + q * series));
        exponent * DB_PER_TWO + 2.0 * DB_PER_E * s * (1.0 + q * series)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decibels_are_right_over_the_whole_range() {
        for k in -3000..3000 {
            let x = 10f64.powf(f64::from(k) / 100.0);
            let got = decibels(&[x; LANES])[LANES - 1];
            assert!((got - 10.0 * x.log10()).abs() < 1e-8, "{x}: {got}");
        }
    }

    #[test]
    fn inverse_undoes_the_product() {
        let a = Complex { re: each(|l| 1.0 + l as f64), im: each(|l| 0.3 - l as f64) };
        let one = a.times(&a.inverse());
        assert!(one.re.iter().zip(one.im).all(|(r, i)| (r - 1.0).abs() < 1e-14 && i.abs() < 1e-14));
    }
}
