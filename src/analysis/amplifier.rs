//! Whether the amplifier survives what it feeds, and what it feeds survives the amplifier: clipping,
//! supply, output filter, direct current, unplugged drivers, worst corners, conductors.

pub mod corners;
pub mod faced;
mod findings;
pub mod overdrive;
pub mod ringing;
pub mod standing;
pub mod stress;
pub mod supply;
pub mod unplugged;
pub mod wiring;

use self::corners::{Case, Corners};
use self::faced::Faced;
use self::overdrive::{Fused, Overdriven};
use self::ringing::Ringing;
use self::standing::Standing;
use self::stress::Stress;
use self::supply::Supply;
use self::unplugged::Unplugged;
use self::wiring::Wiring;
use super::finding::Finding;
use super::side::{SideModel, SideResponse};
use super::study::{SideStudy, StudyError};
use super::synthesis::{TWEETER, WOOFER};
use super::terminals::Terminals;
use super::warmth::Warmth;
use crate::circuit::network::Network;
use crate::design::{Amplifier, Design, PolarityRule, Side, Way, Ways};
use crate::grid::Grid;
use crate::model::heat::COPPER_PER_K;
use crate::signal::clipping::ProgrammeNoise;
use crate::signal::programme::Programme;
use rayon::prelude::*;

/// Points from 20 Hz to 20 kHz.
const POINTS: usize = 480;
/// A voice coil whose thermal resistance is not known is taken this much warmer when hot, K (common
/// practice, no source).
const USUAL_RISE_K: f64 = 80.0;

/// The amplifier and all it feeds.
#[derive(Debug, Clone)]
pub struct AmplifierStudy {
    /// Each side, in order.
    pub sides: Vec<SideLoad>,
    /// What feeds it.
    pub supply: Supply,
    /// Each side's cavity in the end, in order; a side whose temperatures do not settle is left out.
    pub warmth: Vec<Warmth>,
}

/// A side as the amplifier's load.
#[derive(Debug, Clone)]
pub struct SideLoad {
    /// Its name.
    pub name: String,
    /// Clipping, power and current over frequency.
    pub faced: Faced,
    /// Drivers when it clips.
    pub overdriven: Vec<Overdriven>,
    /// The tweeter's resettable fuse.
    pub fused: Option<Fused>,
    /// Direct current.
    pub standing: Standing,
    /// A driver left unplugged.
    pub unplugged: Vec<Unplugged>,
    /// The output filter, where one is stated.
    pub ringing: Option<Ringing>,
    /// The worst corners.
    pub corners: Corners,
    /// Conductors.
    pub wiring: Wiring,
    /// What the programme that just fits turns into heat in each driver, W.
    pub heat_w: Ways<f64>,
    /// The same in each part of the network.
    pub part_heat_w: Vec<(String, f64)>,
}

impl AmplifierStudy {
    /// Of a design with its sides as studied.
    ///
    /// # Errors
    /// What the solver or a measured curve has against it.
    pub fn of(design: &Design, studies: &[SideStudy]) -> Result<Self, StudyError> {
        let cut_hz = design.amplifier.cut_below_hz.unwrap_or(0.0);
        let noise = ProgrammeNoise::new(&Programme::iec_60268_1(), cut_hz);
        let pairs = design.sides.par_iter().zip(studies);
        let sides: Vec<SideLoad> = pairs
            .map(|(side, study)| SideLoad::of(design, side, study, &noise))
            .collect::<Result<_, _>>()?;
        let faced: Vec<&Faced> = sides.iter().map(|s| &s.faced).collect();
        let supply = Supply::of(design, &faced);
        let warmth = design.sides.iter().zip(&sides);
        let warmth = warmth
            .filter_map(|(side, load)| Warmth::of(design, side, load, &supply).ok())
            .collect();
        Ok(Self { sides, supply, warmth })
    }

    /// The side of that name.
    pub fn side(&self, name: &str) -> Option<&SideLoad> {
        self.sides.iter().find(|side| side.name == name)
    }

    /// What there is to tell.
    pub fn findings(&self, design: &Design) -> Vec<Finding> {
        let mut found = findings::all(self, design);
        found.extend(self.warmth.iter().flat_map(Warmth::findings));
        found
    }
}

