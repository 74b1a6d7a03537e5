//! The graph a trench may follow: heads, the source and the corners of what is in the way, joined by straight lines.

use crate::brief::Rules;
use crate::design::trenches::net::Digging;
use crate::design::trenches::surfaces::Surfaces;
use crate::site::{ObstacleKind, Parcel};
use geo::{Buffer, Coord, Distance, Euclidean, LineString, Point, Simplify};
use rstar::RTree;
use rstar::primitives::GeomWithData;
use spade::{DelaunayTriangulation, HasPosition, Point2, Triangulation};
use std::collections::BTreeSet;

/// Nearest neighbours each node is joined to, beside its neighbours in the triangulation.
const NEIGHBOURS: usize = 9;
/// Neighbours tried, nearest first, for parts of the graph that nothing joins yet.
const REACH: usize = 400;
/// Detail of obstacle outlines that a trench need not follow, m.
const DETAIL_M: f64 = 0.4;
/// Turn of an outline of turf from which a trench may turn at it, degrees, and how far inside it does, m.
const CORNER_DEG: f64 = 40.0;
const CORNER_INSIDE_M: f64 = 0.3;
/// Sides of the ring of nodes round a root zone.
const ROOT_RING: usize = 8;

type Indexed = GeomWithData<[f64; 2], usize>;

/// Nodes (terminals first: source, then heads) and priced straight joins.
pub struct RouteGraph {
    /// Where each node is.
    pub positions: Vec<Coord<f64>>,
    /// Number of terminals: node 0 is the source, node 1 + i is head i.
    pub terminals: usize,
    /// Neighbours of each node and the price of the join, sorted by neighbour.
    pub joins: Vec<Vec<(usize, f64)>>,
}

struct Vertex {
    at: Coord<f64>,
    index: usize,
}

impl HasPosition for Vertex {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        Point2::new(self.at.x, self.at.y)
    }
}

impl RouteGraph {
    /// Builds the graph over a parcel for a source and head positions.
    pub fn build(
        parcel: &Parcel,
        surfaces: &Surfaces,
        source: Coord<f64>,
        heads: &[Coord<f64>],
        rules: &Rules,
    ) -> Self {
        let mut positions = vec![source];
        positions.extend_from_slice(heads);
        let terminals = positions.len();
        let mut corners = corner_nodes(parcel, surfaces, rules);
        let digging = Digging {
            surfaces,
            terrain: &parcel.terrain,
            rules,
        };
        if let [head] = *heads
            && let Some(straight) = digging.price(source, head)
        {
            // Whatever is dug by way of a corner farther off costs more than the straight trench.
            let by_way_m = |at: &Coord<f64>| distance(source, *at) + distance(*at, head);
            corners.retain(|at| by_way_m(at) * digging.least_a_metre() <= straight);
        }
        positions.extend(corners);
        let index = RTree::bulk_load(
            positions
                .iter()
                .enumerate()
                .map(|(i, p)| Indexed::new([p.x, p.y], i))
                .collect(),
        );
        let mut graph = Self {
            joins: vec![Vec::new(); positions.len()],
            positions,
            terminals,
        };
        for (a, b) in graph.candidate_pairs(&index) {
            graph.join(a, b, parcel, surfaces, rules);
        }
        graph.bridge_parts(&index, parcel, surfaces, rules);
        for joins in &mut graph.joins {
            joins.sort_by_key(|join| join.0);
        }
        graph
    }

    fn candidate_pairs(&self, index: &RTree<Indexed>) -> BTreeSet<(usize, usize)> {
        let vertices = self
            .positions
            .iter()
            .enumerate()
            .map(|(index, at)| Vertex { at: *at, index })
            .collect();
        let mut pairs = BTreeSet::new();
        if let Ok(mesh) = DelaunayTriangulation::<Vertex>::bulk_load_stable(vertices) {
            pairs.extend(mesh.undirected_edges().map(|edge| {
                let [a, b] = edge.vertices();
                ordered(a.data().index, b.data().index)
            }));
        }
        for (i, at) in self.positions.iter().enumerate() {
            let near = index
                .nearest_neighbor_iter(&[at.x, at.y])
                .map(|n| n.data)
                .filter(|j| *j != i);
            pairs.extend(near.take(NEIGHBOURS).map(|j| ordered(i, j)));
        }
        pairs
    }

    fn join(
        &mut self,
        a: usize,
        b: usize,
        parcel: &Parcel,
        surfaces: &Surfaces,
        rules: &Rules,
    ) -> bool {
        let digging = Digging {
            surfaces,
            terrain: &parcel.terrain,
            rules,
        };
        let Some(cost) = digging.price(self.positions[a], self.positions[b]) else {
            return false;
        };
        self.joins[a].push((b, cost));
        self.joins[b].push((a, cost));
        true
    }

    /// Joins parts that hold terminals by the nearest straight line that is free, if there is one.
    fn bridge_parts(
        &mut self,
        index: &RTree<Indexed>,
        parcel: &Parcel,
        surfaces: &Surfaces,
        rules: &Rules,
    ) {
        loop {
            let part = self.parts();
            let lost: Vec<usize> = (1..self.terminals)
                .filter(|t| part[*t] != part[0])
                .collect();
            let mut tried: BTreeSet<usize> = BTreeSet::new();
            let mut joined = false;
            for terminal in lost {
                if !tried.insert(part[terminal]) {
                    continue;
                }
                let members: Vec<usize> = (0..part.len())
                    .filter(|n| part[*n] == part[terminal])
                    .collect();
                joined |= self.bridge(&members, &part, index, parcel, surfaces, rules);
            }
            if !joined {
                return;
            }
        }
    }

