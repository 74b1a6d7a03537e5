//! Straight where a crew would dig straight: branches of the tree are hung elsewhere while that saves more in bends than
//! it costs in metres.
//!
//! A hill climb: each node in turn may take another parent among its neighbours in the route graph. Heads in two rows
//! are joined by a zigzag in the shortest tree; this makes of it a straight trench with short stubs.

use crate::design::trenches::graph::RouteGraph;
use crate::design::trenches::net::angle_deg;

/// Times every node is looked at, at most.
const SWEEPS: usize = 10;
/// Gain below which nothing is changed, m of trench.
const GAIN_LEAST: f64 = 1e-6;
/// Not in the tree.
const NONE: usize = usize::MAX;

struct Branches<'a> {
    graph: &'a RouteGraph,
    parent: Vec<usize>,
    children: Vec<Vec<usize>>,
    bend_price: f64,
}

/// The edges of a tree with fewer bends; a bend of 90° is priced like `bend_price` metres of trench.
pub fn straighten(
    graph: &RouteGraph,
    edges: &[(usize, usize)],
    bend_price: f64,
) -> Vec<(usize, usize)> {
    let mut branches = Branches::rooted(graph, edges, bend_price);
    for _ in 0..SWEEPS {
        let moved = (1..branches.parent.len())
            .filter(|&node| branches.hang_better(node))
            .count();
        if moved == 0 {
            break;
        }
    }
    let pairs = branches
        .parent
        .iter()
        .enumerate()
        .skip(1)
        .filter(|(_, parent)| **parent != NONE);
    pairs
        .map(|(node, &parent)| (node.min(parent), node.max(parent)))
        .collect()
}

impl<'a> Branches<'a> {
    fn rooted(graph: &'a RouteGraph, edges: &[(usize, usize)], bend_price: f64) -> Self {
        let count = graph.positions.len();
        let mut beside = vec![Vec::new(); count];
        for &(a, b) in edges {
            beside[a].push(b);
            beside[b].push(a);
        }
        let (mut parent, mut children) = (vec![NONE; count], vec![Vec::new(); count]);
        let mut open = vec![0];
        while let Some(node) = open.pop() {
            let from = parent[node];
            for &next in beside[node].iter().filter(|next| **next != from) {
                parent[next] = node;
                children[node].push(next);
                open.push(next);
            }
        }
        Self {
            graph,
            parent,
            children,
            bend_price,
        }
    }

    /// Hangs a node on the neighbour that saves most; `false` where none saves anything.
    fn hang_better(&mut self, node: usize) -> bool {
        let from = self.parent[node];
        if from == NONE {
            return false;
        }
        let graph = self.graph;
        let price_to = |to: usize| {
            graph.joins[node]
                .iter()
                .find(|(next, _)| *next == to)
                .map(|(_, price)| *price)
        };
        let Some(price_now) = price_to(from) else {
            return false;
        };
        let mut best = (GAIN_LEAST, from);
        for &(to, price) in &graph.joins[node] {
            if to == from || (to != 0 && self.parent[to] == NONE) || self.hangs_below(to, node) {
                continue;
            }
            let gain = price_now - price + self.bends_saved(node, from, to);
            if gain > best.0 {
                best = (gain, to);
            }
        }
        if best.1 == from {
            return false;
        }
        self.hang(node, best.1);
        true
    }

    fn bends_saved(&mut self, node: usize, from: usize, to: usize) -> f64 {
        let bends = |tree: &Self| tree.bends_at(node) + tree.bends_at(from) + tree.bends_at(to);
        let before = bends(self);
        let place = self.children[from].iter().position(|child| *child == node);
        self.hang(node, to);
        let after = bends(self);
        self.children[to].pop();
        self.parent[node] = from;
        self.children[from].insert(place.unwrap_or(0), node);
        before - after
    }

    fn hang(&mut self, node: usize, to: usize) {
        let from = self.parent[node];
        self.children[from].retain(|child| *child != node);
        self.children[to].push(node);
        self.parent[node] = to;
    }

    fn hangs_below(&self, mut node: usize, above: usize) -> bool {
        while node != NONE {
            if node == above {
                return true;
            }
            node = self.parent[node];
        }
        false
    }

    /// Price of the bend at a node: the turn of the child that goes on straightest. Others are tees.
    fn bends_at(&self, node: usize) -> f64 {
        if node == 0 || self.parent[node] == NONE {
            return 0.0;
        }
        let at = |n: usize| self.graph.positions[n];
        let came = at(node) - at(self.parent[node]);
        let turns = self.children[node]
            .iter()
            .map(|child| angle_deg(came, at(*child) - at(node)));
        let least = turns.fold(f64::INFINITY, f64::min);
        if least.is_finite() {
            self.bend_price * least / 90.0
        } else {
            0.0
        }
    }
}
