//! The laterals of one station: every head its valve might get, against the cheapest pipes that do with it.

mod limited;

use super::admissible::{Broken, Duty, choices};
use super::curve::{Curve, Keep, Point, Thin};
use super::loss::{friction_m, minor_m};
use super::tree::{Branch, Choice, Tree, ordered};
use super::{EQUAL_M, SizeLimits};
use crate::brief::PipeSize;

/// Most points held at one pipe; the exact curves of a station of 40 heads stay far below.
const POINTS_MOST: usize = 4000;
/// Most points handed out, each with its sizes.
const POINTS_GIVEN: usize = 1000;

/// A pipe to be sized.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizePipe {
    /// The pipe before it; `None` where it starts at the valve.
    pub parent: Option<usize>,
    /// Length, m.
    pub length_m: f64,
    /// Sum of the coefficients of its fittings, on its own velocity.
    pub minor_k: f64,
    /// Flow, m³/s.
    pub flow_m3s: f64,
    /// Head needed at its lower end while the station runs, m above the datum; `None` where nothing draws there.
    pub down_need_m: Option<f64>,
    /// Height of its lower end, m: pipe must be rated for the static pressure there.
    pub down_floor_m: f64,
}

/// The laterals of one station.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LateralProblem {
    /// The pipes, a tree that starts at the valve.
    pub pipes: Vec<SizePipe>,
    /// Head needed at the valve's outlet itself, where a head sits there.
    pub valve_need_m: Option<f64>,
    /// Height of the valve's outlet, m.
    pub valve_floor_m: f64,
}

/// One choice of sizes for a station.
#[derive(Debug, Clone, PartialEq)]
pub struct FrontPoint {
    /// Head the valve must give at its outlet, m above the datum; minus infinity where nothing draws.
    pub need_m: f64,
    /// Price of the pipe.
    pub cost: f64,
    /// How far what the heads have above their need differs from head to head, m.
    pub spread_m: f64,
    /// Size of each pipe, an index into the sizes on offer.
    pub sizes: Vec<usize>,
}

/// The trade-off of a station: points by rising need and falling cost, of which none beats another.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Front {
    /// The points; none only if there is no size on offer.
    pub points: Vec<FrontPoint>,
    /// (need, cost) that no design is better than, by rising need: the points themselves if `exact`.
    pub lower: Vec<(f64, f64)>,
    /// What could not be kept.
    pub broken: Vec<Broken>,
    /// Whether every best choice is among the points.
    pub exact: bool,
}

impl Front {
    /// The cheapest point for which `head_m` at the valve's outlet is enough.
    pub fn within(&self, head_m: f64) -> Option<&FrontPoint> {
        let end = self
            .points
            .partition_point(|point| point.need_m <= head_m + EQUAL_M);
        self.points[..end].last()
    }
}

/// Finds the cheapest sizes of a station's laterals for every head at its valve.
///
/// Each pipe has one size, rated for the static pressure at its lower and upper end and wide enough for the velocity;
/// where no size is, the nearest is taken and said in [`Front::broken`]. With [`SizeLimits::narrowing`] no pipe is wider
/// than the one before it, exactly and not by repair. The points are optimal, with or without a limit on the spread. If
/// no sizes keep the limit, they keep the least spread that any sizes do, and [`Broken::Spread`] says so.
pub fn lateral_front(problem: &LateralProblem, sizes: &[PipeSize], limits: &SizeLimits) -> Front {
    let mut broken = Vec::new();
    let offers = offers(problem, sizes, limits, &mut broken);
    let laterals = Laterals::new(problem, &offers);
    let keep = Keep {
        need_most: limits.head_most_m,
        thin: Thin::Drop(POINTS_MOST),
    };
    let need = |need_m: f64| {
        Curve(vec![Point {
            need: need_m,
            cost: 0.0,
            size: 0,
        }])
    };
    let branches = branches(problem, &offers, need);
    let root = problem.valve_need_m.map(need);
    let mut narrowing = limits.narrowing;
    let mut tree = Tree::solve(&branches, root.as_ref(), narrowing, &keep);
    if tree.front.0.is_empty() && narrowing && !sizes.is_empty() {
        broken.push(Broken::Narrowing);
        narrowing = false;
        tree = Tree::solve(&branches, root.as_ref(), false, &keep);
    }
    let (given, thinned) = tree.front.clone().thinned(Thin::Drop(POINTS_GIVEN));
    let lower = if tree.exact {
        tree.front.clone()
    } else {
        let bounding = Keep {
            thin: Thin::Bound(POINTS_MOST),
            ..keep
        };
        Tree::solve(&branches, root.as_ref(), narrowing, &bounding).front
    };
    let (lower, _) = lower.thinned(Thin::Bound(POINTS_GIVEN));
    let mut front = Front {
        points: points(&laterals, &tree, &given),
        lower: lower
            .0
            .iter()
            .map(|point| (point.need, point.cost))
            .collect(),
        exact: tree.exact && !thinned,
        broken,
    };
    if let Some(spread_most_m) = limits.spread_m {
        limited::keep_spread(&laterals, spread_most_m, limits, narrowing, &mut front);
    }
    front.broken.sort_unstable();
    front
}

