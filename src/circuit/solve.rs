//! Nodal analysis of a network on the analysis' own frequency axis.
//!
//! A stiff source of 1 V stands between the input and return nodes. Each part gives its
//! admittance, the load and any coupled coils give admittance matrices between node pairs; the
//! unknowns are the voltages of the remaining nodes. (Kirchhoff's current law; any textbook of
//! circuit theory.)

use super::linear::{self, Singular};
use super::load::Load;
use super::network::{Component, Network, NetworkError, Node};
use crate::grid::{Grid, Impedance, Spectrum, Transfer};
use num_complex::Complex64;
use std::sync::Arc;

/// Why a network has no solution.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// It is not a network.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// Loss-free parts resonate exactly at a frequency of the grid.
    #[error(
        "node `{node}` has no finite voltage at {frequency_hz:.6} Hz: loss-free parts resonate there; give the coil its DCR"
    )]
    Resonance {
        /// The node.
        node: String,
        /// The frequency, Hz.
        frequency_hz: f64,
    },
    /// The load has another number of ports than the network.
    #[error("the network has {network} ports, the load {load}")]
    Ports {
        /// Ports of the network.
        network: usize,
        /// Ports of the load.
        load: usize,
    },
}

/// Node voltages per volt of the source, and the current into the network.
#[derive(Debug, Clone)]
pub struct Solution {
    grid: Arc<Grid>,
    nodes: usize,
    /// `nodes` values per frequency, V per volt of the source.
    voltage: Vec<Complex64>,
    /// A per volt of the source, one per frequency.
    current: Vec<Complex64>,
}

impl Solution {
    /// Voltage from the first to the second node, per volt of the source.
    pub fn between(&self, nodes: [Node; 2]) -> Transfer {
        let rows = self.voltage.chunks_exact(self.nodes);
        let values = rows.map(|v| v[nodes[0].0] - v[nodes[1].0]).collect();
        Spectrum::from_values(&self.grid, values)
    }

    /// Impedance between the source's terminals, Ω. A network that takes no current at all shows
    /// 10¹² Ω instead of infinity.
    pub fn input_impedance(&self) -> Impedance {
        const OPEN_SIEMENS: f64 = 1e-12;
        let values = self.current.iter().map(|i| {
            if i.norm() < OPEN_SIEMENS { Complex64::new(1.0 / OPEN_SIEMENS, 0.0) } else { i.inv() }
        });
        Spectrum::from_values(&self.grid, values.collect())
    }
}

/// Solves `network` with `load` on its ports over `grid`.
///
/// # Errors
/// What [`Network::check`] finds, ports that do not match, or an exact loss-free resonance.
pub fn solve(network: &Network, grid: &Arc<Grid>, load: &Load) -> Result<Solution, SolveError> {
    network.check()?;
    if network.ports.len() != load.ports() {
        return Err(SolveError::Ports { network: network.ports.len(), load: load.ports() });
    }
    let n = network.node_count();
    let mut work = Workspace::new(network);
    let mut voltage = Vec::with_capacity(grid.len() * n);
    let mut current = Vec::with_capacity(grid.len());
    for (f, omega) in grid.omega().enumerate() {
        let resonance = |node: Node| SolveError::Resonance {
            node: network.name(node).to_owned(),
            frequency_hz: grid.frequency_hz()[f],
        };
        work.assemble(network, load, f, omega).map_err(resonance)?;
        let row = work.voltages().map_err(resonance)?;
        current.push(work.input_current(&row));
        voltage.extend(row);
    }
    Ok(Solution { grid: Arc::clone(grid), nodes: n, voltage, current })
}

/// The nodal matrix and what is reused from frequency to frequency.
struct Workspace {
    nodes: usize,
    /// Parts that are not in the coupled group.
    single: Vec<usize>,
    /// Coils that share field, as one group.
    group: Vec<usize>,
    /// nodes×nodes admittance, S.
    y: Vec<Complex64>,
}

