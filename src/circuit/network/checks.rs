//! What is found in a network before a solver starts on it.

use super::{Component, Coupling, Network, Node, Part};
use std::collections::BTreeSet;

/// Why a network cannot be solved, with the names of node and part.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// An end of a part that nothing else meets.
    #[error("node `{node}` has one connection only: {part} ends there and nothing else does")]
    OpenEnd {
        /// The node.
        node: String,
        /// The part or port.
        part: String,
    },
    /// Nodes without a path to the source.
    #[error("node `{node}` floats: no path of parts leads from it to `{input}` or `{ret}`")]
    Floating {
        /// The node.
        node: String,
        /// Name of the input node.
        input: String,
        /// Name of the return node.
        ret: String,
    },
    /// A port that no current can flow through.
    #[error(
        "no current can flow through the {port}: no path of parts leads from `{input}` through it to `{ret}`"
    )]
    Unfed {
        /// The port.
        port: String,
        /// Name of the input node.
        input: String,
        /// Name of the return node.
        ret: String,
    },
    /// Both ends on one node.
    #[error("{part} has both ends on node `{node}`: it does nothing")]
    Shorted {
        /// The part or port.
        part: String,
        /// The node.
        node: String,
    },
    /// Two parts of one name.
    #[error("two parts are called {0}")]
    Duplicate(String),
    /// A value that is no part.
    #[error("{part}: {what} must be {limit} and finite, found {found}")]
    Value {
        /// The part.
        part: String,
        /// Which of its values.
        what: &'static str,
        /// "positive" or "zero or more".
        limit: &'static str,
        /// The value.
        found: f64,
    },
    /// A coupling that is not between two coils or too strong.
    #[error("a coupling joins two different inductors with −1 < k < 1")]
    Coupling,
}

impl Network {
    /// Finds what would make the network unsolvable or meaningless.
    ///
    /// # Errors
    /// The first of: an impossible value, a name used twice, a part on one node, a bad coupling,
    /// an open end, a floating node.
    pub fn check(&self) -> Result<(), NetworkError> {
        self.check_parts()?;
        self.check_couplings()?;
        self.check_ends()?;
        self.check_paths()
    }

    fn check_parts(&self) -> Result<(), NetworkError> {
        let mut seen = BTreeSet::new();
        for part in &self.parts {
            let name = || part.reference.clone();
            if !seen.insert(&part.reference) {
                return Err(NetworkError::Duplicate(name()));
            }
            let (what, loss) = match part.component {
                Component::Resistor { .. } => ("resistance", 0.0),
                Component::Inductor { dcr_ohm, .. } => ("inductance", dcr_ohm),
                Component::Capacitor { esr_ohm, .. } => ("capacitance", esr_ohm),
            };
            let found = part.component.value();
            if !(found.is_finite() && found > 0.0) {
                return Err(NetworkError::Value { part: name(), what, limit: "positive", found });
            }
            if !(loss.is_finite() && loss >= 0.0) {
                let (what, limit) = ("its series resistance", "zero or more");
                return Err(NetworkError::Value { part: name(), what, limit, found: loss });
            }
        }
        match self.joints().find(|(_, [a, b])| a == b) {
            Some((part, [node, _])) => Err(NetworkError::Shorted {
                part: part.to_owned(),
                node: self.name(node).to_owned(),
            }),
            None => Ok(()),
        }
    }

    fn check_couplings(&self) -> Result<(), NetworkError> {
        let is_coil = |&i: &usize| {
            matches!(self.parts.get(i).map(|p| p.component), Some(Component::Inductor { .. }))
        };
        let sound = |c: &Coupling| {
            c.parts.iter().all(is_coil) && c.parts[0] != c.parts[1] && c.factor.abs() < 1.0
        };
        if self.couplings.iter().all(sound) { Ok(()) } else { Err(NetworkError::Coupling) }
    }

