//! The shared main and the laterals of all stations, which run one at a time.
//!
//! By Hazen and Williams a pipe takes `r q^1.852` from a station's flow `q`, with `r` the pipe's alone. Divided by its
//! own `q^1.852`, what a station leaves over for the main becomes a resistance, the same for every station, and the
//! curves of laterals add up over the tree of mains as heads do in a lateral. Resistances are given as the head lost at
//! the greatest flow of any station. Fittings are taken as resistance too, fitted at the greatest flow in their pipe:
//! at a lesser flow they lose less than that says, so a choice errs to the safe side. Stations that run together and
//! looped mains are not here.

use super::admissible::{Broken, Duty, choices};
use super::curve::{Curve, Keep, Point, Thin};
use super::lateral::Front;
use super::loss::{FLOW_EXPONENT, friction_m, minor_m};
use super::tree::{Branch, Budget, Tree, ordered};
use super::{EQUAL_M, SizeLimits};
use crate::brief::PipeSize;

/// Most points of a station's curve that the main looks at; the final choice is from all of them.
const STATION_POINTS: usize = 60;
/// Most points held at one pipe of the main, for each class of size.
const MAIN_POINTS: usize = 1000;

/// A pipe of the main.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainPipe {
    /// The pipe before it; `None` where it starts at the source.
    pub parent: Option<usize>,
    /// Length, m.
    pub length_m: f64,
    /// Sum of the coefficients of its fittings, on its own velocity.
    pub minor_k: f64,
    /// Height of its lower end, m.
    pub down_floor_m: f64,
}

/// What a station asks of the main.
#[derive(Debug, Clone, PartialEq)]
pub struct StationDemand {
    /// Pipe of the main whose lower end is its valve; `None` where the valve sits at the source.
    pub at_pipe: Option<usize>,
    /// Flow of the station, m³/s, above 0.
    pub flow_m3s: f64,
    /// Head at the source at that flow, behind meter and backflow preventer, m above the datum.
    pub source_head_m: f64,
    /// Loss in its valve at that flow, m.
    pub valve_loss_m: f64,
    /// Its laterals.
    pub front: Front,
}

/// The main with all its stations.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MainProblem {
    /// The pipes, a tree that starts at the source.
    pub pipes: Vec<MainPipe>,
    /// Height of the source, m.
    pub source_floor_m: f64,
    /// The stations.
    pub stations: Vec<StationDemand>,
}

/// A station that does not get what it needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Short {
    /// Index of the station.
    pub station: usize,
    /// Head missing at its valve's outlet with the sizes chosen, m.
    pub missing_m: f64,
}

/// Sizes for a whole parcel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sizing {
    /// Size of each pipe of the main.
    pub main_sizes: Vec<usize>,
    /// Of each station, the size of each lateral.
    pub lateral_sizes: Vec<Vec<usize>>,
    /// Head that each station has at its valve's outlet, m above the datum.
    pub valve_head_m: Vec<f64>,
    /// Price of all pipe.
    pub cost: f64,
    /// Stations that no sizes can serve, by index.
    pub short: Vec<Short>,
    /// Rules that the main cannot keep; those of laterals are in their fronts.
    pub broken: Vec<Broken>,
    /// Whether no other sizes are cheaper; stations that are short have theirs given.
    pub optimal: bool,
    /// No sizes cost less than this; equal to `cost` if `optimal`.
    pub bound: f64,
}

/// The main in units of resistance.
struct Line<'a> {
    problem: &'a MainProblem,
    branches: Vec<Branch<Curve>>,
    /// Flow of each station over the greatest one, to the power of the law.
    weight: Vec<f64>,
    /// Least resistance on the way to each station.
    least: Vec<f64>,
}

