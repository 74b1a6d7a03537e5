//! Stations: which heads share a control valve.
//!
//! A station is a connected piece of the trench tree. Heads of one precipitation class are gathered from the tree's ends
//! inward and the heaviest pieces are cut off where the supply, the spread of height or the count of heads would be
//! overdrawn: fewest pieces for one class of a given tree and one limit (Kundu and Misra 1977, SIAM J. Comput. 6(1):151,
//! from memory). Then small neighbours are joined (`merge.rs`).

mod merge;

use crate::design::trenches::TrenchTree;

/// What a head asks of its station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadNeed {
    /// Flow to plan with, L/min.
    pub flow_lpm: f64,
    /// Pressure wanted at the nozzle, kPa.
    pub pressure_kpa: f64,
    /// Height of the ground, m.
    pub ground_m: f64,
    /// Precipitation class, as a number; classes never mix.
    pub class: usize,
    /// Most flow of a station with this head, L/min; infinite at first, lowered where an earlier round fell short.
    pub flow_most_lpm: f64,
}

/// What is gathered so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Heads.
    pub heads: Vec<usize>,
    /// Their flow, L/min.
    pub flow_lpm: f64,
    /// Lowest head, m.
    pub low_m: f64,
    /// Highest head, m.
    pub high_m: f64,
    /// Greatest pressure wanted at a nozzle, kPa.
    pub pressure_kpa: f64,
    /// Trench from the source to the farthest head, m.
    pub path_m: f64,
    /// Least of its heads' `flow_most_lpm`.
    pub flow_most_lpm: f64,
}

impl Piece {
    fn of(head: usize, need: &HeadNeed, path_m: f64) -> Self {
        Self {
            heads: vec![head],
            flow_lpm: need.flow_lpm,
            low_m: need.ground_m,
            high_m: need.ground_m,
            pressure_kpa: need.pressure_kpa,
            path_m,
            flow_most_lpm: need.flow_most_lpm,
        }
    }

    fn joined(&self, other: &Self) -> Self {
        Self {
            heads: self.heads.iter().chain(&other.heads).copied().collect(),
            flow_lpm: self.flow_lpm + other.flow_lpm,
            low_m: self.low_m.min(other.low_m),
            high_m: self.high_m.max(other.high_m),
            pressure_kpa: self.pressure_kpa.max(other.pressure_kpa),
            path_m: self.path_m.max(other.path_m),
            flow_most_lpm: self.flow_most_lpm.min(other.flow_most_lpm),
        }
    }
}

/// What a station may not exceed.
pub struct Limits<'a> {
    /// Flow the supply can give a piece, L/min.
    pub flow_lpm: &'a dyn Fn(&Piece) -> f64,
    /// Greatest spread of ground height, m.
    pub spread_m: f64,
    /// Most heads.
    pub heads: usize,
    /// Trench between two pieces over which they may still be joined, m.
    pub merge_reach_m: f64,
}

impl Limits<'_> {
    /// Whether a piece may be one station.
    pub fn allow(&self, piece: &Piece) -> bool {
        piece.heads.len() <= self.heads
            && piece.high_m - piece.low_m <= self.spread_m
            && piece.flow_lpm <= (self.flow_lpm)(piece).min(piece.flow_most_lpm)
    }
}

/// One station to be: its heads and the tree node its laterals start from.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The heads and their sums.
    pub piece: Piece,
    /// The lowest tree node that lies above all of them; never the root.
    pub top: usize,
    /// Their class.
    pub class: usize,
}

/// Groups the heads that stand on the tree into stations, ordered by their place in the tree.
///
/// A head that no limit allows even alone becomes a station of its own; what it lacks is found when it is solved.
pub fn group(tree: &TrenchTree, needs: &[HeadNeed], limits: &Limits) -> Vec<Group> {
    let path_m = paths(tree);
    let mut classes: Vec<usize> = tree
        .heads
        .iter()
        .flatten()
        .map(|head| needs[*head].class)
        .collect();
    classes.sort_unstable();
    classes.dedup();
    let mut groups = Vec::new();
    for class in classes {
        let cut = cut_class(tree, needs, class, &path_m, limits);
        groups.extend(merge::merge_small(cut, tree, limits));
    }
    for group in &mut groups {
        group.piece.heads = in_walking_order(&group.piece.heads, tree);
    }
    groups.sort_by_key(|group| (group.top, group.piece.heads[0]));
    groups
}

fn paths(tree: &TrenchTree) -> Vec<f64> {
    let mut path_m = vec![0.0; tree.parents.len()];
    for node in 1..tree.parents.len() {
        path_m[node] = path_m[tree.parents[node]] + tree.edge_m(node);
    }
    path_m
}

fn in_walking_order(heads: &[usize], tree: &TrenchTree) -> Vec<usize> {
    let mut wanted = heads.to_vec();
    wanted.sort_unstable();
    tree.heads
        .iter()
        .flatten()
        .copied()
        .filter(|head| wanted.binary_search(head).is_ok())
        .collect()
}

