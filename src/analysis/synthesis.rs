//! From the crossover that a design asks for to a network: textbook sections on the drivers'
//! loads, losses of real parts, the pad that matches levels. A listed network is taken as it is.

use super::textbook::{Named, Namer, Textbook};
use crate::circuit::attenuator::LPad;
use crate::circuit::ladder::Place;
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::slope::Slope;
use crate::design::{
    AMP_HOT, AMP_RETURN, Crossover, Design, LoadRule, PartsRules, Side, Topology, TweeterLevel,
    Ways,
};
use crate::model::driver::Driver;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Port index of the woofer in every two-way network.
pub const WOOFER: usize = 0;
/// Port index of the tweeter in every two-way network.
pub const TWEETER: usize = 1;

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
}

/// The network of `side` as the design asks for it.
pub fn network_for(design: &Design, side: &Side) -> Synthesis {
    match &design.crossover.topology {
        Topology::Listed(network) => {
            Synthesis { network: network.clone(), load_ohm: None, pad_db: 0.0, unmatched_db: 0.0 }
        }
        Topology::Textbook { slope, load, level } => {
            let drivers = side.drivers.map(|m| &m.driver);
            let difference_db = drivers.tweeter.motor.sensitivity_db(&design.air)
                - drivers.woofer.motor.sensitivity_db(&design.air);
            let wanted_db = match level {
                TweeterLevel::Untouched => 0.0,
                TweeterLevel::Match => difference_db,
                TweeterLevel::Lowered(db) => *db,
            };
            let loads = drivers.map(|d| load_ohm(d, *load, &design.crossover));
            textbook_network(*slope, design.crossover.at_hz, loads, wanted_db, &design.parts)
        }
    }
}

/// The resistance that a section is computed for, Ω.
fn load_ohm(driver: &Driver, rule: LoadRule, crossover: &Crossover) -> f64 {
    match rule {
        LoadRule::CoilResistance => driver.motor.re_ohm,
        LoadRule::ImpedanceAtCrossover => {
            let omega = TAU * crossover.at_hz;
            driver.respond_at(omega, Complex64::default()).0.norm()
        }
    }
}

/// Sections of `slope` at `at_hz` for `loads`, with a pad that lowers the tweeter by `pad_db` (no
/// pad at or below 0.05 dB) and the losses of `parts`.
///
/// # Panics
/// Never for a positive frequency and positive loads, which a design has.
fn textbook_network(
    slope: Slope,
    at_hz: f64,
    loads: Ways<f64>,
    pad_db: f64,
    parts: &PartsRules,
) -> Synthesis {
    const SMALLEST_PAD_DB: f64 = 0.05;
    let textbook = Textbook::new(slope, at_hz, loads.woofer, loads.tweeter)
        .expect("a design's crossover frequency and driver impedances are positive");
    let mut network = Network::new(AMP_HOT, AMP_RETURN);
    let woofer = chain(&mut network, &textbook.low_pass, "woofer+", parts);
    let pad = (pad_db > SMALLEST_PAD_DB).then(|| LPad::new(pad_db, loads.tweeter).ok()).flatten();
    let tweeter = match pad {
        Some(pad) => {
            let before = chain(&mut network, &textbook.high_pass, "pad", parts);
            add_pad(&mut network, pad, before)
        }
        None => chain(&mut network, &textbook.high_pass, "tweeter+", parts),
    };
    network.add_port("woofer", [woofer, Node::RETURN]);
    network.add_port("tweeter", [tweeter, Node::RETURN]);
    Synthesis {
        network,
        load_ohm: Some(loads),
        pad_db: if pad.is_some() { pad_db } else { 0.0 },
        unmatched_db: (-pad_db).max(0.0),
    }
}

/// Adds a ladder from the input to a node called `last`, which it returns.
fn chain(network: &mut Network, elements: &[Named], last: &str, parts: &PartsRules) -> Node {
    let series_total = elements.iter().filter(|e| e.element.place == Place::Series).count();
    let (mut here, mut series_seen) = (Node::INPUT, 0);
    for named in elements {
        let component = with_losses(named.element.component, parts);
        match named.element.place {
            Place::Series => {
                series_seen += 1;
                let name = if series_seen == series_total {
                    last.to_owned()
                } else {
                    format!("{}-{series_seen}", last.trim_end_matches('+'))
                };
                let next = network.node(&name);
                network.add(&named.reference, component, [here, next]);
                here = next;
            }
            Place::Shunt => network.add(&named.reference, component, [here, Node::RETURN]),
        }
    }
    here
}

fn add_pad(network: &mut Network, pad: LPad, before: Node) -> Node {
    let mut namer = Namer::default();
    let tweeter = network.node("tweeter+");
    let resistor = |ohm| Component::Resistor { ohm };
    network.add(namer.next('R'), resistor(pad.series_ohm), [before, tweeter]);
    network.add(namer.next('R'), resistor(pad.shunt_ohm), [tweeter, Node::RETURN]);
    tweeter
}

fn with_losses(component: Component, parts: &PartsRules) -> Component {
    match component {
        Component::Resistor { .. } => component,
        Component::Inductor { henry, .. } => {
            Component::Inductor { henry, dcr_ohm: parts.coil_dcr_ohm(henry) }
        }
        Component::Capacitor { farad, .. } => {
            Component::Capacitor { farad, esr_ohm: parts.capacitor_esr_ohm }
        }
    }
}
