//! One network for many units: the order of elimination is worked out once, the values of several
//! units then go through it side by side.
//!
//! Parts in series become one branch R + jωL + S/(jω). The nodal matrix of a reciprocal network is
//! symmetric, so that its upper half is enough; nodes are eliminated in order of fewest
//! neighbours (Tinney and Walker 1967, *Proc. IEEE* 55, 1801, from memory) without pivoting: every
//! pivot is the admittance of a passive network seen from a node.

use super::lanes::{Complex, LANES, Real, each};
use super::network::{Component, Network, Node};
use super::solve::SolveError;

/// Parts in series between two nodes.
#[derive(Debug, Clone)]
struct Branch {
    parts: Vec<usize>,
    nodes: [usize; 2],
}

/// Where an admittance between two nodes goes in the matrix.
#[derive(Debug, Clone, Copy, Default)]
struct Stamp {
    own: [Option<usize>; 2],
    between: Option<usize>,
}

/// The elimination of one node.
#[derive(Debug, Clone)]
struct Pivot {
    node: usize,
    own: usize,
    /// Each neighbour: the entry towards it, its node, and the entries between it and itself and
    /// those after it, in their order.
    towards: Vec<(usize, usize, Vec<usize>)>,
}

/// How to solve a network for any values of its parts.
#[derive(Debug, Clone)]
pub struct Plan {
    branches: Vec<Branch>,
    stamps: Vec<Stamp>,
    loads: Vec<Stamp>,
    /// Between the nodes of the first two ports: first to first, first to second, second to first,
    /// second to second; empty where nothing is between them.
    across: Vec<Stamp>,
    ports: Vec<[usize; 2]>,
    pivots: Vec<Pivot>,
    input: usize,
    entries: usize,
    nodes: usize,
}

/// Values of the branches of several units: resistance (Ω), inductance (H), elastance (1/F).
#[derive(Debug, Clone)]
pub struct Branches {
    values: Vec<[Real; 3]>,
}

/// What a solution needs room for.
#[derive(Debug, Clone)]
pub struct Work {
    matrix: Vec<Complex>,
    voltage: Vec<Complex>,
    /// Current into the network per volt, S.
    pub admittance: Complex,
}

impl Plan {
    /// The plan of `network`.
    ///
    /// # Errors
    /// What [`Network::check`] finds, or coupled coils.
    pub fn of(network: &Network) -> Result<Self, SolveError> {
        Self::laid_out(network, false)
    }

    /// The same for two ports that also feel one another: [`Plan::solve`] then takes a third load,
    /// the current into either port per volt at the other.
    ///
    /// # Errors
    /// What [`Network::check`] finds, or coupled coils.
    pub fn of_pair(network: &Network) -> Result<Self, SolveError> {
        Self::laid_out(network, true)
    }

    fn laid_out(network: &Network, pair: bool) -> Result<Self, SolveError> {
        network.check()?;
        if !network.couplings.is_empty() {
            return Err(SolveError::Coupled);
        }
        let branches = branches(network);
        let ports: Vec<_> = network.ports.iter().map(|p| p.nodes.map(|n| n.0)).collect();
        let mut layout = Layout::default();
        let stamps = branches.iter().map(|b| layout.stamp(b.nodes)).collect();
        let loads = network.ports.iter().map(|p| layout.stamp(p.nodes.map(|n| n.0))).collect();
        let across = match ports[..] {
            [[a, b], [c, d], ..] if pair => {
                [[a, c], [a, d], [b, c], [b, d]].map(|nodes| layout.stamp(nodes)).to_vec()
            }
            _ => Vec::new(),
        };
        let pivots = layout.eliminate();
        // The input's own entry is there even where nothing hangs on it.
        let input = layout.entry(Node::INPUT.0, Node::INPUT.0);
        let nodes = network.node_count();
        let entries = layout.entries.len();
        Ok(Self { branches, stamps, loads, across, ports, pivots, input, entries, nodes })
    }

    /// Room for a solution.
    pub fn work(&self) -> Work {
        let mut voltage = vec![Complex::ZERO; self.nodes];
        voltage[Node::INPUT.0] = Complex::all(1.0, 0.0);
        Work { matrix: vec![Complex::ZERO; self.entries], voltage, admittance: Complex::ZERO }
    }

    /// Branch values from `components`, the parts of the network in lane after lane.
    pub fn values(&self, component: impl Fn(usize, usize) -> Component) -> Branches {
        let sum = |branch: &Branch| {
            let mut total = [[0.0; LANES]; 3];
            for part in &branch.parts {
                (0..LANES).for_each(|lane| {
                    let (which, value, loss) = match component(*part, lane) {
                        Component::Resistor { ohm } => (0, ohm, 0.0),
                        Component::Inductor { henry, dcr_ohm } => (1, henry, dcr_ohm),
                        Component::Capacitor { farad, esr_ohm } => (2, 1.0 / farad, esr_ohm),
                    };
                    total[which][lane] += value;
                    total[0][lane] += loss;
                });
            }
            total
        };
        Branches { values: self.branches.iter().map(sum).collect() }
    }

