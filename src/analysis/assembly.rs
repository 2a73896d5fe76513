//! What a second person needs to build a side and to check it before the power is on: the parts in
//! order of fitting, and what an ohmmeter and an impedance sweep must show.

use super::amplifier::corners::{self, Leeway};
use super::side::SideModel;
use super::study::{SideStudy, StudyError};
use super::synthesis::{TWEETER, WOOFER};
use super::terminals::Terminals;
use crate::circuit::direct::Direct;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network};
use crate::circuit::sensitivity::Sensitivity;
use crate::circuit::solve::{self, SolveError};
use crate::design::{Design, Side, Ways};
use crate::grid::Grid;

/// A driver's impedance is within this of its data, as a share (common practice, no source).
pub const DRIVER_SHARE: f64 = 0.1;
/// A coil's winding resistance is within this of its data, as a share (common practice, no source).
const WINDING_SHARE: f64 = 0.1;
/// What leads and contacts may add to a reading, Ω (common practice, no source).
const LEADS_OHM: f64 = 0.2;
/// Heights of parts that no article states, m: resistors lie flat, coils stand (common practice, no
/// source).
const USUAL_HEIGHT_M: [(char, f64); 3] = [('R', 10e-3), ('C', 15e-3), ('L', 18e-3)];
/// Round frequencies, per decade.
const ROUND: [f64; 4] = [1.0, 2.0, 3.0, 5.0];

/// A reading with its limits, Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// With nominal parts.
    pub nominal_ohm: f64,
    /// Lowest that tolerances explain.
    pub low_ohm: f64,
    /// Highest that they explain.
    pub high_ohm: f64,
}

/// A part to fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Reference name.
    pub reference: String,
    /// What it is.
    pub component: Component,
    /// The nodes that it joins.
    pub between: [String; 2],
    /// What it is made as, where an article says so.
    pub family: Option<String>,
    /// Height, m.
    pub height_m: f64,
}

/// A side to build.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembly {
    /// Names of all sides like it.
    pub names: String,
    /// The parts, the lowest first.
    pub parts: Vec<Fitted>,
    /// Nodes of the woofer's and the tweeter's first and second terminal on the board.
    pub terminals: Ways<[String; 2]>,
    /// How the tweeter is connected.
    pub polarity: Polarity,
    /// Direct-current resistance at the input with both drivers.
    pub direct: Reading,
    /// The same with the woofer left off; `None` where nothing conducts then.
    pub without_woofer: Option<Reading>,
    /// Impedance magnitude at three frequencies, Hz.
    pub impedance: Vec<(f64, Reading)>,
}

impl Assembly {
    /// Of `side` as studied; `names` are all sides like it.
    ///
    /// # Errors
    /// What the solver or a measured curve has against it.
    pub fn of(
        design: &Design,
        side: &Side,
        study: &SideStudy,
        names: &str,
    ) -> Result<Self, StudyError> {
        // What is on the board is what was bought.
        let network = &study.chosen.network;
        let leeways = corners::leeways(network, &study.chosen);
        let terminals = |port: usize| network.ports[port].nodes.map(|n| network.name(n).to_owned());
        let re_ohm = side.drivers.map(|m| m.driver.motor.re_ohm);
        let both = [Some(re_ohm.woofer), Some(re_ohm.tweeter)];
        let open = direct(network, &leeways, [None, Some(re_ohm.tweeter)])?;
        Ok(Self {
            names: names.to_owned(),
            parts: parts(network, study),
            terminals: Ways { woofer: terminals(WOOFER), tweeter: terminals(TWEETER) },
            polarity: study.response().polarity,
            direct: direct(network, &leeways, both)?,
            without_woofer: (open.nominal_ohm < 1e6).then_some(open),
            impedance: impedance(design, side, study, &leeways)?,
        })
    }
}

fn parts(network: &Network, study: &SideStudy) -> Vec<Fitted> {
    let goods = || study.chosen.parts.iter().flat_map(|p| &p.bought);
    let mut parts: Vec<Fitted> = network
        .parts
        .iter()
        .map(|part| {
            let good = goods().find(|(name, _)| *name == part.reference);
            let article = good.and_then(|(_, good)| good.article.clone());
            let letter = part.component.letter();
            let usual = USUAL_HEIGHT_M.iter().find(|(l, _)| *l == letter).map_or(0.0, |(_, h)| *h);
            Fitted {
                reference: part.reference.clone(),
                component: part.component,
                between: part.nodes.map(|n| network.name(n).to_owned()),
                height_m: article.as_ref().and_then(|a| a.height_m).unwrap_or(usual),
                family: article.map(|a| a.family.clone()),
            }
        })
        .collect();
    parts.sort_by(|a, b| a.height_m.total_cmp(&b.height_m));
    parts
}

