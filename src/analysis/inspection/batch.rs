//! A batch as a whole: capability, drift over the serial number, outliers.

use super::conformity::Tolerance;

/// Robust score beyond which a value is an outlier (Iglewicz and Hoaglin 1993, *How to detect and
/// handle outliers*, from memory).
pub const OUTLYING: f64 = 3.5;

/// How a key figure sits between its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capability {
    /// Mean.
    pub mean: f64,
    /// Standard deviation (n − 1).
    pub deviation: f64,
    /// Width of the limits over six standard deviations.
    pub cp: f64,
    /// Distance of the mean from the nearer limit over three standard deviations.
    pub cpk: f64,
}

impl Capability {
    /// Of at least two values that differ: Cp = (U − L)/(6 s), Cpk = min(U − x̄, x̄ − L)/(3 s) (ISO
    /// 22514-2, from memory; s of the whole batch).
    pub fn of(values: &[f64], limits: Tolerance) -> Option<Self> {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        let deviation = (squares / (n - 1.0)).sqrt();
        let usable = values.len() >= 2 && deviation.is_finite() && deviation > 0.0;
        let nearer = (limits.high - mean).min(mean - limits.low);
        usable.then(|| Self {
            mean,
            deviation,
            cp: (limits.high - limits.low) / (6.0 * deviation),
            cpk: nearer / (3.0 * deviation),
        })
    }
}

/// A straight line through values over the serial number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// Change from the first to the last unit.
    pub whole: f64,
    /// Slope over its standard error.
    pub t: f64,
}

impl Drift {
    /// Least squares through at least four points with different numbers.
    pub fn of(number: &[f64], values: &[f64]) -> Option<Self> {
        let n = number.len() as f64;
        if number.len() < 4 || number.len() != values.len() {
            return None;
        }
        let mean = |v: &[f64]| v.iter().sum::<f64>() / n;
        let (mx, my) = (mean(number), mean(values));
        let sxx: f64 = number.iter().map(|x| (x - mx).powi(2)).sum();
        let sxy: f64 = number.iter().zip(values).map(|(x, y)| (x - mx) * (y - my)).sum();
        if sxx <= 0.0 {
            return None;
        }
        let slope = sxy / sxx;
        let left = number.iter().zip(values).map(|(x, y)| (y - my - slope * (x - mx)).powi(2));
        let error = (left.sum::<f64>() / (n - 2.0) / sxx).sqrt();
        let least = number.iter().copied().fold(f64::INFINITY, f64::min);
        let most = number.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (error > 0.0).then(|| Self { whole: slope * (most - least), t: slope / error })
    }

    /// Whether the slope stands out: beyond three standard errors.
    pub fn is_clear(&self) -> bool {
        self.t.abs() > 3.0
    }
}

/// Robust score of each value: 0.6745 times its distance from the median over the median of these
/// distances; zero where more than half of the values are equal.
pub fn robust_scores(values: &[f64]) -> Vec<f64> {
    let middle = median(values.to_vec());
    let spread = median(values.iter().map(|v| (v - middle).abs()).collect());
    let score = |v: &f64| if spread > 0.0 { 0.6745 * (v - middle) / spread } else { 0.0 };
    values.iter().map(score).collect()
}

/// The middle value; 0 of none.
pub fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[n / 2],
        n => 0.5 * (values[n / 2 - 1] + values[n / 2]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capability_drift_and_outliers_come_out_as_by_hand() {
        // Mean 10, squares 4 + 1 + 0 + 1 + 4 = 10, s² = 2.5; limits 4 and 13.
        let values = [8.0, 9.0, 10.0, 11.0, 12.0];
        let c = Capability::of(&values, Tolerance { low: 4.0, high: 13.0 }).unwrap();
        assert!((c.deviation - 2.5f64.sqrt()).abs() < 1e-12);
        assert!((c.cp - 9.0 / (6.0 * 2.5f64.sqrt())).abs() < 1e-12);
        assert!((c.cpk - 3.0 / (3.0 * 2.5f64.sqrt())).abs() < 1e-12);
        assert!(Capability::of(&[1.0, 1.0], Tolerance { low: 0.0, high: 2.0 }).is_none());
        // Slope 0.8 by hand: Sxy = 4, Sxx = 5; what is left: 0.2² + 0.6² + ... = 1.8.
        let d = Drift::of(&[1.0, 2.0, 3.0, 4.0], &[1.0, 3.0, 2.0, 4.0]).unwrap();
        assert!((d.whole - 2.4).abs() < 1e-12);
        assert!((d.t - 0.8 / (1.8f64 / 2.0 / 5.0).sqrt()).abs() < 1e-12);
        // Median 3, distances 2 1 0 1 97: their median is 1.
        let scores = robust_scores(&[1.0, 2.0, 3.0, 4.0, 100.0]);
        assert!((scores[4] - 0.6745 * 97.0).abs() < 1e-9 && scores[0].abs() < OUTLYING);
    }
}
