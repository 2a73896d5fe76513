//! The sweeps by themselves, all together, and by paper and pencil.

use super::model::{Load, OMEGA_S, QES, QMS, RE, Shape};
use super::solve::{self, Fit, Problem, Sounding, ln_of};
use super::start::{self, peak};
use super::{
    CoilKind, Condition, CrossCheck, FittedSweep, IdentifyError, Request, ThreeFrequency,
    added_mass_kg, check, sealed_volume_m3,
};
use crate::signal::curve::Curve;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// A sweep by itself, as if what was added belonged to the driver.
pub(super) struct Solo {
    sounding: Sounding,
    fs_hz: f64,
    /// ln Re, ωs, Qms, Qes.
    resonator: [f64; 4],
}

impl Solo {
    pub(super) fn of(
        condition: Condition,
        curve: &Curve,
        re_ohm: Option<f64>,
    ) -> Result<Self, IdentifyError> {
        let sweep = condition.word();
        let (start_hz, stop_hz) = check::ends(curve);
        let no_resonance = IdentifyError::NoResonance { sweep, start_hz, stop_hz };
        let peak = peak(curve).ok_or(no_resonance.clone())?;
        let phases = curve.phase_deg.as_deref();
        let at = |i: usize| ln_of(curve.magnitude[i], phases.map(|p| p[i]));
        let sounding = Sounding {
            omega: curve.frequency_hz.iter().map(|f| TAU * f).collect(),
            ln_z: (0..curve.magnitude.len()).map(at).collect(),
            has_phase: phases.is_some(),
            load: Load::default(),
        };
        let shape = Shape { kind: CoilKind::PowerLaw, weighed: false };
        let resonator = start::resonator(curve, peak, re_ohm);
        let starts = start::starts(shape, resonator, &sounding, None);
        let soundings = std::slice::from_ref(&sounding);
        let fit = Problem { soundings, shape, re_ohm }.fit(&starts).ok_or(IdentifyError::NoEnd)?;
        let fs_hz = fit.theta[OMEGA_S].exp() / TAU;
        if !(start_hz..=stop_hz).contains(&fs_hz) {
            return Err(no_resonance);
        }
        let resonator = [RE, OMEGA_S, QMS, QES].map(|at| fit.theta[at]);
        Ok(Self { sounding, fs_hz, resonator })
    }
}

/// All sweeps with their loads, and where to begin.
pub(super) struct Joint {
    soundings: Vec<Sounding>,
    conditions: Vec<Condition>,
    resonator: [f64; 4],
    mms_kg: Option<f64>,
}

impl Joint {
    pub(super) fn of(
        request: &Request,
        sweeps: &[(Condition, &Curve)],
        solos: &[Solo],
    ) -> Result<Self, IdentifyError> {
        let free = solos.first().ok_or(IdentifyError::NoEnd)?;
        let mut mms_kg = None;
        let mut soundings = Vec::new();
        for ((condition, _), solo) in sweeps.iter().zip(solos) {
            let load = request.load(*condition);
            soundings.push(Sounding { load, ..solo.sounding.clone() });
            let weight = check::weight(*condition, load, free.fs_hz, solo.fs_hz)?;
            mms_kg = mms_kg.or(weight);
        }
        let conditions = sweeps.iter().map(|(condition, _)| *condition).collect();
        Ok(Self { soundings, conditions, resonator: free.resonator, mms_kg })
    }

    pub(super) fn all(&self) -> Vec<Condition> {
        self.conditions.clone()
    }

    pub(super) fn points(&self) -> usize {
        self.soundings.iter().map(|s| s.omega.len()).sum()
    }

    /// Fits the sweeps of some conditions.
    pub(super) fn fit(
        &self,
        kind: CoilKind,
        some: &[Condition],
        re_ohm: Option<f64>,
    ) -> Option<Fit> {
        let chosen = self.soundings.iter().zip(&self.conditions);
        let soundings: Vec<Sounding> =
            chosen.filter(|(_, c)| some.contains(c)).map(|(s, _)| s.clone()).collect();
        let shape = Shape { kind, weighed: some.iter().any(|c| *c != Condition::FreeAir) };
        // The highest end says most of the coil.
        let end = |s: &&Sounding| s.omega.last().copied().unwrap_or(0.0);
        let top = soundings.iter().max_by(|a, b| end(a).total_cmp(&end(b)))?;
        let mms_kg = self.mms_kg.filter(|_| shape.weighed);
        let starts = start::starts(shape, self.resonator, top, mms_kg);
        Problem { soundings: &soundings, shape, re_ohm }.fit(&starts)
    }

    pub(super) fn fitted(
        &self,
        fit: &Fit,
        sweeps: &[(Condition, &Curve)],
        solos: &[Solo],
    ) -> Vec<FittedSweep> {
        let one =
            |((sounding, (condition, curve)), solo): ((&Sounding, &(Condition, &Curve)), &Solo)| {
                let residual = sounding.residual(fit.shape, &fit.theta);
                let squares: f64 = residual.iter().map(Complex64::norm_sqr).sum();
                let at = |w: &f64| fit.shape.impedance(&fit.theta, *w, sounding.load).0;
                FittedSweep {
                    condition: *condition,
                    curve: (*curve).clone(),
                    model: sounding.omega.iter().map(at).collect(),
                    residual_percent: residual.iter().map(|r| -100.0 * r).collect(),
                    rms_percent: 100.0 * (squares / residual.len().max(1) as f64).sqrt(),
                    neighbour_correlation: solve::neighbour_correlation(&residual),
                    resonance_hz: solo.fs_hz,
                }
            };
        self.soundings.iter().zip(sweeps).zip(solos).map(one).collect()
    }
}

pub(super) fn cross_check(
    request: &Request,
    fit: &Fit,
    sweeps: &[(Condition, &Curve)],
    solos: &[Solo],
) -> CrossCheck {
    let [re, fs, qms, qes] = [RE, OMEGA_S, QMS, QES].map(|at| fit.theta[at].exp());
    let fs = fs / TAU;
    let model = |hz: f64| fit.shape.impedance(&fit.theta, TAU * hz, Load::default()).0.norm();
    let of_model = ThreeFrequency::of_model(model, re, fs).filter(|t| t.qts.is_finite());
    let percent = |found: f64, truth: f64| 100.0 * (found / truth - 1.0);
    let mut check = CrossCheck {
        three_frequency: ThreeFrequency::of_curve(&request.free, re).filter(|t| t.qts.is_finite()),
        coil_bias_percent: of_model
            .map(|m| [percent(m.fs_hz, fs), percent(m.qms, qms), percent(m.qes, qes)]),
        ..CrossCheck::default()
    };
    let Some(free) = solos.first() else { return check };
    for ((condition, _), solo) in sweeps.iter().zip(solos) {
        match *condition {
            Condition::FreeAir => {}
            Condition::AddedMass(kg) => {
                check.added_mass_kg = added_mass_kg(free.fs_hz, solo.fs_hz, kg).ok();
            }
            Condition::Box(m3) => {
                let [q_free, q_box] = [free, solo].map(|s| s.resonator[QES].exp());
                check.sealed_volume_m3 =
                    Some(sealed_volume_m3(free.fs_hz, q_free, solo.fs_hz, q_box, m3));
            }
        }
    }
    check
}
