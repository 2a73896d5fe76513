//! Voltage, current and power of every part and port, from the node voltages.

use super::linear;
use super::load::Load;
use super::network::{Component, Network, Node};
use super::nodal;
use super::solve::{self, SolveError};
use crate::grid::Grid;
use num_complex::Complex64;
use std::sync::Arc;

/// What passes through one part or port, one value a frequency, per volt of the source.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// From its first to its second node, V/V.
    pub voltage: Vec<Complex64>,
    /// In at its first node and out at its second, A/V.
    pub current: Vec<Complex64>,
}

impl Flow {
    /// Power it takes, Re(V I*), W at 1 V of the source, rms.
    pub fn power_w(&self) -> Vec<f64> {
        self.voltage.iter().zip(&self.current).map(|(v, i)| (v * i.conj()).re).collect()
    }
}

/// A network at work.
#[derive(Debug, Clone, PartialEq)]
pub struct Flows {
    /// Of each part, in the network's order.
    pub parts: Vec<Flow>,
    /// Heat in each part, W at 1 V rms of the source: I² times its resistance.
    pub heat_w: Vec<Vec<f64>>,
    /// Of each port.
    pub ports: Vec<Flow>,
    /// Out of the source, A/V.
    pub source: Vec<Complex64>,
}

impl Flows {
    /// Of `network` with `load` on its ports over `grid`.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(network: &Network, grid: &Arc<Grid>, load: &Load) -> Result<Self, SolveError> {
        let solution = solve::solve(network, grid, load)?;
        let across = |nodes: [Node; 2]| solution.between(nodes).values().to_vec();
        let mut parts: Vec<Flow> = network
            .parts
            .iter()
            .map(|part| {
                let voltage = across(part.nodes);
                let through = |(v, w): (&Complex64, f64)| v / part.component.impedance(w);
                let current = voltage.iter().zip(grid.omega()).map(through).collect();
                Flow { voltage, current }
            })
            .collect();
        share_field(network, grid, &mut parts)?;
        let voltages: Vec<Vec<Complex64>> = network.ports.iter().map(|p| across(p.nodes)).collect();
        let into_port = |row: usize| -> Vec<Complex64> {
            let at = |f: usize| {
                voltages
                    .iter()
                    .enumerate()
                    .map(|(col, v)| load.admittance(f, row, col) * v[f])
                    .sum()
            };
            (0..grid.len()).map(at).collect()
        };
        let ports = voltages.iter().enumerate();
        let ports = ports.map(|(k, v)| Flow { voltage: v.clone(), current: into_port(k) });
        let heat = |(part, flow): (&super::network::Part, &Flow)| {
            let ohm = resistance_ohm(&part.component);
            flow.current.iter().map(|i| ohm * i.norm_sqr()).collect()
        };
        Ok(Self {
            ports: ports.collect(),
            heat_w: network.parts.iter().zip(&parts).map(heat).collect(),
            source: solution.input_impedance().values().iter().map(Complex64::inv).collect(),
            parts,
        })
    }

    /// Power out of the source at each frequency, W at 1 V rms.
    pub fn source_w(&self) -> Vec<f64> {
        self.source.iter().map(|i| i.re).collect()
    }
}

/// What turns current into heat in a part, Ω.
pub fn resistance_ohm(component: &Component) -> f64 {
    match *component {
        Component::Resistor { ohm } => ohm,
        other => other.loss_ohm(),
    }
}

/// Currents of coils that share field: the inverse of their impedance matrix.
fn share_field(network: &Network, grid: &Grid, parts: &mut [Flow]) -> Result<(), SolveError> {
    let coupled = |i: &usize| network.couplings.iter().any(|c| c.parts.contains(i));
    let group: Vec<usize> = (0..parts.len()).filter(coupled).collect();
    if group.is_empty() {
        return Ok(());
    }
    for (f, omega) in grid.omega().enumerate() {
        let mut z = nodal::coupled_impedance(network, &group, omega);
        let mut current: Vec<Complex64> = group.iter().map(|i| parts[*i].voltage[f]).collect();
        linear::solve(&mut z, &mut current, group.len(), 1).map_err(|singular| {
            let node = network.parts[group[singular.column]].nodes[0];
            SolveError::Resonance {
                node: network.name(node).to_owned(),
                frequency_hz: grid.frequency_hz()[f],
            }
        })?;
        for (i, amps) in group.iter().zip(current) {
            parts[*i].current[f] = amps;
        }
    }
    Ok(())
}
