//! The main in units of resistance, and the programme over it.

use super::{MainProblem, StationDemand, flows};
use crate::brief::PipeSize;
use crate::design::sizing::admissible::{Broken, Duty, choices};
use crate::design::sizing::curve::{Curve, Keep, Point, Thin};
use crate::design::sizing::lateral::{Front, FrontPoint};
use crate::design::sizing::loss::{FLOW_EXPONENT, friction_resistance_m, minor_m};
use crate::design::sizing::tree::{Branch, Labels, Tree, ordered, ranks_offered};
use crate::design::sizing::{EQUAL_M, SizeLimits};

/// Most points of a station's curve that the main looks at; the final choice is from all of them.
const STATION_POINTS: usize = 200;
/// Most points held at one pipe of the main, over all classes of size.
const MAIN_POINTS: usize = 16000;

/// The main in units of resistance.
pub(super) struct Line<'a> {
    pub(super) problem: &'a MainProblem,
    pub(super) branches: Vec<Branch<Curve>>,
    /// Flow of each station over the greatest one, to the power of the law.
    weight: Vec<f64>,
    /// Least resistance on the way to each station.
    least: Vec<f64>,
    asks: Vec<Asks>,
}

/// What a station asks of the main.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Asks {
    /// Enough for one of its points.
    Enough,
    /// As little less than enough as can be: even the least resistance leaves it short.
    WhatItCan,
    /// Nothing, and its laterals cost this: a bound without it is a bound with it.
    Nothing(f64),
}

/// Which of the resistances that stations ask of a pipe is taken, where they ask for different ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Fitted {
    /// The greatest: no station loses more than reckoned.
    Greatest,
    /// The least of the stations that draw this much or more, m³/s: none of them loses less than reckoned. The others ask
    /// for nothing.
    Least(f64),
}

impl Fitted {
    /// The one of two that is taken. Fittings lose with the square of the flow, so theirs is that of the flow picked alike.
    fn pick(self) -> fn(f64, f64) -> f64 {
        match self {
            Self::Greatest => f64::max,
            Self::Least(_) => f64::min,
        }
    }

    /// Whether a station of this flow asks for something.
    fn counts(self, flow_m3s: f64) -> bool {
        match self {
            Self::Greatest => true,
            Self::Least(from_m3s) => flow_m3s >= from_m3s,
        }
    }
}

impl<'a> Line<'a> {
    pub(super) fn new(
        problem: &'a MainProblem,
        sizes: &[PipeSize],
        limits: &SizeLimits,
        fitted: Fitted,
        broken: &mut Vec<Broken>,
    ) -> Self {
        let parents: Vec<Option<usize>> = problem.pipes.iter().map(|pipe| pipe.parent).collect();
        let (order, parent) = ordered(&parents);
        let behind_m3s = flows::behind(problem, &parent);
        let most_m3s = problem
            .stations
            .iter()
            .map(|s| s.flow_m3s)
            .fold(1e-9, f64::max);
        let surge_length_m = farthest(&order, &parent, |pipe| problem.pipes[pipe].length_m);
        let floor = |pipe: Option<usize>| {
            pipe.map_or(problem.source_floor_m, |pipe| {
                problem.pipes[pipe].down_floor_m
            })
        };
        let mut branches = Vec::with_capacity(problem.pipes.len());
        for (index, pipe) in problem.pipes.iter().enumerate() {
            let all_m3s = behind_m3s[index].iter().copied();
            let greatest_m3s = all_m3s.clone().fold(0.0, f64::max);
            let flows_m3s: Vec<f64> = all_m3s.filter(|flow| fitted.counts(*flow)).collect();
            let fitted_m3s = flows_m3s.iter().copied().reduce(fitted.pick());
            let fitted_m3s = fitted_m3s.unwrap_or(0.0);
            let duty = Duty {
                pipe: index,
                length_m: pipe.length_m,
                flow_m3s: greatest_m3s,
                lowest_m: pipe.down_floor_m.min(floor(parent[index])),
                surge_length_m: surge_length_m[index],
            };
            let up_to_most = (most_m3s / fitted_m3s.max(1e-9)).powf(FLOW_EXPONENT);
            let resistance = |size: &PipeSize| {
                friction_resistance_m(size, pipe.length_m, &flows_m3s, most_m3s, fitted.pick())
                    + minor_m(size, pipe.minor_k, fitted_m3s) * up_to_most
            };
            branches.push(Branch {
                parent: parent[index],
                choices: choices(&duty, sizes, limits, broken, resistance),
                end: None,
            });
        }
        let least = along(&order, &parent, |pipe| {
            let losses = branches[pipe].choices.iter().map(|choice| choice.loss);
            losses.fold(f64::INFINITY, f64::min)
        });
        let weight =
            |station: &StationDemand| (station.flow_m3s.max(1e-9) / most_m3s).powf(FLOW_EXPONENT);
        let mut line = Self {
            weight: problem.stations.iter().map(weight).collect(),
            least: problem.stations.iter().map(|s| at(&least, s)).collect(),
            asks: Vec::new(),
            branches,
            problem,
        };
        let asks = problem
            .stations
            .iter()
            .enumerate()
            .map(|(station, demand)| {
                if !fitted.counts(demand.flow_m3s) {
                    let cheapest = demand.front.lower.last();
                    Asks::Nothing(cheapest.map_or(0.0, |(_, cost)| *cost))
                } else if line.can_serve(station) {
                    Asks::Enough
                } else {
                    Asks::WhatItCan
                }
            });
        line.asks = asks.collect();
        line
    }