    /// Solves at `omega` (rad/s) with admittances `loads` (S) on the ports. The unit's
    /// voltages and input admittance are left in `work`.
    #[inline(always)]
    pub fn solve(&self, omega: f64, branches: &Branches, loads: &[Complex], work: &mut Work) {
        let matrix = &mut work.matrix[..];
        matrix.fill(Complex::ZERO);
        let period = 1.0 / omega;
        for (values, stamp) in branches.values.iter().zip(&self.stamps) {
            let im = each(|l| omega * values[1][l] - period * values[2][l]);
            put(matrix, stamp, &Complex { re: values[0], im }.inverse());
        }
        for (load, stamp) in loads.iter().zip(&self.loads) {
            put(matrix, stamp, load);
        }
        if let ([like, unlike @ .., other], Some(load)) =
            (&self.across[..], loads.get(self.loads.len()))
        {
            // What flows into one port per volt at the other is four admittances between their
            // nodes.
            let negative = load.negative();
            put(matrix, like, &negative);
            unlike.iter().for_each(|stamp| put(matrix, stamp, load));
            put(matrix, other, &negative);
        }
        for pivot in &self.pivots {
            let inverse = matrix[pivot.own].inverse();
            for (i, (entry, _, updates)) in pivot.towards.iter().enumerate() {
                let factor = matrix[*entry].times(&inverse);
                for ((other, ..), update) in pivot.towards[i..].iter().zip(updates) {
                    matrix[*update] = matrix[*update].minus(&factor.times(&matrix[*other]));
                }
                matrix[*entry] = factor;
            }
        }
        for pivot in self.pivots.iter().rev() {
            let mut voltage = Complex::ZERO;
            for (entry, node, _) in &pivot.towards {
                voltage = voltage.minus(&matrix[*entry].times(&work.voltage[*node]));
            }
            work.voltage[pivot.node] = voltage;
        }
        work.admittance = matrix[self.input];
    }

    /// Voltage across port `port` per volt at the input.
    #[inline(always)]
    pub fn at_port(&self, port: usize, work: &Work) -> Complex {
        let [a, b] = self.ports[port];
        work.voltage[a].minus(&work.voltage[b])
    }
}

#[inline(always)]
fn put(matrix: &mut [Complex], stamp: &Stamp, admittance: &Complex) {
    for own in stamp.own.iter().flatten() {
        matrix[*own] = matrix[*own].plus(admittance);
    }
    if let Some(between) = stamp.between {
        matrix[between] = matrix[between].minus(admittance);
    }
}

/// Which entries of the symmetric matrix there are; the return is no node of it.
#[derive(Default)]
struct Layout {
    entries: Vec<(usize, usize)>,
}

impl Layout {
    fn entry(&mut self, a: usize, b: usize) -> usize {
        let key = (a.min(b), a.max(b));
        self.entries.iter().position(|e| *e == key).unwrap_or_else(|| {
            self.entries.push(key);
            self.entries.len() - 1
        })
    }

    fn stamp(&mut self, nodes: [usize; 2]) -> Stamp {
        let held = |node: usize| node != Node::RETURN.0;
        let [a, b] = nodes;
        if a == b {
            return Stamp::default();
        }
        let own = [a, b].map(|n| held(n).then(|| self.entry(n, n)));
        let between = (held(a) && held(b)).then(|| self.entry(a, b));
        Stamp { own, between }
    }

    fn neighbours(&self, node: usize, gone: &[usize]) -> Vec<usize> {
        let mut found: Vec<usize> = self
            .entries
            .iter()
            .filter(|(a, b)| a != b && (*a == node || *b == node))
            .map(|(a, b)| if *a == node { *b } else { *a })
            .filter(|n| !gone.contains(n))
            .collect();
        found.sort_unstable();
        found
    }

    /// Eliminates all nodes but the input, those with the fewest neighbours first.
    fn eliminate(&mut self) -> Vec<Pivot> {
        let mut open: Vec<usize> = self
            .entries
            .iter()
            .filter(|(a, b)| a == b && *a != Node::INPUT.0)
            .map(|(a, _)| *a)
            .collect();
        open.sort_unstable();
        let (mut gone, mut pivots) = (Vec::new(), Vec::new());
        while let Some(next) =
            (0..open.len()).min_by_key(|k| (self.neighbours(open[*k], &gone).len(), open[*k]))
        {
            let node = open.remove(next);
            let near = self.neighbours(node, &gone);
            gone.push(node);
            let own = self.entry(node, node);
            let mut towards = Vec::new();
            for (i, a) in near.iter().enumerate() {
                let updates = near[i..].iter().map(|b| self.entry(*a, *b)).collect();
                towards.push((self.entry(node, *a), *a, updates));
            }
            pivots.push(Pivot { node, own, towards });
        }
        pivots
    }
}

