//! Where everything of a circuit diagram stands: columns from left to right in each row, then rows
//! from top to bottom, with channels between them for wires that lead from row to row.

use super::rows::{Bridge, Drop, INPUT, Row, Seat};
use super::tree::{Extent, Item, Way, measure};
use crate::picture::schematic::width;

/// Between wires that run side by side.
pub(super) const LANE: f64 = 14.0;
/// Around a node's columns.
const PAD: f64 = 8.0;
/// From the words of a row to the row above.
const BETWEEN: f64 = 26.0;

/// A wire from the foot of a drop to a node elsewhere.
#[derive(Debug, Clone)]
pub(super) struct Wire {
    pub from_row: usize,
    pub to: Seat,
    pub from_x: f64,
    pub to_x: f64,
    /// Its level in the channel below the row it comes from, and below the one it goes to where
    /// that is another channel.
    pub lanes: [usize; 2],
    /// Its upright in the margin, where it needs one.
    pub trunk: Option<usize>,
}

impl Wire {
    /// Whether it comes down into the next row from above.
    pub fn is_straight(&self) -> bool {
        self.to.0 == self.from_row + 1
    }
}

/// A drop in its column.
#[derive(Debug, Clone)]
pub(super) struct Column {
    pub drop: Drop,
    pub x: f64,
    /// Index of the wire from its foot.
    pub wire: Option<usize>,
}

/// A node in its row.
#[derive(Debug, Clone, Default)]
pub(super) struct Zone {
    pub left: f64,
    pub right: f64,
    pub columns: Vec<Column>,
    /// Where other wires meet the node's line, from above and below.
    pub meets: Vec<f64>,
    /// Where its name begins.
    pub name_x: f64,
}

/// A bridge with the places of its feet.
#[derive(Debug, Clone)]
pub(super) struct Span {
    pub bridge: Bridge,
    pub from_x: f64,
    pub to_x: f64,
    /// Height of its axis over the row's line.
    pub up: f64,
}

/// A row with its places.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub zones: Vec<Zone>,
    pub spans: Vec<Span>,
    /// What stands above its line, and below.
    pub up: f64,
    pub down: f64,
    /// Level of its line, of its return, and of the channel below.
    pub y: f64,
    pub rail_y: f64,
    pub lanes: usize,
    pub right: f64,
}

/// The whole plan.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub lines: Vec<Line>,
    pub wires: Vec<Wire>,
    /// Where rows begin; the margin for uprights lies before it.
    pub left: f64,
    pub right: f64,
}

/// Plans `rows`; `names` are those of the nodes.
pub(super) fn plan(rows: &[Row], items: &[Item], names: &[String]) -> Plan {
    let mut wires = wires(rows);
    let trunks = wires.iter().filter(|w| w.trunk.is_some()).count();
    let left = LANE * (trunks + 2) as f64;
    let mut lines: Vec<Line> = Vec::new();
    let mut next = 0;
    for (k, row) in rows.iter().enumerate() {
        let line = Across { row, items, names, index: k, left }.line(&mut wires, &mut next);
        lines.push(line);
    }
    let right = lines.iter().map(|l| l.right).fold(0.0, f64::max);
    let drivers = rows.iter().filter_map(|r| r.drops.last()).flatten().filter(|d| d.is_driver);
    let words = drivers.map(|d| measure(&d.tree, items, Way::Down).words).fold(0.0, f64::max);
    for line in &mut lines {
        align_drivers(line, right, words, &mut wires);
    }
    let columns = lines.iter().flat_map(|l| &l.zones).flat_map(|z| &z.columns);
    let furthest = columns.filter(|c| c.drop.is_driver).map(|c| c.x + words).fold(0.0, f64::max);
    let mut y = 0.0;
    for (k, line) in lines.iter_mut().enumerate() {
        line.lanes = lanes(&mut wires, k);
        line.y = y + line.up;
        line.rail_y = line.y + line.down;
        y = line.rail_y + LANE * (line.lanes + usize::from(line.lanes > 0)) as f64 + BETWEEN;
    }
    Plan { lines, wires, left, right: right.max(furthest) + LANE }
}

/// Wires of all drops that do not end at the return, in the order of the drops.
fn wires(rows: &[Row]) -> Vec<Wire> {
    let mut trunks = 0;
    let mut out = Vec::new();
    for (k, row) in rows.iter().enumerate() {
        for to in row.drops.iter().flatten().filter_map(|d| d.to) {
            let mut wire =
                Wire { from_row: k, to, from_x: 0.0, to_x: 0.0, lanes: [0, 0], trunk: None };
            if to.0 != k && !wire.is_straight() {
                wire.trunk = Some(trunks);
                trunks += 1;
            }
            out.push(wire);
        }
    }
    out
}

/// Gives each wire its level in the channel below row `k`, and tells how many there are.
fn lanes(wires: &mut [Wire], k: usize) -> usize {
    let mut count = 0;
    for wire in wires {
        if wire.from_row == k {
            wire.lanes[0] = count;
            count += 1;
        }
        if wire.trunk.is_some() && wire.to.0 == k {
            wire.lanes[1] = count;
            count += 1;
        }
    }
    count
}

/// A row being laid out from left to right.
struct Across<'r> {
    row: &'r Row,
    items: &'r [Item],
    names: &'r [String],
    index: usize,
    left: f64,
}

