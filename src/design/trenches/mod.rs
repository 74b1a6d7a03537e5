//! Trenches: where the crew digs. One tree from the source to every head, round what may not be dug.
//!
//! `surfaces` knows what lies under a line, `price` what digging it costs, `graph` where a trench may turn,
//! `steiner` finds the tree, `straighten` takes bends out of it, `junctions` lets trenches meet away from heads, `manifold`
//! gives the source one trench; here the tree is rooted at the source.

mod columns;
#[cfg(test)]
pub mod fixture;
pub mod graph;
pub mod junctions;
mod manifold;
pub mod net;
mod on_way;
pub mod price;
mod side;
pub mod steiner;
pub mod straighten;
pub mod surfaces;

use crate::brief::Rules;
use crate::site::Parcel;
use geo::Coord;
use graph::RouteGraph;
use manifold::with_manifold;
use net::{Digging, Net};
use surfaces::Surfaces;

/// Trees are started from graphs with other prices too, fewer of them the more terminals there are: so many terminals in all.
const STARTS_TERMINALS: f64 = 600.0;
/// Least and most such starts.
const STARTS: (f64, f64) = (2.0, 16.0);
/// Most starts for a way to a single head, the least in its graph already.
const STARTS_OF_ONE_WAY: f64 = 4.0;
/// How far prices are varied for a start, as a share.
const VARIED: f64 = 0.3;
/// The trench tree, rooted at the source. Nodes are in walking order from the root: a parent stands before its children.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TrenchTree {
    /// Where each node is; node 0 is the source.
    pub positions: Vec<Coord<f64>>,
    /// The head that stands at a node.
    pub heads: Vec<Option<usize>>,
    /// Parent of each node; the root's is itself.
    pub parents: Vec<usize>,
    /// Heads that no trench can reach.
    pub unreachable: Vec<usize>,
}

impl TrenchTree {
    /// Children of each node, in order.
    pub fn children(&self) -> Vec<Vec<usize>> {
        let mut children = vec![Vec::new(); self.parents.len()];
        for (node, &parent) in self.parents.iter().enumerate().skip(1) {
            children[parent].push(node);
        }
        children
    }

    /// Plan length of the edge above a node, m; zero for the root.
    pub fn edge_m(&self, node: usize) -> f64 {
        let (a, b) = (self.positions[node], self.positions[self.parents[node]]);
        (a.x - b.x).hypot(a.y - b.y)
    }

    /// Plan length of all edges, m.
    pub fn length_m(&self) -> f64 {
        (0..self.parents.len()).map(|node| self.edge_m(node)).sum()
    }
}

/// Routes one trench tree from `source` to all `heads`.
pub fn route(
    parcel: &Parcel,
    surfaces: &Surfaces,
    source: Coord<f64>,
    heads: &[Coord<f64>],
    rules: &Rules,
) -> TrenchTree {
    let graph = RouteGraph::build(parcel, surfaces, source, heads, rules);
    let digging = Digging {
        surfaces,
        terrain: &parcel.terrain,
        rules,
    };
    let best = cheapest(&graph, digging);
    let edges = best.net.edges();
    let tree = rooted(&best.net.at, graph.terminals, &edges, best.unreachable);
    with_manifold(tree, surfaces)
}

/// The cheapest tree over the terminals of a graph that is found from several starts, its bends set.
pub fn cheapest<'a>(graph: &RouteGraph, digging: Digging<'a>) -> Improved<'a> {
    let mut best = improved(graph, digging);
    for start in 1..starts(graph.terminals, digging.rules.search_effort) {
        let varied = improved(&graph.varied(start as u64, VARIED), digging);
        if varied.net.cost() < best.net.cost() {
            best = varied;
        }
    }
    junctions::set_bends(&mut best.net);
    best
}

/// Starts for so many terminals.
fn starts(terminals: usize, effort: f64) -> usize {
    let most = if terminals <= 2 {
        STARTS_OF_ONE_WAY
    } else {
        STARTS.1
    };
    let at_one = (STARTS_TERMINALS / terminals.max(1) as f64).clamp(STARTS.0, most);
    (effort * at_one).ceil() as usize
}

/// A tree on its graph and beyond.
pub struct Improved<'a> {
    /// The tree.
    pub net: Net<'a>,
    /// Heads that nothing reaches.
    pub unreachable: Vec<usize>,
}

/// The tree of a graph, straightened, and improved at what digging truly costs.
fn improved<'a>(graph: &RouteGraph, digging: Digging<'a>) -> Improved<'a> {
    let found = steiner::tree(graph);
    let straight = straighten::straighten(graph, &found.edges, digging.rules.cost_bend);
    let edges = steiner::prune(straight, graph.terminals);
    Improved {
        net: junctions::improve(digging, graph.positions.clone(), &edges, graph.terminals),
        unreachable: found.unreachable.iter().map(|node| node - 1).collect(),
    }
}

