//! The wires of a panel: from the amplifier to each crossover, and from there to the drivers; as
//! rows, CSV and text.

use super::table::{Gives, lines, plain_table};
use crate::analysis::study::{SideStudy, Study};
use crate::circuit::ladder::Polarity;
use crate::circuit::network::Node;
use crate::design::Way;
use serde::Serialize;

/// A wire.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wire {
    /// Its number ("W1").
    pub wire: String,
    /// The side it belongs to.
    pub side: String,
    /// Where it starts.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// "+" or "-": what the wire carries as the amplifier has it.
    pub polarity: &'static str,
    /// Cross-section of the thinnest conductor (IEC 60228), m², where it was computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub area_m2: Option<f64>,
}

/// All wires of a study, side by side.
pub fn wires(study: &Study) -> Vec<Wire> {
    let mut out = Vec::new();
    for side in &study.sides {
        let loads = study.amplifier.iter().flat_map(|a| &a.sides);
        let load = loads.into_iter().find(|load| load.name == side.name);
        let area_m2 = load.and_then(|load| load.wiring.cable_m2);
        for (from, to, polarity) in of_side(side) {
            let wire = format!("W{}", out.len() + 1);
            let side = side.name.clone();
            out.push(Wire { wire, side, from, to, polarity, area_m2 });
        }
    }
    out
}

impl Wire {
    /// Its cross-section in mm², "" where it was not computed.
    pub fn area_mm2_text(&self) -> String {
        self.area_m2.map_or(String::new(), |m2| crate::units::plain(1e6 * m2))
    }
}

/// From, to and polarity.
fn of_side(side: &SideStudy) -> Vec<(String, String, &'static str)> {
    let network = &side.chosen.network;
    let board = |node: Node| format!("crossover {}", network.name(node));
    let amplifier = |node: Node| format!("amplifier {}", network.name(node));
    let mut out = vec![
        (amplifier(Node::INPUT), board(Node::INPUT), "+"),
        (amplifier(Node::RETURN), board(Node::RETURN), "-"),
    ];
    let reversed = side.response().polarity == Polarity::Inverted;
    for (port, way) in network.ports.iter().zip(Way::BOTH) {
        let turned = way == Way::Tweeter && reversed;
        let poles = if turned { ["-", "+"] } else { ["+", "-"] };
        for ((node, pole), polarity) in port.nodes.into_iter().zip(poles).zip(["+", "-"]) {
            out.push((board(node), format!("{} {pole}", way.word()), polarity));
        }
    }
    out
}

/// `wiring.csv` (RFC 4180); the colour is left to whoever wires it.
///
/// # Errors
/// Writing to memory does not fail in practice; the error is passed on.
pub fn csv(wires: &[Wire]) -> Result<String, csv::Error> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(["wire", "side", "from", "to", "polarity", "area_mm2", "colour"])?;
    for w in wires {
        let area = w.area_mm2_text();
        writer.write_record([&w.wire, &w.side, &w.from, &w.to, w.polarity, &area, ""])?;
    }
    let bytes = writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// The wires for people, in lines of `width` characters.
pub fn text(wires: &[Wire], width: u16) -> String {
    let mut table = plain_table();
    table.set_header(["wire", "side", "from", "to", "polarity", "mm²", "colour"]);
    for w in wires {
        let area = w.area_mm2_text();
        table.add_row([&w.wire, &w.side, &w.from, &w.to, w.polarity, &area, "________"]);
    }
    lines(table, width, Gives::Last)
}
