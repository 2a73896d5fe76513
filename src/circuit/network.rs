//! A network as data: parts between named nodes, and ports for what it feeds.

mod checks;

pub use checks::NetworkError;

use num_complex::Complex64;

/// A two-terminal part with its losses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Component {
    /// A resistor.
    Resistor {
        /// Resistance, Ω.
        ohm: f64,
    },
    /// A coil in series with its own wire.
    Inductor {
        /// Inductance, H.
        henry: f64,
        /// Resistance of the winding at DC, Ω.
        dcr_ohm: f64,
    },
    /// A capacitor in series with its losses.
    Capacitor {
        /// Capacitance, F.
        farad: f64,
        /// Equivalent series resistance, Ω.
        esr_ohm: f64,
    },
}

impl Component {
    /// Impedance at `omega` (rad/s), Ω.
    pub fn impedance(&self, omega: f64) -> Complex64 {
        match *self {
            Self::Resistor { ohm } => Complex64::new(ohm, 0.0),
            Self::Inductor { henry, dcr_ohm } => Complex64::new(dcr_ohm, omega * henry),
            Self::Capacitor { farad, esr_ohm } => Complex64::new(esr_ohm, -1.0 / (omega * farad)),
        }
    }

    /// The main value: Ω, H or F.
    pub fn value(&self) -> f64 {
        match *self {
            Self::Resistor { ohm } => ohm,
            Self::Inductor { henry, .. } => henry,
            Self::Capacitor { farad, .. } => farad,
        }
    }

    /// The same kind of part, losses kept, with another main value.
    pub fn with_value(&self, value: f64) -> Self {
        match *self {
            Self::Resistor { .. } => Self::Resistor { ohm: value },
            Self::Inductor { dcr_ohm, .. } => Self::Inductor { henry: value, dcr_ohm },
            Self::Capacitor { esr_ohm, .. } => Self::Capacitor { farad: value, esr_ohm },
        }
    }

    /// The same kind of part with another main value: a coil keeps its wire, so that its resistance
    /// goes with √L (turns as √L, common practice, no source).
    pub fn resized(&self, value: f64) -> Self {
        match *self {
            Self::Inductor { henry, dcr_ohm } => {
                Self::Inductor { henry: value, dcr_ohm: dcr_ohm * (value / henry).sqrt() }
            }
            other => other.with_value(value),
        }
    }

    /// Resistance of the winding or of the plates and leads, Ω; 0 for a resistor.
    pub fn loss_ohm(&self) -> f64 {
        match *self {
            Self::Resistor { .. } => 0.0,
            Self::Inductor { dcr_ohm, .. } => dcr_ohm,
            Self::Capacitor { esr_ohm, .. } => esr_ohm,
        }
    }

    /// The same part with another loss; a resistor has none.
    pub fn with_loss(&self, loss_ohm: f64) -> Self {
        match *self {
            Self::Resistor { .. } => *self,
            Self::Inductor { henry, .. } => Self::Inductor { henry, dcr_ohm: loss_ohm },
            Self::Capacitor { farad, .. } => Self::Capacitor { farad, esr_ohm: loss_ohm },
        }
    }

    /// "resistor", "inductor" or "capacitor".
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Resistor { .. } => "resistor",
            Self::Inductor { .. } => "inductor",
            Self::Capacitor { .. } => "capacitor",
        }
    }

    /// The letter of its reference names: R, L or C (IEC 60617 practice).
    pub fn letter(&self) -> char {
        match self {
            Self::Resistor { .. } => 'R',
            Self::Inductor { .. } => 'L',
            Self::Capacitor { .. } => 'C',
        }
    }
}

/// A node of a network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Node(pub(crate) usize);

impl Node {
    /// The source's hot terminal.
    pub const INPUT: Self = Self(0);
    /// The source's return; voltages are told against it.
    pub const RETURN: Self = Self(1);
}