    /// The same line for a bound: stations that `other` leaves short cost what they do there and ask for nothing.
    pub(super) fn short_as(mut self, other: &Self, limits: &SizeLimits) -> Self {
        for (station, asks) in other.asks.iter().enumerate() {
            if *asks == Asks::WhatItCan {
                self.asks[station] = Asks::Nothing(self.given_up_cost(station, limits));
            }
        }
        self
    }

    fn given_up_cost(&self, station: usize, limits: &SizeLimits) -> f64 {
        let front = &self.problem.stations[station].front;
        given_up(front, limits).map_or(0.0, |point| point.cost)
    }

    /// Head at a station's outlet behind `resistance` of main, m.
    pub(super) fn outlet_m(&self, station: usize, resistance: f64) -> f64 {
        let demand = &self.problem.stations[station];
        demand.source_head_m - demand.valve_loss_m - resistance * self.weight[station]
    }

    /// The branches with the stations' curves at their ends, and the curve of those at the source.
    fn laden(&self, limits: &SizeLimits, thin: Thin) -> (Vec<Branch<Curve>>, Option<Curve>, bool) {
        let keep = Keep {
            need_most: EQUAL_M,
            thin,
        };
        let mut ends: Vec<Option<Curve>> = vec![None; self.branches.len() + 1];
        let mut lost = false;
        for (station, demand) in self.problem.stations.iter().enumerate() {
            let (curve, cut) = self.curve(station, limits, thin);
            lost |= cut;
            let place = demand.at_pipe.filter(|&pipe| pipe < self.branches.len());
            let end = &mut ends[place.unwrap_or(self.branches.len())];
            *end = Some(match end.take() {
                Some(before) => before.join(&curve, &keep),
                None => curve,
            });
        }
        let root = ends.pop().flatten();
        let branches = self.branches.iter().zip(ends).map(|(branch, end)| Branch {
            parent: branch.parent,
            choices: branch.choices.clone(),
            end,
        });
        (branches.collect(), root, lost)
    }

    /// A station's trade-off: minus the resistance that it can bear, against the cost of its laterals.
    fn curve(&self, station: usize, limits: &SizeLimits, thin: Thin) -> (Curve, bool) {
        let front = &self.problem.stations[station].front;
        let point = |need_m: f64, cost: f64| Point {
            need: (need_m - self.outlet_m(station, 0.0)) / self.weight[station],
            cost,
            size: 0,
        };
        let only = |need: f64, cost: f64| {
            let size = 0;
            (Curve(vec![Point { need, cost, size }]), false)
        };
        match self.asks[station] {
            Asks::Enough => {}
            Asks::Nothing(cost) => return only(f64::NEG_INFINITY, cost),
            Asks::WhatItCan => {
                let slack = limits.short_slack_m.max(EQUAL_M) / self.weight[station];
                let need = -(self.least[station] + slack);
                return only(need, self.given_up_cost(station, limits));
            }
        }
        let points = match thin {
            Thin::Drop(_) => front
                .points
                .iter()
                .map(|p| point(p.need_m, p.cost))
                .collect(),
            Thin::Bound(_) => front
                .lower
                .iter()
                .map(|&(need_m, cost)| point(need_m, cost))
                .collect(),
        };
        let mut curve = Curve::of(points);
        // What no main can leave over is not worth a place among the few points kept.
        curve
            .0
            .retain(|point| point.need <= EQUAL_M - self.least[station]);
        let (curve, cut) = curve.thinned(match thin {
            Thin::Drop(_) => Thin::Drop(STATION_POINTS),
            Thin::Bound(_) => Thin::Bound(STATION_POINTS),
        });
        (curve, cut || !front.exact)
    }

