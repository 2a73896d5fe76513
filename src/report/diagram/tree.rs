//! Parts that stand together, measured and drawn level or upright.

use super::graph::Tree;
use crate::picture::schematic::{BODY, Kind, LINE, Schematic, Spot, Symbol, Words, width};

/// Wire at both ends of a symbol or a group.
const LEAD: f64 = 8.0;
/// From a symbol to its words.
const GAP: f64 = 5.0;
/// Between neighbours.
const APART: f64 = 6.0;

/// One part or driver as it is drawn.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub kind: Kind,
    pub reference: String,
    pub lines: Vec<String>,
}

impl Item {
    /// How far the symbol reaches beside its axis: to the side of the words, to the other.
    fn sides(&self) -> (f64, f64) {
        match self.kind {
            Kind::Capacitor => (11.0, 11.0),
            Kind::Loudspeaker => (22.0, 12.0),
            _ => (8.0, 8.0),
        }
    }
}

/// Which way the current goes through parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// To the right; words above, neighbours stacked upwards.
    Level,
    /// Down; words to the right, neighbours to the right.
    Down,
}

/// What parts take: along their way, on the side of words and neighbours, on the other side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Extent {
    pub along: f64,
    pub words: f64,
    pub other: f64,
}

/// Measures a tree.
pub(super) fn measure(tree: &Tree, items: &[Item], way: Way) -> Extent {
    match tree {
        Tree::Leaf(index, _) => leaf_extent(&items[*index], way),
        Tree::Series(trees) => {
            let all = || trees.iter().map(|t| measure(t, items, way));
            Extent {
                along: all().map(|e| e.along).sum(),
                words: all().map(|e| e.words).fold(0.0, f64::max),
                other: all().map(|e| e.other).fold(0.0, f64::max),
            }
        }
        Tree::Parallel(trees) => {
            let all: Vec<Extent> = trees.iter().map(|t| measure(t, items, way)).collect();
            let places = places(&all);
            let last = all.len() - 1;
            Extent {
                along: all.iter().map(|e| e.along).fold(0.0, f64::max) + 2.0 * LEAD,
                words: places[last] + all[last].words,
                other: all[0].other,
            }
        }
    }
}

fn leaf_extent(item: &Item, way: Way) -> Extent {
    let (near, other) = item.sides();
    let high = LINE * item.lines.len() as f64;
    match way {
        Way::Level => Extent {
            along: (BODY + 2.0 * LEAD).max(width(&item.lines) + APART),
            words: near + high + APART,
            other: other + 2.0,
        },
        Way::Down => Extent {
            along: (BODY + 2.0 * LEAD).max(high + APART),
            words: near + GAP + width(&item.lines) + APART,
            other: other + 2.0,
        },
    }
}

/// Where the axes of neighbours lie from the first one's.
fn places(extents: &[Extent]) -> Vec<f64> {
    let mut places = vec![0.0];
    for pair in extents.windows(2) {
        let last = places[places.len() - 1];
        places.push(last + pair[0].words + pair[1].other);
    }
    places
}

/// Where a tree is drawn: its start, the axis across its way, and its length.
#[derive(Debug, Clone, Copy)]
pub(super) struct Track {
    pub start: f64,
    pub axis: f64,
    pub length: f64,
    pub way: Way,
}

impl Track {
    /// The place `along` from the start and `aside` of the axis, towards the words.
    fn at(&self, along: f64, aside: f64) -> Spot {
        match self.way {
            Way::Level => (self.start + along, self.axis - aside),
            Way::Down => (self.axis + aside, self.start + along),
        }
    }
}

/// Draws a tree from end to end of its track.
pub(super) fn draw(tree: &Tree, items: &[Item], track: Track, out: &mut Schematic) {
    match tree {
        Tree::Leaf(index, flipped) => draw_leaf(&items[*index], *flipped, track, out),
        Tree::Series(trees) => {
            let lengths: Vec<f64> =
                trees.iter().map(|t| measure(t, items, track.way).along).collect();
            let spare = (track.length - lengths.iter().sum::<f64>()) / trees.len() as f64;
            let mut start = track.start;
            for (each, length) in trees.iter().zip(lengths) {
                let length = length + spare;
                draw(each, items, Track { start, length, ..track }, out);
                start += length;
            }
        }
        Tree::Parallel(trees) => {
            let all: Vec<Extent> = trees.iter().map(|t| measure(t, items, track.way)).collect();
            let places = places(&all);
            let inner = track.length - 2.0 * LEAD;
            for (from, to) in [(0.0, LEAD), (track.length - LEAD, track.length)] {
                out.wire(track.at(from, 0.0), track.at(to, 0.0));
            }
            for bar in [LEAD, track.length - LEAD] {
                for pair in places.windows(2) {
                    out.wire(track.at(bar, pair[0]), track.at(bar, pair[1]));
                }
            }
            for (each, place) in trees.iter().zip(places) {
                let aside = if track.way == Way::Level { -place } else { place };
                let start = track.start + LEAD;
                let axis = track.axis + aside;
                draw(each, items, Track { start, axis, length: inner, ..track }, out);
            }
        }
    }
}

fn draw_leaf(item: &Item, flipped: bool, track: Track, out: &mut Schematic) {
    let spare = 0.5 * (track.length - BODY);
    let (first, second) = (track.at(spare, 0.0), track.at(spare + BODY, 0.0));
    out.wire(track.at(0.0, 0.0), first);
    out.wire(second, track.at(track.length, 0.0));
    let (from, to) = if flipped { (second, first) } else { (first, second) };
    let reference = item.reference.clone();
    out.symbols.push(Symbol { kind: item.kind, reference, from, to });
    let (near, _) = item.sides();
    let high = LINE * item.lines.len() as f64;
    let (at, centred) = match track.way {
        Way::Level => (track.at(0.5 * track.length, near + high + 2.0), true),
        Way::Down => {
            let (x, y) = track.at(0.5 * track.length, near + GAP);
            ((x, y - 0.5 * high), false)
        }
    };
    out.words.push(Words { lines: item.lines.clone(), at, centred, soft: false });
}
