//! The `[crossover]` table of a design file: a slope, or a network written out part by part.

use super::reader::{Bounds, Section};
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network, NetworkError, Node};
use crate::circuit::slope::Slope;
use crate::design::{
    AMP_HOT, AMP_RETURN, Crossover, LoadRule, PolarityRule, Topology, TweeterLevel,
};

/// The crossover must lie inside the analysed band, Hz.
const AT_HZ: Bounds = Bounds::new(20.0, 20_000.0, "Hz");

/// The crossover; `None` after telling what is wrong with it.
pub(super) fn read(section: &mut Section<'_>) -> Option<Crossover> {
    let at_hz = section.number("at_hz", AT_HZ);
    let polarity = section.choice_or(
        "tweeter_polarity",
        &[
            ("best", PolarityRule::Best),
            ("normal", PolarityRule::Fixed(Polarity::Normal)),
            ("inverted", PolarityRule::Fixed(Polarity::Inverted)),
        ],
        PolarityRule::Best,
    );
    let topology = if section.has("part") { listed(section) } else { textbook(section) };
    Some(Crossover { at_hz, topology: topology?, polarity })
}

fn textbook(section: &mut Section<'_>) -> Option<Topology> {
    let slope = section.parsed::<Slope>("slope", "\"lr4\"");
    let loads = [
        ("impedance_at_crossover", LoadRule::ImpedanceAtCrossover),
        ("coil_resistance", LoadRule::CoilResistance),
    ];
    let load = section.choice_or("load", &loads, LoadRule::ImpedanceAtCrossover);
    let level = tweeter_level(section);
    Some(Topology::Textbook { slope: slope?, load, level })
}

fn tweeter_level(section: &mut Section<'_>) -> TweeterLevel {
    let words = [("match", TweeterLevel::Match), ("untouched", TweeterLevel::Untouched)];
    let word = section.optional_choice("tweeter_level", &words);
    let lowered = section.optional_number("tweeter_lowered_db", Bounds::positive(40.0, "dB"));
    if word.is_some() && lowered.is_some() {
        let help = "give tweeter_level or tweeter_lowered_db";
        section.refuse("tweeter_lowered_db", "the level is told twice", help);
    }
    match lowered {
        Some(db) => TweeterLevel::Lowered(db),
        None => word.unwrap_or(TweeterLevel::Match),
    }
}

/// A network part by part, with the spans kept for what only the whole can tell.
fn listed(section: &mut Section<'_>) -> Option<Topology> {
    for key in ["slope", "load", "tweeter_level", "tweeter_lowered_db"] {
        if section.has(key) {
            let help = "a network of parts has its own slope and level; leave this key out";
            section.refuse(key, "does not go with [[crossover.part]]", help);
            return None;
        }
    }
    let mut network = Network::new(AMP_HOT, AMP_RETURN);
    let mut parts = section.sections("part");
    for part in &mut parts {
        let reference = part.text("ref");
        let nodes = nodes(part, "between", &mut network);
        if let (Some(component), Some(nodes)) = (component(part), nodes) {
            network.add(reference, component, nodes);
        }
    }
    let mut ports = section.section("ports");
    for name in ["woofer", "tweeter"] {
        if let Some(nodes) = nodes(&mut ports, name, &mut network) {
            network.add_port(name, nodes);
        }
    }
    let complete = network.parts.len() == parts.len() && network.ports.len() == 2;
    if !complete || !parts.iter().all(Section::is_sound) {
        return None;
    }
    if let Err(error) = network.check() {
        tell(&error, &network, &parts, &ports);
        return None;
    }
    Some(Topology::Listed(network))
}

/// Two node names under `key`.
fn nodes(section: &mut Section<'_>, key: &str, network: &mut Network) -> Option<[Node; 2]> {
    let names = section.texts(key);
    match names.as_slice() {
        [first, second] => Some([network.node(first), network.node(second)]),
        _ => {
            let message = format!("found {} names, expected the two nodes it joins", names.len());
            let help = format!("for example {key} = [\"{AMP_HOT}\", \"{AMP_RETURN}\"]");
            section.refuse(key, &message, &help);
            None
        }
    }
}

/// What the part is, by the key that holds its value.
fn component(part: &mut Section<'_>) -> Option<Component> {
    let ohm = part.optional_number("resistance_ohm", Bounds::new(1e-3, 1e6, "ohm"));
    let mh = part.optional_number("inductance_mh", Bounds::new(1e-4, 1e3, "mH"));
    let uf = part.optional_number("capacitance_uf", Bounds::new(1e-4, 1e5, "uF"));
    let loss = Bounds::new(0.0, 100.0, "ohm");
    match (ohm, mh, uf) {
        (Some(ohm), None, None) => Some(Component::Resistor { ohm }),
        (None, Some(mh), None) => {
            let dcr_ohm = part.number_or("dcr_ohm", loss, 0.0);
            Some(Component::Inductor { henry: mh * 1e-3, dcr_ohm })
        }
        (None, None, Some(uf)) => {
            let esr_ohm = part.number_or("esr_ohm", loss, 0.0);
            Some(Component::Capacitor { farad: uf * 1e-6, esr_ohm })
        }
        _ => {
            let valued = ["resistance_ohm", "inductance_mh", "capacitance_uf"];
            if part.is_sound() && valued.iter().all(|key| !part.has(key)) {
                let help = "one of resistance_ohm, inductance_mh, capacitance_uf says what it is";
                part.refuse("ref", "the part has no value", help);
            } else if let Some(second) = valued.iter().rfind(|key| part.has(key)) {
                part.refuse(second, "the part has more than one value", "keep one of them");
            }
            None
        }
    }
}

/// Puts what the whole network lacks at the part that shows it.
fn tell(error: &NetworkError, network: &Network, parts: &[Section<'_>], ports: &Section<'_>) {
    let node = match error {
        NetworkError::OpenEnd { node, .. } | NetworkError::Floating { node, .. } => Some(node),
        _ => None,
    };
    let name = match error {
        NetworkError::Shorted { part, .. }
        | NetworkError::Duplicate(part)
        | NetworkError::Value { part, .. } => Some(part),
        _ => None,
    };
    let at = network.parts.iter().rposition(|p| {
        name == Some(&p.reference)
            || p.nodes.iter().any(|n| node.is_some_and(|x| network.name(*n) == x))
    });
    let help = format!(
        "the amplifier's terminals are `{AMP_HOT}` and `{AMP_RETURN}`; check the node names for a slip"
    );
    match at.and_then(|i| parts.get(i)) {
        Some(part) if name.is_some() => part.refuse("ref", &error.to_string(), ""),
        Some(part) => part.refuse("between", &error.to_string(), &help),
        None => {
            let touches = |key: &&str| {
                network.ports.iter().any(|p| {
                    p.name == **key
                        && p.nodes.iter().any(|n| node.is_some_and(|x| network.name(*n) == x))
                })
            };
            let key = ["woofer", "tweeter"].into_iter().find(touches).unwrap_or("woofer");
            ports.refuse(key, &error.to_string(), &help);
        }
    }
}