/// Chooses the cheapest sizes of the main and of all laterals together.
///
/// Exact as long as no curve grows too long; otherwise [`Sizing::bound`] is proven from below by a second pass. A
/// station that even the widest pipe leaves short gets the sizes that [`SizeLimits::short_slack_m`] describes and is
/// named in [`Sizing::short`]. Without any size on offer every station is short without end and nothing is chosen.
pub fn choose(main: &MainProblem, sizes: &[PipeSize], limits: &SizeLimits) -> Sizing {
    if sizes.is_empty() {
        return nothing(main);
    }
    let mut broken = Vec::new();
    let line = Line::new(main, sizes, limits, &mut broken);
    let (picked, exact) = line.pick(limits, &mut broken);
    let mut sizing = line.settle(picked, limits);
    broken.sort_unstable();
    sizing.broken = broken;
    let narrowing = limits.narrowing && !sizing.broken.contains(&Broken::Narrowing);
    sizing.bound = if exact {
        sizing.cost
    } else {
        line.bound(limits, narrowing).min(sizing.cost)
    };
    sizing.optimal = sizing.cost <= sizing.bound * (1.0 + 1e-12) + 1e-9;
    sizing
}

fn nothing(main: &MainProblem) -> Sizing {
    let short = (0..main.stations.len()).map(|station| Short {
        station,
        missing_m: f64::INFINITY,
    });
    Sizing {
        lateral_sizes: vec![Vec::new(); main.stations.len()],
        valve_head_m: vec![f64::NEG_INFINITY; main.stations.len()],
        short: short.collect(),
        ..Sizing::default()
    }
}

