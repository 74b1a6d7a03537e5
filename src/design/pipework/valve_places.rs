//! Where each station's valve stands: near its heads, out of their spray, beside other valves.

use super::edge::VALVE_SETBACK_M;
use crate::design::model::{Head, Surface};
use crate::design::stations::Group;
use crate::design::trenches::{TrenchTree, surfaces::Surfaces};
use geo::{Coord, Line};

/// Trench over which a valve may move towards the source, m.
const REACH_M: f64 = 25.0;
/// What it is worth, in metres of pipe, that a person can work at a valve while its own station runs.
const DRY_M: f64 = 12.0;
/// What a place in one box with another valve is worth, in metres of pipe.
const SHARED_M: f64 = 8.0;
/// What it is worth to stand neither under paving nor among roots, in metres of pipe.
const OPEN_M: f64 = 40.0;
/// What it is worth to stand in no bed, in metres of pipe.
const BED_M: f64 = 3.0;
/// Times that all valves are placed, so that the first may join the last.
const ROUNDS: usize = 2;

/// What valves are placed by.
pub struct Ground<'a> {
    /// The trench tree.
    pub tree: &'a TrenchTree,
    /// The heads.
    pub heads: &'a [Head],
    /// What lies on the ground.
    pub surfaces: &'a Surfaces,
    /// Most valves in one box.
    pub box_valves: usize,
}

/// For each station the tree node on whose upper edge its valve stands: the top of its heads or a node above that.
pub fn places(ground: &Ground, groups: &[Group]) -> Vec<usize> {
    let mut places: Vec<usize> = groups.iter().map(|group| group.top).collect();
    for _ in 0..ROUNDS {
        for station in 0..groups.len() {
            places[station] = ground.best(station, groups, &places);
        }
    }
    places
}

impl Ground<'_> {
    /// The best place for one valve, the others standing where they are.
    fn best(&self, station: usize, groups: &[Group], places: &[usize]) -> usize {
        let others = || {
            places
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != station)
        };
        let fed = self.fed_by(others().map(|(_, node)| *node));
        let mut best = (f64::INFINITY, groups[station].top);
        let (mut node, mut climbed_m, mut doubled_m) = (groups[station].top, 0.0, 0.0);
        loop {
            let beside = others().filter(|(_, other)| **other == node).count();
            let shares = beside > 0 && beside % self.box_valves != 0;
            let shared_m = if shares { SHARED_M } else { 0.0 };
            let price_m = doubled_m + self.faults_m(node, &groups[station]) - shared_m;
            if price_m < best.0 - 1e-9 {
                best = (price_m, node);
            }
            let edge_m = self.tree.edge_m(node);
            climbed_m += edge_m;
            // Where the main goes on to other valves the lateral lies beside it; elsewhere it takes its place.
            doubled_m += if fed[node] { edge_m } else { 0.0 };
            node = self.tree.parents[node];
            if node == 0 || climbed_m > REACH_M {
                return best.1;
            }
        }
    }

    /// Whether the main must run along the edge above each node for valves at these.
    fn fed_by(&self, nodes: impl Iterator<Item = usize>) -> Vec<bool> {
        let mut fed = vec![false; self.tree.parents.len()];
        for mut node in nodes {
            while node != 0 && !std::mem::replace(&mut fed[node], true) {
                node = self.tree.parents[node];
            }
        }
        fed
    }

    /// What is wrong with a valve of a station on the edge above a node, in metres of pipe.
    fn faults_m(&self, node: usize, group: &Group) -> f64 {
        let (end, start) = (
            self.tree.positions[node],
            self.tree.positions[self.tree.parents[node]],
        );
        let back = (VALVE_SETBACK_M / self.tree.edge_m(node).max(1e-6)).min(0.5);
        let at = end + (start - end) * back;
        let wet = group.heads.iter().any(|head| wets(&self.heads[*head], at));
        let stretches = self.surfaces.along(Line::new(at, end));
        let ground_m = match stretches.first().map(|stretch| stretch.state.surface()) {
            Some(Surface::Paving | Surface::Roots) => OPEN_M,
            Some(Surface::Bed) => BED_M,
            _ => 0.0,
        };
        ground_m + if wet { DRY_M } else { 0.0 }
    }
}

/// Whether a head throws on a place.
fn wets(head: &Head, at: Coord<f64>) -> bool {
    let way = at - head.position;
    way.x.hypot(way.y) <= head.radius_m && head.arc.holds(way.x, way.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::Rules;
    use crate::design::coverage::Tilt;
    use crate::design::model::Arc;
    use crate::design::stations::{HeadNeed, Limits, group};
    use crate::design::trenches::fixture;

    /// A trench from (-24, -12) east along a row of points 5 m apart; heads of 4 m stand at some of them.
    fn row(points: usize, with_head: impl Fn(usize) -> bool) -> (TrenchTree, Vec<Head>) {
        let at = |i: usize| Coord {
            x: -24.0 + 5.0 * i as f64,
            y: -12.0,
        };
        let stands: Vec<usize> = (1..=points).filter(|i| with_head(*i)).collect();
        let head = |i: &usize| Head {
            position: at(*i),
            turf: 0,
            model: 0,
            nozzle: 0,
            arc: Arc::FULL,
            radius_m: 4.0,
            tilt: Tilt::LEVEL,
            ground_m: 0.0,
            flow_ref_lpm: 5.0,
            one_row: false,
        };
        let tree = TrenchTree {
            positions: (0..=points).map(at).collect(),
            heads: (0..=points)
                .map(|i| stands.binary_search(&i).ok())
                .collect(),
            parents: (0..=points).map(|i| i.saturating_sub(1)).collect(),
            unreachable: vec![],
        };
        (tree, stands.iter().map(head).collect())
    }

    /// Valve places of stations of one head each.
    fn placed(tree: &TrenchTree, heads: &[Head]) -> Vec<usize> {
        let need = HeadNeed {
            flow_lpm: 5.0,
            pressure_kpa: 250.0,
            ground_m: 0.0,
            class: 0,
            path_m: 0.0,
            left_lpm: 5.0,
            flow_most_lpm: f64::INFINITY,
            spread_most_m: 5.0,
        };
        let limits = Limits::of(&Rules::default());
        let groups = group(tree, &vec![need; heads.len()], &limits, 0);
        let surfaces = Surfaces::of(&fixture::parcel());
        let ground = Ground {
            tree,
            heads,
            surfaces: &surfaces,
            box_valves: 4,
        };
        places(&ground, &groups)
    }

    #[test]
    fn a_valve_stands_out_of_the_spray_of_its_station() {
        let (tree, heads) = row(4, |i| i == 4);
        // The edge that ends at the head is wet near it, the one before is not.
        assert_eq!(placed(&tree, &heads), [3]);
    }

    #[test]
    fn valves_share_a_box_where_little_pipe_is_doubled() {
        let (mut tree, mut heads) = row(2, |i| i == 2);
        // A second head 3 m aside of the first point: its valve would stand alone on its spur.
        let aside = Coord {
            x: tree.positions[1].x,
            y: -9.0,
        };
        tree.positions.push(aside);
        tree.parents.push(1);
        tree.heads.push(Some(1));
        heads.push(Head {
            position: aside,
            ..heads[0].clone()
        });
        assert_eq!(placed(&tree, &heads), [1, 1]);
    }
}
