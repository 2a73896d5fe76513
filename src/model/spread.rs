//! How drivers of one type differ from unit to unit: from the spread of what is stated (fs, Qts,
//! sensitivity) to that of what makes them (mass, compliance, losses, force factor), which vary
//! independently.
//!
//! With small relative deviations m, c, R, b, r of Mms, Cms, Rms, Bl, Re the definitions of Small
//! (1972, cited from memory) give d ln fs = −(m + c)/2, d ln Qts = (m − c)/2 − (Qts/Qms) R +
//! (Qts/Qes)(r − 2b), and d ln p = b − r − m for the passband pressure. Independent elements make
//! the variances add. Derived here.

use super::driver::Motor;

/// Decibels of one neper.
const DB_PER_NEPER: f64 = 20.0 / std::f64::consts::LN_10;

/// Usual standard deviation of the mechanical losses, as a share. Common practice, no source.
const USUAL_RMS: f64 = 0.15;

/// Spread of stated parameters, one standard deviation each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverSpread {
    /// Resonance, %.
    pub fs_percent: f64,
    /// Total Q, %.
    pub qts_percent: f64,
    /// Level in the passband at one voltage, dB.
    pub sensitivity_db: f64,
    /// Resistance of the coil, %.
    pub re_percent: f64,
    /// Inductance of the coil, %.
    pub le_percent: f64,
}

/// Standard deviations of the logarithms of what makes a driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ElementSpread {
    /// Of the moving mass.
    pub mms: f64,
    /// Of the compliance.
    pub cms: f64,
    /// Of the mechanical losses.
    pub rms: f64,
    /// Of the force factor.
    pub bl: f64,
    /// Of the coil's resistance.
    pub re: f64,
    /// Of the coil's inductive part.
    pub le: f64,
}

/// Why no independent elements make the stated spread.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SpreadError {
    /// Qts spreads less than fs and Re alone make it.
    #[error("Qts cannot spread less than {least_percent:.1} %: that is what fs and Re alone make")]
    Qts {
        /// The least possible, %.
        least_percent: f64,
    },
    /// The sensitivity spreads less than Re and Bl make it, or more than Mms can.
    #[error(
        "with these spreads of fs, Qts and Re the sensitivity spreads {least_db:.2} to {most_db:.2} dB"
    )]
    Sensitivity {
        /// The least possible, dB.
        least_db: f64,
        /// The most possible, dB.
        most_db: f64,
    },
}

impl SpreadError {
    /// The parameter that is at fault, as files call it.
    pub fn key(&self) -> &'static str {
        match self {
            Self::Qts { .. } => "qts_percent",
            Self::Sensitivity { .. } => "sensitivity_db",
        }
    }
}

impl ElementSpread {
    /// Of a driver whose file states none. Common practice, no source.
    pub const USUAL: Self =
        Self { mms: 0.03, cms: 0.11, rms: USUAL_RMS, bl: 0.025, re: 0.025, le: 0.05 };

    /// No spread at all.
    pub const NONE: Self = Self { mms: 0.0, cms: 0.0, rms: 0.0, bl: 0.0, re: 0.0, le: 0.0 };

    /// The spread of independent elements that makes the `stated` one of `motor`. That leaves one
    /// freedom, the losses: they spread as usual, or as near to it as the stated spread allows.
    ///
    /// # Errors
    /// A stated spread that no independent elements make.
    pub fn of(motor: &Motor, stated: &DriverSpread) -> Result<Self, SpreadError> {
        let fs2 = (stated.fs_percent / 100.0).powi(2);
        let qts2 = (stated.qts_percent / 100.0).powi(2);
        let level2 = (stated.sensitivity_db / DB_PER_NEPER).powi(2);
        let re2 = (stated.re_percent / 100.0).powi(2);
        let (by_qms, by_qes) = (motor.qts() / motor.qms(), motor.qts() / motor.qes());
        // What Rms and Bl share: by_qms² R² + 4 by_qes² b² = by_qes² left.
        let left = (qts2 - fs2) / by_qes.powi(2) - re2;
        if left < -1e-12 {
            let least = (fs2 + by_qes.powi(2) * re2).sqrt();
            return Err(SpreadError::Qts { least_percent: 100.0 * least });
        }
        let left = left.max(0.0);
        let per_rms2 = (by_qms / by_qes).powi(2) / 4.0;
        // The variance that Rms takes from Bl goes to Mms, which holds at most 4 Var fs.
        let most_shift = left / 4.0;
        let mass2 = |shift: f64| level2 - re2 - left / 4.0 + shift;
        let (from, to) = ((-mass2(0.0)).max(0.0), most_shift.min(4.0 * fs2 - mass2(0.0)));
        if from > to + 1e-12 {
            let least2 = re2;
            let most2 = re2 + left / 4.0 + 4.0 * fs2;
            let db = |variance: f64| DB_PER_NEPER * variance.max(0.0).sqrt();
            return Err(SpreadError::Sensitivity { least_db: db(least2), most_db: db(most2) });
        }
        let shift = (per_rms2 * USUAL_RMS.powi(2)).clamp(from.min(to), to.max(0.0));
        let mms2 = mass2(shift).max(0.0);
        Ok(Self {
            mms: mms2.sqrt(),
            cms: (4.0 * fs2 - mms2).max(0.0).sqrt(),
            rms: (shift / per_rms2).sqrt(),
            bl: (left / 4.0 - shift).max(0.0).sqrt(),
            re: re2.sqrt(),
            le: stated.le_percent / 100.0,
        })
    }

