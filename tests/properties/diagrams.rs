//! Circuit diagrams of any network: what is read back from the drawn lines is the network, and
//! nothing stands over anything else.

use crate::random::{Mesh, mesh};
use proptest::prelude::*;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::picture::schematic::{Schematic, Spot, Symbol};
use slabtone::report::diagram::{DriverLook, schematic};

/// Whether a place lies on a wire, its ends included.
fn on(wire: &[Spot; 2], p: Spot) -> bool {
    let within = |a: f64, b: f64, at: f64| a.min(b) - 0.01 <= at && at <= a.max(b) + 0.01;
    within(wire[0].0, wire[1].0, p.0) && within(wire[0].1, wire[1].1, p.1)
}

/// Numbers of the nets that the drawing shows, one for each wire: wires are joined where the end of
/// one lies on another.
fn nets(drawn: &Schematic) -> Vec<usize> {
    let wires = &drawn.wires;
    let mut net: Vec<usize> = (0..wires.len()).collect();
    for i in 0..wires.len() {
        for j in 0..wires.len() {
            if wires[i].iter().any(|end| on(&wires[j], *end)) {
                let (from, to) = (net[i], net[j]);
                net.iter_mut().filter(|n| **n == from).for_each(|n| *n = to);
            }
        }
    }
    net
}

fn net_at(drawn: &Schematic, nets: &[usize], pin: Spot) -> usize {
    let wire = drawn.wires.iter().position(|w| on(w, pin));
    nets[wire.unwrap_or_else(|| panic!("no wire leads to the pin at {pin:?}"))]
}

/// Every end of every part and port lies on its own net, and no two nodes share one.
fn connected_as(drawn: &Schematic, network: &Network, reversed: &[bool]) {
    let nets = nets(drawn);
    let mut of_node: Vec<(Node, usize)> = Vec::new();
    let mut meet = |node: Node, net: usize, what: &str| {
        for (other, known) in &of_node {
            assert_eq!(*other == node, *known == net, "{what}: {}", network.name(node));
        }
        of_node.push((node, net));
    };
    let find = |name: &str| -> &Symbol {
        let found: Vec<&Symbol> = drawn.symbols.iter().filter(|s| s.reference == name).collect();
        assert_eq!(found.len(), 1, "{name} is drawn {} times", found.len());
        found[0]
    };
    for (node, name) in [(Node::INPUT, "amp+"), (Node::RETURN, "amp-")] {
        meet(node, net_at(drawn, &nets, find(name).from), name);
    }
    for part in &network.parts {
        let symbol = find(&part.reference);
        let pins = [symbol.from, symbol.to].map(|p| net_at(drawn, &nets, p));
        part.nodes.iter().zip(pins).for_each(|(n, net)| meet(*n, net, &part.reference));
    }
    for (port, reversed) in network.ports.iter().zip(reversed) {
        let symbol = find(&port.name);
        let mut pins = [symbol.from, symbol.to].map(|p| net_at(drawn, &nets, p));
        if *reversed {
            pins.reverse();
        }
        port.nodes.iter().zip(pins).for_each(|(n, net)| meet(*n, net, &port.name));
    }
}

/// Whether two boxes have more than an edge in common.
fn overlap(a: [f64; 4], b: [f64; 4]) -> bool {
    let over = |k: usize| a[k + 2].min(b[k + 2]) - a[k].max(b[k]) > 0.01;
    over(0) && over(1)
}

/// Symbols and words apart from each other, and no wire through either.
fn nothing_over_anything(drawn: &Schematic) {
    let named = |s: &Symbol| (s.reference.clone(), s.bounds());
    let mut boxes: Vec<(String, [f64; 4])> = drawn.symbols.iter().map(named).collect();
    // The terminal and the ground below it are one thing.
    boxes.retain(|(name, _)| !name.is_empty());
    let symbols = boxes.len();
    boxes.extend(drawn.words.iter().map(|w| (w.lines.join("/"), w.bounds())));
    for (i, a) in boxes.iter().enumerate() {
        for b in &boxes[i + 1..] {
            assert!(!overlap(a.1, b.1), "{a:?} and {b:?}");
        }
        for wire in &drawn.wires {
            let [p, q] = *wire;
            let thin = [p.0.min(q.0), p.1.min(q.1), p.0.max(q.0), p.1.max(q.1)];
            let thick = [thin[0] - 0.2, thin[1] - 0.2, thin[2] + 0.2, thin[3] + 0.2];
            // A wire may reach a symbol's pin, but not its inside.
            let within = if i < symbols { shrunk(a.1) } else { a.1 };
            assert!(!overlap(within, thick), "{wire:?} runs through {a:?}");
        }
    }
}

