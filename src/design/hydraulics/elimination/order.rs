//! In which order nodes are taken away: leaves, then by minimum degree.
//!
//! Tinney and Walker 1967, Proc. IEEE 55(11):1801, scheme 2 (from memory).

use super::{Arm, Elimination, Leaf, Star};

/// Pairs of neighbours per node beyond which this is no way to solve a network.
const PAIRS_MOST_PER_ROW: usize = 200;
/// No edge.
const NONE: u32 = u32::MAX;

/// What is left of the network while its order is sought.
pub(super) struct Order {
    made: Elimination,
    /// Neighbours of each row that is left; empty for leaves that are gone.
    arms: Vec<Vec<Arm>>,
    gone: Vec<bool>,
    /// Rows by the number of their neighbours; old entries stay and are passed over.
    waiting: Vec<Vec<u32>>,
    /// Edge to each row from the one being joined, else `NONE`.
    mark: Vec<u32>,
}

impl Order {
    pub(super) fn new(rows: usize, edges: &[(u32, u32)]) -> Self {
        let mut order = Self {
            made: Elimination {
                edges: edges.len(),
                ..Elimination::default()
            },
            arms: Vec::new(),
            gone: vec![false; rows],
            waiting: Vec::new(),
            mark: Vec::new(),
        };
        order.take_leaves(edges);
        if order.gone.contains(&false) {
            order.lay_out(edges);
        }
        order
    }

    /// The whole order; `None` where meshes grow too many.
    pub(super) fn found(mut self) -> Option<Elimination> {
        let most = PAIRS_MOST_PER_ROW * self.gone.len();
        while let Some(row) = self.next() {
            self.take(row);
            if self.made.mesh.len() > most {
                return None;
            }
        }
        Some(self.made)
    }

    /// Takes leaves as long as there are any. A leaf's edge and neighbour are all that is left of the exclusive or over
    /// all its edges and neighbours, so that no lists are needed.
    fn take_leaves(&mut self, edges: &[(u32, u32)]) {
        let rows = self.gone.len();
        let mut left = vec![(0u32, 0u32, 0u32); rows]; // degree, neighbours, edges
        for (edge, &(a, b)) in edges.iter().enumerate() {
            for (row, neighbour) in [(a, b), (b, a)] {
                let of = &mut left[row as usize];
                *of = (of.0 + 1, of.1 ^ neighbour, of.2 ^ edge as u32);
            }
        }
        self.made.leaves.reserve(rows);
        for start in 0..rows {
            let mut row = start;
            while left[row].0 == 1 && !self.gone[row] {
                let (_, neighbour, edge) = left[row];
                self.gone[row] = true;
                self.made.leaves.push(Leaf {
                    row: row as u32,
                    neighbour,
                    edge,
                });
                let of = &mut left[neighbour as usize];
                *of = (of.0 - 1, of.1 ^ row as u32, of.2 ^ edge);
                row = neighbour as usize;
            }
        }
        // What stands alone now is the last of its tree.
        for (row, left) in left.iter().enumerate() {
            if left.0 == 0 && !self.gone[row] {
                self.gone[row] = true;
                self.made.add_star(row as u32, &[]);
            }
        }
    }

    /// Lists the neighbours in what is left; an edge beside another is a twin and drops out.
    fn lay_out(&mut self, edges: &[(u32, u32)]) {
        let rows = self.gone.len();
        self.arms = vec![Vec::new(); rows];
        self.mark = vec![NONE; rows];
        for (edge, &(a, b)) in edges.iter().enumerate() {
            if !self.gone[a as usize] && !self.gone[b as usize] {
                self.link(a, b, edge as u32);
            }
        }
        for row in 0..rows {
            if !self.gone[row] {
                self.drop_twins(row as u32);
            }
        }
        for row in 0..rows {
            if !self.gone[row] {
                self.wait(row as u32);
            }
        }
    }

    fn link(&mut self, a: u32, b: u32, edge: u32) {
        self.arms[a as usize].push(Arm { row: b, edge });
        self.arms[b as usize].push(Arm { row: a, edge });
    }

    /// Keeps the first edge to each neighbour.
    fn drop_twins(&mut self, row: u32) {
        let (mark, twins) = (&mut self.mark, &mut self.made.twins);
        self.arms[row as usize].retain(|arm| {
            let first = &mut mark[arm.row as usize];
            let new = *first == NONE;
            if new {
                *first = arm.edge;
            } else if row < arm.row {
                // Seen from both ends, told once.
                twins.push((arm.edge, *first));
            }
            new
        });
        self.unmark(row);
    }

    fn unmark(&mut self, row: u32) {
        for arm in &self.arms[row as usize] {
            self.mark[arm.row as usize] = NONE;
        }
    }

    fn wait(&mut self, row: u32) {
        let degree = self.arms[row as usize].len();
        if self.waiting.len() <= degree {
            self.waiting.resize(degree + 1, Vec::new());
        }
        self.waiting[degree].push(row);
    }

    /// A row with fewest neighbours.
    fn next(&mut self) -> Option<u32> {
        for degree in 0..self.waiting.len() {
            while let Some(row) = self.waiting[degree].pop() {
                let now = self.arms[row as usize].len();
                if !self.gone[row as usize] && now == degree {
                    return Some(row);
                }
            }
        }
        None
    }

    /// Takes a row out and joins its neighbours.
    fn take(&mut self, row: u32) {
        self.gone[row as usize] = true;
        let arms = std::mem::take(&mut self.arms[row as usize]);
        self.made.add_star(row, &arms);
        for arm in &arms {
            self.arms[arm.row as usize].retain(|back| back.row != row);
        }
        for (place, arm) in arms.iter().enumerate() {
            self.mesh(arm.row, &arms[place + 1..]);
        }
        for arm in &arms {
            self.wait(arm.row);
        }
    }

    /// Joins a row with others and notes which edge each pair has.
    fn mesh(&mut self, row: u32, others: &[Arm]) {
        for arm in &self.arms[row as usize] {
            self.mark[arm.row as usize] = arm.edge;
        }
        for other in others {
            let mut edge = self.mark[other.row as usize];
            if edge == NONE {
                edge = self.made.edges as u32;
                self.made.edges += 1;
                self.link(row, other.row, edge);
                self.mark[other.row as usize] = edge;
            }
            self.made.mesh.push(edge);
        }
        self.unmark(row);
    }
}

impl Elimination {
    pub(super) fn add_star(&mut self, row: u32, arms: &[Arm]) {
        let first = self.arms.len() as u32;
        self.arms.extend_from_slice(arms);
        self.stars.push(Star {
            row,
            arms: (first, self.arms.len() as u32),
            mesh: self.mesh.len() as u32,
        });
    }
}
