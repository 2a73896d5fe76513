//! A side at full drive: programme noise, the loudest sine, heat, and what would guard the woofer.

use super::finding::Finding;
use super::guard::Remedy;
use super::heating::{self, Heating};
use super::loudest::Loudest;
use super::noise::Noise;
use super::side::{SideModel, SideResponse};
use crate::circuit::network::Network;
use crate::circuit::solve::SolveError;
use crate::design::{Design, Side, Ways};
use crate::model::closed_box::Alignment;

/// What the side takes and gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// Programme noise through it.
    pub noise: Noise,
    /// The largest sines.
    pub loudest: Loudest,
    /// Heat of each driver whose thermal resistance is known.
    pub heating: Ways<Option<Heating>>,
    /// What would keep the woofer within Xmax.
    pub remedy: Remedy,
    /// Acoustic power in the passband at which the woofer reaches Xmax somewhere in the driven
    /// band (Small 1972), W.
    pub displacement_limited_w: f64,
    /// The same as electrical power E²/Re, W.
    pub displacement_limited_electrical_w: f64,
}

impl Drive {
    /// Of `side` through `network`, which has the response `response`; `alignment` is the woofer in
    /// its cavity, `source_ohm` (Ω) what it sees looking back.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        design: &Design,
        side: &Side,
        model: &SideModel,
        network: &Network,
        response: &SideResponse,
        (alignment, source_ohm): (&Alignment, f64),
    ) -> Result<Self, SolveError> {
        let woofer = &side.drivers.woofer.driver;
        let vd_m3 = woofer.motor.sd_m2 * woofer.limits.xmax_m;
        let from_hz = design.amplifier.cut_below_hz.unwrap_or(0.0);
        let acoustic_w = alignment.displacement_limited_w(vd_m3, from_hz, &design.air);
        Ok(Self {
            noise: Noise::of(design, side, model, response),
            loudest: Loudest::of(design, side, model, response),
            heating: heating::of(design, side, model, network, response, source_ohm)?,
            remedy: Remedy::of(design, side, model, network, response, alignment)?,
            displacement_limited_w: acoustic_w,
            displacement_limited_electrical_w: acoustic_w / woofer.motor.eta0(&design.air),
        })
    }

    /// What it asks care for.
    pub fn findings(&self, design: &Design, side: &Side) -> Vec<Finding> {
        let mut findings = self.noise.findings(&side.name);
        findings.extend(self.remedy.finding(&side.name, design.amplifier.rated_v()));
        findings.extend(heating::findings(side, &self.heating));
        findings
    }
}