impl Across<'_> {
    fn line(&self, wires: &mut [Wire], next: &mut usize) -> Line {
        let (zones, feet) = self.zones(wires, next);
        let spans = self.spans(&feet);
        let links = self.row.links.iter().map(|t| measure(t, self.items, Way::Level));
        let low = links.clone().map(|e| e.words).fold(18.0, f64::max);
        let mut up = low;
        let mut raised = Vec::new();
        for mut span in spans {
            let extent = measure(&span.bridge.tree, self.items, Way::Level);
            span.up = up + extent.other + 4.0;
            up = span.up + extent.words;
            raised.push(span);
        }
        let drops = zones.iter().flat_map(|z| &z.columns);
        let down = drops.map(|c| measure(&c.drop.tree, self.items, Way::Down).along);
        let down = down.fold(24.0, f64::max) + links.map(|e| e.other).fold(0.0, f64::max).min(4.0);
        let right = zones.last().map_or(0.0, |z| z.right);
        Line { zones, spans: raised, up, down, y: 0.0, rail_y: 0.0, lanes: 0, right }
    }

    /// Zones from left to right, and the feet of each bridge.
    fn zones(&self, wires: &mut [Wire], next: &mut usize) -> (Vec<Zone>, Vec<[f64; 2]>) {
        let mut feet = vec![[0.0; 2]; self.row.bridges.len()];
        let mut x = self.left;
        let mut zones = Vec::new();
        for place in 0..self.row.nodes.len() {
            let mut zone = Zone { left: x, ..Zone::default() };
            x += PAD;
            for (foot, bridge) in feet.iter_mut().zip(&self.row.bridges) {
                if bridge.to == place {
                    foot[1] = x;
                    zone.meets.push(x);
                    x += LANE;
                }
            }
            self.arrivals(wires, place, &mut zone, &mut x);
            zone.name_x = x;
            let node = self.row.nodes[place];
            let name_end =
                if node == INPUT { x } else { x + width(&self.names[node..=node]) + PAD };
            self.columns(place, &mut zone, &mut x, (wires, next));
            x = x.max(name_end);
            for (foot, bridge) in feet.iter_mut().zip(&self.row.bridges) {
                if bridge.from == place {
                    foot[0] = x;
                    zone.meets.push(x);
                    x += LANE;
                }
            }
            zone.right = x;
            x += self.gap(place);
            zones.push(zone);
        }
        (zones, feet)
    }

    /// Columns for wires that come from other rows, or from this one by way of the channel.
    fn arrivals(&self, wires: &mut [Wire], place: usize, zone: &mut Zone, x: &mut f64) {
        let here = (self.index, place);
        // What already stands in the channel above, so that no two uprights meet there.
        let taken = |w: &Wire| w.from_row + 1 == self.index || w.to.0 + 1 == self.index;
        let above = wires.iter().filter(|w| taken(w));
        let mut above: Vec<f64> = above.flat_map(|w| [w.from_x, w.to_x]).collect();
        for wire in wires.iter_mut().filter(|w| w.to == here) {
            let mut at = *x;
            while above.iter().any(|u| (u - at).abs() < 4.0) {
                at += 5.0;
            }
            above.push(at);
            wire.to_x = at;
            zone.meets.push(at);
            *x = at + LANE;
        }
    }

    fn columns(
        &self,
        place: usize,
        zone: &mut Zone,
        x: &mut f64,
        (wires, next): (&mut [Wire], &mut usize),
    ) {
        for drop in &self.row.drops[place] {
            let Extent { words, other, .. } = measure(&drop.tree, self.items, Way::Down);
            let at = *x + other;
            let wire = drop.to.map(|_| *next);
            if let Some(index) = wire {
                wires[index].from_x = at;
                *next += 1;
            }
            zone.columns.push(Column { drop: drop.clone(), x: at, wire });
            *x = at + words;
        }
    }

    /// Width between a node and the next: its link, and the bridges whose symbols stand over it.
    fn gap(&self, place: usize) -> f64 {
        let along = |tree| measure(tree, self.items, Way::Level).along;
        let link = self.row.links.get(place).map(along);
        let over = self.row.bridges.iter().filter(|b| b.from == place).map(|b| along(&b.tree));
        link.into_iter().chain(over).fold(0.0, f64::max)
    }

    fn spans(&self, feet: &[[f64; 2]]) -> Vec<Span> {
        let pairs = self.row.bridges.iter().zip(feet);
        let mut spans: Vec<Span> = pairs
            .map(|(bridge, [from_x, to_x])| Span {
                bridge: bridge.clone(),
                from_x: *from_x,
                to_x: *to_x,
                up: 0.0,
            })
            .collect();
        spans.sort_by_key(|s| s.bridge.to - s.bridge.from);
        spans
    }
}

/// Moves the drivers at the end of a row to one upright that all rows share, `words` before the
/// right edge, and a little on where a wire from one would meet another's in the channel below.
fn align_drivers(line: &mut Line, right: f64, words: f64, wires: &mut [Wire]) {
    let Some(zone) = line.zones.last_mut() else { return };
    let shift = (right - line.right).max(0.0);
    let drivers = zone.columns.iter().filter(|c| c.drop.is_driver).count();
    for column in zone.columns.iter_mut().filter(|c| c.drop.is_driver) {
        // Several drivers on one node keep their distances.
        column.x = if drivers == 1 { (right - words).max(column.x) } else { column.x + shift };
        if let Some(index) = column.wire {
            while wires.iter().any(|w| (w.to_x - column.x).abs() < 4.0) {
                column.x += 5.0;
            }
            wires[index].from_x = column.x;
        }
        line.right = right;
        zone.right = right;
    }
}
