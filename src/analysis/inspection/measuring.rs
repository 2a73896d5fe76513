//! How well a fixture measures: noise, gain, leads and temperature, from a study or as stated.

use crate::analysis::chance::Chance;
use crate::model::heat::COPPER_PER_K;

/// Temperature that resistances are told for, °C.
pub const REFERENCE_C: f64 = 20.0;

/// Rows of chance for the fixture, apart from those of the units.
const FIXTURE: u64 = 1 << 40;

/// What a sweep on the fixture is uncertain by, one standard deviation each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measuring {
    /// From sweep to sweep, of the magnitude at one frequency, as a share.
    pub noise: f64,
    /// Common to all frequencies of a sweep, as a share: what the daily check leaves.
    pub gain: f64,
    /// Resistance of leads and contacts, Ω.
    pub leads_ohm: f64,
    /// Temperature of the copper beside what was corrected for, K.
    pub temperature_k: f64,
    /// Of the sound pressure at one frequency, dB.
    pub response_db: f64,
    /// Of the level of a whole response, dB.
    pub level_db: f64,
}

impl Default for Measuring {
    /// 1 % noise and gain, 0.05 Ω, 3 K; for a response, compared with the reference unit's, 0.2 dB and
    /// 0.3 dB. Common practice, no source.
    fn default() -> Self {
        Self {
            noise: 0.01,
            gain: 0.01,
            leads_ohm: 0.05,
            temperature_k: 3.0,
            response_db: 0.2,
            level_db: 0.3,
        }
    }
}

impl Measuring {
    /// Standard uncertainty of the logarithm of an impedance of `ohm`, whose share `copper` is
    /// resistance of copper: contributions added as squares (JCGM 100:2008, 5.1.2).
    pub fn of_impedance(&self, ohm: f64, copper: f64) -> f64 {
        let warmth = COPPER_PER_K * self.temperature_k * copper;
        let parts = [self.noise, self.gain, self.leads_ohm / ohm, warmth];
        parts.iter().map(|u| u * u).sum::<f64>().sqrt()
    }

    /// Standard uncertainty of a sound pressure level, dB.
    pub fn of_response_db(&self) -> f64 {
        self.response_db.hypot(self.level_db)
    }

    /// What sweep number `sweep` of a seed reads of a unit: the logarithm of its magnitude (Ω) with
    /// gain, leads, temperature and noise. `copper` is the share that grows with its temperature.
    pub fn impedance_read(
        &self,
        ln_ohm: &[f64],
        copper: &[f64],
        seed: u64,
        sweep: u64,
    ) -> Vec<f64> {
        let chance = Chance::of(seed).row(FIXTURE + 2 * sweep);
        let gain = self.gain * chance.normal(0);
        let leads = self.leads_ohm * chance.normal(1);
        let warmth = COPPER_PER_K * self.temperature_k * chance.normal(2);
        let one = |(f, (ln, copper)): (usize, (&f64, &f64))| {
            let noise = self.noise * chance.normal(3 + f as u64);
            ln + gain + leads / ln.exp() + warmth * copper + noise
        };
        ln_ohm.iter().zip(copper).enumerate().map(one).collect()
    }

    /// What it reads of a unit's level, dB.
    pub fn response_read(&self, level_db: &[f64], seed: u64, sweep: u64) -> Vec<f64> {
        let chance = Chance::of(seed).row(FIXTURE + 2 * sweep + 1);
        let level = self.level_db * chance.normal(0);
        let noise = |f: usize| self.response_db * chance.normal(1 + f as u64);
        level_db.iter().enumerate().map(|(f, db)| db + level + noise(f)).collect()
    }

    /// How far a known resistor may read from its value on a good day, as a share: twice what
    /// gain and leads make of it together.
    pub fn resistor_allowance(&self, ohm: f64) -> f64 {
        2.0 * self.gain.hypot(self.leads_ohm / ohm)
    }

    /// How far two sweeps of one unit may differ at an impedance of `ohm` with the share `copper`,
    /// as a share: twice the uncertainty of a difference.
    pub fn drift_allowance(&self, ohm: f64, copper: f64) -> f64 {
        2.0 * std::f64::consts::SQRT_2 * self.of_impedance(ohm, copper)
    }
}

/// What repeated sweeps of one unit say.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeatability {
    /// How many sweeps.
    pub sweeps: usize,
    /// Standard deviation of the common gain from sweep to sweep, as a share.
    pub gain: f64,
    /// Pooled standard deviation at one frequency with the common gain taken out, as a share.
    pub noise: f64,
}

impl Repeatability {
    /// From the logarithms of the magnitudes (`sweeps[k][f]`, all of one length): variances pooled
    /// over frequency. `None` for fewer than two sweeps or points.
    pub fn of(sweeps: &[Vec<f64>]) -> Option<Self> {
        let points = sweeps.iter().map(Vec::len).min()?;
        if sweeps.len() < 2 || points < 2 {
            return None;
        }
        let (n, m) = (sweeps.len() as f64, points as f64);
        let at = |f: usize| sweeps.iter().map(move |s| s[f]);
        let mean: Vec<f64> = (0..points).map(|f| at(f).sum::<f64>() / n).collect();
        let gain = |s: &Vec<f64>| s.iter().zip(&mean).map(|(v, mean)| v - mean).sum::<f64>() / m;
        let gains: Vec<f64> = sweeps.iter().map(gain).collect();
        let left = |(s, g): (&Vec<f64>, &f64)| -> f64 {
            s.iter().zip(&mean).map(|(v, mean)| (v - mean - g).powi(2)).sum()
        };
        let noise2 = sweeps.iter().zip(&gains).map(left).sum::<f64>() / ((n - 1.0) * (m - 1.0));
        let gain2 = gains.iter().map(|g| g * g).sum::<f64>() / (n - 1.0);
        // Noise alone moves the mean over m points by its m-th part.
        let gain = (gain2 - noise2 / m).max(0.0).sqrt();
        Some(Self { sweeps: sweeps.len(), gain, noise: noise2.sqrt() })
    }
}

/// A resistance of copper measured at `celsius`, at 20 °C: R/(1 + α (T − 20)).
pub fn copper_at_reference(ohm: f64, celsius: f64) -> f64 {
    ohm / (1.0 + COPPER_PER_K * (celsius - REFERENCE_C))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repeated_sweeps_give_back_what_they_were_made_with() {
        let chance = crate::analysis::chance::Chance::of(3);
        let sweep = |k: u64| -> Vec<f64> {
            let own = chance.row(k);
            (0..200).map(|f| 0.02 * own.normal(1000) + 0.005 * own.normal(f)).collect()
        };
        let sweeps: Vec<Vec<f64>> = (0..200).map(sweep).collect();
        let found = Repeatability::of(&sweeps).unwrap();
        assert!((found.noise / 0.005 - 1.0).abs() < 0.02, "{found:?}");
        assert!((found.gain / 0.02 - 1.0).abs() < 0.12, "{found:?}");
        assert!(Repeatability::of(&sweeps[..1]).is_none());
    }

    #[test]
    fn warm_copper_is_told_for_20_degrees() {
        assert!((copper_at_reference(5.6 * 1.0393, 30.0) - 5.6).abs() < 1e-12);
    }
}
