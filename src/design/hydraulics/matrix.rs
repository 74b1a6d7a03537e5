//! The linear equations of one iteration, `A h = F`, and who solves them.
//!
//! [`Elimination`] does, unless so many loops are joined that a sparse Cholesky factorisation (faer, after a
//! minimum-degree ordering) is the better way. The pattern is analysed once for all iterations of one set of valve
//! positions.

use super::elimination::{Elimination, Loose, Row};
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{Argsort, Pair, SparseColMat, SymbolicSparseColMat};
use faer::{MatMut, Side};

/// Why the equations could not be solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Singular {
    /// A part of the network hangs on nothing; this row is one of it.
    Loose(usize),
    /// The factorisation broke off.
    Broken,
}

/// Which way to solve them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// By elimination, or by factorisation where a great many loops are joined.
    #[default]
    Fitting,
    /// By sparse factorisation in any case; for comparison.
    Factorised,
}

/// A net of conductances between unknown heads and to given ones, and what flows into each node.
#[derive(Debug, Clone)]
pub(super) struct Equations {
    pub(super) rows: Vec<Row>,
    /// Conductance of each edge; more than the edges given, the rest zero.
    pub(super) edge: Vec<f64>,
    way: Way,
}

#[derive(Debug, Clone)]
enum Way {
    Elimination(Elimination),
    Sparse(Box<Sparse>),
}

impl Equations {
    /// Equations for `unknowns` heads coupled by `edges`.
    pub(super) fn new(
        unknowns: usize,
        edges: &[(u32, u32)],
        method: Method,
    ) -> Result<Self, Singular> {
        let elimination = match method {
            Method::Fitting => Elimination::of(unknowns, edges),
            Method::Factorised => None,
        };
        let (way, places) = match elimination {
            Some(elimination) => {
                let places = elimination.edges();
                (Way::Elimination(elimination), places)
            }
            None => (
                Way::Sparse(Box::new(Sparse::new(unknowns, edges)?)),
                edges.len(),
            ),
        };
        Ok(Self {
            rows: vec![Row::default(); unknowns],
            edge: vec![0.0; places],
            way,
        })
    }

    /// Sets everything to zero.
    pub(super) fn clear(&mut self) {
        self.rows.fill(Row::default());
        self.edge.fill(0.0);
    }

    /// Solves in place: `right` becomes the heads, the rest is used up.
    pub(super) fn solve(&mut self) -> Result<(), Singular> {
        match &mut self.way {
            Way::Elimination(elimination) => {
                elimination.solve(&mut self.rows, &mut self.edge)?;
            }
            Way::Sparse(sparse) => sparse.solve(&mut self.rows, &self.edge)?,
        }
        let sound = self.rows.iter().all(|row| row.right.is_finite());
        if sound { Ok(()) } else { Err(Singular::Broken) }
    }
}

impl From<Loose> for Singular {
    fn from(Loose(row): Loose) -> Self {
        Self::Loose(row)
    }
}

/// The pattern of the lower triangle and its factor; twin links share an entry and are summed.
#[derive(Debug, Clone)]
struct Sparse {
    edges: Vec<(u32, u32)>,
    pattern: SymbolicSparseColMat<usize>,
    order: Argsort<usize>,
    symbolic: SymbolicLlt<usize>,
    /// Diagonal, then one entry an edge.
    values: Vec<f64>,
}

impl Sparse {
    fn new(unknowns: usize, edges: &[(u32, u32)]) -> Result<Self, Singular> {
        let places: Vec<_> = (0..unknowns)
            .map(|i| Pair { row: i, col: i })
            .chain(edges.iter().map(|&(a, b)| Pair {
                row: a.max(b) as usize,
                col: a.min(b) as usize,
            }))
            .collect();
        let (pattern, order) =
            SymbolicSparseColMat::try_new_from_indices(unknowns, unknowns, &places)
                .map_err(|_| Singular::Broken)?;
        let symbolic =
            SymbolicLlt::try_new(pattern.as_ref(), Side::Lower).map_err(|_| Singular::Broken)?;
        Ok(Self {
            edges: edges.to_vec(),
            pattern,
            order,
            symbolic,
            values: vec![0.0; unknowns + edges.len()],
        })
    }

    fn solve(&mut self, rows: &mut [Row], edge: &[f64]) -> Result<(), Singular> {
        if rows.is_empty() {
            return Ok(());
        }
        let (diagonal, off) = self.values.split_at_mut(rows.len());
        for (diagonal, row) in diagonal.iter_mut().zip(&*rows) {
            *diagonal = row.ground;
        }
        for ((&(a, b), conductance), off) in self.edges.iter().zip(edge).zip(off) {
            diagonal[a as usize] += conductance;
            diagonal[b as usize] += conductance;
            *off = -conductance;
        }
        let matrix =
            SparseColMat::new_from_argsort(self.pattern.clone(), &self.order, &self.values)
                .map_err(|_| Singular::Broken)?;
        let factor =
            Llt::try_new_with_symbolic(self.symbolic.clone(), matrix.as_ref(), Side::Lower)
                .map_err(|_| Singular::Broken)?;
        let mut right: Vec<f64> = rows.iter().map(|row| row.right).collect();
        let count = right.len();
        factor.solve_in_place(MatMut::from_column_major_slice_mut(&mut right, count, 1));
        for (row, right) in rows.iter_mut().zip(right) {
            row.right = right;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2×2 with twin links: [[5, -3], [-3, 4]] x = [2, 1] has x = (1, 1).
    #[test]
    fn twin_links_are_summed() {
        for method in [Method::Fitting, Method::Factorised] {
            let mut equations = Equations::new(2, &[(0, 1), (1, 0)], method).unwrap();
            equations.rows = [(2.0, 2.0), (1.0, 1.0)]
                .map(|(ground, right)| Row { ground, right })
                .to_vec();
            equations.edge = vec![1.0, 2.0];
            equations.solve().unwrap();
            for row in equations.rows {
                assert!((row.right - 1.0).abs() < 1e-14, "{method:?} {row:?}");
            }
        }
    }

    #[test]
    fn what_hangs_on_nothing_is_refused() {
        for method in [Method::Fitting, Method::Factorised] {
            let mut equations = Equations::new(2, &[(0, 1)], method).unwrap();
            equations.edge = vec![1.0];
            equations.rows[0].right = 1.0;
            assert!(equations.solve().is_err(), "{method:?}");
        }
    }
}
