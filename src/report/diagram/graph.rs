//! A network as drawn: chains and groups side by side become one edge between two nodes.

use crate::circuit::network::{Network, Part};

/// How parts stand together between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Tree {
    /// One part or driver by its index, and whether the way along the tree meets its second end
    /// first.
    Leaf(usize, bool),
    /// One after the other.
    Series(Vec<Tree>),
    /// Side by side.
    Parallel(Vec<Tree>),
}

impl Tree {
    fn reversed(self) -> Self {
        match self {
            Self::Leaf(item, flipped) => Self::Leaf(item, !flipped),
            Self::Series(trees) => {
                Self::Series(trees.into_iter().rev().map(Self::reversed).collect())
            }
            Self::Parallel(trees) => {
                Self::Parallel(trees.into_iter().map(Self::reversed).collect())
            }
        }
    }

    fn then(self, next: Self) -> Self {
        let list = |tree| match tree {
            Self::Series(trees) => trees,
            other => vec![other],
        };
        Self::Series([list(self), list(next)].concat())
    }

    fn beside(self, next: Self) -> Self {
        let list = |tree| match tree {
            Self::Parallel(trees) => trees,
            other => vec![other],
        };
        Self::Parallel([list(self), list(next)].concat())
    }
}

/// Parts between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Edge {
    pub nodes: [usize; 2],
    pub tree: Tree,
}

impl Edge {
    /// The same edge as seen from `node`.
    pub fn from(self, node: usize) -> Self {
        let [a, b] = self.nodes;
        if a == node { self } else { Self { nodes: [b, a], tree: self.tree.reversed() } }
    }

    fn other(&self, node: usize) -> usize {
        if self.nodes[0] == node { self.nodes[1] } else { self.nodes[0] }
    }
}

/// The edges of a network: parts in a chain whose inner nodes nothing else meets are one, and so
/// are parts between the same two nodes.
pub(super) fn edges(network: &Network) -> Vec<Edge> {
    let edge = |(k, part): (usize, &Part)| Edge {
        nodes: part.nodes.map(|n| n.0),
        tree: Tree::Leaf(k, false),
    };
    let mut edges: Vec<Edge> = network.parts.iter().enumerate().map(edge).collect();
    let mut kept = vec![0, 1];
    kept.extend(network.ports.iter().flat_map(|p| p.nodes.map(|n| n.0)));
    let nodes = network.node_count();
    loop {
        let before = edges.len();
        edges = beside(edges);
        if let Some(node) = (0..nodes).find(|n| !kept.contains(n) && is_inner(&edges, *n)) {
            edges = chained(edges, node);
        }
        if edges.len() == before {
            return edges;
        }
    }
}

/// Edges between the same two nodes as one.
fn beside(edges: Vec<Edge>) -> Vec<Edge> {
    let mut out: Vec<Edge> = Vec::new();
    for edge in edges {
        let [a, b] = edge.nodes;
        match out.iter_mut().find(|e| e.nodes == [a, b] || e.nodes == [b, a]) {
            Some(found) => {
                let edge = edge.from(found.nodes[0]);
                let tree = std::mem::replace(&mut found.tree, Tree::Leaf(0, false));
                found.tree = tree.beside(edge.tree);
            }
            None => out.push(edge),
        }
    }
    out
}

/// Whether exactly two edges meet at a node.
fn is_inner(edges: &[Edge], node: usize) -> bool {
    edges.iter().filter(|e| e.nodes.contains(&node)).count() == 2
}

/// The two edges at `node` as one, in the place of the first.
fn chained(edges: Vec<Edge>, node: usize) -> Vec<Edge> {
    let (mut pair, mut rest): (Vec<Edge>, Vec<Edge>) = (Vec::new(), Vec::new());
    let mut place = 0;
    for edge in edges {
        if edge.nodes.contains(&node) {
            if pair.is_empty() {
                place = rest.len();
            }
            pair.push(edge);
        } else {
            rest.push(edge);
        }
    }
    if let (Some(last), Some(first)) = (pair.pop(), pair.pop()) {
        let (start, end) = (first.other(node), last.other(node));
        let tree = first.from(start).tree.then(last.from(node).tree);
        // From the smaller index: the input comes first, then nodes as they are named.
        let whole = Edge { nodes: [start, end], tree };
        rest.insert(place, whole);
    }
    rest
}
