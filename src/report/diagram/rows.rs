//! Which nodes share a row, and where each edge goes: in a row, across it, over it, or from row to
//! row.

use super::graph::{Edge, Tree};

pub(super) const INPUT: usize = 0;
pub(super) const RETURN: usize = 1;

/// A node in a row: row and place in it.
pub(super) type Seat = (usize, usize);

/// What leaves a node downwards.
#[derive(Debug, Clone)]
pub(super) struct Drop {
    pub tree: Tree,
    /// Where it ends; `None`: at the return.
    pub to: Option<Seat>,
    pub is_driver: bool,
}

/// Something from a node of a row to a later one that is not its neighbour.
#[derive(Debug, Clone)]
pub(super) struct Bridge {
    pub from: usize,
    pub to: usize,
    pub tree: Tree,
}

/// A row: nodes from left to right.
#[derive(Debug, Clone, Default)]
pub(super) struct Row {
    pub nodes: Vec<usize>,
    /// From each node to the next.
    pub links: Vec<Tree>,
    /// Below each node.
    pub drops: Vec<Vec<Drop>>,
    pub bridges: Vec<Bridge>,
}

/// Lays nodes into rows, a row for each driver first, and hands the edges out. `ports` are the two
/// ends of each driver, its own first end first.
pub(super) fn rows(edges: Vec<Edge>, ports: &[Edge]) -> Vec<Row> {
    let mut paths: Vec<Vec<usize>> = Vec::new();
    let mut placed = vec![INPUT, RETURN];
    for port in ports {
        let hot = hot_end(port);
        if let Some(path) = path_to(&edges, &placed, hot) {
            let path = with_detours(&edges, &placed, path, ports);
            placed.extend(path.iter().filter(|n| **n != INPUT));
            paths.push(path);
        } else if hot == INPUT && !paths.iter().any(|p| p[0] == INPUT) {
            paths.push(vec![INPUT]);
        }
    }
    if !paths.iter().any(|p| p[0] == INPUT) {
        paths.insert(0, vec![INPUT]);
    }
    paths.extend(left_over(&edges, ports, &mut placed));
    let mut rows: Vec<Row> = paths.into_iter().map(row).collect();
    for edge in edges {
        hand_out(&mut rows, edge);
    }
    for port in ports {
        let hot = hot_end(port);
        let edge = port.clone().from(hot);
        let seat = seat_of(&rows, hot);
        let to = (edge.nodes[1] != RETURN).then(|| seat_of(&rows, edge.nodes[1]));
        rows[seat.0].drops[seat.1].push(Drop { tree: edge.tree, to, is_driver: true });
    }
    rows
}

/// The end of a driver that stands in a row.
fn hot_end(port: &Edge) -> usize {
    if port.nodes[0] == RETURN { port.nodes[1] } else { port.nodes[0] }
}

fn row(nodes: Vec<usize>) -> Row {
    let drops = vec![Vec::new(); nodes.len()];
    let links = vec![Tree::Series(Vec::new()); nodes.len() - 1];
    Row { nodes, links, drops, bridges: Vec::new() }
}

/// The shortest way to `target` through nodes that have no row yet: from the input, which it then
/// begins with, else from any other node, which it leaves out. `None` where it has a row already.
fn path_to(edges: &[Edge], placed: &[usize], target: usize) -> Option<Vec<usize>> {
    if placed.contains(&target) {
        return None;
    }
    let free = |n: &usize| !placed.contains(n);
    let mut ways: Vec<Vec<usize>> = vec![vec![target]];
    let mut seen = vec![target];
    let mut elsewhere: Option<Vec<usize>> = None;
    while !ways.is_empty() {
        let mut longer = Vec::new();
        for way in ways {
            let last = way[way.len() - 1];
            let next = neighbours(edges, last);
            if next.contains(&INPUT) {
                return Some(std::iter::once(INPUT).chain(way.into_iter().rev()).collect());
            }
            if elsewhere.is_none() && next.iter().any(|n| placed.contains(n) && *n != RETURN) {
                elsewhere = Some(way.iter().rev().copied().collect());
            }
            for node in next.into_iter().filter(free) {
                if !seen.contains(&node) {
                    seen.push(node);
                    longer.push([way.clone(), vec![node]].concat());
                }
            }
        }
        ways = longer;
    }
    Some(elsewhere.unwrap_or_else(|| vec![target]))
}

