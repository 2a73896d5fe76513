//! Ladders of branches: how the way from an amplifier to a driver is laid out as parts and nodes.

use super::ladder::{Element, Place};
use super::network::{Component, Network, Node};

/// A two-terminal arrangement of parts.
#[derive(Debug, Clone, PartialEq)]
pub enum Branch {
    /// One part.
    One(Component),
    /// Branches one after the other.
    Chain(Vec<Branch>),
    /// Branches side by side.
    Beside(Vec<Branch>),
}

impl Branch {
    /// A resistor.
    pub fn resistor(ohm: f64) -> Self {
        Self::One(Component::Resistor { ohm })
    }

    /// A coil without resistance.
    pub fn inductor(henry: f64) -> Self {
        Self::One(Component::Inductor { henry, dcr_ohm: 0.0 })
    }

    /// A capacitor without losses.
    pub fn capacitor(farad: f64) -> Self {
        Self::One(Component::Capacitor { farad, esr_ohm: 0.0 })
    }

    /// The same branch with every part changed.
    pub fn map(&self, change: &impl Fn(Component) -> Component) -> Self {
        let all = |branches: &[Self]| branches.iter().map(|b| b.map(change)).collect();
        match self {
            Self::One(component) => Self::One(change(*component)),
            Self::Chain(branches) => Self::Chain(all(branches)),
            Self::Beside(branches) => Self::Beside(all(branches)),
        }
    }
}

/// One step of a ladder, from the amplifier towards the driver.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// In the way, or across it to the return.
    pub place: Place,
    /// What stands there.
    pub branch: Branch,
}

impl Stage {
    /// A branch in the way.
    pub fn series(branch: Branch) -> Self {
        Self { place: Place::Series, branch }
    }

    /// A branch across the way.
    pub fn shunt(branch: Branch) -> Self {
        Self { place: Place::Shunt, branch }
    }
}

impl From<Element> for Stage {
    fn from(element: Element) -> Self {
        Self { place: element.place, branch: Branch::One(element.component) }
    }
}

/// Hands out R1, L1, C1, … in order.
#[derive(Debug, Clone, Default)]
pub struct Namer {
    counts: [usize; 3],
}

impl Namer {
    /// The next reference for a part.
    pub fn next(&mut self, component: &Component) -> String {
        let letter = component.letter();
        let slot = match letter {
            'R' => 0,
            'L' => 1,
            _ => 2,
        };
        self.counts[slot] += 1;
        format!("{letter}{}", self.counts[slot])
    }
}

/// Lays `stages` from the network's input to a node called `terminal`, which it returns (the
/// input itself where no stage stands in the way). Nodes between are called after `prefix`.
pub fn lay(
    network: &mut Network,
    namer: &mut Namer,
    stages: &[Stage],
    prefix: &str,
    terminal: &str,
) -> Node {
    let last = stages.iter().rposition(|s| s.place == Place::Series);
    let mut fresh = Fresh { prefix, count: 0 };
    let mut here = Node::INPUT;
    for (k, stage) in stages.iter().enumerate() {
        match stage.place {
            Place::Series => {
                let next =
                    if Some(k) == last { network.node(terminal) } else { fresh.node(network) };
                put(network, namer, &mut fresh, &stage.branch, [here, next]);
                here = next;
            }
            Place::Shunt => {
                put(network, namer, &mut fresh, &stage.branch, [here, Node::RETURN]);
            }
        }
    }
    here
}

/// Makes nodes called `prefix`-1, `prefix`-2, …
struct Fresh<'p> {
    prefix: &'p str,
    count: usize,
}

impl Fresh<'_> {
    fn node(&mut self, network: &mut Network) -> Node {
        self.count += 1;
        network.node(&format!("{}-{}", self.prefix, self.count))
    }
}

fn put(
    network: &mut Network,
    namer: &mut Namer,
    fresh: &mut Fresh<'_>,
    branch: &Branch,
    nodes: [Node; 2],
) {
    match branch {
        Branch::One(component) => network.add(namer.next(component), *component, nodes),
        Branch::Beside(branches) => {
            for each in branches {
                put(network, namer, fresh, each, nodes);
            }
        }
        Branch::Chain(branches) => {
            let [mut from, to] = nodes;
            for (k, each) in branches.iter().enumerate() {
                let next = if k + 1 == branches.len() { to } else { fresh.node(network) };
                put(network, namer, fresh, each, [from, next]);
                from = next;
            }
        }
    }
}
