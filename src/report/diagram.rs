//! `circuit.svg`: the circuit of a side as a technician draws it: the amplifier at the left, a row
//! for each way, drivers at the right, the returns below.
//!
//! Any network can be drawn. Each node has its place in one row; parts stand in the row, over it,
//! below it, or lead to another row by a channel between rows. Wires cross where they must; only a
//! dot joins them.

mod graph;
mod plan;
mod rows;
mod tree;

use super::quantity;
use crate::analysis::study::{SideStudy, Study};
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network, Node, Part, Port};
use crate::design::Mounted;
use crate::picture::schematic::{Kind, Schematic, Symbol, Words, width};
use crate::units;
use graph::{Edge, Tree};
use plan::{LANE, Line, Plan, Zone};
use rows::{INPUT, RETURN, Row};
use tree::{Item, Track, Way};

/// The diagram of a side as it is bought.
pub fn of_side(study: &Study, side: &SideStudy, names: &str) -> Schematic {
    let bridged = study.design.amplifier.bridged;
    let network = &side.chosen.network;
    let mounted = study.design.sides.iter().find(|s| s.name == side.name).map(|s| &s.drivers);
    let reversed = side.response().polarity == Polarity::Inverted;
    let drivers = mounted.map_or(Vec::new(), |d| {
        let look = |m: &Mounted, reversed| DriverLook { name: m.driver.name.clone(), reversed };
        vec![look(&d.woofer, false), look(&d.tweeter, reversed)]
    });
    let mut out = schematic(network, &drivers, bridged);
    out.title = "How the crossover is wired".into();
    let output = match bridged {
        true => {
            "bridged amplifier: the returns go to its negative output, neither output is ground"
        }
        false => "the returns go to the amplifier's ground",
    };
    let joined = "wires that cross are joined only at a dot";
    let values = "values as bought";
    out.subtitle = format!("{}, {names}; {values}; {output}; {joined}", study.design.name);
    for coupling in &network.couplings {
        let [a, b] = coupling.parts.map(|k| network.parts[k].reference.as_str());
        let k = units::significant(coupling.factor, 2);
        out.subtitle.push_str(&format!("; {a} and {b} share their field, k = {k}"));
    }
    out.description = format!(
        "Circuit diagram of {} parts: the amplifier at the left, the drivers at the right.",
        network.parts.len()
    );
    out
}

/// How the driver at a port is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DriverLook {
    /// Its name.
    pub name: String,
    /// Whether its + goes to the second terminal of the port.
    pub reversed: bool,
}

/// The diagram of `network` with `drivers` at its ports, in their order; `bridged`: both outputs of
/// the amplifier are driven and neither is ground.
pub fn schematic(network: &Network, drivers: &[DriverLook], bridged: bool) -> Schematic {
    let items = items(network, drivers);
    let names: Vec<String> =
        (0..network.node_count()).map(|n| network.name(Node(n)).to_owned()).collect();
    let rows = rows::rows(graph::edges(network), &ports(network, drivers));
    let plan = plan::plan(&rows, &items, &names);
    let mut out = Schematic::default();
    for (row, line) in rows.iter().zip(&plan.lines) {
        draw_row(row, line, &items, &names, &mut out);
    }
    draw_wires(&plan, &mut out);
    draw_returns(&plan, bridged, &names, &mut out);
    draw_input(&rows, &plan, &names, &mut out);
    out
}

/// Parts, then drivers, as they are drawn.
fn items(network: &Network, drivers: &[DriverLook]) -> Vec<Item> {
    let coupled = |k: usize| network.couplings.iter().any(|c| c.parts.contains(&k));
    let part = |(k, part): (usize, &Part)| {
        let kind = match part.component {
            Component::Resistor { .. } => Kind::Resistor,
            Component::Inductor { .. } if coupled(k) => Kind::Coupled,
            Component::Inductor { .. } => Kind::Inductor,
            Component::Capacitor { .. } => Kind::Capacitor,
        };
        let mut lines = vec![part.reference.clone(), quantity::part(&part.component, 3)];
        if matches!(part.component, Component::Inductor { dcr_ohm, .. } if dcr_ohm > 0.0) {
            lines.push(quantity::loss(&part.component));
        }
        Item { kind, reference: part.reference.clone(), lines }
    };
    let mut items: Vec<Item> = network.parts.iter().enumerate().map(part).collect();
    items.extend(network.ports.iter().enumerate().map(|(k, port)| {
        let name = drivers.get(k).map(|d| d.name.clone());
        let lines = std::iter::once(port.name.clone()).chain(name).collect();
        Item { kind: Kind::Loudspeaker, reference: port.name.clone(), lines }
    }));
    items
}

/// The ports as edges from each driver's own + terminal.
fn ports(network: &Network, drivers: &[DriverLook]) -> Vec<Edge> {
    let edge = |(k, port): (usize, &Port)| {
        let [a, b] = port.nodes.map(|n| n.0);
        let reversed = drivers.get(k).is_some_and(|d| d.reversed);
        let tree = Tree::Leaf(network.parts.len() + k, false);
        Edge { nodes: if reversed { [b, a] } else { [a, b] }, tree }
    };
    network.ports.iter().enumerate().map(edge).collect()
}

