//! The nodal admittance matrix of a network: every part, port and coupled coil stamped in.

use super::linear::{self, Singular};
use super::load::Load;
use super::network::{Component, Network, Node};
use num_complex::Complex64;

/// The nodal matrix and what is reused from frequency to frequency.
pub(super) struct Nodal {
    nodes: usize,
    /// Parts that are not in the coupled group.
    single: Vec<usize>,
    /// Coils that share field, as one group.
    group: Vec<usize>,
    /// nodes×nodes admittance, S, row-major.
    pub(super) y: Vec<Complex64>,
}

impl Nodal {
    pub(super) fn new(network: &Network) -> Self {
        let coupled = |i: &usize| network.couplings.iter().any(|c| c.parts.contains(i));
        let (group, single) = (0..network.parts.len()).partition(coupled);
        let nodes = network.node_count();
        Self { nodes, single, group, y: vec![Complex64::default(); nodes * nodes] }
    }

    /// Stamps everything at grid point `f`; the error is a node that coupled coils leave open.
    pub(super) fn assemble(
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
    pub(super) fn voltages(&self) -> Result<Vec<Complex64>, Node> {
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

    /// Current into the network for these node voltages, A.
    pub(super) fn input_current(&self, voltages: &[Complex64]) -> Complex64 {
        let row = &self.y[Node::INPUT.0 * self.nodes..][..self.nodes];
        row.iter().zip(voltages).map(|(y, v)| y * v).sum()
    }
}

/// Impedance matrix of the coils in `group`, Ω, row-major.
pub(super) fn coupled_impedance(network: &Network, group: &[usize], omega: f64) -> Vec<Complex64> {
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
