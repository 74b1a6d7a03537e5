//! A trench tree in the plane whose edges and free points can be changed: what it costs, and what a change would save.

use crate::brief::Rules;
use crate::design::trenches::price::price;
use crate::design::trenches::surfaces::Surfaces;
use crate::site::Terrain;
use geo::{Coord, Line};

/// What digging along a straight line costs.
#[derive(Clone, Copy)]
pub struct Digging<'a> {
    /// What lies under a line.
    pub surfaces: &'a Surfaces,
    /// How steep it is.
    pub terrain: &'a Terrain,
    /// What each metre costs.
    pub rules: &'a Rules,
}

impl Digging<'_> {
    /// The price of a straight trench; `None` where it may not be dug.
    pub fn price(&self, from: Coord<f64>, to: Coord<f64>) -> Option<f64> {
        // A node on top of another still costs something, so that paths have one best shape.
        price(Line::new(from, to), self.surfaces, self.terrain, self.rules)
            .map(|price| price.max(1e-3))
    }

    /// No metre costs less than this.
    pub fn least_a_metre(&self) -> f64 {
        self.rules.cost_turf.min(self.rules.cost_bare)
    }
}

/// A tree over terminals (node 0 is the source) and free points.
pub struct Net<'a> {
    /// What digging costs.
    pub digging: Digging<'a>,
    /// Where each node is; a node without neighbours is out of use.
    pub at: Vec<Coord<f64>>,
    /// Neighbours of each node, and the price of the trench to each.
    pub beside: Vec<Vec<(usize, f64)>>,
    /// Nodes that must stay: the first so many.
    pub terminals: usize,
}

/// Edges to be taken out, and to be put in with their prices.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Change {
    /// New free nodes that the change needs; their indices are the next ones.
    pub new: Vec<Coord<f64>>,
    /// Edges that go.
    pub out: Vec<(usize, usize, f64)>,
    /// Edges that come.
    pub put: Vec<(usize, usize, f64)>,
}

impl<'a> Net<'a> {
    /// A tree from its edges. Edges that may not be dug are kept at no price: they stay as they are.
    pub fn new(
        digging: Digging<'a>,
        at: Vec<Coord<f64>>,
        edges: &[(usize, usize)],
        terminals: usize,
    ) -> Self {
        let mut beside = vec![Vec::new(); at.len()];
        for &(a, b) in edges {
            let price = digging.price(at[a], at[b]).unwrap_or(0.0);
            beside[a].push((b, price));
            beside[b].push((a, price));
        }
        Self {
            digging,
            at,
            beside,
            terminals,
        }
    }

    /// Whether a node may be moved and dropped.
    pub fn is_free(&self, node: usize) -> bool {
        node >= self.terminals
    }

    /// Distance of two nodes, m.
    pub fn far_m(&self, a: usize, b: usize) -> f64 {
        let way = self.at[a] - self.at[b];
        way.x.hypot(way.y)
    }

    /// The price of an edge of the tree.
    pub fn price_of(&self, a: usize, b: usize) -> Option<f64> {
        let found = self.beside[a].iter().find(|(to, _)| *to == b);
        found.map(|(_, price)| *price)
    }

    /// The price of the whole tree: trenches, bends and junctions.
    pub fn cost(&self) -> f64 {
        let trenches: f64 = self.beside.iter().flatten().map(|(_, price)| price).sum();
        let nodes: f64 = (0..self.at.len()).map(|node| self.node_cost(node)).sum();
        0.5 * trenches + nodes
    }

    /// All edges, each once.
    pub fn edges(&self) -> Vec<(usize, usize)> {
        let from = |(a, beside): (usize, &Vec<(usize, f64)>)| {
            let after = beside.iter().filter(move |(b, _)| *b > a);
            after.map(move |(b, _)| (a, *b)).collect::<Vec<_>>()
        };
        self.beside.iter().enumerate().flat_map(from).collect()
    }

    /// What a change would save; the tree stays as it is.
    pub fn saved_by(&mut self, change: &Change) -> f64 {
        let saved = self.make(change);
        self.undo(change);
        saved
    }

    /// Makes a change; returns what it saves.
    pub fn make(&mut self, change: &Change) -> f64 {
        self.at.extend(&change.new);
        self.beside.resize(self.at.len(), Vec::new());
        let touched = touched(change);
        let cost = |net: &Self| touched.iter().map(|node| net.node_cost(*node)).sum::<f64>();
        let mut saved = cost(self);
        for &(a, b, price) in &change.out {
            self.cut(a, b);
            saved += price;
        }
        for &(a, b, price) in &change.put {
            self.join(a, b, price);
            saved -= price;
        }
        saved - cost(self)
    }

    fn undo(&mut self, change: &Change) {
        for &(a, b, _) in &change.put {
            self.cut(a, b);
        }
        for &(a, b, price) in &change.out {
            self.join(a, b, price);
        }
        let left = self.at.len() - change.new.len();
        self.at.truncate(left);
        self.beside.truncate(left);
    }

    fn join(&mut self, a: usize, b: usize, price: f64) {
        self.beside[a].push((b, price));
        self.beside[b].push((a, price));
    }

    fn cut(&mut self, a: usize, b: usize) {
        self.beside[a].retain(|(to, _)| *to != b);
        self.beside[b].retain(|(to, _)| *to != a);
    }

    /// What a node costs by itself: the bend of the two trenches that go on straightest (others are tees), and a junction
    /// where three meet away from any head.
    fn node_cost(&self, node: usize) -> f64 {
        let beside = &self.beside[node];
        if beside.len() < 2 || node == 0 {
            return 0.0;
        }
        let rules = self.digging.rules;
        let way = |to: usize| self.at[to] - self.at[node];
        let mut least_deg = f64::INFINITY;
        for (i, &(a, _)) in beside.iter().enumerate() {
            for &(b, _) in &beside[..i] {
                least_deg = least_deg.min(180.0 - angle_deg(way(a), way(b)));
            }
        }
        let junction = self.is_free(node) && beside.len() > 2;
        rules.cost_bend * least_deg / 90.0 + f64::from(u8::from(junction)) * rules.cost_junction
    }
}

/// All nodes that a change touches, each once.
pub fn touched(change: &Change) -> Vec<usize> {
    let edges = change.out.iter().chain(&change.put);
    let mut all: Vec<usize> = edges.flat_map(|&(a, b, _)| [a, b]).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The angle between two ways, degrees.
pub fn angle_deg(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a.x * b.y - a.y * b.x)
        .atan2(a.x * b.x + a.y * b.y)
        .abs()
        .to_degrees()
}