/// Gathers one class from the leaves to the root and cuts what does not fit, heaviest first.
fn cut_class(
    tree: &TrenchTree,
    needs: &[HeadNeed],
    class: usize,
    path_m: &[f64],
    limits: &Limits,
) -> Vec<Group> {
    let children = tree.children();
    let mut open: Vec<Option<Piece>> = vec![None; tree.parents.len()];
    let mut groups = Vec::new();
    let close = |piece: Piece, groups: &mut Vec<Group>| {
        let top = merge::top_of(&piece.heads, tree);
        groups.push(Group { piece, top, class });
    };
    for node in (0..tree.parents.len()).rev() {
        let mut arrived: Vec<Piece> = children[node]
            .iter()
            .filter_map(|child| open[*child].take())
            .collect();
        arrived.sort_by(|a, b| a.flow_lpm.total_cmp(&b.flow_lpm));
        if node == 0 {
            arrived
                .into_iter()
                .for_each(|piece| close(piece, &mut groups));
            continue;
        }
        let own = tree.heads[node].filter(|head| needs[*head].class == class);
        let mut kept = own.map(|head| Piece::of(head, &needs[head], path_m[node]));
        for piece in arrived {
            let joined = kept.as_ref().map(|k| k.joined(&piece));
            match joined {
                None => kept = Some(piece),
                Some(both) if limits.allow(&both) => kept = Some(both),
                Some(_) => close(piece, &mut groups),
            }
        }
        open[node] = kept;
    }
    groups
}

/// Fewest stations any grouping could have: for each class its flow over the greatest flow a station may carry.
pub fn bound(
    needs: &[HeadNeed],
    heads: impl Iterator<Item = usize>,
    design_lpm: f64,
    heads_most: usize,
) -> usize {
    let mut sums: std::collections::BTreeMap<usize, (f64, usize)> =
        std::collections::BTreeMap::new();
    for head in heads {
        let entry = sums.entry(needs[head].class).or_default();
        *entry = (entry.0 + needs[head].flow_lpm, entry.1 + 1);
    }
    let by_flow = |flow: f64| {
        if design_lpm > 0.0 {
            (flow / design_lpm - 1e-9).ceil() as usize
        } else {
            1
        }
    };
    sums.values()
        .map(|(flow, count)| by_flow(*flow).max(count.div_ceil(heads_most.max(1))))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Coord;

    /// A spine of `n` heads 10 m apart, climbing 1 m each.
    fn spine(n: usize) -> (TrenchTree, Vec<HeadNeed>) {
        let positions = (0..=n)
            .map(|i| Coord {
                x: 10.0 * i as f64,
                y: 0.0,
            })
            .collect();
        let heads = (0..=n).map(|i| (i > 0).then(|| i - 1)).collect();
        let parents = (0..=n).map(|i: usize| i.saturating_sub(1)).collect();
        let need = |i: usize| HeadNeed {
            flow_lpm: 10.0,
            pressure_kpa: 250.0,
            ground_m: i as f64,
            class: 0,
            flow_most_lpm: f64::INFINITY,
        };
        (
            TrenchTree {
                positions,
                heads,
                parents,
                unreachable: vec![],
            },
            (0..n).map(need).collect(),
        )
    }

    fn limits<'a>(flow_lpm: &'a dyn Fn(&Piece) -> f64, spread_m: f64) -> Limits<'a> {
        Limits {
            flow_lpm,
            spread_m,
            heads: 40,
            merge_reach_m: 30.0,
        }
    }

    #[test]
    fn flow_limits_the_station_and_every_head_is_on_one() {
        let (tree, needs) = spine(10);
        let groups = group(&tree, &needs, &limits(&|_| 35.0, 100.0));
        assert!(groups.iter().all(|g| g.piece.flow_lpm <= 35.0));
        let mut all: Vec<_> = groups.iter().flat_map(|g| g.piece.heads.clone()).collect();
        all.sort_unstable();
        assert_eq!(all, (0..10).collect::<Vec<_>>());
        assert_eq!(groups.len(), 4);
        assert_eq!(bound(&needs, 0..10, 35.0, 40), 3);
    }

    #[test]
    fn a_hills_top_and_foot_are_not_on_one_line() {
        let (tree, needs) = spine(10);
        for g in group(&tree, &needs, &limits(&|_| 1000.0, 3.0)) {
            assert!(g.piece.high_m - g.piece.low_m <= 3.0);
        }
    }

    #[test]
    fn classes_never_share_a_station() {
        let (tree, mut needs) = spine(6);
        needs.iter_mut().step_by(2).for_each(|need| need.class = 1);
        for g in group(&tree, &needs, &limits(&|_| 1000.0, 100.0)) {
            assert!(
                g.piece
                    .heads
                    .iter()
                    .all(|head| needs[*head].class == g.class)
            );
        }
    }

    #[test]
    fn a_head_the_supply_cannot_feed_still_gets_a_station() {
        let (tree, needs) = spine(2);
        assert_eq!(group(&tree, &needs, &limits(&|_| 1.0, 100.0)).len(), 2);
    }
}
