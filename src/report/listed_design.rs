//! A design file with its crossover written out part by part: the user's own text and comments,
//! another `[crossover]`.

use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network, Node};
use crate::design::{Crossover, PolarityRule, Topology};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, value};

/// The text of `source` (a sound design file) with `crossover` in place of its own, and every
/// path of a driver or a stock through `relocate`. `None` if the text is no TOML, or the crossover has no parts.
pub fn text(
    source: &str,
    crossover: &Crossover,
    relocate: impl Fn(&str) -> String,
) -> Option<String> {
    let Topology::Listed(network) = &crossover.topology else { return None };
    let mut document: DocumentMut = source.parse().ok()?;
    let place = document.get("crossover").and_then(Item::as_table).and_then(Table::position);
    let mut table = table(network, crossover);
    if let Some(place) = place {
        table.set_position(Some(place));
    }
    document["crossover"] = Item::Table(table);
    let move_path = |item: Option<&mut Item>| {
        if let Some(item) = item
            && let Some(path) = item.as_str().map(&relocate)
        {
            *item = value(path);
        }
    };
    move_path(document.get_mut("parts").and_then(|parts| parts.get_mut("stock")));
    if let Some(sides) = document.get_mut("side").and_then(Item::as_array_of_tables_mut) {
        for side in sides.iter_mut() {
            for way in ["woofer", "tweeter"] {
                move_path(side.get_mut(way).and_then(|w| w.get_mut("driver")));
            }
        }
    }
    Some(document.to_string())
}

fn table(network: &Network, crossover: &Crossover) -> Table {
    let mut table = Table::new();
    table["at_hz"] = value(crossover.at_hz);
    table["tweeter_polarity"] = value(match crossover.polarity {
        PolarityRule::Best => "best",
        PolarityRule::Fixed(Polarity::Normal) => "normal",
        PolarityRule::Fixed(Polarity::Inverted) => "inverted",
    });
    let names = |nodes: [Node; 2]| -> Array { nodes.iter().map(|n| network.name(*n)).collect() };
    let mut parts = ArrayOfTables::new();
    for part in &network.parts {
        let mut row = Table::new();
        row["ref"] = value(part.reference.as_str());
        values(&mut row, &part.component);
        row["between"] = value(names(part.nodes));
        parts.push(row);
    }
    table["part"] = Item::ArrayOfTables(parts);
    let mut ports = Table::new();
    for port in &network.ports {
        ports[&port.name] = value(names(port.nodes));
    }
    table["ports"] = Item::Table(ports);
    table
}

/// Value and loss under their keys, in the units of design files.
fn values(row: &mut Table, component: &Component) {
    let mut put = |key: &str, number: f64| row[key] = value(decimal(number));
    match *component {
        Component::Resistor { ohm } => put("resistance_ohm", ohm),
        Component::Inductor { henry, dcr_ohm } => {
            put("inductance_mh", henry * 1e3);
            put("dcr_ohm", dcr_ohm);
        }
        Component::Capacitor { farad, esr_ohm } => {
            put("capacitance_uf", farad * 1e6);
            put("esr_ohm", esr_ohm);
        }
    }
}

/// Ten significant digits, so that 0.1 mH is not written as 0.10000000000000002.
fn decimal(number: f64) -> f64 {
    format!("{number:.9e}").parse().unwrap_or(number)
}