/// The path with what stands beside single links of it taken in: nodes that nothing outside the
/// path and the return meets. The link itself then goes over them.
fn with_detours(edges: &[Edge], placed: &[usize], path: Vec<usize>, ports: &[Edge]) -> Vec<usize> {
    let mut whole = path.clone();
    for link in path.windows(2) {
        let free = |n: usize| !placed.contains(&n) && !whole.contains(&n);
        let starts = neighbours(edges, link[0]).into_iter().filter(|n| free(*n));
        let detour = starts.into_iter().find_map(|start| {
            let group = group(edges, start, &free);
            let ported = group.iter().any(|n| ports.iter().any(|p| p.nodes.contains(n)));
            let mut around = group.iter().flat_map(|n| neighbours(edges, *n));
            let apart = around.any(|n| n != RETURN && !whole.contains(&n) && !group.contains(&n));
            if ported || apart { None } else { through(edges, &group, start, link[1]) }
        });
        if let (Some(detour), Some(at)) = (detour, whole.iter().position(|n| *n == link[1])) {
            whole.splice(at..at, detour);
        }
    }
    whole
}

/// The free nodes that hang together with `start`.
fn group(edges: &[Edge], start: usize, free: &impl Fn(usize) -> bool) -> Vec<usize> {
    let mut group = vec![start];
    let mut at = 0;
    while at < group.len() {
        for node in neighbours(edges, group[at]) {
            if free(node) && !group.contains(&node) {
                group.push(node);
            }
        }
        at += 1;
    }
    group
}

/// The shortest way within `group` from `start` to a neighbour of `end`.
fn through(edges: &[Edge], group: &[usize], start: usize, end: usize) -> Option<Vec<usize>> {
    let mut ways = vec![vec![start]];
    let mut seen = vec![start];
    let mut at = 0;
    while at < ways.len() {
        let way = ways[at].clone();
        let next = neighbours(edges, way[way.len() - 1]);
        if next.contains(&end) {
            return Some(way);
        }
        for node in next.into_iter().filter(|n| group.contains(n)) {
            if !seen.contains(&node) {
                seen.push(node);
                ways.push([way.clone(), vec![node]].concat());
            }
        }
        at += 1;
    }
    None
}

fn neighbours(edges: &[Edge], node: usize) -> Vec<usize> {
    let here = edges.iter().filter(|e| e.nodes.contains(&node));
    here.map(|e| if e.nodes[0] == node { e.nodes[1] } else { e.nodes[0] }).collect()
}

/// Rows for the nodes that no driver's row holds.
fn left_over(edges: &[Edge], ports: &[Edge], placed: &mut Vec<usize>) -> Vec<Vec<usize>> {
    let mut rows = Vec::new();
    let ends = edges.iter().chain(ports).flat_map(|e| e.nodes);
    let mut all: Vec<usize> = ends.collect();
    all.sort_unstable();
    all.dedup();
    while let Some(start) = all.iter().copied().find(|n| !placed.contains(n)) {
        let mut path = vec![start];
        placed.push(start);
        while let Some(next) =
            neighbours(edges, path[path.len() - 1]).into_iter().find(|n| !placed.contains(n))
        {
            path.push(next);
            placed.push(next);
        }
        rows.push(path);
    }
    rows
}

/// The first seat of a node.
fn seat_of(rows: &[Row], node: usize) -> Seat {
    let find = |(k, row): (usize, &Row)| row.nodes.iter().position(|n| *n == node).map(|i| (k, i));
    rows.iter().enumerate().find_map(find).unwrap_or((0, 0))
}

/// Two nodes that share a row: which, and their places, the earlier first.
fn together(rows: &[Row], nodes: [usize; 2]) -> Option<(usize, usize, usize)> {
    rows.iter().enumerate().find_map(|(k, row)| {
        let place = |node: usize| row.nodes.iter().position(|n| *n == node);
        let (a, b) = (place(nodes[0])?, place(nodes[1])?);
        Some((k, a.min(b), a.max(b)))
    })
}

fn hand_out(rows: &mut [Row], edge: Edge) {
    if edge.nodes.contains(&RETURN) {
        let node = if edge.nodes[0] == RETURN { edge.nodes[1] } else { edge.nodes[0] };
        let (row, place) = seat_of(rows, node);
        let tree = edge.from(node).tree;
        // Side by side from a rail to a rail is what the rails do already.
        let trees = if let Tree::Parallel(trees) = tree { trees } else { vec![tree] };
        let drop = |tree| Drop { tree, to: None, is_driver: false };
        rows[row].drops[place].extend(trees.into_iter().map(drop));
    } else if let Some((k, from, to)) = together(rows, edge.nodes) {
        let tree = edge.from(rows[k].nodes[from]).tree;
        if to == from + 1 {
            rows[k].links[from] = tree;
        } else {
            rows[k].bridges.push(Bridge { from, to, tree });
        }
    } else {
        let (a, b) = (seat_of(rows, edge.nodes[0]), seat_of(rows, edge.nodes[1]));
        let (upper, lower) = if a < b { (a, b) } else { (b, a) };
        let tree = edge.from(rows[upper.0].nodes[upper.1]).tree;
        rows[upper.0].drops[upper.1].push(Drop { tree, to: Some(lower), is_driver: false });
    }
}