impl Workspace {
    fn new(network: &Network) -> Self {
        let coupled = |i: &usize| network.couplings.iter().any(|c| c.parts.contains(i));
        let (group, single) = (0..network.parts.len()).partition(coupled);
        let nodes = network.node_count();
        Self { nodes, single, group, y: vec![Complex64::default(); nodes * nodes] }
    }

    fn assemble(
        &mut self,
        network: &Network,
        load: &Load,
        f: usize,
        omega: f64,
    ) -> Result<(), Node> {
        self.y.fill(Complex64::default());
        for k in 0..self.single.len() {
            let part = &network.parts[self.single[k]];
            let admittance = part.component.impedance(omega).inv();
            self.stamp(part.nodes, part.nodes, admittance);
        }
        for (i, row) in network.ports.iter().enumerate() {
            for (j, col) in network.ports.iter().enumerate() {
                self.stamp(row.nodes, col.nodes, load.admittance(f, i, j));
            }
        }
        self.stamp_coupled(network, omega)
    }

    /// A current `admittance` × (voltage across `col`) that flows from `row[0]` to `row[1]`.
    fn stamp(&mut self, row: [Node; 2], col: [Node; 2], admittance: Complex64) {
        let n = self.nodes;
        for (r, row_sign) in [(row[0].0, 1.0), (row[1].0, -1.0)] {
            for (c, col_sign) in [(col[0].0, 1.0), (col[1].0, -1.0)] {
                self.y[r * n + c] += admittance * (row_sign * col_sign);
            }
        }
    }

    fn stamp_coupled(&mut self, network: &Network, omega: f64) -> Result<(), Node> {
        let m = self.group.len();
        if m == 0 {
            return Ok(());
        }
        let z = coupled_impedance(network, &self.group, omega);
        let first_node = |s: Singular| network.parts[self.group[s.column]].nodes[0];
        let y = linear::inverse(z, m).map_err(first_node)?;
        for i in 0..m {
            for j in 0..m {
                let (row, col) = (self.group[i], self.group[j]);
                self.stamp(network.parts[row].nodes, network.parts[col].nodes, y[i * m + j]);
            }
        }
        Ok(())
    }

    /// All node voltages for 1 V at the input; the error is the node left open.
    fn voltages(&self) -> Result<Vec<Complex64>, Node> {
        let (n, unknowns) = (self.nodes, self.nodes - 2);
        let mut a = Vec::with_capacity(unknowns * unknowns);
        let mut b = Vec::with_capacity(unknowns);
        for row in 2..n {
            a.extend_from_slice(&self.y[row * n + 2..(row + 1) * n]);
            b.push(-self.y[row * n + Node::INPUT.0]);
        }
        linear::solve(&mut a, &mut b, unknowns, 1).map_err(|s| Node(s.column + 2))?;
        let mut all = vec![Complex64::new(1.0, 0.0), Complex64::default()];
        all.extend(b);
        Ok(all)
    }

    fn input_current(&self, voltages: &[Complex64]) -> Complex64 {
        let row = &self.y[Node::INPUT.0 * self.nodes..][..self.nodes];
        row.iter().zip(voltages).map(|(y, v)| y * v).sum()
    }
}

fn coupled_impedance(network: &Network, group: &[usize], omega: f64) -> Vec<Complex64> {
    let m = group.len();
    let mut z = vec![Complex64::default(); m * m];
    let henry = |part: usize| match network.parts[part].component {
        Component::Inductor { henry, .. } => henry,
        _ => 0.0,
    };
    for i in 0..m {
        z[i * m + i] = network.parts[group[i]].component.impedance(omega);
        for j in 0..m {
            let joins = |c: &&super::network::Coupling| {
                c.parts == [group[i], group[j]] || c.parts == [group[j], group[i]]
            };
            for coupling in network.couplings.iter().filter(joins) {
                let mutual = coupling.factor * (henry(group[i]) * henry(group[j])).sqrt();
                z[i * m + j] += Complex64::new(0.0, omega * mutual);
            }
        }
    }
    z
}
