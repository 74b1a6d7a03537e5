//! Exchanges heads between stations: fewer of them, less pipe, more alike.
//!
//! Simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983, Science 220:671, from memory) over two moves: a head goes to
//! the station of a neighbour, or changes places with it. A station may be overdrawn on the way at a price that no
//! result is left with.

use super::ancestry::Ancestry;
use super::{HeadNeed, Limits, Load};
use crate::design::trenches::graph::chance;
use geo::Coord;
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// Nearest heads whose stations a head may go to.
const NEIGHBOURS: usize = 12;
/// Moves tried for each head in one annealing.
const TRIALS: usize = 60;
/// First and last temperature, in metres of lateral pipe.
const HEAT_M: (f64, f64) = (12.0, 0.3);
/// Stations tried to be taken away in each pass, those with least flow first, and moves tried for each head round them.
const PASSES: [(usize, usize); 3] = [(usize::MAX, TRIALS), (6, 3 * TRIALS), (6, 3 * TRIALS)];
/// Price of a station overdrawn by its whole limit, in metres of lateral pipe: while there is much moving, then to the end.
const OVERDRAWN_M: [f64; 2] = [1500.0, 40_000.0];
/// Share of the moves after which the second price holds.
const SETTLING: f64 = 0.6;

/// Heads of one class in walking order, and who shares a station with whom.
pub struct Exchange<'a> {
    ways: &'a Ancestry,
    limits: &'a Limits,
    nodes: &'a [usize],
    loads: Vec<Load>,
    near: Vec<Vec<usize>>,
    state: State,
    draws: u64,
    overdrawn_m: f64,
}

/// Members of every station in walking order, and what each costs.
#[derive(Clone)]
struct State {
    members: Vec<Vec<usize>>,
    station: Vec<usize>,
    lateral_m: Vec<f64>,
    cost: Vec<f64>,
}

impl<'a> Exchange<'a> {
    /// Sets out from a grouping. `nodes`: tree nodes of the heads, in walking order; `needs` and `at` in the same order.
    pub fn new(
        ways: &'a Ancestry,
        limits: &'a Limits,
        nodes: &'a [usize],
        needs: &[HeadNeed],
        at: &[Coord<f64>],
        members: Vec<Vec<usize>>,
    ) -> Self {
        let mut station = vec![0; nodes.len()];
        for (i, of) in members.iter().enumerate() {
            of.iter().for_each(|head| station[*head] = i);
        }
        let mut exchange = Self {
            ways,
            limits,
            nodes,
            loads: needs.iter().map(Load::of).collect(),
            near: neighbours(at),
            state: State {
                lateral_m: vec![0.0; members.len()],
                cost: vec![0.0; members.len()],
                station,
                members,
            },
            draws: 0,
            overdrawn_m: OVERDRAWN_M[0],
        };
        for i in 0..exchange.state.members.len() {
            let walk: Vec<usize> = exchange.state.members[i]
                .iter()
                .map(|h| nodes[*h])
                .collect();
            exchange.state.lateral_m[i] = ways.joining_m(&walk);
            exchange.state.cost[i] = exchange.cost(i);
        }
        exchange
    }

    /// Improves the grouping and takes stations away while that pays, down to `fewest`.
    pub fn run(mut self, fewest: usize) -> Vec<Vec<usize>> {
        let all: Vec<usize> = (0..self.nodes.len()).collect();
        self.anneal(&all, TRIALS);
        for (asked, trials) in PASSES {
            for station in self.by_flow().into_iter().take(asked) {
                if self.used() > fewest {
                    self.take_away(station, fewest, trials);
                }
            }
        }
        self.anneal(&all, TRIALS);
        let mut members = self.state.members;
        members.retain(|of| !of.is_empty());
        members
    }