impl SideLoad {
    fn of(
        design: &Design,
        side: &Side,
        study: &SideStudy,
        noise: &ProgrammeNoise,
    ) -> Result<Self, StudyError> {
        let amplifier = &design.amplifier;
        let grid = Grid::audible(POINTS)?;
        let model = SideModel::new(design, side, &grid)?;
        let network = study.network();
        let fixed = PolarityRule::Fixed(study.response().polarity);
        let response = model.through(network, fixed)?;
        let faced = Faced::of(design, &response);
        let drivers = model.impedance.connected(response.polarity);
        let overdriven = overdrive::levels(design, side, &response, &drivers, noise);
        let noise_v2 = fitting_noise_v2(amplifier, &grid);
        let corners = Corners::of(&Case {
            network,
            leeways: &corners::leeways(network, &study.chosen),
            drivers: &drivers,
            added_ohm: added_ohm(side, study),
            sine_v: faced.clipping_v,
            noise_v2: &noise_v2,
        })?;
        Ok(Self {
            name: side.name.clone(),
            standing: Standing::of(design, side, network, study, corners.nominal.value)?,
            unplugged: unplugged::cases(network, &drivers, faced.clipping_v)?,
            ringing: amplifier
                .hardware
                .filter
                .map(|filter| Ringing::of(&filter, amplifier.bridged, network, side))
                .transpose()?,
            wiring: Wiring::of(
                design,
                side,
                &faced,
                study.cavity.source_ohm,
                corners.nominal.value,
            ),
            heat_w: driver_heat_w(&drivers, &response, &noise_v2)?,
            part_heat_w: part_heat_w(
                &drivers,
                &response,
                network,
                &noise_v2,
                amplifier.output_ohm,
            )?,
            fused: fused(design, side, &overdriven),
            corners,
            faced,
            overdriven,
        })
    }
}

/// Mean square that each grid point stands for of the programme noise that just fits, V².
fn fitting_noise_v2(amplifier: &Amplifier, grid: &Grid) -> Vec<f64> {
    let shares = Programme::iec_60268_1().shares(grid, amplifier.cut_below_hz.unwrap_or(0.0));
    let square_v2 = faced::clipping_noise_v(amplifier).powi(2);
    shares.into_iter().map(|share| share * square_v2).collect()
}

fn fused(design: &Design, side: &Side, levels: &[Overdriven]) -> Option<Fused> {
    let tweeter = &side.drivers.tweeter.driver;
    let guard = design.crossover.guard.as_ref()?;
    Fused::of(guard, tweeter.limits.noise_power_w, tweeter.motor.re_ohm, levels)
}

/// Heat of each driver under noise at the source, W: what goes into its terminals.
fn driver_heat_w(
    drivers: &Terminals,
    response: &SideResponse,
    noise_v2: &[f64],
) -> Result<Ways<f64>, StudyError> {
    let load = drivers.load()?;
    let heat = |[own, other]: [usize; 2], [way, beside]: [Way; 2]| -> f64 {
        let volts = response.voltage.of(way).values().iter();
        let pairs = volts.zip(response.voltage.of(beside).values()).zip(noise_v2);
        let each = pairs.enumerate().map(|(f, ((v, v_beside), v2))| {
            let lent = (load.admittance(f, own, other) * v_beside).conj() * v;
            v2 * v.norm_sqr() * load.admittance(f, own, own).re + v2 * lent.re
        });
        each.sum()
    };
    Ok(Ways {
        woofer: heat([WOOFER, TWEETER], [Way::Woofer, Way::Tweeter]),
        tweeter: heat([TWEETER, WOOFER], [Way::Tweeter, Way::Woofer]),
    })
}

/// Heat of each part under noise at the source, behind the output's own resistance, W.
fn part_heat_w(
    drivers: &Terminals,
    response: &SideResponse,
    network: &Network,
    noise_v2: &[f64],
    output_ohm: f64,
) -> Result<Vec<(String, f64)>, StudyError> {
    let at_terminals: Vec<f64> = noise_v2
        .iter()
        .zip(response.impedance.values())
        .map(|(v2, z)| v2 * (z / (z + output_ohm)).norm_sqr())
        .collect();
    let lost = Stress::of(network, drivers.grid(), &drivers.load()?, 1.0, &at_terminals)?.noise_w;
    let named = network.parts.iter().map(|p| p.reference.clone());
    Ok(named.zip(lost).collect())
}

/// What the voice coils have more when hot, Ω.
fn added_ohm(side: &Side, study: &SideStudy) -> Ways<f64> {
    let added = |way: Way| {
        let re_ohm = side.drivers.of(way).driver.motor.re_ohm;
        let settled = study.drive.heating.of(way).as_ref().map(|h| h.noise.settled.re_ohm - re_ohm);
        settled.unwrap_or(re_ohm * COPPER_PER_K * USUAL_RISE_K)
    };
    Ways { woofer: added(Way::Woofer), tweeter: added(Way::Tweeter) }
}
