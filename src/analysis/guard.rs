//! A capacitor in series with the woofer's way, to keep the cone within Xmax: the largest preferred
//! value that does, on the real impedance, and what it costs.
//!
//! The woofer's voltage behind an added series impedance Zc is V/(1 + k Zc): exact for any linear
//! network, k from two solutions. The value found is solved for anew.

use super::finding::Finding;
use super::side::{SideModel, SideResponse};
use super::synthesis::{TWEETER, WOOFER};
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::solve::SolveError;
use crate::design::{Design, Side, Ways};
use crate::grid::{Grid, Transfer, level_db};
use crate::model::closed_box::Alignment;
use crate::units;
use num_complex::Complex64;

/// Decades of farads searched: 10 µF up to just below 10 mF.
const DECADES: (i32, i32) = (-5, -3);
/// Largest excursion may pass Xmax by this much: rounding.
const ROUNDING: f64 = 1.0 + 1e-9;

/// Where the capacitor goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Between the amplifier and the woofer's part of the crossover.
    WooferWay,
    /// Between the amplifier and everything, where the ways have parts in common.
    WholeSide,
}

/// The capacitor and what it costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Guard {
    /// Its value, F.
    pub farad: f64,
    /// Where it goes.
    pub place: Place,
    /// The woofer's excursion with it at the amplifier's rated voltage, m one-way peak, one value a
    /// grid point.
    pub excursion_m: Vec<f64>,
    /// Largest of these, m.
    pub peak_m: f64,
    /// Half-power frequency without it and with it, Hz.
    pub f3_hz: (f64, f64),
    /// Level of the woofer against that without it: at the old f3, and the most that it rises, dB.
    pub at_f3_db: f64,
    /// The most that the level rises anywhere, dB, and where, Hz.
    pub most_db: (f64, f64),
}

impl Guard {
    /// Whether it is worth its price: f3 moves by less than half an octave (our own measure).
    pub fn is_bargain(&self) -> bool {
        self.f3_hz.1 < std::f64::consts::SQRT_2 * self.f3_hz.0
    }
}

/// Whether a capacitor helps.
#[derive(Debug, Clone, PartialEq)]
pub enum Remedy {
    /// The cone stays within Xmax as it is.
    NotNeeded,
    /// This one keeps it there.
    Capacitor(Guard),
    /// None of the preferred values does.
    None,
}

impl Remedy {
    /// Seeks the largest capacitor that keeps the woofer within Xmax at the amplifier's rated
    /// voltage over the driven band. `excursion_m` is without it (m peak), `alignment` the woofer in
    /// its cavity.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        design: &Design,
        side: &Side,
        model: &SideModel,
        network: &Network,
        response: &SideResponse,
        alignment: &Alignment,
    ) -> Result<Self, SolveError> {
        let grid = response.impedance.grid();
        let xmax_m = side.drivers.woofer.driver.limits.xmax_m;
        let (rated_v, polarity) = (design.amplifier.rated_v(), response.polarity);
        let moves_m =
            |voltage: &Ways<Transfer>| model.excursion_m(voltage, polarity, rated_v).woofer;
        let bare_m = moves_m(&response.voltage);
        let driven = grid.within(design.amplifier.cut_below_hz.unwrap_or(0.0), f64::INFINITY);
        let fits = |excursion_m: &mut dyn Iterator<Item = f64>| {
            excursion_m.skip(driven.start).all(|x| x <= xmax_m * ROUNDING)
        };
        if fits(&mut bare_m.iter().copied()) {
            return Ok(Self::NotNeeded);
        }
        let part = |farad| Component::Capacitor { farad, esr_ohm: design.parts.capacitor_esr_ohm };
        // Any value serves to find k; this one is felt all over the bass.
        let probe = part(1e-4);
        let probed = voltage_with(model, network, probe, polarity)?;
        let pairs = response.voltage.woofer.values().iter().zip(probed.woofer.values());
        let k: Vec<Complex64> = pairs
            .zip(grid.omega())
            .map(|((bare, with), w)| (bare / with - 1.0) / probe.impedance(w))
            .collect();
        let moves = |component: Component| {
            let each = bare_m.iter().zip(&k).zip(grid.omega());
            each.map(move |((x, k), w)| x / (1.0 + k * component.impedance(w)).norm())
        };
        let series = design.parts.series.of(&probe);
        let values = series.values(DECADES.0, DECADES.1).into_iter().rev();
        for farad in values.filter(|c| fits(&mut moves(part(*c)))) {
            let voltage = voltage_with(model, network, part(farad), polarity)?;
            let excursion_m = moves_m(&voltage);
            // A tweeter in the same air moves the woofer too, past the capacitor.
            if !fits(&mut excursion_m.iter().copied()) {
                continue;
            }
            return Ok(Self::Capacitor(Guard {
                farad,
                place: with_series(network, part(farad)).1,
                peak_m: excursion_m[driven].iter().copied().fold(0.0, f64::max),
                excursion_m,
                ..cost(grid, alignment, &response.voltage.woofer, &voltage.woofer)
            }));
        }
        Ok(Self::None)
    }

    /// What it says, where the woofer of `side` passes Xmax.
    pub fn finding(&self, side: &str, rated_v: f64) -> Option<Finding> {
        let subject = format!("{side} woofer");
        let guard = match self {
            Self::NotNeeded => return None,
            Self::None => {
                let text = "no preferred capacitor in front of it keeps it within Xmax: around its resonance the impedance is high and a capacitor does little";
                return Some(Finding::note(subject, text));
            }
            Self::Capacitor(guard) => guard,
        };
        let place = match guard.place {
            Place::WooferWay => "its part of the crossover",
            Place::WholeSide => "the whole side",
        };
        let rise = match guard.most_db {
            (db, hz) if db >= 0.5 => {
                format!("; it lifts the level by {db:.1} dB at {}", units::hertz(hz))
            }
            _ => String::new(),
        };
        let verdict = if guard.is_bargain() {
            ""
        } else {
            ". That is a poor bargain: around its resonance the impedance is high and a capacitor does little, so it has to be small"
        };
        let text = format!(
            "the largest capacitor that keeps sines of {rated_v:.1} V within Xmax is {} µF, between the amplifier and {place}: it takes {:.1} dB at {}, and f3 moves from there to {}{rise}{verdict}",
            units::significant(guard.farad * 1e6, 2),
            -guard.at_f3_db,
            units::hertz(guard.f3_hz.0),
            units::hertz(guard.f3_hz.1)
        );
        Some(Finding::note(subject, text))
    }
}