/// The parts of a network, those in series with nothing between them as one branch.
fn branches(network: &Network) -> Vec<Branch> {
    let mut branches: Vec<Branch> = (network.parts.iter().enumerate())
        .map(|(k, p)| Branch { parts: vec![k], nodes: p.nodes.map(|n| n.0) })
        .collect();
    let kept = |node: usize| {
        node == Node::INPUT.0
            || node == Node::RETURN.0
            || network.ports.iter().any(|p| p.nodes.iter().any(|n| n.0 == node))
    };
    for node in (0..network.node_count()).filter(|n| !kept(*n)) {
        let here: Vec<usize> =
            (0..branches.len()).filter(|b| branches[*b].nodes.contains(&node)).collect();
        let [first, second] = here[..] else { continue };
        let other = branches.remove(second);
        let away = |nodes: [usize; 2]| if nodes[0] == node { nodes[1] } else { nodes[0] };
        let branch = &mut branches[first];
        branch.nodes = [away(branch.nodes), away(other.nodes)];
        branch.parts.extend(other.parts);
    }
    branches
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::load::Load;
    use crate::circuit::solve;
    use crate::grid::{Grid, Impedance, Spectrum};
    use num_complex::Complex64;

    /// A network with a bridge, a series pair, and a port that hangs free of the return.
    fn bridged() -> Network {
        let mut n = Network::new("in", "out");
        let (a, b, c, d) = (n.node("a"), n.node("b"), n.node("c"), n.node("d"));
        let coil = |henry| Component::Inductor { henry, dcr_ohm: 0.3 };
        let cap = |farad| Component::Capacitor { farad, esr_ohm: 0.05 };
        n.add("L1", coil(4e-4), [Node::INPUT, a]);
        n.add("C1", cap(1e-5), [a, b]);
        n.add("R1", Component::Resistor { ohm: 3.0 }, [b, Node::RETURN]);
        n.add("C2", cap(5e-6), [Node::INPUT, b]);
        n.add("L2", coil(2e-4), [a, c]);
        n.add("C3", cap(2e-5), [c, d]);
        n.add("R2", Component::Resistor { ohm: 5.0 }, [d, Node::RETURN]);
        n.add_port("woofer", [a, Node::RETURN]);
        n.add_port("tweeter", [b, a]);
        n
    }

    /// The plan with these `entries` of the load's admittance against nodal analysis with `load`.
    fn agrees(plan: &Plan, network: &Network, load: &Load, entries: &[[usize; 2]]) {
        let grid = axis();
        let exact = solve::solve(network, &grid, load).unwrap();
        let values = plan.values(|part, _| network.parts[part].component);
        let mut work = plan.work();
        for (f, omega) in grid.omega().enumerate() {
            let admittance = |&[row, col]: &[usize; 2]| {
                let y = load.admittance(f, row, col);
                Complex::all(y.re, y.im)
            };
            let loads: Vec<Complex> = entries.iter().map(admittance).collect();
            plan.solve(omega, &values, &loads, &mut work);
            let near = |got: &Complex, want: Complex64| {
                let got = Complex64::new(got.re[3], got.im[3]);
                assert!((got - want).norm() < 1e-11 * (1.0 + want.norm()), "{got} {want}");
            };
            for (p, port) in network.ports.iter().enumerate() {
                near(&plan.at_port(p, &work), exact.between(port.nodes).values()[f]);
            }
            near(&work.admittance.inverse(), exact.input_impedance().values()[f]);
        }
    }

    fn axis() -> std::sync::Arc<Grid> {
        Grid::log(20.0, 20_000.0, 40).unwrap()
    }

    #[test]
    fn agrees_with_nodal_analysis() {
        let woofer: Impedance = Spectrum::from_fn(&axis(), |w| Complex64::new(5.6, w * 3e-4));
        let tweeter: Impedance = Spectrum::from_fn(&axis(), |w| Complex64::new(4.1, w * 5e-5));
        let load = Load::diagonal(&axis(), &[Some(&woofer), Some(&tweeter)]);
        let plan = Plan::of(&bridged()).unwrap();
        assert_eq!(plan.branches.len(), 5);
        agrees(&plan, &bridged(), &load, &[[0, 0], [1, 1]]);
    }

    #[test]
    fn agrees_with_nodal_analysis_where_the_ports_feel_one_another() {
        let matrix = |w: f64| {
            let mutual = Complex64::new(0.4, -w * 2e-5);
            [Complex64::new(5.6, w * 3e-4), mutual, mutual, Complex64::new(4.1, w * 5e-5)]
        };
        let ohm: Vec<Complex64> = axis().omega().flat_map(matrix).collect();
        let load = Load::coupled(&axis(), 2, &ohm).unwrap();
        let plan = Plan::of_pair(&bridged()).unwrap();
        agrees(&plan, &bridged(), &load, &[[0, 0], [1, 1], [0, 1]]);
    }
}
