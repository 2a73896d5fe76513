//! Chance that is the same on every machine and thread: numbers by place instead of in sequence,
//! and the normal distribution.
//!
//! A number is a hash of seed and place: the SplitMix64 sequence (Steele, Lea and Flood 2014,
//! *OOPSLA*, from memory) read at any index. So unit 7000 is the same whether the others were drawn
//! or not, and two designs meet the same chances.

/// A source of numbers between 0 and 1, both excluded, by place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Chance {
    key: u64,
}

impl Chance {
    /// The chances of `seed`.
    pub fn of(seed: u64) -> Self {
        Self { key: mix(seed.wrapping_add(GOLDEN)) }
    }

    /// A source of its own for a purpose or a row, independent of the others.
    #[must_use]
    pub fn row(&self, row: u64) -> Self {
        Self { key: mix(self.key ^ mix(row.wrapping_mul(GOLDEN).wrapping_add(GOLDEN))) }
    }

    /// The number at `place`.
    pub fn uniform(&self, place: u64) -> f64 {
        let bits = mix(self.key.wrapping_add(place.wrapping_add(1).wrapping_mul(GOLDEN)));
        ((bits >> 11) as f64 + 0.5) * (1.0 / (1u64 << 53) as f64)
    }

    /// A standard normal number at `place`.
    pub fn normal(&self, place: u64) -> f64 {
        normal_quantile(self.uniform(place))
    }
}

const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

fn mix(z: u64) -> u64 {
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Probability that a standard normal number is below `z`.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// The standard normal number that `p` (between 0 and 1) of all are below: rational
/// approximation by Wichura (1988), *Applied Statistics* 37, 477, algorithm AS 241 (PPND7: seven
/// figures; coefficients from memory, checked against `normal_cdf`).
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        let above = ((5.910_937_472e1 * r + 1.592_911_320_2e2) * r + 5.043_427_193_8e1) * r
            + 3.387_132_717_9;
        let below = ((6.718_756_360_0e1 * r + 7.875_775_766_4e1) * r + 1.789_516_946_9e1) * r + 1.0;
        return q * above / below;
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-tail.max(f64::MIN_POSITIVE).ln()).sqrt();
    let z = if r <= 5.0 {
        let r = r - 1.6;
        (((1.702_382_110_3e-1 * r + 1.306_728_483_8) * r + 2.756_815_390_0) * r + 1.423_437_277_7)
            / ((1.202_113_297_5e-1 * r + 7.370_016_425_0e-1) * r + 1.0)
    } else {
        let r = r - 5.0;
        (((1.733_720_399_7e-2 * r + 4.286_829_433_7e-1) * r + 3.081_226_389_2) * r
            + 6.657_905_115_0)
            / ((1.225_820_263_5e-2 * r + 2.419_789_447_7e-1) * r + 1.0)
    };
    if q < 0.0 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantile_inverts_the_distribution() {
        for k in 1..4000 {
            let p = f64::from(k) / 4000.0;
            assert!((normal_cdf(normal_quantile(p)) - p).abs() < 2e-7, "{p}");
        }
        for p in [1e-12, 1e-9, 1e-6, 1e-4] {
            let (low, high) = (normal_quantile(p), normal_quantile(1.0 - p));
            assert!((normal_cdf(low) / p - 1.0).abs() < 1e-5, "{p}");
            assert!((low + high).abs() < 1e-3, "{p}: {low} {high}");
        }
    }

    #[test]
    fn numbers_are_even_and_rows_independent() {
        let (a, b) = (Chance::of(1).row(3), Chance::of(1).row(4));
        let n = 100_000u64;
        let mean = |of: &dyn Fn(u64) -> f64| (0..n).map(of).sum::<f64>() / n as f64;
        assert!((mean(&|k| a.uniform(k)) - 0.5).abs() < 0.005);
        assert!((mean(&|k| a.normal(k).powi(2)) - 1.0).abs() < 0.02);
        assert!(mean(&|k| a.normal(k) * b.normal(k)).abs() < 0.02);
        assert!(mean(&|k| a.normal(k) * a.normal(k + 1)).abs() < 0.02);
    }
}
