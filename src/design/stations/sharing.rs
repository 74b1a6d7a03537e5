//! Who shares a station with whom, what that costs, and what a head's change of station does to it.

use super::walk::Walk;
use super::{HeadNeed, Limits, Load};
use geo::Coord;
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// Nearest heads whose stations a head may go to.
const NEIGHBOURS: usize = 12;

/// Heads of one class in walking order, and the stations they are on.
pub struct Sharing<'a> {
    walk: Walk,
    limits: &'a Limits,
    loads: Vec<Load>,
    /// The nearest other heads of each.
    pub near: Vec<Vec<usize>>,
    /// Heads of each station, in walking order.
    pub members: Vec<Vec<usize>>,
    /// Station of each head.
    pub station: Vec<usize>,
    /// What each station costs, in metres of lateral pipe.
    pub cost: Vec<f64>,
    lateral_m: Vec<f64>,
    overdrawn_m: f64,
}

/// A station as it was.
pub struct Saved {
    station: usize,
    members: Vec<usize>,
    lateral_m: f64,
    cost: f64,
}

impl<'a> Sharing<'a> {
    /// A grouping that keeps all limits. `needs` and `at` in the order of the walk; `members`: heads of each station by
    /// their places in it.
    pub fn new(
        walk: Walk,
        limits: &'a Limits,
        needs: &[HeadNeed],
        at: &[Coord<f64>],
        members: Vec<Vec<usize>>,
    ) -> Self {
        let mut station = vec![0; walk.len()];
        for (i, of) in members.iter().enumerate() {
            of.iter().for_each(|head| station[*head] = i);
        }
        let lateral_m = members.iter().map(|of| walk.joining_m(of)).collect();
        let mut sharing = Self {
            limits,
            loads: needs.iter().map(Load::of).collect(),
            near: neighbours(at),
            lateral_m,
            walk,
            cost: vec![0.0; members.len()],
            station,
            members,
            overdrawn_m: f64::INFINITY,
        };
        let all: Vec<usize> = (0..sharing.members.len()).collect();
        sharing.price(&all);
        sharing
    }

    /// How many heads there are.
    pub fn heads(&self) -> usize {
        self.walk.len()
    }

    /// How many stations have heads.
    pub fn used(&self) -> usize {
        let members = self.members.iter();
        members.filter(|of| !of.is_empty()).count()
    }

    /// Stations with heads, least flow first.
    pub fn by_flow(&self) -> Vec<usize> {
        let flow_lpm = |station: &usize| self.load(*station).map_or(0.0, |load| load.flow_lpm);
        let stations = 0..self.members.len();
        let mut used: Vec<usize> = stations.filter(|s| !self.members[*s].is_empty()).collect();
        used.sort_by(|a, b| flow_lpm(a).total_cmp(&flow_lpm(b)));
        used
    }

    /// Stations, and those of their heads' neighbours.
    pub fn round(&self, stations: Vec<usize>) -> Vec<usize> {
        let heads = stations.iter().flat_map(|station| &self.members[*station]);
        let near = heads.flat_map(|head| &self.near[*head]);
        let mut round: Vec<usize> = near.map(|head| self.station[*head]).collect();
        round.extend(stations);
        round.sort_unstable();
        round.dedup();
        round
    }

    /// What the heads of a station ask for together.
    pub fn load(&self, station: usize) -> Option<Load> {
        let loads = self.members[station].iter().map(|head| self.loads[*head]);
        loads.reduce(|a, b| a.joined(&b))
    }

    /// Flow that a station could still take on, L/min.
    pub fn free_lpm(&self, station: usize) -> f64 {
        let load = self.load(station);
        load.map_or(0.0, |load| (load.flow_most_lpm - load.flow_lpm).max(0.0))
    }

    /// What stations cost together.
    pub fn sum(&self, stations: &[usize]) -> f64 {
        stations.iter().map(|station| self.cost[*station]).sum()
    }

    /// Reckons what stations cost, at what overdrawing one by its whole limit costs from now on.
    pub fn price_overdrawn(&mut self, stations: &[usize], overdrawn_m: f64) {
        self.overdrawn_m = overdrawn_m;
        self.price(stations);
    }

    /// Reckons what stations cost.
    pub fn price(&mut self, stations: &[usize]) {
        for &station in stations {
            self.cost[station] = self.cost_of(station);
        }
    }

    /// What a station costs as it is, in metres of lateral pipe; nothing without heads.
    fn cost_of(&self, station: usize) -> f64 {
        let Some(load) = self.load(station) else {
            return 0.0;
        };
        let cost = self.limits.cost(&load, self.lateral_m[station]);
        // A head that no station may carry stands alone, and that is no fault of the grouping.
        if load.heads == 1 || self.limits.allow(&load) {
            return cost;
        }
        cost + self.overdrawn_m * self.limits.overdrawn(&load)
    }

    /// Stations as they are, to be put back.
    pub fn save(&self, stations: &[usize]) -> Vec<Saved> {
        let saved = |station: &usize| Saved {
            station: *station,
            members: self.members[*station].clone(),
            lateral_m: self.lateral_m[*station],
            cost: self.cost[*station],
        };
        stations.iter().map(saved).collect()
    }

    /// Puts stations back as they were. All heads that were on them must still be on some of them.
    pub fn put_back(&mut self, saved: Vec<Saved>) {
        for was in saved {
            for head in &was.members {
                self.station[*head] = was.station;
            }
            self.members[was.station] = was.members;
            self.lateral_m[was.station] = was.lateral_m;
            self.cost[was.station] = was.cost;
        }
    }

    /// Moves a head to another station, with the change of both stations' pipe.
    pub fn shift(&mut self, head: usize, to: usize) {
        let from = self.station[head];
        let place = self.members[from].partition_point(|other| *other < head);
        self.members[from].remove(place);
        self.lateral_m[from] -= self.spur_m(head, from);
        self.lateral_m[to] += self.spur_m(head, to);
        let place = self.members[to].partition_point(|other| *other < head);
        self.members[to].insert(place, head);
        self.station[head] = to;
    }

    /// Pipe that a head adds to a station it is not on, m: half the detour of the walk round the station.
    pub fn spur_m(&self, head: usize, station: usize) -> f64 {
        let members = &self.members[station];
        if members.is_empty() {
            return 0.0;
        }
        let place = members.partition_point(|other| *other < head);
        let after = members[place % members.len()];
        let before = members[(place + members.len() - 1) % members.len()];
        let m = |a, b| self.walk.distance_m(a, b);
        (m(before, head) + m(head, after) - m(before, after)) / 2.0
    }
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