/// A part between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Reference name, unique in the network ("L1").
    pub reference: String,
    /// What it is.
    pub component: Component,
    /// Its ends; for coupled coils the first is the dotted one.
    pub nodes: [Node; 2],
}

/// A pair of terminals that feeds a load.
#[derive(Debug, Clone, PartialEq)]
pub struct Port {
    /// Its name ("woofer").
    pub name: String,
    /// First and second terminal.
    pub nodes: [Node; 2],
}

/// Magnetic coupling of two coils.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coupling {
    /// Indices of the two inductors among the network's parts.
    pub parts: [usize; 2],
    /// Coupling factor k, −1 < k < 1; M = k √(L1 L2).
    pub factor: f64,
}

/// Parts between named nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    names: Vec<String>,
    /// The parts.
    pub parts: Vec<Part>,
    /// The ports, in the order of the load's rows.
    pub ports: Vec<Port>,
    /// Coils that share field.
    pub couplings: Vec<Coupling>,
}

impl Network {
    /// An empty network whose source terminals are called `input` and `ret`.
    pub fn new(input: &str, ret: &str) -> Self {
        Self {
            names: vec![input.to_owned(), ret.to_owned()],
            parts: Vec::new(),
            ports: Vec::new(),
            couplings: Vec::new(),
        }
    }

    /// The node of that name, made if it is new.
    pub fn node(&mut self, name: &str) -> Node {
        let known = self.names.iter().position(|n| n == name);
        Node(known.unwrap_or_else(|| {
            self.names.push(name.to_owned());
            self.names.len() - 1
        }))
    }

    /// Name of a node.
    pub fn name(&self, node: Node) -> &str {
        &self.names[node.0]
    }

    /// Number of nodes, the two of the source included.
    pub fn node_count(&self) -> usize {
        self.names.len()
    }

    /// Adds a part between two nodes.
    pub fn add(&mut self, reference: impl Into<String>, component: Component, nodes: [Node; 2]) {
        self.parts.push(Part { reference: reference.into(), component, nodes });
    }

    /// Adds a port; loads number their rows in the order of these calls.
    pub fn add_port(&mut self, name: impl Into<String>, nodes: [Node; 2]) {
        self.ports.push(Port { name: name.into(), nodes });
    }

    /// The network without part `index`, its place left open; nodes that nothing meets any more go
    /// too.
    pub fn without(&self, index: usize) -> Self {
        let mut open = self.clone();
        open.couplings.clear();
        open.parts.remove(index);
        open.compact()
    }

    /// The network without parts that end in the open, and without those that then do.
    pub fn pruned(&self) -> Self {
        let mut pruned = self.clone();
        while let Err(NetworkError::OpenEnd { part, .. }) = pruned.check() {
            match pruned.parts.iter().position(|p| p.reference == part) {
                Some(index) => pruned = pruned.without(index),
                None => break,
            }
        }
        pruned
    }

    /// The network with a wire in place of part `index`.
    pub fn bridged(&self, index: usize) -> Self {
        let mut bridged = self.clone();
        bridged.couplings.clear();
        let [a, b] = bridged.parts.remove(index).nodes;
        // The source's terminals keep their names.
        let (kept, gone) = if a < b { (a, b) } else { (b, a) };
        let swap = |node: Node| if node == gone { kept } else { node };
        bridged.parts.iter_mut().for_each(|p| p.nodes = p.nodes.map(swap));
        bridged.ports.iter_mut().for_each(|p| p.nodes = p.nodes.map(swap));
        bridged.compact()
    }

    /// The same network built anew, with only the nodes that are used.
    fn compact(&self) -> Self {
        let mut fresh = Self::new(self.name(Node::INPUT), self.name(Node::RETURN));
        for part in &self.parts {
            let nodes = part.nodes.map(|n| fresh.node(self.name(n)));
            fresh.add(part.reference.clone(), part.component, nodes);
        }
        for port in &self.ports {
            let nodes = port.nodes.map(|n| fresh.node(self.name(n)));
            fresh.add_port(port.name.clone(), nodes);
        }
        fresh
    }
}
