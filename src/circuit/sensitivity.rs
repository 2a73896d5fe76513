//! How voltages and impedance of a network move with its parts: exact derivatives from one
//! factorisation a frequency.
//!
//! For a reciprocal network Y V = b with admittance y of a part between nodes a and b,
//! ∂V_p/∂y = −(λ_a − λ_b)(V_a − V_b), where Y λ = (unit current into port p): the adjoint network
//! (Director and Rohrer 1969, *IEEE Trans. Circuit Theory* 16, 318, from memory; derived here). The
//! input current moves by (V_a − V_b)² for 1 V at the input.

use super::linear;
use super::load::Load;
use super::network::{Component, Network, Node};
use super::nodal::Nodal;
use super::solve::{self, SolveError};
use crate::grid::Grid;
use num_complex::Complex64;
use std::sync::Arc;

/// Port voltages and input admittance of a network, with their derivatives by the logarithm of
/// each part's main value.
#[derive(Debug, Clone)]
pub struct Sensitivity {
    /// Ports of the network.
    pub ports: usize,
    /// Parts of the network.
    pub parts: usize,
    /// Port voltage per volt of the source: `[f * ports + p]`.
    pub voltage: Vec<Complex64>,
    /// ∂V/∂ln(value): `[(f * ports + p) * parts + k]`.
    pub by_part: Vec<Complex64>,
    /// Input current per volt, S: `[f]`.
    pub admittance: Vec<Complex64>,
    /// ∂I/∂ln(value): `[f * parts + k]`.
    pub admittance_by_part: Vec<Complex64>,
}

impl Sensitivity {
    /// Solves `network` (without coupled coils) and differentiates. `loss_follows[k]` says how the
    /// series resistance of part `k` goes with its value, as the exponent of a power law (0: it
    /// stays).
    ///
    /// # Errors
    /// What the solver finds wrong; coupled coils are refused as such.
    pub fn of(
        network: &Network,
        grid: &Arc<Grid>,
        load: &Load,
        loss_follows: &[f64],
    ) -> Result<Self, SolveError> {
        solve::check(network, load)?;
        if !network.couplings.is_empty() {
            return Err(SolveError::Coupled);
        }
        let (ports, parts) = (network.ports.len(), network.parts.len());
        let mut out = Self {
            ports,
            parts,
            voltage: Vec::with_capacity(grid.len() * ports),
            by_part: Vec::with_capacity(grid.len() * ports * parts),
            admittance: Vec::with_capacity(grid.len()),
            admittance_by_part: Vec::with_capacity(grid.len() * parts),
        };
        let mut work = Adjoint::new(network);
        for (f, omega) in grid.omega().enumerate() {
            let slopes = admittance_slopes(network, omega, loss_follows);
            work.solve(network, load, f, omega).map_err(|node| SolveError::Resonance {
                node: network.name(node).to_owned(),
                frequency_hz: grid.frequency_hz()[f],
            })?;
            work.append(network, &slopes, &mut out);
        }
        Ok(out)
    }
}

/// ∂y/∂ln(value) of each part.
fn admittance_slopes(network: &Network, omega: f64, loss_follows: &[f64]) -> Vec<Complex64> {
    let slope = |(k, part): (usize, &super::network::Part)| {
        let follows = loss_follows.get(k).copied().unwrap_or(0.0);
        let z = part.component.impedance(omega);
        let dz = match part.component {
            Component::Resistor { ohm } => Complex64::new(ohm, 0.0),
            Component::Inductor { henry, dcr_ohm } => {
                Complex64::new(follows * dcr_ohm, omega * henry)
            }
            Component::Capacitor { farad, esr_ohm } => {
                Complex64::new(follows * esr_ohm, 1.0 / (omega * farad))
            }
        };
        -dz / (z * z)
    };
    network.parts.iter().enumerate().map(slope).collect()
}

/// Node voltages and adjoint voltages of one frequency.
struct Adjoint {
    nodal: Nodal,
    nodes: usize,
    ports: usize,
    a: Vec<Complex64>,
    /// Columns: the network's own voltages, then one adjoint a port; rows: unknown nodes.
    b: Vec<Complex64>,
}

impl Adjoint {
    fn new(network: &Network) -> Self {
        let (nodes, ports) = (network.node_count(), network.ports.len());
        Self { nodal: Nodal::new(network), nodes, ports, a: Vec::new(), b: Vec::new() }
    }

