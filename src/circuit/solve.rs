//! Nodal analysis of a network on the analysis' own frequency axis.
//!
//! A stiff source of 1 V stands between the input and return nodes. Each part gives its
//! admittance, the load and any coupled coils give admittance matrices between node pairs; the
//! unknowns are the voltages of the remaining nodes. (Kirchhoff's current law; any textbook of
//! circuit theory.)

use super::load::Load;
use super::network::{Network, NetworkError, Node};
use super::nodal::Nodal;
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
    /// Derivatives are not made for coupled coils.
    #[error("a network with coupled coils cannot be differentiated")]
    Coupled,
    /// Two ports of the load are one: the currents into them cannot be told apart.
    #[error("the drivers' impedances have no inverse at {frequency_hz:.6} Hz")]
    Load {
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
    check(network, load)?;
    let n = network.node_count();
    let mut work = Nodal::new(network);
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

/// Whether the two can be solved together.
///
/// # Errors
/// What [`Network::check`] finds, or ports that do not match.
pub(super) fn check(network: &Network, load: &Load) -> Result<(), SolveError> {
    network.check()?;
    if network.ports.len() != load.ports() {
        return Err(SolveError::Ports { network: network.ports.len(), load: load.ports() });
    }
    Ok(())
}
