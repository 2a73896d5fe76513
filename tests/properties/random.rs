//! Random frequencies, parts and networks.

use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::grid::{Grid, Impedance, Spectrum};
use std::sync::Arc;

/// A number between the limits, evenly spread in the logarithm.
pub fn log_between(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (low.ln()..high.ln()).prop_map(f64::exp)
}

/// A few rising frequencies of the audible band.
pub fn grid() -> impl Strategy<Value = Arc<Grid>> {
    vec(log_between(20.0, 20_000.0), 1..6).prop_map(|mut hz| {
        hz.sort_by(f64::total_cmp);
        hz.dedup();
        Grid::from_points(hz).unwrap()
    })
}

/// A part as it is bought: with losses.
pub fn part() -> impl Strategy<Value = Component> {
    prop_oneof![
        log_between(0.1, 500.0).prop_map(|ohm| Component::Resistor { ohm }),
        (log_between(1e-5, 1e-2), log_between(0.02, 2.0))
            .prop_map(|(henry, dcr_ohm)| Component::Inductor { henry, dcr_ohm }),
        (log_between(1e-7, 2e-4), log_between(0.01, 1.0))
            .prop_map(|(farad, esr_ohm)| Component::Capacitor { farad, esr_ohm }),
    ]
}

/// Parts between nodes told by number; 0 is the return, every node is reached from it twice.
#[derive(Debug, Clone)]
pub struct Mesh {
    pub nodes: usize,
    pub parts: Vec<(Component, [usize; 2])>,
}

/// A connected mesh of 2 to 6 nodes.
pub fn mesh() -> impl Strategy<Value = Mesh> {
    let links =
        vec((part(), part(), any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..6);
    let more = vec((part(), any::<prop::sample::Index>(), any::<prop::sample::Index>()), 0..4);
    (links, more).prop_map(|(links, more)| {
        let nodes = links.len() + 1;
        let mut parts = Vec::new();
        for (k, (first, second, one, other)) in links.into_iter().enumerate() {
            let here = k + 1;
            parts.push((first, [here, one.index(here)]));
            parts.push((second, [here, other.index(here)]));
        }
        for (component, a, b) in more {
            let (a, b) = (a.index(nodes), b.index(nodes));
            if a != b {
                parts.push((component, [a, b]));
            }
        }
        Mesh { nodes, parts }
    })
}

impl Mesh {
    /// Adds the mesh to a network; the answer is the node of each number.
    pub fn add_to(&self, network: &mut Network) -> Vec<Node> {
        let mut nodes = vec![Node::RETURN];
        nodes.extend((1..self.nodes).map(|k| network.node(&format!("n{k}"))));
        for (k, &(component, [a, b])) in self.parts.iter().enumerate() {
            network.add(format!("P{k}"), component, [nodes[a], nodes[b]]);
        }
        nodes
    }
}

pub fn resistance(grid: &Arc<Grid>, ohm: f64) -> Impedance {
    Spectrum::from_fn(grid, |_| Complex64::new(ohm, 0.0))
}