fn shrunk([left, top, right, bottom]: [f64; 4]) -> [f64; 4] {
    [left + 0.5, top + 0.5, right - 0.5, bottom - 0.5]
}

fn check(network: &Network, reversed: [bool; 2]) {
    let looks: Vec<DriverLook> = network
        .ports
        .iter()
        .zip(reversed)
        .map(|(_, reversed)| DriverLook { name: "Hornbeam 130".into(), reversed })
        .collect();
    let drawn = schematic(network, &looks, true);
    connected_as(&drawn, network, &reversed);
    nothing_over_anything(&drawn);
}

fn meshed(mesh: &Mesh, ends: [[usize; 2]; 2], input: usize) -> Network {
    let mut network = Network::new("amp+", "amp-");
    let name = |k: usize| match k {
        0 => "amp-".to_owned(),
        k if k == input => "amp+".to_owned(),
        k => format!("n{k}"),
    };
    for (k, &(component, nodes)) in mesh.parts.iter().enumerate() {
        let nodes = nodes.map(|n| network.node(&name(n)));
        network.add(format!("{}{k}", component.letter()), component, nodes);
    }
    for (port, ends) in ["woofer", "tweeter"].into_iter().zip(ends) {
        let nodes = ends.map(|n| network.node(&name(n)));
        network.add_port(port, nodes);
    }
    network
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_mesh_is_drawn_as_it_is(
        mesh in mesh(),
        ends in [[0usize..6, 0usize..6], [0usize..6, 0usize..6]],
        input in 1usize..6,
        reversed in any::<[bool; 2]>(),
    ) {
        let ends = ends.map(|[a, b]| {
            let (a, b) = (a % mesh.nodes, b % mesh.nodes);
            if a == b { [a, (a + 1) % mesh.nodes] } else { [a, b] }
        });
        let network = meshed(&mesh, ends, 1 + input % (mesh.nodes - 1).max(1));
        check(&network, reversed);
    }
}

type Between<'a> = (&'a str, Component, [&'a str; 2]);

/// The usual and the unusual: written out part by part.
pub fn explicit(parts: &[Between<'_>], woofer: [&str; 2], tweeter: [&str; 2]) -> Network {
    let mut network = Network::new("amp+", "amp-");
    for (reference, component, nodes) in parts {
        let nodes = nodes.map(|n| network.node(n));
        network.add(*reference, *component, nodes);
    }
    for (name, nodes) in [("woofer", woofer), ("tweeter", tweeter)] {
        let nodes = nodes.map(|n| network.node(n));
        network.add_port(name, nodes);
    }
    network
}

const L: Component = Component::Inductor { henry: 0.82e-3, dcr_ohm: 0.28 };
const C: Component = Component::Capacitor { farad: 10e-6, esr_ohm: 0.0 };
const R: Component = Component::Resistor { ohm: 6.8 };

#[test]
fn drivers_in_series_and_a_bridge_and_traps_are_drawn_as_they_are() {
    let (hot, cold) = ("amp+", "amp-");
    let series = explicit(
        &[("L1", L, [hot, "mid"]), ("C1", C, ["mid", cold]), ("R1", R, ["mid", cold])],
        [hot, "mid"],
        ["mid", cold],
    );
    let bridge = explicit(
        &[
            ("L1", L, [hot, "a"]),
            ("C1", C, [hot, "b"]),
            ("R1", R, ["a", "b"]),
            ("C2", C, ["a", cold]),
            ("L2", L, ["b", cold]),
            ("R2", R, ["c", cold]),
        ],
        ["a", "c"],
        [cold, "b"],
    );
    let trap = explicit(
        &[
            ("L1", L, [hot, "a"]),
            ("R1", R, ["a", "low"]),
            ("L2", L, ["a", "low"]),
            ("C1", C, ["a", "low"]),
            ("C2", C, [hot, "high"]),
            ("R2", R, ["high", "dome"]),
            ("R3", R, ["dome", cold]),
            ("C3", C, [hot, "dome"]),
            ("L3", L, ["high", cold]),
        ],
        ["low", cold],
        ["dome", cold],
    );
    for network in [series, bridge, trap] {
        check(&network, [false, true]);
        check(&network, [true, false]);
        if let Some(dir) = std::env::var_os("SLABTONE_LOOK") {
            let look = |name: &str| DriverLook { name: name.into(), reversed: false };
            let drawn = schematic(&network, &[look("Bramble 90"), look("Fennel 25")], true);
            let name = format!("circuit-{}.svg", network.parts.len());
            let svg = slabtone::picture::schematic_svg(&drawn);
            std::fs::write(std::path::Path::new(&dir).join(name), svg).unwrap();
        }
    }
}