impl<'a> Line<'a> {
    fn new(
        problem: &'a MainProblem,
        sizes: &[PipeSize],
        limits: &SizeLimits,
        broken: &mut Vec<Broken>,
    ) -> Self {
        let parents: Vec<Option<usize>> = problem.pipes.iter().map(|pipe| pipe.parent).collect();
        let (order, parent) = ordered(&parents);
        let flow_m3s = greatest_flows(problem, &order, &parent);
        let most_m3s = problem
            .stations
            .iter()
            .map(|s| s.flow_m3s)
            .fold(1e-9, f64::max);
        let floor = |pipe: Option<usize>| {
            pipe.map_or(problem.source_floor_m, |pipe| {
                problem.pipes[pipe].down_floor_m
            })
        };
        let mut branches = Vec::with_capacity(problem.pipes.len());
        for (index, pipe) in problem.pipes.iter().enumerate() {
            let flow_m3s = flow_m3s[index];
            let duty = Duty {
                pipe: index,
                length_m: pipe.length_m,
                flow_m3s,
                lowest_m: pipe.down_floor_m.min(floor(parent[index])),
            };
            let up_to_most = (most_m3s / flow_m3s.max(1e-9)).powf(FLOW_EXPONENT);
            let resistance = |size: &PipeSize| {
                friction_m(size, pipe.length_m, most_m3s)
                    + minor_m(size, pipe.minor_k, flow_m3s) * up_to_most
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
        Self {
            weight: problem.stations.iter().map(weight).collect(),
            least: problem.stations.iter().map(|s| at(&least, s)).collect(),
            branches,
            problem,
        }
    }

    /// Head at a station's outlet behind `resistance` of main, m.
    fn outlet_m(&self, station: usize, resistance: f64) -> f64 {
        let demand = &self.problem.stations[station];
        demand.source_head_m - demand.valve_loss_m - resistance * self.weight[station]
    }

    /// The branches with the stations' curves at their ends, and the curve of those at the source.
    fn laden(&self, limits: &SizeLimits, thin: Thin) -> (Vec<Branch<Curve>>, Option<Curve>, bool) {
        use super::tree::Labels;
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
        if !self.served(station) {
            let cost = given_up(front, limits).map_or(0.0, |point| point.cost);
            let slack = limits.short_slack_m.max(EQUAL_M) / self.weight[station];
            return (
                Curve(vec![Point {
                    need: -(self.least[station] + slack),
                    cost,
                    size: 0,
                }]),
                false,
            );
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
    fn served(&self, station: usize) -> bool {
        let outlet_m = self.outlet_m(station, self.least[station]);
        self.problem.stations[station]
            .front
            .within(outlet_m)
            .is_some()
    }

    /// Sizes of the main, and whether they are proven best.
    fn pick(&self, limits: &SizeLimits, broken: &mut Vec<Broken>) -> (Vec<usize>, bool) {
        let keep = Keep {
            need_most: EQUAL_M,
            thin: Thin::Drop(MAIN_POINTS),
        };
        let (branches, root, lost) = self.laden(limits, keep.thin);
        for narrowing in [limits.narrowing, false] {
            let tree = Tree::solve(&branches, root.as_ref(), narrowing, &keep);
            let exact = tree.exact && !lost;
            let sizes = tree.pick(Budget {
                need_most: 0.0,
                low_least: f64::NEG_INFINITY,
            });
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
    fn bound(&self, limits: &SizeLimits, narrowing: bool) -> f64 {
        let keep = Keep {
            need_most: EQUAL_M,
            thin: Thin::Bound(MAIN_POINTS),
        };
        let (branches, root, _) = self.laden(limits, keep.thin);
        let tree = Tree::solve(&branches, root.as_ref(), narrowing, &keep);
        tree.front.within(EQUAL_M).map_or(0.0, |point| point.cost)
    }

    /// With the main settled, the cheapest laterals of every station.
    fn settle(&self, main_sizes: Vec<usize>, limits: &SizeLimits) -> Sizing {
        let mut sizing = Sizing::default();
        let chosen: Vec<(f64, f64)> = self
            .branches
            .iter()
            .zip(&main_sizes)
            .map(|(branch, &size)| {
                let choice = branch.choices.iter().find(|choice| choice.size == size);
                choice.map_or((0.0, 0.0), |choice| (choice.loss, choice.price))
            })
            .collect();
        let parents: Vec<Option<usize>> = self.branches.iter().map(|b| b.parent).collect();
        let (order, parent) = ordered(&parents);
        let resistance = along(&order, &parent, |pipe| chosen[pipe].0);
        sizing.cost = chosen.iter().map(|choice| choice.1).sum();
        for (station, demand) in self.problem.stations.iter().enumerate() {
            let outlet_m = self.outlet_m(station, at(&resistance, demand));
            let served = demand.front.within(outlet_m);
            let point = served.or_else(|| given_up(&demand.front, limits));
            if served.is_none() {
                sizing.short.push(Short {
                    station,
                    missing_m: point.map_or(f64::INFINITY, |point| point.need_m - outlet_m),
                });
            }
            sizing.cost += point.map_or(0.0, |point| point.cost);
            sizing
                .lateral_sizes
                .push(point.map_or_else(Vec::new, |point| point.sizes.clone()));
            sizing.valve_head_m.push(outlet_m);
        }
        sizing.main_sizes = main_sizes;
        sizing
    }
}

/// The laterals of a station that cannot be served.
fn given_up<'f>(front: &'f Front, limits: &SizeLimits) -> Option<&'f super::FrontPoint> {
    let least = front.points.first()?;
    front.within(least.need_m + limits.short_slack_m.max(0.0))
}

/// Greatest flow of any station behind each pipe, m³/s.
fn greatest_flows(problem: &MainProblem, order: &[usize], parent: &[Option<usize>]) -> Vec<f64> {
    let mut flow_m3s = vec![0.0_f64; problem.pipes.len()];
    for station in &problem.stations {
        if let Some(flow) = station.at_pipe.and_then(|pipe| flow_m3s.get_mut(pipe)) {
            *flow = flow.max(station.flow_m3s);
        }
    }
    for &pipe in order.iter().rev() {
        if let Some(up) = parent[pipe] {
            flow_m3s[up] = flow_m3s[up].max(flow_m3s[pipe]);
        }
    }
    flow_m3s
}

/// Sum of a figure of the pipes from the source to each pipe's lower end.
fn along(order: &[usize], parent: &[Option<usize>], figure: impl Fn(usize) -> f64) -> Vec<f64> {
    let mut sum = vec![0.0; parent.len()];
    for &pipe in order {
        sum[pipe] = parent[pipe].map_or(0.0, |up| sum[up]) + figure(pipe);
    }
    sum
}

/// The sum at a station's valve.
fn at(sum: &[f64], station: &StationDemand) -> f64 {
    station
        .at_pipe
        .and_then(|pipe| sum.get(pipe))
        .copied()
        .unwrap_or(0.0)
}

#[cfg(test)]
mod tests;
