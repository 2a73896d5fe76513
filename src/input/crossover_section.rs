//! The `[crossover]` table of a design file: a slope, or a network written out part by part.

use super::reader::{Bounds, Section};
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network, NetworkError, Node};
use crate::circuit::slope::Slope;
use crate::design::{
    AMP_HOT, AMP_RETURN, Crossover, Flatten, Guard, LoadRule, PolarityRule, Shaping, Shelf,
    ShelfKind, Topology, TweeterLevel, Ways,
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
    let topology = if section.has("part") || section.has("ports") {
        listed(section)
    } else {
        textbook(section)
    };
    let guard = section.optional_section("tweeter_guard").and_then(|mut s| guard(&mut s));
    let topology = topology?;
    if let (Some(guard), Topology::Listed(network)) = (&guard, &topology)
        && network
            .parts
            .iter()
            .any(|p| p.reference == Guard::REFERENCE && p.component.value() != guard.ohm())
    {
        let message = format!("the network has another part called {}", Guard::REFERENCE);
        section.refuse("tweeter_guard", &message, "give that part another name");
    }
    Some(Crossover { at_hz, topology, polarity, guard })
}

/// A part in series with the tweeter: `resistance_ohm` alone, or a resettable fuse's data.
fn guard(section: &mut Section<'_>) -> Option<Guard> {
    let (ohm, ampere) = (Bounds::new(1e-3, 100.0, "ohm"), Bounds::new(0.01, 20.0, "A"));
    if section.has("resistance_ohm") {
        let resistance = section.number("resistance_ohm", ohm);
        for key in ["hold_a", "trip_a", "cold_ohm"] {
            if section.optional_number(key, Bounds::new(1e-3, 100.0, "")).is_some() {
                let help = "give resistance_ohm, or cold_ohm with hold_a and trip_a";
                section.refuse(key, "does not go with resistance_ohm", help);
            }
        }
        return Some(Guard::Resistor { ohm: resistance });
    }
    let cold_ohm = section.number("cold_ohm", ohm);
    let (hold_a, trip_a) = (section.number("hold_a", ampere), section.number("trip_a", ampere));
    if section.is_sound() && trip_a <= hold_a {
        let help = "a resettable fuse trips at more than it holds, usually twice";
        section.refuse("trip_a", "not above hold_a", help);
    }
    Some(Guard::ResettableFuse { cold_ohm, hold_a, trip_a })
}

fn textbook(section: &mut Section<'_>) -> Option<Topology> {
    let slope = section.parsed::<Slope>("slope", "lr4");
    let loads = [
        ("impedance_at_crossover", LoadRule::ImpedanceAtCrossover),
        ("coil_resistance", LoadRule::CoilResistance),
    ];
    let load = section.choice_or("load", &loads, LoadRule::ImpedanceAtCrossover);
    let level = tweeter_level(section);
    let shaping = Ways {
        woofer: section.optional_section("woofer").map(|mut s| shaping(&mut s)).unwrap_or_default(),
        tweeter: section
            .optional_section("tweeter")
            .map(|mut s| shaping(&mut s))
            .unwrap_or_default(),
    };
    Some(Topology::Textbook { slope: slope?, load, level, shaping })
}

fn shaping(section: &mut Section<'_>) -> Shaping {
    let words = [
        ("nothing", Flatten::Nothing),
        ("coil", Flatten::Coil),
        ("resonance", Flatten::Resonance),
        ("both", Flatten::Both),
    ];
    let flatten = section.choice_or("flatten", &words, Flatten::Nothing);
    let shelf = section.optional_section("shelf").map(|mut s| Shelf {
        kind: s.choice(
            "kind",
            &[("treble_cut", ShelfKind::TrebleCut), ("bass_cut", ShelfKind::BassCut)],
        ),
        db: s.number("db", Bounds::new(0.1, 30.0, "dB")),
        at_hz: s.number("at_hz", AT_HZ),
    });
    Shaping { flatten, shelf }
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
    let clash = refuse_textbook_keys(section);
    let mut network = Network::new(AMP_HOT, AMP_RETURN);
    let mut parts = section.sections("part");
    if parts.is_empty() {
        let help = "write [[crossover.part]] with ref, between and a value for each part, or leave ports out and give a slope";
        section.refuse("ports", "the crossover has no parts", help);
    }
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
    if clash || !complete || !parts.iter().all(Section::is_sound) {
        return None;
    }
    if let Err(error) = network.check().and_then(|()| network.check_ports()) {
        tell(&error, &network, &parts, &ports);
        return None;
    }
    if let Some(coil) = network.resistanceless_loop() {
        let message = format!("{} closes a loop of coils without resistance", coil.reference);
        let at = network.parts.iter().position(|p| p.reference == coil.reference);
        if let Some(part) = at.and_then(|i| parts.get(i)) {
            part.refuse("between", &message, "give the coils their winding resistance: dcr_ohm");
        }
        return None;
    }
    Some(Topology::Listed(network))
}

