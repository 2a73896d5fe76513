//! From exact values to values one can buy: the nearest preferred ones, or two parts combined.

use crate::circuit::network::{Component, Network, Part};
use crate::circuit::preferred::{self, Adds, Choice, Connection};
use crate::design::PartsRules;

/// A part of the exact network and what is bought for it.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenPart {
    /// Reference name in the exact network ("L1").
    pub reference: String,
    /// The exact part.
    pub exact: Component,
    /// The value or pair chosen.
    pub choice: Choice,
    /// The parts that go on the board: one, or two called L1a and L1b.
    pub bought: Vec<(String, Component)>,
}

impl ChosenPart {
    /// Chosen over exact value − 1, in percent.
    pub fn error_percent(&self) -> f64 {
        self.choice.error_percent(self.exact.value())
    }
}

/// The network as bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Parts in the order of the exact network.
    pub parts: Vec<ChosenPart>,
    /// The exact network with the bought parts in it.
    pub network: Network,
}

impl Chosen {
    /// Chooses a preferred value for each part of `exact`: nearest by ratio in the series of its
    /// kind, two parts where the rules allow them and they come nearer. Coils take the winding
    /// resistance of their new value where the exact one follows the rule for it, and keep what was
    /// stated otherwise.
    pub fn of(exact: &Network, rules: &PartsRules) -> Self {
        let coupled = |i: usize| exact.couplings.iter().any(|c| c.parts.contains(&i));
        let choose = |(i, part): (usize, &Part)| {
            // A coil that shares its field stays one coil.
            let alone = PartsRules { pairs_above_percent: None, ..*rules };
            choose(part, exact, if coupled(i) { &alone } else { rules })
        };
        let parts: Vec<ChosenPart> = exact.parts.iter().enumerate().map(choose).collect();
        let mut network = exact.clone();
        network.parts.clear();
        let mut first_of = Vec::with_capacity(parts.len());
        for (part, chosen) in exact.parts.iter().zip(&parts) {
            first_of.push(network.parts.len());
            put(&mut network, part, chosen);
        }
        for coupling in &mut network.couplings {
            coupling.parts = coupling.parts.map(|i| first_of[i]);
        }
        Self { parts, network }
    }
}

/// How two parts of a kind make a pair.
pub(super) fn adds(component: &Component) -> Adds {
    match component {
        Component::Capacitor { .. } => Adds::InParallel,
        _ => Adds::InSeries,
    }
}

fn choose(part: &Part, network: &Network, rules: &PartsRules) -> ChosenPart {
    let exact = part.component;
    let adds = adds(&exact);
    let series = rules.series.of(&exact);
    // A checked network has positive finite values, so there is always a preferred one.
    let choice = preferred::choose(series, exact.value(), adds, rules.pairs_above_percent)
        .unwrap_or(Choice::single(exact.value()));
    let names = match choice.second {
        None => vec![(part.reference.clone(), choice.first)],
        Some((second, _)) => vec![
            (free_name(network, &part.reference, 'a'), choice.first),
            (free_name(network, &part.reference, 'b'), second),
        ],
    };
    let bought = names.into_iter().map(|(name, v)| (name, with_value(exact, v, rules))).collect();
    ChosenPart { reference: part.reference.clone(), exact, choice, bought }
}

/// `L1a`, or `L1.a`, `L1..a` where a part of the network has that name already.
pub(super) fn free_name(network: &Network, reference: &str, letter: char) -> String {
    let mut stem = reference.to_owned();
    while network.parts.iter().any(|p| p.reference == format!("{stem}{letter}")) {
        stem.push('.');
    }
    format!("{stem}{letter}")
}

/// The part with another value, its losses as said under [`Chosen::of`].
fn with_value(exact: Component, value: f64, rules: &PartsRules) -> Component {
    match exact {
        Component::Inductor { henry, dcr_ohm }
            if (rules.coil_dcr_ohm(henry) - dcr_ohm).abs() < 1e-9 =>
        {
            Component::Inductor { henry: value, dcr_ohm: rules.coil_dcr_ohm(value) }
        }
        other => other.with_value(value),
    }
}

fn put(network: &mut Network, part: &Part, chosen: &ChosenPart) {
    match (chosen.choice.second, chosen.bought.as_slice()) {
        (Some((_, Connection::Series)), [first, second]) => {
            let middle = network.node(&format!("inside {}", part.reference));
            network.add(&first.0, first.1, [part.nodes[0], middle]);
            network.add(&second.0, second.1, [middle, part.nodes[1]]);
        }
        (_, bought) => {
            for (name, component) in bought {
                network.add(name, *component, part.nodes);
            }
        }
    }
}
