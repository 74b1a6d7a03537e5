//! Distances along the trenches between heads in walking order, each found at once.

use super::ancestry::Ancestry;

/// Heads in the order of a walk round the tree.
///
/// Two of them meet at the shallowest place where neighbours between them meet, and the least of a range is kept for
/// every power of two: Bender and Farach-Colton 2000, LATIN, LNCS 1776:88 (from memory).
pub struct Walk {
    path_m: Vec<f64>,
    /// Least depth of meeting of the heads from `i` to `i + 2^k`, at `[k][i]`.
    meets_m: Vec<Vec<f64>>,
}

impl Walk {
    /// The walk past nodes given in walking order.
    pub fn of(ways: &Ancestry, nodes: &[usize]) -> Self {
        let meet_m = |pair: &[usize]| ways.path_m[ways.meet(pair[0], pair[1])];
        let mut meets_m = vec![nodes.windows(2).map(meet_m).collect::<Vec<f64>>()];
        loop {
            let step = 1 << (meets_m.len() - 1);
            let last = &meets_m[meets_m.len() - 1];
            if last.len() <= step {
                break;
            }
            let wider = last.iter().zip(&last[step..]).map(|(a, b)| a.min(*b));
            meets_m.push(wider.collect());
        }
        Self {
            path_m: nodes.iter().map(|node| ways.path_m[*node]).collect(),
            meets_m,
        }
    }

    /// How many heads it passes.
    pub fn len(&self) -> usize {
        self.path_m.len()
    }

    /// Trench between two heads, m.
    pub fn distance_m(&self, a: usize, b: usize) -> f64 {
        if a == b {
            return 0.0;
        }
        let (from, to) = (a.min(b), a.max(b));
        let level = (to - from).ilog2() as usize;
        let least = &self.meets_m[level];
        let meet_m = least[from].min(least[to - (1 << level)]);
        self.path_m[a] + self.path_m[b] - 2.0 * meet_m
    }

    /// Trench of the least piece of the tree that joins heads given in walking order, m: half the walk round it.
    pub fn joining_m(&self, heads: &[usize]) -> f64 {
        let Some(last) = heads.last() else { return 0.0 };
        let steps = heads
            .windows(2)
            .map(|pair| self.distance_m(pair[0], pair[1]));
        (steps.sum::<f64>() + self.distance_m(*last, heads[0])) / 2.0
    }
}