/// Resistance at the input. It rises with every resistance in the network (Rayleigh's monotonicity),
/// so its limits are those with all of them low and all of them high.
fn direct(
    network: &Network,
    leeways: &[Leeway],
    ports_ohm: [Option<f64>; 2],
) -> Result<Reading, SolveError> {
    let at = |sign: f64| -> Result<f64, SolveError> {
        let mut bent = network.clone();
        for (part, leeway) in bent.parts.iter_mut().zip(leeways) {
            part.component = match part.component {
                Component::Resistor { ohm } => {
                    Component::Resistor { ohm: ohm * (1.0 + sign * leeway.tolerance) }
                }
                other => other.with_loss(other.loss_ohm() * (1.0 + sign * WINDING_SHARE)),
            };
        }
        let ports = ports_ohm.map(|ohm| ohm.map(|ohm| ohm * (1.0 + sign * DRIVER_SHARE)));
        Ok(Direct::of(&bent, &ports)?.input_ohm)
    };
    let (nominal_ohm, low_ohm, high_ohm) = (at(0.0)?, at(-1.0)?, at(1.0)? + LEADS_OHM);
    Ok(Reading { nominal_ohm, low_ohm, high_ohm })
}

/// Three round frequencies: in the woofer's band, at the crossover, in the tweeter's.
fn told_hz(at_hz: f64) -> Vec<f64> {
    let round = |hz: f64| {
        let decade = 10f64.powf(hz.log10().floor());
        let near = |a: &f64, b: &f64| (a / hz).ln().abs().total_cmp(&(b / hz).ln().abs());
        ROUND.iter().chain(&[10.0]).map(|m| m * decade).min_by(near).unwrap_or(hz)
    };
    let mut told: Vec<f64> =
        [at_hz / 8.0, at_hz, 4.0 * at_hz].map(|hz| round(hz.clamp(50.0, 15_000.0))).to_vec();
    told.dedup();
    told
}

/// Impedance with the parts at the ends of their tolerances that bend it most (exact derivatives, then
/// solved exactly) and the drivers' within theirs.
fn impedance(
    design: &Design,
    side: &Side,
    study: &SideStudy,
    leeways: &[Leeway],
) -> Result<Vec<(f64, Reading)>, StudyError> {
    let (network, polarity) = (&study.chosen.network, study.response().polarity);
    let grid = Grid::from_points(told_hz(design.crossover.at_hz))?;
    let drivers = SideModel::new(design, side, &grid)?.impedance.connected(polarity);
    let nominal = magnitude(network, &drivers, [1.0; 2])?;
    let mut readings: Vec<Reading> =
        nominal.iter().map(|z| Reading { nominal_ohm: *z, low_ohm: *z, high_ohm: *z }).collect();
    let mut corners = vec![network.clone()];
    let load = drivers.load()?;
    let still = vec![0.0; network.parts.len()];
    if let Ok(slopes) = Sensitivity::of(network, &grid, &load, &still) {
        for f in 0..grid.len() {
            for sign in [-1.0, 1.0] {
                corners.push(bent(network, leeways, &slopes, f, sign));
            }
        }
    }
    let (low, high) = (1.0 - DRIVER_SHARE, 1.0 + DRIVER_SHARE);
    for corner in &corners {
        for scale in [[low, low], [low, high], [high, low], [high, high]] {
            let found = magnitude(corner, &drivers, scale)?;
            for (reading, z) in readings.iter_mut().zip(found) {
                reading.low_ohm = reading.low_ohm.min(z);
                reading.high_ohm = reading.high_ohm.max(z + LEADS_OHM);
            }
        }
    }
    Ok(grid.frequency_hz().iter().copied().zip(readings).collect())
}

/// The network with every part at the end that moves |Z| at grid point `f` the way of `sign`.
fn bent(
    network: &Network,
    leeways: &[Leeway],
    slopes: &Sensitivity,
    f: usize,
    sign: f64,
) -> Network {
    let mut bent = network.clone();
    for (k, (part, leeway)) in bent.parts.iter_mut().zip(leeways).enumerate() {
        let by_part = slopes.admittance_by_part[f * slopes.parts + k];
        let rises = -(by_part / slopes.admittance[f]).re;
        let share = sign * rises.signum() * leeway.tolerance;
        part.component = part.component.with_value(part.component.value() * (1.0 + share));
    }
    bent
}

fn magnitude(
    network: &Network,
    drivers: &Terminals,
    scale: [f64; 2],
) -> Result<Vec<f64>, SolveError> {
    let [woofer, tweeter] = scale;
    let load = drivers.scaled(&Ways { woofer, tweeter }).load()?;
    Ok(solve::solve(network, drivers.grid(), &load)?.input_impedance().magnitude())
}