    fn bridge(
        &mut self,
        members: &[usize],
        part: &[usize],
        index: &RTree<Indexed>,
        parcel: &Parcel,
        surfaces: &Surfaces,
        rules: &Rules,
    ) -> bool {
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        let stride = members.len().div_ceil(60);
        for &from in members.iter().step_by(stride) {
            let at = self.positions[from];
            let others = index
                .nearest_neighbor_iter(&[at.x, at.y])
                .map(|n| n.data)
                .take(REACH + members.len());
            pairs.extend(
                others
                    .filter(|to| part[*to] != part[from])
                    .take(40)
                    .map(|to| (distance(at, self.positions[to]), from, to)),
            );
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        pairs
            .into_iter()
            .any(|(_, from, to)| self.join(from, to, parcel, surfaces, rules))
    }

    /// The same graph with each price varied by chance, by up to a share of it.
    pub fn varied(&self, seed: u64, share: f64) -> Self {
        let factor = |a: usize, b: usize| {
            let (a, b) = ordered(a, b);
            1.0 + share * (2.0 * chance(seed, a as u64, b as u64) - 1.0)
        };
        let joins = self.joins.iter().enumerate().map(|(a, joins)| {
            let varied = joins.iter().map(|&(b, price)| (b, price * factor(a, b)));
            varied.collect()
        });
        Self {
            positions: self.positions.clone(),
            terminals: self.terminals,
            joins: joins.collect(),
        }
    }

    /// The connected part of each node, named by its least node.
    pub fn parts(&self) -> Vec<usize> {
        let mut part = vec![usize::MAX; self.positions.len()];
        for start in 0..part.len() {
            if part[start] != usize::MAX {
                continue;
            }
            part[start] = start;
            let mut open = vec![start];
            while let Some(node) = open.pop() {
                for &(next, _) in &self.joins[node] {
                    if part[next] == usize::MAX {
                        part[next] = start;
                        open.push(next);
                    }
                }
            }
        }
        part
    }
}

/// A number from 0 to 1 for each pair (the finaliser of Steele, Lea and Flood 2014, from memory).
pub fn chance(seed: u64, a: u64, b: u64) -> f64 {
    let mut mixed = (seed << 48) ^ (a << 24) ^ b;
    for factor in [0xbf58_476d_1ce4_e5b9u64, 0x94d0_49bb_1331_11eb] {
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(factor);
    }
    (mixed >> 11) as f64 / (1u64 << 53) as f64
}

fn ordered(a: usize, b: usize) -> (usize, usize) {
    (a.min(b), a.max(b))
}

fn distance(a: Coord<f64>, b: Coord<f64>) -> f64 {
    Euclidean.distance(Point::from(a), Point::from(b))
}

/// Places a trench can turn at: round buildings and water at the wall distance, round root zones just outside.
fn corner_nodes(parcel: &Parcel, surfaces: &Surfaces, rules: &Rules) -> Vec<Coord<f64>> {
    let mut nodes = Vec::new();
    for obstacle in &parcel.obstacles {
        match obstacle.kind {
            ObstacleKind::Building | ObstacleKind::Water => {
                let outline = obstacle
                    .shape
                    .simplify(DETAIL_M)
                    .buffer(rules.wall_distance_m + DETAIL_M);
                let outline = outline.simplify(DETAIL_M / 2.0);
                nodes.extend(
                    outline
                        .iter()
                        .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
                        .flat_map(|ring| ring.0.iter().skip(1).copied()),
                );
            }
            ObstacleKind::Tree => nodes.extend(obstacle.root_zone.into_iter().flat_map(root_ring)),
            ObstacleKind::Paving | ObstacleKind::Bed => {}
        }
    }
    for turf in &parcel.turf {
        let outline = turf.shape.simplify(DETAIL_M);
        let rings = outline
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        let off_walls =
            |place: &Coord<f64>| !surfaces.hard_within(*place, 0.5 * rules.wall_distance_m);
        nodes.extend(rings.flat_map(sharp_corners).filter(off_walls));
    }
    nodes.retain(|node| {
        let state = surfaces.at(*node);
        !(state.hard || state.paving || state.roots) && inside(parcel, *node)
    });
    nodes
}

/// Corners of a ring that turns sharply there to the left, a little inside: a trench may turn there onto what lies outside.
fn sharp_corners(ring: &LineString<f64>) -> Vec<Coord<f64>> {
    let unit = |from: Coord<f64>, to: Coord<f64>| {
        let way = to - from;
        way / way.x.hypot(way.y).max(1e-9)
    };
    let places = &ring.0;
    let count = places.len().saturating_sub(1);
    let corner = |i: usize| {
        let (before, here, after) = (places[(i + count - 1) % count], places[i], places[i + 1]);
        let (come, go) = (unit(before, here), unit(here, after));
        let turn_deg = (come.x * go.y - come.y * go.x)
            .atan2(come.x * go.x + come.y * go.y)
            .to_degrees();
        (turn_deg > CORNER_DEG).then(|| here + (go - come) * CORNER_INSIDE_M)
    };
    (0..count).filter_map(corner).collect()
}

fn inside(parcel: &Parcel, node: Coord<f64>) -> bool {
    use geo::Contains;
    parcel.boundary.contains(&Point::from(node))
}

fn root_ring((centre, radius): (Coord<f64>, f64)) -> impl Iterator<Item = Coord<f64>> {
    let half = std::f64::consts::PI / ROOT_RING as f64;
    let out = (radius + 0.1) / half.cos();
    (0..ROOT_RING).map(move |i| {
        let angle = 2.0 * half * i as f64;
        Coord {
            x: centre.x + out * angle.cos(),
            y: centre.y + out * angle.sin(),
        }
    })
}
