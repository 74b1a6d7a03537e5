//! Ways through the trench tree: how deep nodes lie, where two of them meet, how much trench joins a set.

use crate::design::trenches::TrenchTree;

/// The tree with a jump towards the root at every node, so that meeting places are found in logarithmic time.
///
/// Skew-binary jump pointers: Myers 1983, Inf. Process. Lett. 17:241 (from memory).
pub struct Ancestry {
    parents: Vec<usize>,
    jumps: Vec<usize>,
    edges_to_root: Vec<usize>,
    /// Trench from the source to each node, m.
    pub path_m: Vec<f64>,
}

impl Ancestry {
    /// The ways of a tree whose parents stand before their children.
    pub fn of(tree: &TrenchTree) -> Self {
        let n = tree.parents.len();
        let mut ways = Self {
            parents: tree.parents.clone(),
            jumps: vec![0; n],
            edges_to_root: vec![0; n],
            path_m: vec![0.0; n],
        };
        for node in 1..n {
            let parent = tree.parents[node];
            ways.path_m[node] = ways.path_m[parent] + tree.edge_m(node);
            ways.edges_to_root[node] = ways.edges_to_root[parent] + 1;
            let far = ways.jumps[parent];
            let depth = |node: usize| ways.edges_to_root[node];
            let even = depth(parent) - depth(far) == depth(far) - depth(ways.jumps[far]);
            ways.jumps[node] = if even { ways.jumps[far] } else { parent };
        }
        ways
    }

    /// The deepest node that lies above both, or is one of them.
    pub fn meet(&self, mut a: usize, mut b: usize) -> usize {
        if self.edges_to_root[a] < self.edges_to_root[b] {
            (a, b) = (b, a);
        }
        while self.edges_to_root[a] > self.edges_to_root[b] {
            let jump = self.jumps[a];
            let within = self.edges_to_root[jump] >= self.edges_to_root[b];
            a = if within { jump } else { self.parents[a] };
        }
        while a != b {
            let same = self.jumps[a] == self.jumps[b];
            (a, b) = if same {
                (self.parents[a], self.parents[b])
            } else {
                (self.jumps[a], self.jumps[b])
            };
        }
        a
    }

    /// The deepest node above all of them; the root for none.
    pub fn top_of(&self, nodes: impl IntoIterator<Item = usize>) -> usize {
        let top = nodes.into_iter().reduce(|a, b| self.meet(a, b));
        top.unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Coord;

    /// A comb: a spine along x with a tooth of 2 m at every metre.
    fn comb(teeth: usize) -> TrenchTree {
        let mut tree = TrenchTree::default();
        for i in 0..=teeth {
            let x = i as f64;
            tree.positions.push(Coord { x, y: 0.0 });
            tree.parents.push(if i == 0 {
                0
            } else {
                tree.positions.len() - 1 - if i == 1 { 1 } else { 2 }
            });
            if i > 0 {
                tree.positions.push(Coord { x, y: 2.0 });
                tree.parents.push(tree.positions.len() - 2);
            }
        }
        tree.heads = vec![None; tree.positions.len()];
        tree
    }

    #[test]
    fn meeting_places_are_those_that_climbing_finds() {
        let tree = comb(40);
        let ways = Ancestry::of(&tree);
        let climb = |mut a: usize, mut b: usize| {
            while a != b {
                let higher = if a > b { &mut a } else { &mut b };
                *higher = tree.parents[*higher];
            }
            a
        };
        for a in 0..tree.parents.len() {
            for b in 0..tree.parents.len() {
                assert_eq!(ways.meet(a, b), climb(a, b), "{a} {b}");
            }
        }
    }

    #[test]
    fn three_teeth_are_joined_by_their_piece_of_the_spine() {
        use super::super::walk::Walk;
        let tree = comb(6);
        let ways = Ancestry::of(&tree);
        let teeth: Vec<usize> = (1..=6).map(|i| 2 * i).collect();
        let walk = Walk::of(&ways, &teeth);
        assert_eq!(walk.joining_m(&[1, 2, 4]), 3.0 * 2.0 + 3.0);
        assert_eq!(walk.joining_m(&[1]), 0.0);
        assert_eq!(ways.top_of([4, 6, 10]), 3);
        for (i, a) in teeth.iter().enumerate() {
            for (j, b) in teeth.iter().enumerate() {
                let meet_m = ways.path_m[ways.meet(*a, *b)];
                let far_m = ways.path_m[*a] + ways.path_m[*b] - 2.0 * meet_m;
                assert_eq!(walk.distance_m(i, j), far_m, "{i} {j}");
            }
        }
    }
}
