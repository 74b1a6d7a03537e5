//! A front whose points all keep the limit on the spread of pressure.

use super::{Front, FrontPoint, LateralProblem, branches, measured};
use crate::design::sizing::admissible::Broken;
use crate::design::sizing::spread::{self, Ways};
use crate::design::sizing::tree::{Budget, Choice, Tree};
use crate::design::sizing::{EQUAL_M, SizeLimits};

/// Most ways held at one pipe where the spread is limited.
const WAYS_MOST: usize = 120;

/// Leaves in a front only what keeps the spread, and adds other ways that do.
pub(super) fn keep_spread(
    problem: &LateralProblem,
    offers: &[Vec<Choice>],
    spread_most_m: f64,
    limits: &SizeLimits,
    narrowing: bool,
    front: &mut Front,
) {
    let most_m = least_head_at_most(problem, offers) + spread_most_m + EQUAL_M;
    let low = front.lower.partition_point(|point| point.0 <= most_m);
    front.lower.truncate(low.max(1));
    let keeps = |point: &FrontPoint| point.spread_m <= spread_most_m + 2.0 * EQUAL_M;
    if front.points.iter().all(keeps) {
        return;
    }
    let keep = spread::Keep {
        spread_most: spread_most_m,
        need_most: limits.head_most_m,
        most: WAYS_MOST,
    };
    let branches = branches(problem, offers, Ways::head);
    let root = problem.valve_need_m.map(Ways::head);
    let tree = Tree::solve(&branches, root.as_ref(), narrowing, &keep);
    let pick = |way: &spread::Way| {
        let sizes = tree.pick(Budget {
            need_most: way.need,
            low_least: way.low,
        })?;
        Some(measured(problem, offers, sizes))
    };
    let mut kept: Vec<FrontPoint> = tree.front.0.iter().filter_map(pick).filter(keeps).collect();
    kept.extend(front.points.iter().filter(|point| keeps(point)).cloned());
    if kept.is_empty() {
        front.broken.push(Broken::Spread);
        return;
    }
    front.exact = false;
    front.points = unbeaten(kept);
}

/// Seen from the valve, the least need of all heads if every pipe were as narrow as it may be: a way that keeps the
/// spread cannot need more than that and the spread.
fn least_head_at_most(problem: &LateralProblem, offers: &[Vec<Choice>]) -> f64 {
    let narrowest = offers.iter().map(|offer| {
        let worst = offer.iter().max_by(|a, b| a.loss.total_cmp(&b.loss));
        worst.map_or(0, |choice| choice.size)
    });
    let widest_apart = measured(problem, offers, narrowest.collect());
    widest_apart.need_m - widest_apart.spread_m
}

/// The points that no other one beats, by rising need.
fn unbeaten(mut points: Vec<FrontPoint>) -> Vec<FrontPoint> {
    points.sort_by(|a, b| {
        a.need_m
            .total_cmp(&b.need_m)
            .then(a.cost.total_cmp(&b.cost))
    });
    let mut least = f64::INFINITY;
    points.retain(|point| {
        let better = point.cost < least;
        least = least.min(point.cost);
        better
    });
    points
}