/// Keys of a textbook crossover have no place beside parts; true if there are any.
fn refuse_textbook_keys(section: &mut Section<'_>) -> bool {
    let keys = ["slope", "load", "tweeter_level", "tweeter_lowered_db", "woofer", "tweeter"];
    let found: Vec<&str> = keys.into_iter().filter(|key| section.has(key)).collect();
    for key in &found {
        match *key {
            "woofer" | "tweeter" => {
                section.optional_section(key).into_iter().for_each(Section::leave)
            }
            "tweeter_lowered_db" => {
                section.optional_number(key, Bounds::positive(40.0, "dB"));
            }
            _ => {
                section.optional_text(key);
            }
        }
        let help = "a network of parts has its own slope and level; leave this key out";
        section.refuse(key, "does not go with [[crossover.part]]", help);
    }
    !found.is_empty()
}

/// Two node names under `key`.
fn nodes(section: &mut Section<'_>, key: &str, network: &mut Network) -> Option<[Node; 2]> {
    let names = section.names(key, [AMP_HOT, AMP_RETURN])?;
    Some(names.map(|name| network.node(&name)))
}

/// What the part is, by the key that holds its value.
fn component(part: &mut Section<'_>) -> Option<Component> {
    let ohm = part.optional_number("resistance_ohm", Bounds::new(1e-3, 1e6, "ohm"));
    let mh = part.optional_number("inductance_mh", Bounds::new(1e-4, 1e3, "mH"));
    let uf = part.optional_number("capacitance_uf", Bounds::new(1e-4, 1e5, "uF"));
    let loss = Bounds::new(0.0, 100.0, "ohm");
    // Asked for beside a value that was refused too: the key itself is right.
    let mut loss_of = |value: &str, key: &str| match part.has(value) {
        true => part.number_or(key, loss, 0.0),
        false => 0.0,
    };
    let dcr_ohm = loss_of("inductance_mh", "dcr_ohm");
    let esr_ohm = loss_of("capacitance_uf", "esr_ohm");
    match (ohm, mh, uf) {
        (Some(ohm), None, None) => Some(Component::Resistor { ohm }),
        (None, Some(mh), None) => Some(Component::Inductor { henry: mh * 1e-3, dcr_ohm }),
        (None, None, Some(uf)) => Some(Component::Capacitor { farad: uf * 1e-6, esr_ohm }),
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

/// Puts what the whole network lacks at the part or port that shows it.
fn tell(error: &NetworkError, network: &Network, parts: &[Section<'_>], ports: &Section<'_>) {
    let at_node = |node: &String| {
        let touches = |nodes: &[Node; 2]| nodes.iter().any(|n| network.name(*n) == node);
        let part = network.parts.iter().rposition(|p| touches(&p.nodes));
        let port = network.ports.iter().find(|p| touches(&p.nodes)).map(|p| p.name.as_str());
        (part, port)
    };
    let named = |name: &String| {
        let part = network.parts.iter().rposition(|p| p.reference == *name);
        let port = network.ports.iter().find(|p| p.name == *name).map(|p| p.name.as_str());
        (part, port)
    };
    let terminals = format!(
        "the amplifier's terminals are `{AMP_HOT}` and `{AMP_RETURN}`; check the node names for a slip"
    );
    let ((part, port), key, help) = match error {
        NetworkError::OpenEnd { node, .. } | NetworkError::Floating { node, .. } => {
            (at_node(node), "between", terminals.as_str())
        }
        NetworkError::Shorted { part, .. } => {
            (named(part), "between", "name two different nodes, or leave the part out")
        }
        NetworkError::Duplicate(part) => (named(part), "ref", "give each part its own name"),
        NetworkError::Value { part, .. } => (named(part), "ref", "check its value and losses"),
        NetworkError::Unfed { port, .. } => {
            let port = network.ports.iter().find(|p| p.name == *port).map(|p| p.name.as_str());
            ((None, port), "", terminals.as_str())
        }
        NetworkError::Coupling => ((Some(0), None), "ref", ""),
    };
    match part.and_then(|i| parts.get(i)) {
        Some(part) => part.refuse(key, &error.to_string(), help),
        None => ports.refuse(port.unwrap_or("woofer"), &error.to_string(), help),
    }
}
