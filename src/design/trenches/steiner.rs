//! The trench tree: a cheap tree over all terminals of the route graph.
//!
//! Mehlhorn 1988, Inf. Process. Lett. 27(3):125 (from memory): at most twice the best; in practice a few per cent.
//! Then the tree is spanned again over the nodes it uses, and idle ends are cut.

use crate::design::trenches::graph::RouteGraph;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

/// Edges of the tree as pairs of graph nodes, and the terminals nothing reaches.
pub struct SteinerTree {
    /// Pairs of graph nodes.
    pub edges: Vec<(usize, usize)>,
    /// Terminals without a way to the source.
    pub unreachable: Vec<usize>,
}

#[derive(PartialEq)]
struct Open {
    cost: f64,
    node: usize,
}

impl Eq for Open {}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .cost
            .total_cmp(&self.cost)
            .then_with(|| other.node.cmp(&self.node))
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// Nearest terminal of each node, the cost to it, and the next node on the way.
struct Regions {
    terminal: Vec<usize>,
    cost: Vec<f64>,
    toward: Vec<usize>,
}

/// The tree over every terminal that can be reached from terminal 0.
pub fn tree(graph: &RouteGraph) -> SteinerTree {
    let part = graph.parts();
    let unreachable: Vec<usize> = (1..graph.terminals)
        .filter(|t| part[*t] != part[0])
        .collect();
    let regions = regions(graph, &part);
    let mut edges = expand(&bridges(graph, &regions), &regions);
    for _ in 0..2 {
        edges = prune(respan(graph, &edges), graph.terminals);
    }
    SteinerTree { edges, unreachable }
}

fn regions(graph: &RouteGraph, part: &[usize]) -> Regions {
    let n = graph.positions.len();
    let mut found = Regions {
        terminal: vec![usize::MAX; n],
        cost: vec![f64::INFINITY; n],
        toward: vec![usize::MAX; n],
    };
    let mut heap = BinaryHeap::new();
    for terminal in (0..graph.terminals).filter(|t| part[*t] == part[0]) {
        found.terminal[terminal] = terminal;
        found.cost[terminal] = 0.0;
        heap.push(Open {
            cost: 0.0,
            node: terminal,
        });
    }
    while let Some(Open { cost, node }) = heap.pop() {
        if cost > found.cost[node] {
            continue;
        }
        for &(next, price) in &graph.joins[node] {
            if cost + price < found.cost[next] {
                found.cost[next] = cost + price;
                found.terminal[next] = found.terminal[node];
                found.toward[next] = node;
                heap.push(Open {
                    cost: cost + price,
                    node: next,
                });
            }
        }
    }
    found
}

/// For each pair of neighbouring regions the cheapest graph edge between them, then the least tree of those.
fn bridges(graph: &RouteGraph, regions: &Regions) -> Vec<(usize, usize)> {
    let mut best: BTreeMap<(usize, usize), (f64, usize, usize)> = BTreeMap::new();
    for (a, joins) in graph.joins.iter().enumerate() {
        for &(b, price) in joins.iter().filter(|(b, _)| *b > a) {
            let (s, t) = (regions.terminal[a], regions.terminal[b]);
            if s == t || s == usize::MAX || t == usize::MAX {
                continue;
            }
            let cost = regions.cost[a] + price + regions.cost[b];
            let entry = best.entry((s.min(t), s.max(t))).or_insert((cost, a, b));
            if cost < entry.0 {
                *entry = (cost, a, b);
            }
        }
    }
    let mut sorted: Vec<_> = best
        .into_iter()
        .map(|((s, t), (cost, a, b))| (cost, s, t, a, b))
        .collect();
    sorted.sort_by(|x, y| x.0.total_cmp(&y.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    let mut sets = DisjointSets::new(graph.positions.len());
    sorted
        .into_iter()
        .filter(|(_, s, t, _, _)| sets.unite(*s, *t))
        .map(|(_, _, _, a, b)| (a, b))
        .collect()
}

fn expand(bridges: &[(usize, usize)], regions: &Regions) -> Vec<(usize, usize)> {
    let mut edges = Vec::new();
    for &(a, b) in bridges {
        edges.push((a.min(b), a.max(b)));
        for end in [a, b] {
            let mut node = end;
            while regions.toward[node] != usize::MAX {
                let next = regions.toward[node];
                edges.push((node.min(next), node.max(next)));
                node = next;
            }
        }
    }
    edges.sort_unstable();
    edges.dedup();
    edges
}

/// The least spanning tree of all graph edges between nodes that the tree uses.
fn respan(graph: &RouteGraph, edges: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let mut used = vec![false; graph.positions.len()];
    for &(a, b) in edges {
        used[a] = true;
        used[b] = true;
    }
    let mut candidates = Vec::new();
    for (a, joins) in graph.joins.iter().enumerate().filter(|(a, _)| used[*a]) {
        candidates.extend(
            joins
                .iter()
                .filter(|(b, _)| *b > a && used[*b])
                .map(|(b, price)| (*price, a, *b)),
        );
    }
    candidates.sort_by(|x, y| x.0.total_cmp(&y.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    let mut sets = DisjointSets::new(graph.positions.len());
    candidates
        .into_iter()
        .filter(|(_, a, b)| sets.unite(*a, *b))
        .map(|(_, a, b)| (a, b))
        .collect()
}

/// Cuts ends that are no terminals until none is left.
pub fn prune(mut edges: Vec<(usize, usize)>, terminals: usize) -> Vec<(usize, usize)> {
    loop {
        let mut degree: BTreeMap<usize, usize> = BTreeMap::new();
        for &(a, b) in &edges {
            *degree.entry(a).or_default() += 1;
            *degree.entry(b).or_default() += 1;
        }
        let idle = |node: usize| node >= terminals && degree[&node] == 1;
        let before = edges.len();
        edges.retain(|&(a, b)| !idle(a) && !idle(b));
        if edges.len() == before {
            return edges;
        }
    }
}

/// Union-find with path halving.
struct DisjointSets {
    up: Vec<usize>,
}

impl DisjointSets {
    fn new(n: usize) -> Self {
        Self {
            up: (0..n).collect(),
        }
    }

    fn root(&mut self, mut node: usize) -> usize {
        while self.up[node] != node {
            self.up[node] = self.up[self.up[node]];
            node = self.up[node];
        }
        node
    }

    /// Joins two sets; `false` if they were one already.
    fn unite(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        self.up[a.max(b)] = a.min(b);
        a != b
    }
}
