//! Circuit diagrams as plain data: symbols, wires and words at places in pixels, y downwards.
//!
//! Symbols are in the manner of IEC 60617: a resistor is a rectangle, a coil a row of arcs, a
//! capacitor two plates, a loudspeaker a rectangle with a cone. Wires that cross are joined only
//! where a dot says so.

mod draw;

pub use draw::schematic_svg;

use super::words;

/// A place in pixels, y downwards.
pub type Spot = (f64, f64);

/// Length of a symbol from pin to pin, pixels.
pub const BODY: f64 = 40.0;
/// Height of a line of words, pixels.
pub const LINE: f64 = 14.0;
/// Size of the words, pixels.
pub const WORD: f64 = 12.0;

/// What a symbol stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A resistor.
    Resistor,
    /// A coil.
    Inductor,
    /// A coil that shares its field; a dot marks the first pin.
    Coupled,
    /// A capacitor without polarity.
    Capacitor,
    /// A loudspeaker; a + marks the first pin.
    Loudspeaker,
    /// A terminal for a wire from outside, left of its pins, which are one place.
    Terminal,
    /// The amplifier's ground; both pins are one place.
    Ground,
}

/// A symbol between two pins that lie on one upright or level line.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    /// What it is.
    pub kind: Kind,
    /// Its reference name; empty where there is none.
    pub reference: String,
    /// First pin.
    pub from: Spot,
    /// Second pin.
    pub to: Spot,
}

impl Symbol {
    /// What its body takes: left, top, right, bottom.
    pub fn bounds(&self) -> [f64; 4] {
        let (a, b) = (self.from, self.to);
        let [left, right] = [a.0.min(b.0), a.0.max(b.0)];
        let [top, bottom] = [a.1.min(b.1), a.1.max(b.1)];
        let half = match self.kind {
            Kind::Terminal => return [left - 8.0, top - 4.0, right, bottom + 4.0],
            Kind::Ground => return [left - 9.0, top, right + 9.0, bottom + 20.0],
            Kind::Loudspeaker => 8.0,
            Kind::Capacitor => 11.0,
            _ => 8.0,
        };
        let cone = if self.kind == Kind::Loudspeaker { 14.0 } else { 0.0 };
        if top == bottom {
            [left, top - half - cone, right, bottom + half]
        } else {
            [left - half, top, right + half + cone, bottom]
        }
    }
}

/// Lines of words, the first at the top.
#[derive(Debug, Clone, PartialEq)]
pub struct Words {
    /// The lines.
    pub lines: Vec<String>,
    /// Upper left corner, or the middle of the upper edge.
    pub at: Spot,
    /// Whether `at` is the middle.
    pub centred: bool,
    /// Whether it stands back behind the rest.
    pub soft: bool,
}

impl Words {
    /// What they take: left, top, right, bottom.
    pub fn bounds(&self) -> [f64; 4] {
        let width = width(&self.lines);
        let left = if self.centred { self.at.0 - 0.5 * width } else { self.at.0 };
        [left, self.at.1, left + width, self.at.1 + LINE * self.lines.len() as f64]
    }
}

/// Width of the widest of some lines, pixels.
pub fn width(lines: &[String]) -> f64 {
    lines.iter().map(|l| words::width(l, WORD)).fold(0.0, f64::max)
}

/// A circuit diagram.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Schematic {
    /// What it shows, as a short statement.
    pub title: String,
    /// Of what, and under which conventions.
    pub subtitle: String,
    /// A sentence or two for readers who do not see it.
    pub description: String,
    /// Symbols.
    pub symbols: Vec<Symbol>,
    /// Straight wires, upright or level.
    pub wires: Vec<[Spot; 2]>,
    /// Words.
    pub words: Vec<Words>,
}

impl Schematic {
    /// Adds a wire unless its ends are one place.
    pub fn wire(&mut self, a: Spot, b: Spot) {
        if (a.0 - b.0).abs() + (a.1 - b.1).abs() > 1e-6 {
            self.wires.push([a, b]);
        }
    }

    /// Places where three or more wires or pins meet, which a dot marks.
    pub fn dots(&self) -> Vec<Spot> {
        let pins = self.symbols.iter().filter(|s| s.from != s.to).flat_map(|s| [s.from, s.to]);
        let pins: Vec<Spot> = pins.collect();
        let mut spots: Vec<Spot> =
            self.wires.iter().flatten().copied().chain(pins.clone()).collect();
        spots.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        spots.dedup_by(|a, b| same(*a, *b));
        let meeting = |spot: &Spot| {
            let wires: usize = self.wires.iter().map(|w| branches(w, *spot)).sum();
            wires + pins.iter().filter(|p| same(**p, *spot)).count() > 2
        };
        spots.into_iter().filter(meeting).collect()
    }

    /// The wires with those that continue each other in one line drawn as one.
    pub fn lines(&self) -> Vec<[Spot; 2]> {
        let mut lines: Vec<[Spot; 2]> = Vec::new();
        for wire in &self.wires {
            let mut whole = *wire;
            while let Some(k) = lines.iter().position(|l| joined(l, &whole).is_some()) {
                let line = lines.swap_remove(k);
                whole = joined(&line, &whole).unwrap_or(whole);
            }
            lines.push(whole);
        }
        lines
    }

    /// What everything takes: left, top, right, bottom.
    pub fn bounds(&self) -> [f64; 4] {
        let wires = self
            .wires
            .iter()
            .map(|[a, b]| [a.0.min(b.0), a.1.min(b.1), a.0.max(b.0), a.1.max(b.1)]);
        let symbols = self.symbols.iter().map(Symbol::bounds);
        let words = self.words.iter().map(Words::bounds);
        let widen = |all: [f64; 4], one: [f64; 4]| {
            [all[0].min(one[0]), all[1].min(one[1]), all[2].max(one[2]), all[3].max(one[3])]
        };
        wires.chain(symbols).chain(words).reduce(widen).unwrap_or_default()
    }
}

/// Two wires on one line that share an end, as one.
fn joined(a: &[Spot; 2], b: &[Spot; 2]) -> Option<[Spot; 2]> {
    let level = |w: &[Spot; 2]| (w[0].1 - w[1].1).abs() < 0.01;
    if level(a) != level(b) {
        return None;
    }
    let pairs = [(a[1], b[0], [a[0], b[1]]), (a[1], b[1], [a[0], b[0]])];
    let more = [(a[0], b[0], [a[1], b[1]]), (a[0], b[1], [a[1], b[0]])];
    pairs.into_iter().chain(more).find(|(p, q, _)| same(*p, *q)).map(|(_, _, whole)| whole)
}

/// Whether two places are one.
pub fn same(a: Spot, b: Spot) -> bool {
    (a.0 - b.0).abs() < 0.01 && (a.1 - b.1).abs() < 0.01
}

/// How many ways lead along a wire from a place: 1 from its end, 2 from its inside, else 0.
fn branches(wire: &[Spot; 2], spot: Spot) -> usize {
    let [a, b] = *wire;
    if same(a, spot) || same(b, spot) {
        return 1;
    }
    let within = |p: f64, q: f64, at: f64| p.min(q) - 0.01 < at && at < p.max(q) + 0.01;
    2 * usize::from(within(a.0, b.0, spot.0) && within(a.1, b.1, spot.1))
}
