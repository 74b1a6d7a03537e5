//! The linear equations of a network, solved by taking away one node after the other.
//!
//! The equations are those of a net of conductances: `Σ_j g_ij (x_i - x_j) + g_i0 x_i = b_i`, where `g_i0` leads to a
//! head that is given. A node is taken away by turning the star about it into a mesh between its neighbours: each pair
//! gets `g_i g_j / Σ g` more. Nothing is subtracted, so that conductances of very different size lose no digits
//! (Grassmann, Taksar and Heyman 1985, Oper. Res. 33(5):1107, for Markov chains, from memory). Leaves come first: they
//! have one neighbour and leave no mesh. The order is worked out once, in `order.rs`.

mod order;

use order::Order;

/// A row without any conductance left: it hangs on nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Loose(pub(super) usize);

/// One equation: conductance to given heads, and the right side, which becomes the answer.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Row {
    pub(super) ground: f64,
    pub(super) right: f64,
}

/// A node with one neighbour when its turn comes.
#[derive(Debug, Clone, Copy)]
struct Leaf {
    row: u32,
    neighbour: u32,
    edge: u32,
}

/// A node with any number of neighbours when its turn comes.
#[derive(Debug, Clone, Copy)]
struct Star {
    row: u32,
    /// Its neighbours: from where to where in `arms`.
    arms: (u32, u32),
    /// Where its mesh begins in `mesh`.
    mesh: u32,
}

/// A neighbour, and the edge to it.
#[derive(Debug, Clone, Copy)]
struct Arm {
    row: u32,
    edge: u32,
}

/// The order in which nodes are taken away, and where each mesh goes.
#[derive(Debug, Clone, Default)]
pub(super) struct Elimination {
    leaves: Vec<Leaf>,
    stars: Vec<Star>,
    arms: Vec<Arm>,
    /// Edge of each pair of arms of each star.
    mesh: Vec<u32>,
    /// Edges beside another one between the same nodes, and that other one.
    twins: Vec<(u32, u32)>,
    edges: usize,
}

impl Elimination {
    /// The order for `rows` unknowns joined by `edges`; `None` where so many loops make it no good way.
    pub(super) fn of(rows: usize, edges: &[(u32, u32)]) -> Option<Self> {
        Self::of_forest(rows, edges).or_else(|| Order::new(rows, edges).found())
    }

    /// Rows in their own order, each as a leaf; `None` where one has more than one edge to later rows.
    fn of_forest(rows: usize, edges: &[(u32, u32)]) -> Option<Self> {
        let mut ahead: Vec<Option<Arm>> = vec![None; rows];
        for (edge, &(a, b)) in edges.iter().enumerate() {
            let later = Arm {
                row: a.max(b),
                edge: edge as u32,
            };
            if ahead[a.min(b) as usize].replace(later).is_some() {
                return None;
            }
        }
        let mut made = Self {
            edges: edges.len(),
            leaves: Vec::with_capacity(rows),
            ..Self::default()
        };
        for (row, arm) in ahead.into_iter().enumerate() {
            match arm {
                Some(arm) => made.leaves.push(Leaf {
                    row: row as u32,
                    neighbour: arm.row,
                    edge: arm.edge,
                }),
                // The last of its tree.
                None => made.add_star(row as u32, &[]),
            }
        }
        Some(made)
    }

    /// Edges to make room for: those given, in their order, then those that meshes add.
    pub(super) fn edges(&self) -> usize {
        self.edges
    }

    /// Solves in place: `right` becomes x. `edge` holds the conductances between rows, zero for edges that were not given;
    /// it and `ground` are used up.
    pub(super) fn solve(&self, rows: &mut [Row], edge: &mut [f64]) -> Result<(), Loose> {
        for &(twin, into) in &self.twins {
            edge[into as usize] += edge[twin as usize];
        }
        self.take_leaves(rows, edge)?;
        self.take_stars(rows, edge)?;
        self.give_stars(rows, edge);
        self.give_leaves(rows, edge);
        Ok(())
    }

    /// Afterwards `ground` of a leaf holds `1 / Σ g`.
    fn take_leaves(&self, rows: &mut [Row], edge: &[f64]) -> Result<(), Loose> {
        for leaf in &self.leaves {
            let arm = edge[leaf.edge as usize];
            let row = &mut rows[leaf.row as usize];
            let Row { ground, right } = *row;
            row.ground = inverse(ground + arm, leaf.row)?;
            let share = arm * row.ground;
            let to = &mut rows[leaf.neighbour as usize];
            to.ground += share * ground;
            to.right += share * right;
        }
        Ok(())
    }

    fn take_stars(&self, rows: &mut [Row], edge: &mut [f64]) -> Result<(), Loose> {
        for star in &self.stars {
            let arms = self.arms(star);
            let all: f64 = arms.iter().map(|arm| edge[arm.edge as usize]).sum();
            let Row { ground, right } = rows[star.row as usize];
            let inverse = inverse(ground + all, star.row)?;
            let mut mesh = self.mesh[star.mesh as usize..].iter();
            for (place, arm) in arms.iter().enumerate() {
                let share = edge[arm.edge as usize] * inverse;
                let to = &mut rows[arm.row as usize];
                to.ground += share * ground;
                to.right += share * right;
                for (other, &between) in arms[place + 1..].iter().zip(&mut mesh) {
                    edge[between as usize] += share * edge[other.edge as usize];
                }
            }
            rows[star.row as usize].ground = inverse;
        }
        Ok(())
    }

    fn give_stars(&self, rows: &mut [Row], edge: &[f64]) {
        for star in self.stars.iter().rev() {
            let arms = self.arms(star).iter();
            let drawn: f64 = arms
                .map(|arm| edge[arm.edge as usize] * rows[arm.row as usize].right)
                .sum();
            let row = &mut rows[star.row as usize];
            row.right = (row.right + drawn) * row.ground;
        }
    }

    fn give_leaves(&self, rows: &mut [Row], edge: &[f64]) {
        for leaf in self.leaves.iter().rev() {
            let drawn = edge[leaf.edge as usize] * rows[leaf.neighbour as usize].right;
            let row = &mut rows[leaf.row as usize];
            row.right = (row.right + drawn) * row.ground;
        }
    }

    fn arms(&self, star: &Star) -> &[Arm] {
        &self.arms[star.arms.0 as usize..star.arms.1 as usize]
    }
}

fn inverse(conductance: f64, row: u32) -> Result<f64, Loose> {
    if conductance > 0.0 {
        Ok(1.0 / conductance)
    } else {
        Err(Loose(row as usize))
    }
}

#[cfg(test)]
mod tests;
