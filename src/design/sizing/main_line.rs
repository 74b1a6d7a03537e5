//! The shared main and the laterals of all stations, which run one at a time.
//!
//! By Hazen and Williams a pipe takes `r q^1.852` from a station's flow `q`, with `r` the pipe's alone. Divided by its
//! own `q^1.852`, what a station leaves over for the main becomes a resistance, the same for every station, and the
//! curves of laterals add up over the tree of mains as heads do in a lateral. Resistances are given as the head lost at
//! the greatest flow of any station. Fittings are taken as resistance too, fitted at the greatest flow in their pipe:
//! at a lesser flow they lose less than that says, so a choice errs to the safe side. Fitted at the least flow instead
//! the same programme bounds what the best sizes cost. Stations that run together and looped mains are not here.
//!
//! By Darcy and Weisbach a pipe has no such `r`. It is given the greatest that any of its stations asks for (`loss.rs`), so that
//! no station loses more than it is charged; in the bound the least.

mod flows;
mod resistance;

use super::SizeLimits;
use super::admissible::Broken;
use super::lateral::Front;
use super::loss::resistances_are_exact;
use super::tree::ordered;
use crate::brief::PipeSize;
use resistance::{Fitted, Line, along, at, given_up};

/// Shares of the greatest flow from which stations count in a bound.
const BOUND_SHARES: [f64; 4] = [0.0, 0.3, 0.6, 0.9];

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

/// Chooses the cheapest sizes of the main and of all laterals together.
///
/// Exact where there are no fittings and no curve grows too long; [`Sizing::bound`] is proven from below in any case. A
/// station that even the widest pipe leaves short gets the sizes that [`SizeLimits::short_slack_m`] describes and is
/// named in [`Sizing::short`]. Without any size on offer every station is short without end and nothing is chosen.
pub fn choose(main: &MainProblem, sizes: &[PipeSize], limits: &SizeLimits) -> Sizing {
    if sizes.is_empty() {
        return nothing(main);
    }
    let mut broken = Vec::new();
    let line = Line::new(main, sizes, limits, Fitted::Greatest, &mut broken);
    let (picked, exact) = line.pick(limits, &mut broken);
    let mut sizing = line.settle(picked, limits);
    broken.sort_unstable();
    sizing.broken = broken;
    let narrowing = limits.narrowing && !sizing.broken.contains(&Broken::Narrowing);
    let no_fittings = main.pipes.iter().all(|pipe| pipe.minor_k == 0.0);
    sizing.bound = if exact && no_fittings && resistances_are_exact(sizes) {
        sizing.cost
    } else {
        bound(&line, sizes, limits, narrowing).min(sizing.cost)
    };
    sizing.optimal = sizing.cost <= sizing.bound * (1.0 + 1e-12) + 1e-9;
    sizing
}

/// The greatest of some bounds: with fittings at the least flow of the stations that draw a share of the most or more, and
/// nothing asked for by the others. Small stations fit little and seldom bind; large ones alone bind harder.
fn bound(line: &Line, sizes: &[PipeSize], limits: &SizeLimits, narrowing: bool) -> f64 {
    let main = line.problem;
    let flows = main.stations.iter().map(|station| station.flow_m3s);
    let most_m3s = flows.fold(0.0, f64::max);
    let of = |share: &f64| {
        let fitted = Fitted::Least(share * most_m3s);
        let easier = Line::new(main, sizes, limits, fitted, &mut Vec::new());
        easier.short_as(line, limits).bound(limits, narrowing)
    };
    BOUND_SHARES.iter().map(of).fold(0.0, f64::max)
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

impl Line<'_> {
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

#[cfg(test)]
mod tests;
