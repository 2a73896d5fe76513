//! How sure a share is that was counted, and what it means for runs whose units have something in
//! common.

use super::chance::normal_quantile;

/// A share of good units with its interval, and how it differs from run to run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proportion {
    /// Good units over all.
    pub mean: f64,
    /// Interval that holds the true share with a probability of 95 %.
    pub interval: (f64, f64),
    /// Variance of the share between lots over mean (1 − mean): 0 where lots are alike, 1 where a
    /// lot is good or bad as a whole.
    pub alike: f64,
}

/// Wilson's score interval for a share `mean` of `count` trials (a number that need not be whole)
/// at `z` standard deviations (Wilson 1927, *J. Am. Stat. Assoc.* 22, 209).
pub fn wilson(mean: f64, count: f64, z: f64) -> (f64, f64) {
    let z2 = z * z / count;
    let middle = (mean + 0.5 * z2) / (1.0 + z2);
    let half =
        (z / (1.0 + z2)) * (mean * (1.0 - mean) / count + z2 / (4.0 * count)).max(0.0).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

/// Student's t that `p` of all are below, for `freedom` degrees: Cornish and Fisher's expansion
/// (Abramowitz and Stegun 26.7.5), good to 1 % from 5 degrees on.
pub fn student_quantile(p: f64, freedom: f64) -> f64 {
    let z = normal_quantile(p);
    let z2 = z * z;
    let first = z * (z2 + 1.0) / 4.0;
    let second = z * ((5.0 * z2 + 16.0) * z2 + 3.0) / 96.0;
    let third = z * (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / 384.0;
    z + first / freedom + second / freedom.powi(2) + third / freedom.powi(3)
}

impl Proportion {
    /// From the good units of lots of `per_lot` each. The interval is Wilson's with the number of
    /// trials divided by the design effect, and Student's t over the lots in the place of the
    /// normal number (Korn and Graubard 1998, *Survey Methodology* 24, 193, from memory).
    pub fn of_lots(good: &[u32], per_lot: u32) -> Self {
        let (lots, m) = (good.len() as f64, f64::from(per_lot));
        let total = lots * m;
        let mean = good.iter().map(|g| f64::from(*g)).sum::<f64>() / total.max(1.0);
        let alike = intra_lot(good, per_lot, mean);
        let effect = 1.0 + (m - 1.0) * alike;
        let z = if alike > 0.0 && lots > 5.0 {
            student_quantile(0.975, lots - 1.0)
        } else {
            normal_quantile(0.975)
        };
        Self { mean, interval: wilson(mean, (total / effect).max(1.0), z), alike }
    }

    /// Probability of 0, 1, … `units` good units in a run that is one lot: the share of good ones
    /// differs from lot to lot as a beta distribution with the mean and variance found (the
    /// beta-binomial distribution, Skellam 1948, *J. R. Stat. Soc. B* 10, 257, from memory).
    pub fn run(&self, units: u32) -> Vec<f64> {
        let n = f64::from(units);
        let mean = self.mean.clamp(0.0, 1.0);
        if mean <= 0.0 || mean >= 1.0 {
            let certain = if mean >= 1.0 { units } else { 0 };
            return (0..=units).map(|k| f64::from(u8::from(k == certain))).collect();
        }
        let choose =
            |k: f64| libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
        let rho = self.alike.clamp(0.0, 0.999);
        let chance = |k: u32| {
            let k = f64::from(k);
            if rho < 1e-6 {
                return (choose(k) + k * mean.ln() + (n - k) * (1.0 - mean).ln()).exp();
            }
            let size = 1.0 / rho - 1.0;
            let (a, b) = (mean * size, (1.0 - mean) * size);
            let beta = |a: f64, b: f64| libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b);
            (choose(k) + beta(k + a, n - k + b) - beta(a, b)).exp()
        };
        (0..=units).map(chance).collect()
    }

    /// The number of good units that `p` of runs of `units` have at most.
    pub fn run_quantile(&self, units: u32, p: f64) -> u32 {
        let mut sum = 0.0;
        for (k, chance) in self.run(units).iter().enumerate() {
            sum += chance;
            if sum >= p {
                return k as u32;
            }
        }
        units
    }
}

/// Share of the variance that units of a lot have in common, by moments; never below 0.
fn intra_lot(good: &[u32], per_lot: u32, mean: f64) -> f64 {
    let (lots, m) = (good.len() as f64, f64::from(per_lot));
    let spread = mean * (1.0 - mean);
    if lots < 2.0 || m < 2.0 || spread <= 0.0 {
        return 0.0;
    }
    let share = |g: &u32| f64::from(*g) / m;
    let between = good.iter().map(|g| (share(g) - mean).powi(2)).sum::<f64>() / (lots - 1.0);
    let within = good.iter().map(|g| share(g) * (1.0 - share(g))).sum::<f64>() / (lots * (m - 1.0));
    ((between - within) / (between - within + within * m)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::chance::Chance;

    #[test]
    fn wilson_agrees_with_its_printed_example() {
        // 81 of 263 at 95 %: 0.2553 to 0.3662 (Newcombe 1998, Statistics in Medicine 17, 857,
        // table I, method 3; from memory).
        let (low, high) = wilson(81.0 / 263.0, 263.0, normal_quantile(0.975));
        assert!((low - 0.2553).abs() < 5e-5 && (high - 0.3662).abs() < 5e-5, "{low} {high}");
    }

    #[test]
    fn student_agrees_with_tables() {
        for (freedom, t) in [(5.0, 2.571), (10.0, 2.228), (30.0, 2.042), (99.0, 1.984)] {
            assert!((student_quantile(0.975, freedom) / t - 1.0).abs() < 2e-3, "{freedom}");
        }
    }

    /// Lots whose share is Φ of a normal number: half of the variance of the score is the lot's.
    fn lots(chance: Chance, lots: u64, per_lot: u32, cut: f64, share: f64) -> Vec<u32> {
        let lot = |k: u64| {
            let own = chance.row(k);
            let common = share.sqrt() * own.normal(u64::MAX / 2);
            let good = |u: u32| common + (1.0 - share).sqrt() * own.normal(u64::from(u)) < cut;
            (0..per_lot).filter(|u| good(*u)).count() as u32
        };
        (0..lots).map(lot).collect()
    }

    #[test]
    fn intervals_hold_the_truth_as_often_as_they_say() {
        for (share, cut) in [(0.0, 1.0), (0.0, 2.0), (0.5, 1.04), (0.5, 0.0), (0.3, 1.5)] {
            let truth = crate::analysis::chance::normal_cdf(cut);
            let runs = 600;
            let holds = |run: &u64| {
                let counted = lots(Chance::of(77).row(1000 + run), 60, 60, cut, share);
                let (low, high) = Proportion::of_lots(&counted, 60).interval;
                (low..=high).contains(&truth)
            };
            let held = (0..runs).filter(holds).count() as f64 / runs as f64;
            // Four standard errors of 95 % over 600 runs are 3.6 %.
            assert!((0.914..=0.99).contains(&held), "{share} {cut}: {held}");
        }
    }

    #[test]
    fn runs_differ_as_a_simulation_of_runs_does() {
        // Half of the variance common and a mean of 85 %.
        let counted = lots(Chance::of(3), 400, 100, 1.0364, 0.5);
        let proportion = Proportion::of_lots(&counted, 100);
        let mut runs = lots(Chance::of(4), 4000, 300, 1.0364, 0.5);
        runs.sort_unstable();
        for p in [0.05, 0.5, 0.95] {
            let simulated = f64::from(runs[(p * 4000.0) as usize]) / 300.0;
            let got = f64::from(proportion.run_quantile(300, p)) / 300.0;
            assert!((got - simulated).abs() < 0.05, "{p}: {got} {simulated}");
        }
        let total: f64 = proportion.run(300).iter().sum();
        assert!((total - 1.0).abs() < 1e-9);
    }
}