    fn solve(&mut self, network: &Network, load: &Load, f: usize, omega: f64) -> Result<(), Node> {
        self.nodal.assemble(network, load, f, omega)?;
        let y = &self.nodal.y;
        let (n, unknowns, columns) = (self.nodes, self.nodes - 2, 1 + self.ports);
        self.a.clear();
        self.b.clear();
        for row in 2..n {
            self.a.extend_from_slice(&y[row * n + 2..(row + 1) * n]);
            self.b.push(-y[row * n + Node::INPUT.0]);
            for port in &network.ports {
                let into = |node: Node| if node.0 == row { 1.0 } else { 0.0 };
                let unit = into(port.nodes[0]) - into(port.nodes[1]);
                self.b.push(Complex64::new(unit, 0.0));
            }
        }
        linear::solve(&mut self.a, &mut self.b, unknowns, columns).map_err(|s| Node(s.column + 2))
    }

    /// Value of column `column` at `node`; the source's terminals are fixed.
    fn at(&self, node: Node, column: usize) -> Complex64 {
        match (node, column) {
            (Node::INPUT, 0) => Complex64::new(1.0, 0.0),
            (Node::INPUT | Node::RETURN, _) => Complex64::default(),
            _ => self.b[(node.0 - 2) * (1 + self.ports) + column],
        }
    }

    fn across(&self, nodes: [Node; 2], column: usize) -> Complex64 {
        self.at(nodes[0], column) - self.at(nodes[1], column)
    }

    fn append(&self, network: &Network, slopes: &[Complex64], out: &mut Sensitivity) {
        for (p, port) in network.ports.iter().enumerate() {
            out.voltage.push(self.across(port.nodes, 0));
            for (part, slope) in network.parts.iter().zip(slopes) {
                let (own, adjoint) = (self.across(part.nodes, 0), self.across(part.nodes, p + 1));
                out.by_part.push(-slope * own * adjoint);
            }
        }
        let voltages: Vec<Complex64> = (0..self.nodes).map(|n| self.at(Node(n), 0)).collect();
        out.admittance.push(self.nodal.input_current(&voltages));
        for (part, slope) in network.parts.iter().zip(slopes) {
            let own = self.across(part.nodes, 0);
            out.admittance_by_part.push(slope * own * own);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::branch::{self, Namer, Stage};
    use crate::circuit::ladder::{self, Pass};
    use crate::circuit::slope::Slope;
    use crate::grid::{Impedance, Spectrum};

    fn two_way() -> Network {
        let slope: Slope = "lr4".parse().unwrap();
        let mut network = Network::new("amp+", "amp-");
        let mut namer = Namer::default();
        for (pass, name) in [(Pass::Low, "woofer"), (Pass::High, "tweeter")] {
            let elements = ladder::section(slope, pass, 2500.0, 6.0).unwrap();
            let stages: Vec<Stage> = elements.into_iter().map(Stage::from).collect();
            let end = branch::lay(&mut network, &mut namer, &stages, name, &format!("{name}+"));
            network.add_port(name, [end, Node::RETURN]);
        }
        for part in &mut network.parts {
            if let Component::Inductor { dcr_ohm, .. } = &mut part.component {
                *dcr_ohm = 0.3;
            }
        }
        network
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let grid = Grid::log(100.0, 20_000.0, 23).unwrap();
        let z: Impedance = Spectrum::from_fn(&grid, |w| Complex64::new(5.6, w * 2e-4));
        let load = Load::diagonal(&grid, &[Some(&z), Some(&z)]);
        let network = two_way();
        let flat = vec![0.0; network.parts.len()];
        let here = Sensitivity::of(&network, &grid, &load, &flat).unwrap();
        let step = 1e-5;
        for k in 0..network.parts.len() {
            let moved = |by: f64| {
                let mut other = network.clone();
                let component = other.parts[k].component;
                other.parts[k].component = component.with_value(component.value() * by.exp());
                Sensitivity::of(&other, &grid, &load, &flat).unwrap()
            };
            let (up, down) = (moved(step), moved(-step));
            for i in 0..here.voltage.len() {
                let slope = (up.voltage[i] - down.voltage[i]) / (2.0 * step);
                let got = here.by_part[i * here.parts + k];
                assert!((slope - got).norm() < 1e-7, "{k} {i}: {slope} {got}");
            }
            for f in 0..grid.len() {
                let slope = (up.admittance[f] - down.admittance[f]) / (2.0 * step);
                let got = here.admittance_by_part[f * here.parts + k];
                assert!((slope - got).norm() < 1e-7, "{k} {f}: {slope} {got}");
            }
        }
    }
}