    /// What these elements make of the parameters that are stated, to first order.
    pub fn stated(&self, motor: &Motor) -> DriverSpread {
        let (by_qms, by_qes) = (motor.qts() / motor.qms(), motor.qts() / motor.qes());
        let fs2 = 0.25 * (self.mms.powi(2) + self.cms.powi(2));
        let coil2 = by_qes.powi(2) * (self.re.powi(2) + 4.0 * self.bl.powi(2));
        let qts2 = fs2 + (by_qms * self.rms).powi(2) + coil2;
        let level2 = self.bl.powi(2) + self.re.powi(2) + self.mms.powi(2);
        DriverSpread {
            fs_percent: 100.0 * fs2.sqrt(),
            qts_percent: 100.0 * qts2.sqrt(),
            sensitivity_db: DB_PER_NEPER * level2.sqrt(),
            re_percent: 100.0 * self.re,
            le_percent: 100.0 * self.le,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn motor() -> Motor {
        Motor {
            re_ohm: 5.6,
            bl_t_m: 4.2,
            mms_kg: 3.9e-3,
            cms_m_per_n: 1.07e-3,
            rms_kg_per_s: 0.47,
            sd_m2: 38e-4,
        }
    }

    #[test]
    fn elements_make_what_is_stated() {
        let stated = DriverSpread {
            fs_percent: 6.0,
            qts_percent: 8.0,
            sensitivity_db: 0.4,
            re_percent: 2.5,
            le_percent: 5.0,
        };
        let back = ElementSpread::of(&motor(), &stated).unwrap().stated(&motor());
        for (a, b) in [
            (back.fs_percent, 6.0),
            (back.qts_percent, 8.0),
            (back.sensitivity_db, 0.4),
            (back.re_percent, 2.5),
            (back.le_percent, 5.0),
        ] {
            assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
    }

    #[test]
    fn what_no_elements_make_is_refused() {
        let stated = |qts_percent, sensitivity_db| DriverSpread {
            fs_percent: 6.0,
            qts_percent,
            sensitivity_db,
            re_percent: 2.5,
            le_percent: 5.0,
        };
        let of = |s| ElementSpread::of(&motor(), &s);
        assert!(matches!(of(stated(5.0, 0.4)), Err(SpreadError::Qts { .. })));
        assert!(matches!(of(stated(8.0, 0.1)), Err(SpreadError::Sensitivity { .. })));
        assert!(matches!(of(stated(8.0, 3.0)), Err(SpreadError::Sensitivity { .. })));
    }

    #[test]
    fn a_drawn_population_has_the_stated_spread() {
        // Small deviations, so that the first order holds; every element at ±1 standard deviation.
        let spread = ElementSpread { ..ElementSpread::USUAL };
        let small = 0.01;
        let base = motor();
        let (mut fs, mut qts, mut n) = (0.0, 0.0, 0.0);
        for corner in 0..32u32 {
            let sign = |k: u32| if corner >> k & 1 == 1 { small } else { -small };
            let moved = Motor {
                mms_kg: base.mms_kg * (sign(0) * spread.mms).exp(),
                cms_m_per_n: base.cms_m_per_n * (sign(1) * spread.cms).exp(),
                rms_kg_per_s: base.rms_kg_per_s * (sign(2) * spread.rms).exp(),
                bl_t_m: base.bl_t_m * (sign(3) * spread.bl).exp(),
                re_ohm: base.re_ohm * (sign(4) * spread.re).exp(),
                ..base
            };
            fs += (moved.fs_hz() / base.fs_hz()).ln().powi(2);
            qts += (moved.qts() / base.qts()).ln().powi(2);
            n += 1.0;
        }
        let stated = spread.stated(&base);
        let percent = |sum: f64| 100.0 * (sum / n).sqrt() / small;
        assert!((percent(fs) / stated.fs_percent - 1.0).abs() < 1e-4);
        assert!((percent(qts) / stated.qts_percent - 1.0).abs() < 1e-3);
    }
}