    /// Takes a station away and makes room for its heads on the stations round it, if that is cheaper.
    fn take_away(&mut self, station: usize, fewest: usize, trials: usize) {
        let round = self.stations_round(self.stations_round(vec![station]));
        let others = || round.iter().filter(|other| **other != station);
        let free_lpm: f64 = others().map(|other| self.free_lpm(*other)).sum();
        let load = self.load(station);
        if load.is_none_or(|load| load.flow_lpm > free_lpm) {
            return;
        }
        let before = self.state.clone();
        let others: Vec<usize> = others().copied().collect();
        let heads: Vec<usize> = round
            .iter()
            .flat_map(|s| self.state.members[*s].clone())
            .collect();
        self.dissolve(station, &others);
        self.anneal(&heads, trials);
        let saved_m = if self.used() > fewest {
            self.limits.spare_m
        } else {
            0.0
        };
        if self.total() >= total(&before) + saved_m {
            self.state = before;
        }
    }

    /// Stations, and those of their heads' neighbours.
    fn stations_round(&self, stations: Vec<usize>) -> Vec<usize> {
        let heads = stations
            .iter()
            .flat_map(|station| &self.state.members[*station]);
        let near = heads.flat_map(|head| &self.near[*head]);
        let mut round: Vec<usize> = near.map(|head| self.state.station[*head]).collect();
        round.extend(stations);
        round.sort_unstable();
        round.dedup();
        round
    }

    /// What the heads of a station ask for together.
    fn load(&self, station: usize) -> Option<Load> {
        let loads = self.state.members[station]
            .iter()
            .map(|head| self.loads[*head]);
        loads.reduce(|a, b| a.joined(&b))
    }

    /// Flow that a station could still take on, L/min.
    fn free_lpm(&self, station: usize) -> f64 {
        let load = self.load(station);
        load.map_or(0.0, |load| (load.flow_most_lpm - load.flow_lpm).max(0.0))
    }

    /// Stations with heads, least flow first.
    fn by_flow(&self) -> Vec<usize> {
        let flow_lpm = |station: &usize| self.load(*station).map_or(0.0, |load| load.flow_lpm);
        let stations = 0..self.state.members.len();
        let mut used: Vec<usize> = stations
            .filter(|s| !self.state.members[*s].is_empty())
            .collect();
        used.sort_by(|a, b| flow_lpm(a).total_cmp(&flow_lpm(b)));
        used
    }

    fn used(&self) -> usize {
        let members = self.state.members.iter();
        members.filter(|of| !of.is_empty()).count()
    }

    fn total(&self) -> f64 {
        total(&self.state)
    }

    /// What a station costs as it is, in metres of lateral pipe; nothing without heads.
    fn cost(&self, station: usize) -> f64 {
        let Some(load) = self.load(station) else {
            return 0.0;
        };
        let cost = self.limits.cost(&load, self.state.lateral_m[station]);
        // A head that no station may carry stands alone, and that is no fault of the grouping.
        if load.heads == 1 || self.limits.allow(&load) {
            return cost;
        }
        cost + self.overdrawn_m * self.limits.overdrawn(&load)
    }

    /// Sets what overdrawing costs from now on.
    fn price_overdrawn(&mut self, overdrawn_m: f64) {
        self.overdrawn_m = overdrawn_m;
        for station in 0..self.state.members.len() {
            self.state.cost[station] = self.cost(station);
        }
    }

    fn draw(&mut self) -> f64 {
        self.draws += 1;
        chance(7, self.draws, 0)
    }

    fn pick(&mut self, of: usize) -> usize {
        ((self.draw() * of as f64) as usize).min(of - 1)
    }