fn draw_row(row: &Row, line: &Line, items: &[Item], names: &[String], out: &mut Schematic) {
    let y = line.y;
    for (place, zone) in line.zones.iter().enumerate() {
        for column in &zone.columns {
            let foot = if column.wire.is_some() { line.down - 7.0 } else { line.down };
            let track = Track { start: y, axis: column.x, length: foot, way: Way::Down };
            tree::draw(&column.drop.tree, items, track, out);
        }
        draw_node(row, place, zone, y, out);
        let node = row.nodes[place];
        if node != INPUT {
            let at = (zone.name_x, y - 18.0);
            out.words.push(Words {
                lines: vec![names[node].clone()],
                at,
                centred: false,
                soft: true,
            });
        }
        if let (Some(link), Some(next)) = (row.links.get(place), line.zones.get(place + 1)) {
            let length = next.left - zone.right;
            let track = Track { start: zone.right, axis: y, length, way: Way::Level };
            tree::draw(link, items, track, out);
        }
    }
    for span in &line.spans {
        let level = y - span.up;
        let zone = &line.zones[span.bridge.from];
        let length = tree::measure(&span.bridge.tree, items, Way::Level).along;
        let track = Track { start: zone.right, axis: level, length, way: Way::Level };
        tree::draw(&span.bridge.tree, items, track, out);
        out.wire((span.from_x, y), (span.from_x, level));
        out.wire((span.from_x, level), (zone.right, level));
        out.wire((zone.right + length, level), (span.to_x, level));
        out.wire((span.to_x, level), (span.to_x, y));
    }
}

/// The line that is a node: over everything that meets it.
fn draw_node(row: &Row, place: usize, zone: &Zone, y: f64, out: &mut Schematic) {
    let columns = zone.columns.iter().map(|c| c.x);
    let mut ends: Vec<f64> = columns.chain(zone.meets.iter().copied()).collect();
    if place > 0 || row.nodes[place] == INPUT {
        ends.push(zone.left);
    }
    if place < row.links.len() {
        ends.push(zone.right);
    }
    let low = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let high = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low < high {
        out.wire((low, y), (high, y));
    }
}

/// Wires from row to row.
fn draw_wires(plan: &Plan, out: &mut Schematic) {
    for wire in &plan.wires {
        let from = &plan.lines[wire.from_row];
        let to = &plan.lines[wire.to.0];
        let level = lane(from, wire.lanes[0]);
        out.wire((wire.from_x, from.rail_y - 7.0), (wire.from_x, level));
        match wire.trunk {
            Some(trunk) => {
                let x = LANE * (trunk + 1) as f64;
                let last = lane(to, wire.lanes[1]);
                out.wire((wire.from_x, level), (x, level));
                out.wire((x, level), (x, last));
                out.wire((x, last), (wire.to_x, last));
                out.wire((wire.to_x, last), (wire.to_x, to.y));
            }
            None => {
                out.wire((wire.from_x, level), (wire.to_x, level));
                out.wire((wire.to_x, level), (wire.to_x, to.y));
            }
        }
    }
}

fn lane(line: &Line, index: usize) -> f64 {
    line.rail_y + LANE * (index + 1) as f64
}

/// The returns of all rows, joined at the right and led back to the amplifier below.
fn draw_returns(plan: &Plan, bridged: bool, names: &[String], out: &mut Schematic) {
    let last = plan.lines.len() - 1;
    let mut rails = Vec::new();
    for (k, line) in plan.lines.iter().enumerate() {
        let feet = line.zones.iter().flat_map(|z| &z.columns).filter(|c| c.wire.is_none());
        let ends = |(low, high): (f64, f64), x: f64| (low.min(x), high.max(x));
        let (low, high) = feet.map(|c| c.x).fold((f64::INFINITY, f64::NEG_INFINITY), ends);
        let low = if k == last { -AWAY } else { low };
        if low.is_finite() {
            rails.push((low, high.max(0.0), line.rail_y));
        }
    }
    let alone = rails.len() == 1;
    for (low, high, y) in &rails {
        out.wire((*low, *y), (if alone { *high } else { plan.right }, *y));
    }
    for pair in rails.windows(2) {
        out.wire((plan.right, pair[0].2), (plan.right, pair[1].2));
    }
    let at = (-AWAY, plan.lines[last].rail_y);
    terminal(at, &names[RETURN], out);
    if !bridged {
        let (tap, foot) = ((0.5 * at.0, at.1), (0.5 * at.0, at.1 + 8.0));
        out.wire(tap, foot);
        let reference = String::new();
        out.symbols.push(Symbol { kind: Kind::Ground, reference, from: foot, to: foot });
    }
}

/// From the amplifier's terminals to the first upright.
const AWAY: f64 = 22.0;

/// The input: its terminal, and an upright to every row that begins there.
fn draw_input(rows: &[Row], plan: &Plan, names: &[String], out: &mut Schematic) {
    let hot = rows.iter().zip(&plan.lines).filter(|(row, _)| row.nodes[0] == INPUT);
    let levels: Vec<f64> = hot.map(|(_, line)| line.y).collect();
    for (k, y) in levels.iter().enumerate() {
        let from = if k == 0 { -AWAY } else { 0.0 };
        out.wire((from, *y), (plan.left, *y));
    }
    for pair in levels.windows(2) {
        out.wire((0.0, pair[0]), (0.0, pair[1]));
    }
    if let Some(y) = levels.first() {
        terminal((-AWAY, *y), &names[INPUT], out);
    }
}

fn terminal(at: (f64, f64), name: &str, out: &mut Schematic) {
    out.symbols.push(Symbol { kind: Kind::Terminal, reference: name.to_owned(), from: at, to: at });
    let lines = vec![name.to_owned()];
    let at = (at.0 - width(&lines) - 12.0, at.1 - 7.0);
    out.words.push(Words { lines, at, centred: false, soft: false });
}
