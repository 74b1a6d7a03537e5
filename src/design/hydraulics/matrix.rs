//! The linear equations of one iteration, `A h = F`, and who solves them.
//!
//! Without loops [`Forest`] does it in linear time; with loops a sparse Cholesky factorisation (faer, after a
//! minimum-degree ordering). The pattern is analysed once for all iterations of one set of valve positions.

use super::branch::Forest;
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{Argsort, Pair, SparseColMat, SymbolicSparseColMat};
use faer::{MatMut, Side};

/// Why the equations could not be solved: a part of the network hangs on nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Singular;

/// Which way to solve them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// By elimination where there is no loop, else by factorisation.
    #[default]
    Fitting,
    /// By sparse factorisation in any case; for comparison.
    Factorised,
}

/// A symmetric matrix by diagonal and edges, and the right side.
#[derive(Debug, Clone)]
pub(super) struct Equations {
    /// Diagonal.
    pub(super) diagonal: Vec<f64>,
    /// One entry off the diagonal for each edge.
    pub(super) off: Vec<f64>,
    /// Right side.
    pub(super) right: Vec<f64>,
    way: Way,
}

#[derive(Debug, Clone)]
enum Way {
    Forest(Forest),
    Sparse {
        pattern: SymbolicSparseColMat<usize>,
        order: Argsort<usize>,
        symbolic: SymbolicLlt<usize>,
    },
}

impl Equations {
    /// Equations for `unknowns` heads coupled by `edges`.
    pub(super) fn new(
        unknowns: usize,
        edges: &[(usize, usize)],
        method: Method,
    ) -> Result<Self, Singular> {
        let forest = match method {
            Method::Fitting => Forest::of(unknowns, edges),
            Method::Factorised => None,
        };
        let way = match forest {
            Some(forest) => Way::Forest(forest),
            None => sparse(unknowns, edges)?,
        };
        Ok(Self {
            diagonal: vec![0.0; unknowns],
            off: vec![0.0; edges.len()],
            right: vec![0.0; unknowns],
            way,
        })
    }

    /// Sets everything to zero.
    pub(super) fn clear(&mut self) {
        self.diagonal.fill(0.0);
        self.off.fill(0.0);
        self.right.fill(0.0);
    }

    /// Solves in place: `right` becomes the heads.
    pub(super) fn solve(&mut self) -> Result<(), Singular> {
        if self.right.is_empty() {
            return Ok(());
        }
        match &self.way {
            Way::Forest(forest) => forest.solve(&mut self.diagonal, &self.off, &mut self.right),
            Way::Sparse {
                pattern,
                order,
                symbolic,
            } => {
                let values = [self.diagonal.as_slice(), self.off.as_slice()].concat();
                let matrix = SparseColMat::new_from_argsort(pattern.clone(), order, &values)
                    .map_err(|_| Singular)?;
                let factor =
                    Llt::try_new_with_symbolic(symbolic.clone(), matrix.as_ref(), Side::Lower)
                        .map_err(|_| Singular)?;
                let rows = self.right.len();
                factor.solve_in_place(MatMut::from_column_major_slice_mut(
                    &mut self.right,
                    rows,
                    1,
                ));
            }
        }
        let sound = self.right.iter().all(|head| head.is_finite());
        if sound { Ok(()) } else { Err(Singular) }
    }
}

/// The pattern of the lower triangle and its factor; twin links share an entry and are summed.
fn sparse(unknowns: usize, edges: &[(usize, usize)]) -> Result<Way, Singular> {
    let places: Vec<_> = (0..unknowns)
        .map(|i| Pair { row: i, col: i })
        .chain(edges.iter().map(|&(a, b)| Pair {
            row: a.max(b),
            col: a.min(b),
        }))
        .collect();
    let (pattern, order) = SymbolicSparseColMat::try_new_from_indices(unknowns, unknowns, &places)
        .map_err(|_| Singular)?;
    let symbolic = SymbolicLlt::try_new(pattern.as_ref(), Side::Lower).map_err(|_| Singular)?;
    Ok(Way::Sparse {
        pattern,
        order,
        symbolic,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2×2 with twin links: [[5, -3], [-3, 4]] x = [2, 1] has x = (1, 1).
    #[test]
    fn twin_links_are_summed() {
        let mut equations = Equations::new(2, &[(0, 1), (1, 0)], Method::Fitting).unwrap();
        equations.diagonal = vec![5.0, 4.0];
        equations.off = vec![-1.0, -2.0];
        equations.right = vec![2.0, 1.0];
        equations.solve().unwrap();
        for head in equations.right {
            assert!((head - 1.0).abs() < 1e-14, "{head}");
        }
    }

    #[test]
    fn what_hangs_on_nothing_is_refused() {
        for method in [Method::Fitting, Method::Factorised] {
            let mut equations = Equations::new(2, &[(0, 1)], method).unwrap();
            equations.diagonal = vec![1.0, 1.0];
            equations.off = vec![-1.0];
            equations.right = vec![1.0, 0.0];
            assert_eq!(equations.solve(), Err(Singular), "{method:?}");
        }
    }
}
