//! Walks round the trench tree: heads in an order in which neighbours are near along the trench.

use super::ancestry::Ancestry;
use crate::design::trenches::{TrenchTree, graph::chance};

/// Heads of one class in the order of a walk.
pub struct Tour {
    /// The heads.
    pub heads: Vec<usize>,
    /// Their tree nodes.
    pub nodes: Vec<usize>,
    /// Depth, in m of trench from the source, of the place where each meets the one before it; the first meets itself.
    pub meets_m: Vec<f64>,
}

impl Tour {
    /// The walk that takes the branches of every node in an order of its own for each seed; seed 0 takes them as they are.
    pub fn of(
        tree: &TrenchTree,
        ways: &Ancestry,
        seed: u64,
        wanted: impl Fn(usize) -> bool,
    ) -> Self {
        let mut children = tree.children();
        if seed > 0 {
            for branches in &mut children {
                let key = |node: &usize| chance(seed, *node as u64, 0).to_bits();
                branches.sort_by_cached_key(key);
            }
        }
        let mut tour = Self {
            heads: Vec::new(),
            nodes: Vec::new(),
            meets_m: Vec::new(),
        };
        let mut open = vec![0];
        while let Some(node) = open.pop() {
            if let Some(head) = tree.heads[node].filter(|head| wanted(*head)) {
                let before = tour.nodes.last().copied().unwrap_or(node);
                tour.meets_m.push(ways.path_m[ways.meet(before, node)]);
                tour.heads.push(head);
                tour.nodes.push(node);
            }
            open.extend(children[node].iter().rev());
        }
        tour
    }
}