fn voltage_with(
    model: &SideModel,
    network: &Network,
    part: Component,
    polarity: Polarity,
) -> Result<Ways<Transfer>, SolveError> {
    let drivers = model.impedance.connected(polarity);
    Ok(model.delivered(&with_series(network, part).0, &drivers)?.1)
}

/// The network with `part` in series at the input of the woofer's way, as its last part; before all
/// of it where the ways share parts beyond the input.
pub fn with_series(network: &Network, part: Component) -> (Network, Place) {
    let mut with = network.clone();
    let behind = with.node("behind the guard");
    let way = reached(network, WOOFER);
    let apart = !network.ports[TWEETER].nodes.iter().any(|n| way[n.0]);
    let moves = |nodes: &[Node; 2]| !apart || nodes.iter().any(|n| way[n.0]);
    let swap = |node: Node| if node == Node::INPUT { behind } else { node };
    for part in with.parts.iter_mut().filter(|p| moves(&p.nodes)) {
        part.nodes = part.nodes.map(swap);
    }
    for (index, port) in with.ports.iter_mut().enumerate() {
        if !apart || index == WOOFER {
            port.nodes = port.nodes.map(swap);
        }
    }
    with.add("guard", part, [Node::INPUT, behind]);
    (with, if apart { Place::WooferWay } else { Place::WholeSide })
}

/// Which nodes hang together with the terminals of `port` over parts, the source's two aside.
fn reached(network: &Network, port: usize) -> Vec<bool> {
    let ends = |n: &Node| *n == Node::INPUT || *n == Node::RETURN;
    let mut reached = vec![false; network.node_count()];
    let mut open: Vec<Node> = network.ports[port].nodes.into_iter().filter(|n| !ends(n)).collect();
    while let Some(node) = open.pop() {
        if std::mem::replace(&mut reached[node.0], true) {
            continue;
        }
        let meets = network.parts.iter().filter(|p| p.nodes.contains(&node));
        open.extend(meets.flat_map(|p| p.nodes).filter(|n| !ends(n)));
    }
    reached
}

/// What the woofer loses: f3 from the alignment's response times the change of voltage.
fn cost(grid: &Grid, alignment: &Alignment, bare: &Transfer, with: &Transfer) -> Guard {
    let pairs = bare.values().iter().zip(with.values());
    let change_db: Vec<f64> = pairs.map(|(a, b)| level_db(b.norm(), a.norm())).collect();
    let f3_hz = alignment.f3_hz();
    let hz = grid.frequency_hz();
    let near = hz.partition_point(|f| *f < f3_hz).min(hz.len() - 1);
    let highest = (0..hz.len()).max_by(|&a, &b| change_db[a].total_cmp(&change_db[b]));
    let highest = highest.unwrap_or(0);
    let level = |i: usize| level_db(alignment.response(hz[i]).norm(), 1.0) + change_db[i];
    let half_db = -10.0 * 2f64.log10();
    // From well inside the passband down to the first point under half power.
    let start = hz.partition_point(|f| *f < 10.0 * alignment.fc_hz).min(hz.len() - 1);
    let under = (0..start).rev().find(|&i| level(i) < half_db);
    let with_hz = under.map_or(hz[0], |i| {
        let part = (half_db - level(i)) / (level(i + 1) - level(i));
        hz[i] * (hz[i + 1] / hz[i]).powf(part.clamp(0.0, 1.0))
    });
    Guard {
        farad: 0.0,
        place: Place::WooferWay,
        excursion_m: Vec::new(),
        peak_m: 0.0,
        f3_hz: (f3_hz, with_hz),
        at_f3_db: change_db[near],
        most_db: (change_db[highest], hz[highest]),
    }
}
