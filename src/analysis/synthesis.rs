//! From the crossover that a design asks for to a network: textbook sections on the drivers'
//! loads, shaping, the pad that matches levels, losses of real parts. A listed network is taken as
//! it is.

use super::coils::Coils;
use super::cone_load::ConeLoad;
use super::shaping::{self, Seen, Tail};
use crate::circuit::branch::{self, Namer, Stage};
use crate::circuit::ladder::{self, LadderError, Pass};
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::slope::Slope;
use crate::design::{
    AMP_HOT, AMP_RETURN, Design, Guard, LoadRule, PartsRules, Shaping, Side, Topology,
    TweeterLevel, Ways,
};
use crate::grid::Grid;
use crate::model::air::Air;
use crate::model::closed_box::Alignment;
use crate::model::driver::{Driver, REFERENCE_DRIVE_V, REFERENCE_PRESSURE_PA};
use crate::signal::interpolate::Outside;

/// Port index of the woofer in every two-way network.
pub const WOOFER: usize = 0;
/// Port index of the tweeter in every two-way network.
pub const TWEETER: usize = 1;
/// A pad below this attenuation is not worth its parts, dB.
pub const SMALLEST_PAD_DB: f64 = 0.05;

/// A network ready to be solved, and what it was made for.
#[derive(Debug, Clone, PartialEq)]
pub struct Synthesis {
    /// Parts and the two ports, woofer first.
    pub network: Network,
    /// Loads that the sections were computed for, Ω; `None` for a listed network.
    pub load_ohm: Option<Ways<f64>>,
    /// How far the pad lowers the tweeter, dB; 0 without one.
    pub pad_db: f64,
    /// What matching would have needed beyond a pad: the tweeter is this much quieter than the
    /// woofer, dB; 0 otherwise.
    pub unmatched_db: f64,
    /// What the parts cannot do, one sentence each.
    pub remarks: Vec<String>,
}

/// The network of `side` as the design asks for it; coils that are wound have the resistance of
/// their wire.
///
/// # Errors
/// Loads or a frequency that no ladder fits; a design read from a file has neither.
pub fn network_for(design: &Design, side: &Side) -> Result<Synthesis, LadderError> {
    let mut synthesis = asked_for(design, side)?;
    Coils::of(&design.coils, &synthesis.network).wind(&mut synthesis.network);
    if let Some(guard) = &design.crossover.guard {
        put_guard(&mut synthesis.network, guard);
    }
    Ok(synthesis)
}

/// Puts what protects the tweeter between it and the network, as its last part; a listed network
/// that has it already stays as it is.
fn put_guard(network: &mut Network, guard: &Guard) {
    if network.parts.iter().any(|p| p.reference == Guard::REFERENCE) {
        return;
    }
    let Some([fed, other]) = network.ports.get(TWEETER).map(|port| port.nodes) else { return };
    let mut name = "tweeter behind its guard".to_owned();
    while (0..network.node_count()).any(|n| network.name(Node(n)) == name) {
        name.push('.');
    }
    let terminal = network.node(&name);
    network.add(Guard::REFERENCE, Component::Resistor { ohm: guard.ohm() }, [fed, terminal]);
    network.ports[TWEETER].nodes = [terminal, other];
}

fn asked_for(design: &Design, side: &Side) -> Result<Synthesis, LadderError> {
    match &design.crossover.topology {
        Topology::Listed(network) => Ok(Synthesis {
            network: network.clone(),
            load_ohm: None,
            pad_db: 0.0,
            unmatched_db: 0.0,
            remarks: Vec::new(),
        }),
        Topology::Textbook { slope, load, level, shaping } => {
            let slopes = Ways { woofer: *slope, tweeter: *slope };
            textbook(design, side, slopes, *load, *level, shaping)
        }
    }
}