/// The tree in walking order from the source.
fn rooted(
    positions: &[Coord<f64>],
    terminals: usize,
    edges: &[(usize, usize)],
    unreachable: Vec<usize>,
) -> TrenchTree {
    let mut neighbours = vec![Vec::new(); positions.len()];
    for &(a, b) in edges {
        neighbours[a].push(b);
        neighbours[b].push(a);
    }
    let mut tree = TrenchTree {
        unreachable,
        ..TrenchTree::default()
    };
    let mut open = vec![(0usize, 0usize, usize::MAX)];
    while let Some((node, parent, from)) = open.pop() {
        let here = tree.positions.len();
        tree.positions.push(positions[node]);
        tree.heads
            .push((1..terminals).contains(&node).then(|| node - 1));
        tree.parents.push(parent);
        neighbours[node].sort_unstable();
        open.extend(
            neighbours[node]
                .iter()
                .rev()
                .filter(|next| **next != from)
                .map(|next| (*next, here, node)),
        );
    }
    tree
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Line;

    fn heads() -> Vec<Coord<f64>> {
        (0..5)
            .flat_map(|i| {
                (0..3).map(move |j| Coord {
                    x: -20.0 + 9.0 * f64::from(i),
                    y: -12.0 + 12.0 * f64::from(j),
                })
            })
            .collect()
    }

    #[test]
    fn every_head_is_reached_and_nothing_runs_through_the_building() {
        let parcel = fixture::parcel();
        let surfaces = Surfaces::of(&parcel);
        let tree = route(
            &parcel,
            &surfaces,
            Coord { x: -24.0, y: -14.0 },
            &heads(),
            &Rules::default(),
        );
        assert!(tree.unreachable.is_empty());
        let mut reached: Vec<_> = tree.heads.iter().flatten().copied().collect();
        reached.sort_unstable();
        assert_eq!(reached, (0..15).collect::<Vec<_>>());
        for node in 1..tree.parents.len() {
            assert!(tree.parents[node] < node);
            assert!(!surfaces.is_blocked(Line::new(
                tree.positions[node],
                tree.positions[tree.parents[node]]
            )));
        }
    }

    #[test]
    fn the_path_is_crossed_once_since_a_crossing_is_dear() {
        let parcel = fixture::parcel();
        let surfaces = Surfaces::of(&parcel);
        let tree = route(
            &parcel,
            &surfaces,
            Coord { x: -24.0, y: -14.0 },
            &heads(),
            &Rules::default(),
        );
        let crossings = (1..tree.parents.len())
            .filter(|n| (tree.positions[*n].x > 1.0) != (tree.positions[tree.parents[*n]].x > 1.0))
            .count();
        assert_eq!(crossings, 1);
    }

    #[test]
    fn a_head_walled_in_by_water_is_named_as_unreachable() {
        use crate::site::{Obstacle, ObstacleKind};
        use geo::{BooleanOps, MultiPolygon, Rect};
        let mut parcel = fixture::parcel();
        let square = |half: f64| {
            Rect::new(
                Coord {
                    x: -12.0 - half,
                    y: -5.0 - half,
                },
                Coord {
                    x: -12.0 + half,
                    y: -5.0 + half,
                },
            )
            .to_polygon()
        };
        let moat: MultiPolygon<f64> = square(4.0).difference(&square(2.0));
        parcel.obstacles.push(Obstacle {
            id: "moat".into(),
            kind: ObstacleKind::Water,
            shape: moat,
            root_zone: None,
        });
        let surfaces = Surfaces::of(&parcel);
        let heads = [Coord { x: -12.0, y: -5.0 }, Coord { x: -20.0, y: 0.0 }];
        let tree = route(
            &parcel,
            &surfaces,
            Coord { x: -24.0, y: -14.0 },
            &heads,
            &Rules::default(),
        );
        assert_eq!(tree.unreachable, [0]);
    }

    #[test]
    fn a_source_between_its_heads_has_one_trench_and_the_heads_may_share_a_station() {
        let parcel = fixture::parcel();
        let surfaces = Surfaces::of(&parcel);
        let source = Coord { x: -12.0, y: -5.0 };
        let heads = [-20.0, -4.0].map(|x| Coord { x, y: -5.0 });
        let tree = route(&parcel, &surfaces, source, &heads, &Rules::default());
        assert_eq!(
            tree.parents
                .iter()
                .skip(1)
                .filter(|parent| **parent == 0)
                .count(),
            1
        );
        assert_eq!(tree.heads.iter().flatten().count(), 2);
        assert!((1..tree.parents.len()).all(|node| tree.parents[node] < node));
    }

    #[test]
    fn two_rows_of_heads_are_joined_by_a_straight_trench_with_stubs() {
        let parcel = fixture::parcel();
        let surfaces = Surfaces::of(&parcel);
        let source = Coord { x: -24.0, y: -14.0 };
        let zigzag = |i: i32| Coord {
            x: -22.0 + 2.0 * f64::from(i),
            y: if i % 2 == 0 { -12.0 } else { -9.8 },
        };
        let heads: Vec<_> = (0..9).map(zigzag).collect();
        let bends = |cost_bend: f64| {
            let rules = Rules {
                cost_bend,
                ..Rules::default()
            };
            let tree = route(&parcel, &surfaces, source, &heads, &rules);
            assert_eq!(tree.heads.iter().flatten().count(), 9);
            let children = tree.children();
            let through = (1..tree.parents.len()).filter(|node| children[*node].len() == 1);
            let turns = |node: &usize| {
                let before = tree.positions[*node] - tree.positions[tree.parents[*node]];
                let after = tree.positions[children[*node][0]] - tree.positions[*node];
                before.x * after.x + before.y * after.y
                    < 0.5 * before.x.hypot(before.y) * after.x.hypot(after.y)
            };
            through.filter(turns).count()
        };
        assert!(bends(0.0) >= 5, "{}", bends(0.0));
        assert!(bends(2.0) <= 2, "{}", bends(2.0));
    }
}
