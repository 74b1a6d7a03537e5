//! Bounds from below, to hold the result against.

use crate::design::model::{Bounds, StationClass, TurfResult};
use crate::design::settle::Settled;
use crate::design::trenches::TrenchTree;
use geo::Coord;

/// No tree with added points is shorter than this share of the spanning tree without them.
///
/// Chung and Graham 1985, Ann. N.Y. Acad. Sci. 440:328 (from memory).
const STEINER_RATIO: f64 = 0.8241;

/// All bounds of a settled design.
pub fn bounds(
    turf: &[TurfResult],
    tree: &TrenchTree,
    settled: &Settled,
    stations: Vec<StationClass>,
) -> Bounds {
    let terminals: Vec<Coord<f64>> = (0..tree.positions.len())
        .filter(|node| *node == 0 || tree.heads[*node].is_some())
        .map(|node| tree.positions[node])
        .collect();
    Bounds {
        stations,
        trench_m: STEINER_RATIO * spanning_tree_m(&terminals),
        pipe_cost: Some(settled.pipe_cost_bound),
        ..of_turf(turf)
    }
}

/// The bounds on heads, summed over the turf areas.
pub fn of_turf(turf: &[TurfResult]) -> Bounds {
    let watered = turf.iter().filter(|area| area.heads > 0);
    let estimate = watered.map(|area| area.heads_lp_estimate);
    Bounds {
        heads: turf.iter().map(|area| area.heads_bound).sum(),
        heads_lp_estimate: estimate.sum::<Option<f64>>().filter(|sum| *sum > 0.0),
        ..Bounds::default()
    }
}

/// Length of the least tree that joins points by straight lines between them, m (Prim).
fn spanning_tree_m(points: &[Coord<f64>]) -> f64 {
    let mut nearest_m = vec![f64::INFINITY; points.len()];
    let mut done = vec![false; points.len()];
    let mut here = 0;
    let mut sum_m = 0.0;
    for _ in 1..points.len() {
        done[here] = true;
        let mut next = (f64::INFINITY, here);
        for (i, point) in points.iter().enumerate().filter(|(i, _)| !done[*i]) {
            nearest_m[i] =
                nearest_m[i].min((point.x - points[here].x).hypot(point.y - points[here].y));
            if nearest_m[i] < next.0 {
                next = (nearest_m[i], i);
            }
        }
        (sum_m, here) = (sum_m + next.0, next.1);
    }
    sum_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tree_of_a_row_is_the_row_and_of_a_square_three_sides() {
        let at = |x: f64, y: f64| Coord { x, y };
        assert_eq!(
            spanning_tree_m(&[at(0.0, 0.0), at(5.0, 0.0), at(2.0, 0.0)]),
            5.0
        );
        assert_eq!(
            spanning_tree_m(&[at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0)]),
            3.0
        );
        assert_eq!(spanning_tree_m(&[]), 0.0);
    }
}