/// Textbook sections of a slope for each way, with pad and shaping, for the drivers of `side`.
///
/// # Errors
/// Loads or a frequency that no ladder fits.
pub fn textbook(
    design: &Design,
    side: &Side,
    slopes: Ways<Slope>,
    load: LoadRule,
    level: TweeterLevel,
    shaping: &Ways<Shaping>,
) -> Result<Synthesis, LadderError> {
    let at_hz = design.crossover.at_hz;
    let lower_db = tweeter_lower_db(design, side, level);
    let pad_db = if lower_db > SMALLEST_PAD_DB { lower_db } else { 0.0 };
    let seen = seen(design, side);
    let woofer = shaping::tail(&seen.woofer, &shaping.woofer, 0.0, &design.parts);
    let tweeter = shaping::tail(&seen.tweeter, &shaping.tweeter, pad_db, &design.parts);
    let load_ohm = |seen: &Seen<'_>, tail: &Tail| match load {
        LoadRule::CoilResistance => seen.driver.motor.re_ohm,
        LoadRule::ImpedanceAtCrossover => shaping::input_ohm(&tail.stages, seen.driver, at_hz),
    };
    let loads = Ways {
        woofer: load_ohm(&seen.woofer, &woofer),
        tweeter: load_ohm(&seen.tweeter, &tweeter),
    };
    let low = ladder::section(slopes.woofer, Pass::Low, at_hz, loads.woofer)?;
    let high = ladder::section(slopes.tweeter, Pass::High, at_hz, loads.tweeter)?;
    let whole = |elements: Vec<ladder::Element>, tail: Tail| -> Vec<Stage> {
        elements.into_iter().map(Stage::from).chain(tail.stages).collect()
    };
    let remarks = [woofer.remarks.clone(), tweeter.remarks.clone()].concat();
    let ways = Ways { woofer: whole(low, woofer), tweeter: whole(high, tweeter) };
    Ok(Synthesis {
        network: laid_out(&ways, &design.parts),
        load_ohm: Some(loads),
        pad_db,
        unmatched_db: (-lower_db).max(0.0),
        remarks,
    })
}

/// By how much the tweeter is to be lowered, dB; negative where it is too quiet already.
fn tweeter_lower_db(design: &Design, side: &Side, level: TweeterLevel) -> f64 {
    let at_hz = design.crossover.at_hz;
    let sensitivity_db = Ways {
        woofer: sensitivity_db(&side.drivers.woofer.driver, &design.air, at_hz / 4.0, at_hz / 2.0),
        tweeter: sensitivity_db(
            &side.drivers.tweeter.driver,
            &design.air,
            at_hz * 2.0,
            at_hz * 4.0,
        ),
    };
    match level {
        TweeterLevel::Untouched => 0.0,
        TweeterLevel::Match => sensitivity_db.tweeter - sensitivity_db.woofer,
        TweeterLevel::Lowered(db) => db,
    }
}

/// Sensitivity of a driver at 2.83 V and 1 m: the mean level of its measured response nearest to
/// the axis between two frequencies, where there is one that reaches there; else from its motor.
fn sensitivity_db(driver: &Driver, air: &Air, low_hz: f64, high_hz: f64) -> f64 {
    let measured = driver.measured.responses.first().and_then(|response| {
        let grid = Grid::log(low_hz, high_hz.min(20_000.0), 25).ok()?;
        let sampled = response.curve.magnitude_on(&grid, Outside::Hold).ok()?;
        let levels = &sampled.values[sampled.covered.clone()];
        let mean = levels.iter().map(|p| 20.0 * p.log10()).sum::<f64>() / levels.len() as f64;
        (!levels.is_empty())
            .then(|| mean + 20.0 * (REFERENCE_DRIVE_V / REFERENCE_PRESSURE_PA).log10())
    });
    measured.unwrap_or_else(|| driver.motor.sensitivity_db(air))
}

/// Both drivers at their resonances in place: the woofer in its cavity, the tweeter closed at its
/// own back or in the same cavity.
fn seen<'s>(design: &Design, side: &'s Side) -> Ways<Seen<'s>> {
    let at_hz = design.crossover.at_hz;
    let rear = ConeLoad::of(design, side);
    let drivers = side.drivers.map(|m| &m.driver);
    let fc_hz = Alignment::of(&drivers.woofer.motor, |w| rear.at(w), 0.0).fc_hz;
    let behind = |w| rear.at_tweeter(w).unwrap_or_default();
    let motor = &drivers.tweeter.motor;
    let fs_hz = match side.shares_air() {
        true => Alignment::of(motor, behind, 0.0).fc_hz,
        false => motor.fs_hz(),
    };
    Ways {
        woofer: Seen::new(drivers.woofer, fc_hz, |w| rear.at(w), at_hz),
        tweeter: Seen::new(drivers.tweeter, fs_hz, behind, at_hz),
    }
}

fn laid_out(ways: &Ways<Vec<Stage>>, parts: &PartsRules) -> Network {
    let lossy = |stages: &[Stage]| -> Vec<Stage> {
        let change = |component| shaping::with_losses(component, parts);
        let stage = |s: &Stage| Stage { place: s.place, branch: s.branch.map(&change) };
        stages.iter().map(stage).collect()
    };
    let mut network = Network::new(AMP_HOT, AMP_RETURN);
    let mut namer = Namer::default();
    let woofer = lossy(&ways.woofer);
    let woofer = branch::lay(&mut network, &mut namer, &woofer, "low", "woofer+");
    let tweeter = lossy(&ways.tweeter);
    let tweeter = branch::lay(&mut network, &mut namer, &tweeter, "high", "tweeter+");
    network.add_port("woofer", [woofer, Node::RETURN]);
    network.add_port("tweeter", [tweeter, Node::RETURN]);
    network
}
