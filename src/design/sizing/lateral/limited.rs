//! A front whose points all keep the limit on the spread of pressure, exactly; the least spread where none keeps it.

use super::{Front, FrontPoint, Laterals, branches};
use crate::design::sizing::admissible::Broken;
use crate::design::sizing::steps::{HEAD_UNITS, Keep, PRICE_UNITS, Steps};
use crate::design::sizing::tree::{Branch, Choice, Tree};
use crate::design::sizing::{EQUAL_M, SizeLimits};

/// Most steps held at one pipe; stations of 60 pipes stay far below.
const STEPS_MOST: usize = 20_000;
/// Where no sizes keep the limit, the least spread is found to this, m.
const SPREAD_STEP_M: f64 = 0.01;

/// The laterals of a station, for any limit on their spread.
struct Limited<'a> {
    laterals: &'a Laterals<'a>,
    /// Their offers in whole units.
    whole: Vec<Vec<Choice>>,
    head_most_m: f64,
    narrowing: bool,
}

/// Leaves in a front only what keeps the spread, and adds other ways that do.
///
/// Where no sizes do, the points are those of the least spread that some sizes keep, and [`Broken::Spread`] says so.
pub(super) fn keep_spread(
    laterals: &Laterals,
    spread_most_m: f64,
    limits: &SizeLimits,
    narrowing: bool,
    front: &mut Front,
) {
    let keeps = |point: &FrontPoint| point.spread_m <= spread_most_m + EQUAL_M;
    if front.points.iter().all(keeps) {
        return;
    }
    let limited = Limited {
        laterals,
        whole: laterals
            .offers
            .iter()
            .map(|offer| in_units(offer))
            .collect(),
        head_most_m: limits.head_most_m,
        narrowing,
    };
    let mut found = limited.front(spread_most_m);
    if found.points.is_empty() {
        front.broken.push(Broken::Spread);
        found = limited.least_spread(spread_most_m, front);
    }
    if !found.points.is_empty() {
        *front = Front {
            broken: std::mem::take(&mut front.broken),
            ..found
        };
    }
}

fn in_units(offer: &[Choice]) -> Vec<Choice> {
    let whole = |choice: &Choice| Choice {
        loss: (choice.loss * HEAD_UNITS).round(),
        price: (choice.price * PRICE_UNITS).round(),
        ..*choice
    };
    offer.iter().map(whole).collect()
}

impl Limited<'_> {
    /// All best points that keep a limit on the spread; none where nothing does.
    fn front(&self, spread_most_m: f64) -> Front {
        let spread = (spread_most_m * HEAD_UNITS).round();
        let head = |need_m: f64| Steps::head((need_m * HEAD_UNITS).round(), spread);
        let branches: Vec<Branch<Steps>> = branches(self.laterals.problem, &self.whole, head);
        let root = self.laterals.problem.valve_need_m.map(head);
        let keep = Keep {
            need_most: (self.head_most_m * HEAD_UNITS).round(),
            most: STEPS_MOST,
        };
        let tree = Tree::solve(&branches, root.as_ref(), self.narrowing, &keep);
        let points: Vec<FrontPoint> = tree
            .front
            .falling()
            .filter_map(|step| tree.pick(step.from))
            .map(|sizes| self.laterals.measured(sizes))
            .collect();
        Front {
            lower: points.iter().map(|p| (p.need_m, p.cost)).collect(),
            exact: tree.exact,
            broken: Vec::new(),
            points,
        }
    }

    /// The front of the least spread that any sizes keep with the head that can be had; `any` is the front without a limit.
    fn least_spread(&self, spread_most_m: f64, any: &Front) -> Front {
        let within = any.points.iter().filter(|p| p.need_m <= self.head_most_m);
        let spreads = within.map(|point| point.spread_m);
        let (mut least_m, mut most_m) = (spread_most_m, spreads.fold(f64::INFINITY, f64::min));
        let mut found = Front::default();
        if most_m.is_finite() {
            most_m += EQUAL_M;
            found = self.front(most_m);
        }
        while most_m.is_finite() && most_m - least_m > SPREAD_STEP_M {
            let middle_m = 0.5 * (least_m + most_m);
            let front = self.front(middle_m);
            if front.points.is_empty() {
                least_m = middle_m;
            } else {
                most_m = middle_m;
                found = front;
            }
        }
        found
    }
}