    fn check_ends(&self) -> Result<(), NetworkError> {
        for index in 2..self.names.len() {
            let mut here = self.joints().filter(|(_, ends)| ends.contains(&Node(index)));
            if let (Some((part, _)), None) = (here.next(), here.next()) {
                let node = self.names[index].clone();
                return Err(NetworkError::OpenEnd { node, part: part.to_owned() });
            }
        }
        Ok(())
    }

    fn check_paths(&self) -> Result<(), NetworkError> {
        let mut reached = vec![false; self.names.len()];
        reached[Node::INPUT.0] = true;
        reached[Node::RETURN.0] = true;
        for _ in 0..self.names.len() {
            for (_, [a, b]) in self.joints() {
                let either = reached[a.0] || reached[b.0];
                reached[a.0] = either;
                reached[b.0] = either;
            }
        }
        match reached.iter().position(|r| !r) {
            Some(lost) => Err(NetworkError::Floating {
                node: self.names[lost].clone(),
                input: self.names[0].clone(),
                ret: self.names[1].clone(),
            }),
            None => Ok(()),
        }
    }

    /// Whether current can flow through each port by way of the parts: one end reached from the
    /// input, the other from the return, neither through the other terminal nor through the port
    /// itself. A network that fails can be solved all the same; as a crossover it is of no use.
    /// Couplings are not looked at.
    ///
    /// # Errors
    /// The first port without such a path.
    pub fn check_ports(&self) -> Result<(), NetworkError> {
        for (k, port) in self.ports.iter().enumerate() {
            let hot = self.reached(Node::INPUT, Node::RETURN, k);
            let cold = self.reached(Node::RETURN, Node::INPUT, k);
            let [a, b] = port.nodes.map(|n| n.0);
            if !(hot[a] && cold[b] || hot[b] && cold[a]) {
                return Err(NetworkError::Unfed {
                    port: port.name.clone(),
                    input: self.names[0].clone(),
                    ret: self.names[1].clone(),
                });
            }
        }
        Ok(())
    }

    /// Nodes with a path from `start` that does not pass `barrier` nor port `left_out`.
    fn reached(&self, start: Node, barrier: Node, left_out: usize) -> Vec<bool> {
        let parts = self.parts.iter().map(|p| p.nodes);
        let others = self.ports.iter().enumerate().filter(|(k, _)| *k != left_out);
        let edges: Vec<[Node; 2]> = parts.chain(others.map(|(_, p)| p.nodes)).collect();
        let mut reached = vec![false; self.names.len()];
        reached[start.0] = true;
        for _ in 0..self.names.len() {
            for [a, b] in edges.iter().filter(|nodes| !nodes.contains(&barrier)) {
                let either = reached[a.0] || reached[b.0];
                reached[a.0] = either;
                reached[b.0] = either;
            }
        }
        reached
    }

    /// The first coil that closes a loop of coils without any resistance (the stiff source counts
    /// as one): nothing limits a direct current in it.
    pub fn resistanceless_loop(&self) -> Option<&Part> {
        let mut group: Vec<usize> = (0..self.names.len()).collect();
        group[Node::RETURN.0] = Node::INPUT.0;
        self.parts.iter().find(|part| {
            let bare =
                matches!(part.component, Component::Inductor { dcr_ohm, .. } if dcr_ohm == 0.0);
            let [a, b] = part.nodes.map(|n| group[n.0]);
            let closes = bare && a == b;
            if bare {
                group.iter_mut().filter(|g| **g == b).for_each(|g| *g = a);
            }
            closes
        })
    }

    /// Everything that joins two nodes: parts, then ports, with their names.
    fn joints(&self) -> impl Iterator<Item = (&str, [Node; 2])> {
        let parts = self.parts.iter().map(|p| (p.reference.as_str(), p.nodes));
        parts.chain(self.ports.iter().map(|p| (p.name.as_str(), p.nodes)))
    }
}
