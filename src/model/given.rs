//! From the parameters that a data sheet gives to the five lumped elements, and back: what
//! follows from what, and how far over-determined sets disagree.

use super::air::Air;
use super::driver::{Driver, Motor};
use std::f64::consts::TAU;

/// The parameters stated for a driver. Any set that fixes mass, compliance, loss and force factor
/// will do; what is stated beyond that is checked.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct GivenParameters {
    /// Voice-coil resistance, Ω.
    pub re_ohm: f64,
    /// Piston area, m².
    pub sd_m2: f64,
    /// Resonance, Hz.
    pub fs_hz: Option<f64>,
    /// Mechanical Q.
    pub qms: Option<f64>,
    /// Electrical Q.
    pub qes: Option<f64>,
    /// Total Q.
    pub qts: Option<f64>,
    /// Equivalent volume, m³.
    pub vas_m3: Option<f64>,
    /// Moving mass, kg.
    pub mms_kg: Option<f64>,
    /// Compliance, m/N.
    pub cms_m_per_n: Option<f64>,
    /// Mechanical resistance, kg/s.
    pub rms_kg_per_s: Option<f64>,
    /// Force factor, T·m.
    pub bl_t_m: Option<f64>,
}

/// A stated value that the others contradict.
#[derive(Debug, Clone, PartialEq)]
pub struct Disagreement {
    /// The symbol, as the trade writes it.
    pub symbol: &'static str,
    /// What was stated (SI units).
    pub stated: f64,
    /// What follows from the parameters used (SI units).
    pub derived: f64,
}

impl Disagreement {
    /// How far the stated value is from the derived one, in percent of the derived.
    pub fn percent(&self) -> f64 {
        100.0 * (self.stated / self.derived - 1.0)
    }
}

/// A driver, and what is stated of it twice and differently.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedDriver {
    /// The driver.
    pub driver: Driver,
    /// Stated values that the others contradict.
    pub disagreements: Vec<Disagreement>,
    /// What is worth knowing of its measured curves.
    pub notes: Vec<String>,
}

/// Why the stated parameters do not make a driver.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GivenError {
    /// Mass and compliance are open.
    #[error(
        "mass and compliance are not fixed: state fs and one of Vas, Mms, Cms (or two of those three without fs)"
    )]
    Resonance,
    /// The mechanical loss is open.
    #[error("the mechanical loss is not fixed: state Qms, or Rms, or Qts together with Qes or Bl")]
    Loss,
    /// The force factor is open.
    #[error("the force factor is not fixed: state Qes, or Bl, or Qts together with Qms or Rms")]
    Force,
    /// Qts is not below the other Q.
    #[error("Qts = {qts} must be smaller than {symbol} = {other}, since 1/Qts = 1/Qms + 1/Qes")]
    TotalQ {
        /// Stated Qts.
        qts: f64,
        /// Qms or Qes.
        symbol: &'static str,
        /// Its value.
        other: f64,
    },
}

impl GivenParameters {
    /// The lumped elements that follow (Small 1972): Cms = Vas/(ρc² Sd²), Mms = 1/(ωs² Cms),
    /// Rms = ωs Mms/Qms, Bl = √(ωs Mms Re/Qes). Where more is stated than needed, fs and Vas come
    /// before Mms and Cms, and the Q before Rms and Bl.
    ///
    /// # Errors
    /// When the set leaves an element open or Qts is impossible.
    pub fn motor(&self, air: &Air) -> Result<Motor, GivenError> {
        let (mms_kg, cms_m_per_n) = self.resonator(air)?;
        let omega_s = 1.0 / (mms_kg * cms_m_per_n).sqrt();
        let reactance = omega_s * mms_kg;
        // A Q that is not stated may be stated through its element.
        let qms = self.qms.or(self.rms_kg_per_s.map(|rms| reactance / rms));
        let qes = self.qes.or(self.bl_t_m.map(|bl| reactance * self.re_ohm / (bl * bl)));
        let loss_q = other_q(qms, self.qts, qes, "Qes")?.ok_or(GivenError::Loss)?;
        let force_q = other_q(qes, self.qts, qms, "Qms")?.ok_or(GivenError::Force)?;
        Ok(Motor {
            re_ohm: self.re_ohm,
            bl_t_m: (reactance * self.re_ohm / force_q).sqrt(),
            mms_kg,
            cms_m_per_n,
            rms_kg_per_s: reactance / loss_q,
            sd_m2: self.sd_m2,
        })
    }

    /// Each stated parameter against what `motor` says it should be; those equal within
    /// `tolerance` (relative) are left out.
    pub fn disagreements(&self, motor: &Motor, air: &Air, tolerance: f64) -> Vec<Disagreement> {
        [
            ("fs", self.fs_hz, motor.fs_hz()),
            ("Qms", self.qms, motor.qms()),
            ("Qes", self.qes, motor.qes()),
            ("Qts", self.qts, motor.qts()),
            ("Vas", self.vas_m3, motor.vas_m3(air)),
            ("Mms", self.mms_kg, motor.mms_kg),
            ("Cms", self.cms_m_per_n, motor.cms_m_per_n),
            ("Rms", self.rms_kg_per_s, motor.rms_kg_per_s),
            ("Bl", self.bl_t_m, motor.bl_t_m),
        ]
        .into_iter()
        .filter_map(|(symbol, stated, derived)| {
            let stated = stated?;
            let off = (stated / derived - 1.0).abs() > tolerance;
            off.then_some(Disagreement { symbol, stated, derived })
        })
        .collect()
    }

    fn resonator(&self, air: &Air) -> Result<(f64, f64), GivenError> {
        let from_vas = self.vas_m3.map(|v| v / (air.bulk_modulus_pa() * self.sd_m2.powi(2)));
        let cms = from_vas.or(self.cms_m_per_n);
        let spring_times_mass = self.fs_hz.map(|fs| (TAU * fs).powi(-2));
        match (spring_times_mass, cms, self.mms_kg) {
            (Some(product), Some(cms), _) => Ok((product / cms, cms)),
            (Some(product), None, Some(mms)) => Ok((mms, product / mms)),
            (None, Some(cms), Some(mms)) => Ok((mms, cms)),
            _ => Err(GivenError::Resonance),
        }
    }
}

/// The wanted Q itself if stated, else from 1/wanted = 1/Qts − 1/partner.
fn other_q(
    wanted: Option<f64>,
    qts: Option<f64>,
    partner: Option<f64>,
    symbol: &'static str,
) -> Result<Option<f64>, GivenError> {
    match (wanted, qts, partner) {
        (None, Some(qts), Some(other)) if qts >= other => {
            Err(GivenError::TotalQ { qts, symbol, other })
        }
        (None, Some(qts), Some(other)) => Ok(Some(1.0 / (1.0 / qts - 1.0 / other))),
        (wanted, ..) => Ok(wanted),
    }
}