    /// Whether the station can be served with the least resistance there is.
    fn can_serve(&self, station: usize) -> bool {
        let outlet_m = self.outlet_m(station, self.least[station]);
        self.problem.stations[station]
            .front
            .within(outlet_m)
            .is_some()
    }

    /// Most points held for one class of size.
    fn points_held(&self, narrowing: bool) -> usize {
        let classes = ranks_offered(&self.branches).len().max(1);
        MAIN_POINTS / if narrowing { classes } else { 1 }
    }

    /// Sizes of the main, and whether they are proven best.
    pub(super) fn pick(&self, limits: &SizeLimits, broken: &mut Vec<Broken>) -> (Vec<usize>, bool) {
        for narrowing in [limits.narrowing, false] {
            let keep = Keep {
                need_most: EQUAL_M,
                thin: Thin::Drop(self.points_held(narrowing)),
            };
            let (branches, root, lost) = self.laden(limits, keep.thin);
            let tree = Tree::solve(&branches, root.as_ref(), narrowing, &keep);
            let exact = tree.exact && !lost;
            let sizes = tree.pick(0.0);
            // The least resistance of all pipes together is within reach whenever pipe may widen.
            if let Some(sizes) = sizes {
                return (sizes, exact);
            }
            if narrowing {
                broken.push(Broken::Narrowing);
            }
        }
        let widest = self.branches.iter().map(|branch| {
            let best = branch
                .choices
                .iter()
                .min_by(|a, b| a.loss.total_cmp(&b.loss));
            best.map_or(0, |choice| choice.size)
        });
        (widest.collect(), false)
    }

    /// A cost that no sizes undercut.
    pub(super) fn bound(&self, limits: &SizeLimits, narrowing: bool) -> f64 {
        let keep = Keep {
            need_most: EQUAL_M,
            thin: Thin::Bound(self.points_held(narrowing)),
        };
        let (branches, root, _) = self.laden(limits, keep.thin);
        let tree = Tree::solve(&branches, root.as_ref(), narrowing, &keep);
        tree.front.within(EQUAL_M).map_or(0.0, |point| point.cost)
    }
}

/// The laterals of a station that cannot be served.
pub(super) fn given_up<'f>(front: &'f Front, limits: &SizeLimits) -> Option<&'f FrontPoint> {
    let least = front.points.first()?;
    front.within(least.need_m + limits.short_slack_m.max(0.0))
}

/// Sum of a figure of the pipes from the source to each pipe's lower end.
pub(super) fn along(
    order: &[usize],
    parent: &[Option<usize>],
    figure: impl Fn(usize) -> f64,
) -> Vec<f64> {
    let mut sum = vec![0.0; parent.len()];
    for &pipe in order {
        sum[pipe] = parent[pipe].map_or(0.0, |up| sum[up]) + figure(pipe);
    }
    sum
}

/// Length from the source to the farthest end behind each pipe.
fn farthest(order: &[usize], parent: &[Option<usize>], length: impl Fn(usize) -> f64) -> Vec<f64> {
    let mut farthest = along(order, parent, length);
    for &pipe in order.iter().rev() {
        if let Some(up) = parent[pipe] {
            farthest[up] = farthest[up].max(farthest[pipe]);
        }
    }
    farthest
}

/// The sum at a station's valve.
pub(super) fn at(sum: &[f64], station: &StationDemand) -> f64 {
    station
        .at_pipe
        .and_then(|pipe| sum.get(pipe))
        .copied()
        .unwrap_or(0.0)
}