/// The sizes that each pipe may have.
fn offers(
    problem: &LateralProblem,
    sizes: &[PipeSize],
    limits: &SizeLimits,
    broken: &mut Vec<Broken>,
) -> Vec<Vec<Choice>> {
    let floor = |pipe: Option<usize>| {
        pipe.and_then(|pipe| problem.pipes.get(pipe))
            .map_or(problem.valve_floor_m, |pipe| pipe.down_floor_m)
    };
    let offer = |(index, pipe): (usize, &SizePipe)| {
        let duty = Duty {
            pipe: index,
            length_m: pipe.length_m,
            flow_m3s: pipe.flow_m3s,
            lowest_m: pipe.down_floor_m.min(floor(pipe.parent)),
            surge_length_m: 0.0,
        };
        choices(&duty, sizes, limits, broken, |size| {
            friction_m(size, pipe.length_m, pipe.flow_m3s)
                + minor_m(size, pipe.minor_k, pipe.flow_m3s)
        })
    };
    problem.pipes.iter().enumerate().map(offer).collect()
}

fn branches<L>(
    problem: &LateralProblem,
    offers: &[Vec<Choice>],
    need: impl Fn(f64) -> L,
) -> Vec<Branch<L>> {
    let branch = |(pipe, choices): (&SizePipe, &Vec<Choice>)| Branch {
        parent: pipe.parent,
        choices: choices.clone(),
        end: pipe.down_need_m.map(&need),
    };
    problem.pipes.iter().zip(offers).map(branch).collect()
}

fn points(laterals: &Laterals, tree: &Tree<Curve>, given: &Curve) -> Vec<FrontPoint> {
    let pick = |point: &Point| Some(laterals.measured(tree.pick(point.need)?));
    given.0.iter().filter_map(pick).collect()
}

/// The laterals from the valve downwards, to reckon choices of sizes.
struct Laterals<'a> {
    problem: &'a LateralProblem,
    offers: &'a [Vec<Choice>],
    order: Vec<usize>,
    parent: Vec<Option<usize>>,
}

impl<'a> Laterals<'a> {
    fn new(problem: &'a LateralProblem, offers: &'a [Vec<Choice>]) -> Self {
        let parents: Vec<Option<usize>> = problem.pipes.iter().map(|pipe| pipe.parent).collect();
        let (order, parent) = ordered(&parents);
        Self {
            problem,
            offers,
            order,
            parent,
        }
    }

    /// What a choice of sizes needs, costs and spreads.
    fn measured(&self, sizes: Vec<usize>) -> FrontPoint {
        let mut lost_m = vec![0.0; sizes.len()];
        let mut cost = 0.0;
        let mut most_m = self.problem.valve_need_m.unwrap_or(f64::NEG_INFINITY);
        let mut least_m = self.problem.valve_need_m.unwrap_or(f64::INFINITY);
        for &pipe in &self.order {
            let before_m = self.parent[pipe].map_or(0.0, |up| lost_m[up]);
            let mut offer = self.offers[pipe].iter();
            if let Some(choice) = offer.find(|choice| choice.size == sizes[pipe]) {
                lost_m[pipe] = before_m + choice.loss;
                cost += choice.price;
            }
            if let Some(need_m) = self.problem.pipes[pipe].down_need_m {
                most_m = most_m.max(need_m + lost_m[pipe]);
                least_m = least_m.min(need_m + lost_m[pipe]);
            }
        }
        FrontPoint {
            need_m: most_m,
            cost,
            spread_m: (most_m - least_m).max(0.0),
            sizes,
        }
    }
}

#[cfg(test)]
pub(super) mod tests;