    /// Anneals with moves of these heads; ends no worse than it began.
    fn anneal(&mut self, heads: &[usize], each: usize) {
        let before = self.state.clone();
        let trials = each * heads.len();
        self.price_overdrawn(OVERDRAWN_M[0]);
        for trial in 0..trials {
            let share = trial as f64 / trials as f64;
            let heat_m = HEAT_M.0 * (HEAT_M.1 / HEAT_M.0).powf(share);
            if share > SETTLING && self.overdrawn_m < OVERDRAWN_M[1] {
                self.price_overdrawn(OVERDRAWN_M[1]);
            }
            let head = heads[self.pick(heads.len())];
            let Some(other) = self.other_near(head) else {
                continue;
            };
            let (from, to) = (self.state.station[head], self.state.station[other]);
            let before = self.state.cost[from] + self.state.cost[to];
            let swap = self.draw() < 0.5;
            self.shift(head, to);
            if swap {
                self.shift(other, from);
            }
            (self.state.cost[from], self.state.cost[to]) = (self.cost(from), self.cost(to));
            let change = self.state.cost[from] + self.state.cost[to] - before;
            if change <= 0.0 || self.draw() < (-change / heat_m).exp() {
                continue;
            }
            if swap {
                self.shift(other, to);
            }
            self.shift(head, from);
            (self.state.cost[from], self.state.cost[to]) = (self.cost(from), self.cost(to));
        }
        self.price_overdrawn(f64::INFINITY);
        if self.total() > total(&before) {
            self.state = before;
        }
    }

    /// A head near this one on another station, by chance.
    fn other_near(&mut self, head: usize) -> Option<usize> {
        let count = self.near[head].len();
        if count == 0 {
            return None;
        }
        let which = self.pick(count);
        let other = self.near[head][which];
        (self.state.station[other] != self.state.station[head]).then_some(other)
    }

    /// Moves a head to another station, with the change of both stations' pipe.
    fn shift(&mut self, head: usize, to: usize) {
        let from = self.state.station[head];
        let place = self.state.members[from].partition_point(|other| *other < head);
        self.state.members[from].remove(place);
        self.state.lateral_m[from] -= self.spur_m(head, from);
        self.state.lateral_m[to] += self.spur_m(head, to);
        let place = self.state.members[to].partition_point(|other| *other < head);
        self.state.members[to].insert(place, head);
        self.state.station[head] = to;
    }

    /// Pipe that a head adds to a station it is not on, m: half the detour of the walk round the station.
    fn spur_m(&self, head: usize, station: usize) -> f64 {
        let members = &self.state.members[station];
        if members.is_empty() {
            return 0.0;
        }
        let place = members.partition_point(|other| *other < head);
        let after = self.nodes[members[place % members.len()]];
        let before = self.nodes[members[(place + members.len() - 1) % members.len()]];
        let node = self.nodes[head];
        let m = |a, b| self.ways.distance_m(a, b);
        (m(before, node) + m(node, after) - m(before, after)) / 2.0
    }

    /// Gives the heads of a station to others, each to the one it needs least pipe for, whatever that can carry.
    fn dissolve(&mut self, station: usize, others: &[usize]) {
        for head in self.state.members[station].clone() {
            let spurs = others
                .iter()
                .map(|other| (self.spur_m(head, *other), *other));
            if let Some((_, to)) = spurs.min_by(|a, b| a.0.total_cmp(&b.0)) {
                self.shift(head, to);
            }
        }
        for changed in others.iter().chain([&station]) {
            self.state.cost[*changed] = self.cost(*changed);
        }
    }
}

fn total(state: &State) -> f64 {
    state.cost.iter().sum()
}

/// The nearest other heads of each, in plan.
fn neighbours(at: &[Coord<f64>]) -> Vec<Vec<usize>> {
    let points = at.iter().enumerate();
    let tree = RTree::bulk_load(
        points
            .map(|(i, p)| GeomWithData::new([p.x, p.y], i))
            .collect(),
    );
    let near = |(i, p): (usize, &Coord<f64>)| {
        let others = tree
            .nearest_neighbor_iter(&[p.x, p.y])
            .map(|found| found.data);
        others
            .filter(|other| *other != i)
            .take(NEIGHBOURS)
            .collect()
    };
    at.iter().enumerate().map(near).collect()
}
