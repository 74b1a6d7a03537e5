//! Joins small stations with a near neighbour where one valve can carry both.

use super::{Group, Limits};
use crate::design::trenches::TrenchTree;

/// The deepest tree node above all heads: where their laterals start.
pub fn top_of(heads: &[usize], tree: &TrenchTree) -> usize {
    let mut wanted = heads.to_vec();
    wanted.sort_unstable();
    let nodes = (0..tree.heads.len())
        .filter(|node| tree.heads[*node].is_some_and(|head| wanted.binary_search(&head).is_ok()));
    nodes.reduce(|a, b| meet(a, b, tree)).unwrap_or(0)
}

/// The deepest common ancestor; nodes are numbered so that a parent comes before its children.
fn meet(mut a: usize, mut b: usize, tree: &TrenchTree) -> usize {
    while a != b {
        if a > b {
            a = tree.parents[a];
        } else {
            b = tree.parents[b];
        }
    }
    a
}

fn tree_distance_m(a: usize, b: usize, tree: &TrenchTree) -> f64 {
    let common = meet(a, b, tree);
    let climb = |mut node: usize| {
        let mut sum = 0.0;
        while node != common {
            sum += tree.edge_m(node);
            node = tree.parents[node];
        }
        sum
    };
    climb(a) + climb(b)
}

/// Joins groups while a smallest one finds an allowed partner within reach, nearest first. Groups are of one class.
pub fn merge_small(mut groups: Vec<Group>, tree: &TrenchTree, limits: &Limits) -> Vec<Group> {
    groups.sort_by(|a, b| {
        a.piece
            .flow_lpm
            .total_cmp(&b.piece.flow_lpm)
            .then(a.top.cmp(&b.top))
    });
    let mut done: Vec<Group> = Vec::new();
    while !groups.is_empty() {
        let small = groups.remove(0);
        match best_partner(&small, &groups, tree, limits) {
            Some(at) => {
                let partner = groups.remove(at);
                let piece = small.piece.joined(&partner.piece);
                let joined = Group {
                    top: meet(small.top, partner.top, tree),
                    piece,
                    class: small.class,
                };
                let place = groups.partition_point(|g| g.piece.flow_lpm < joined.piece.flow_lpm);
                groups.insert(place, joined);
            }
            None => done.push(small),
        }
    }
    done
}

fn best_partner(
    small: &Group,
    others: &[Group],
    tree: &TrenchTree,
    limits: &Limits,
) -> Option<usize> {
    let near = |other: &Group| {
        let common = meet(small.top, other.top, tree);
        let distance_m = tree_distance_m(small.top, other.top, tree);
        (common != 0
            && distance_m <= limits.merge_reach_m
            && limits.allow(&small.piece.joined(&other.piece)))
        .then_some(distance_m)
    };
    let found = others
        .iter()
        .enumerate()
        .filter_map(|(i, other)| near(other).map(|d| (d, i)));
    found
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map(|(_, i)| i)
}
