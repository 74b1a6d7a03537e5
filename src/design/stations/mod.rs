//! Stations: which heads share a control valve.
//!
//! Heads of one precipitation class are walked along the trench tree, and the walk is cut into stations (`pack.rs`) at the
//! least price of valves and lateral pipe. Many walks are tried (`tour.rs`), since a tree can be walked in many orders;
//! then heads are exchanged between neighbours (`exchange.rs`). Laterals of several stations may share a trench.

mod ancestry;
mod bound;
mod exchange;
mod fewer;
mod pack;
mod sharing;
mod tour;
mod walk;

use bound::{Claim, bound};

use crate::brief::Rules;
use crate::design::trenches::TrenchTree;
use ancestry::Ancestry;
use fewer::fewer;
use sharing::Sharing;
use std::collections::BTreeMap;
use tour::Tour;
use walk::Walk;

/// Price of a station (valve, wire, output of the controller), in metres of lateral pipe.
const STATION_M: f64 = 40.0;
/// What stations beyond one more than the fewest cost besides, in metres of lateral pipe: each is one more to run, to
/// inspect and to mend.
const SPARE_M: f64 = 300.0;
/// What a station all but empty costs more than a full one, in metres of lateral pipe: stations are to be alike.
const EMPTY_M: f64 = 60.0;
/// Walks tried for each class.
const TOURS: u64 = 24;

/// What a head asks of its station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadNeed {
    /// Flow to plan with, L/min.
    pub flow_lpm: f64,
    /// Pressure wanted at the nozzle, kPa.
    pub pressure_kpa: f64,
    /// Height of the ground, m.
    pub ground_m: f64,
    /// Precipitation class, as a number; classes never mix.
    pub class: usize,
    /// Trench from the source, m.
    pub path_m: f64,
    /// Flow the supply leaves a station at this head's pressure, height and distance, L/min.
    pub left_lpm: f64,
    /// Most flow of a station with this head, L/min; infinite at first, lowered where an earlier round fell short.
    pub flow_most_lpm: f64,
    /// Greatest spread of ground height of a station with this head, m; lowered where an earlier round was uneven.
    pub spread_most_m: f64,
}

/// What the heads of a station ask for together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// How many heads.
    pub heads: usize,
    /// Their flow, L/min.
    pub flow_lpm: f64,
    /// Lowest head, m.
    pub low_m: f64,
    /// Highest head, m.
    pub high_m: f64,
    /// Greatest pressure wanted at a nozzle, kPa.
    pub pressure_kpa: f64,
    /// Least flow that any of the heads allows its station, L/min.
    pub flow_most_lpm: f64,
    /// Least spread of height that any of the heads allows its station, m.
    pub spread_most_m: f64,
}

impl Load {
    /// The load of one head.
    pub fn of(need: &HeadNeed) -> Self {
        Self {
            heads: 1,
            flow_lpm: need.flow_lpm,
            low_m: need.ground_m,
            high_m: need.ground_m,
            pressure_kpa: need.pressure_kpa,
            flow_most_lpm: need.flow_most_lpm.min(need.left_lpm),
            spread_most_m: need.spread_most_m,
        }
    }

    /// Both together.
    pub fn joined(&self, other: &Self) -> Self {
        Self {
            heads: self.heads + other.heads,
            flow_lpm: self.flow_lpm + other.flow_lpm,
            low_m: self.low_m.min(other.low_m),
            high_m: self.high_m.max(other.high_m),
            pressure_kpa: self.pressure_kpa.max(other.pressure_kpa),
            flow_most_lpm: self.flow_most_lpm.min(other.flow_most_lpm),
            spread_most_m: self.spread_most_m.min(other.spread_most_m),
        }
    }
}

/// What a station may not exceed, and what one costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Most heads.
    pub heads: usize,
    /// Price of a station, in metres of lateral pipe.
    pub station_m: f64,
    /// What a station more than one over the fewest costs besides, in metres of lateral pipe.
    pub spare_m: f64,
    /// Price of a station that is all but empty over that of a full one, in metres of lateral pipe.
    pub empty_m: f64,
}

impl Limits {
    /// The limits that rules set.
    pub fn of(rules: &Rules) -> Self {
        Self {
            heads: rules.station_heads_most as usize,
            station_m: STATION_M,
            spare_m: SPARE_M,
            empty_m: EMPTY_M,
        }
    }

    /// Whether a load may be one station. What is forbidden to some heads is forbidden to more.
    pub fn allow(&self, load: &Load) -> bool {
        load.heads <= self.heads
            && load.high_m - load.low_m <= load.spread_most_m
            && load.flow_lpm <= load.flow_most_lpm
    }

    /// By what share of a limit a load goes over it, summed over the limits.
    fn overdrawn(&self, load: &Load) -> f64 {
        let over = |value: f64, most: f64| (value / most - 1.0).max(0.0);
        over(load.heads as f64, self.heads as f64)
            + over(load.high_m - load.low_m, load.spread_most_m)
            + over(load.flow_lpm, load.flow_most_lpm)
    }

    /// Price of a station whose laterals follow `lateral_m` of trench, in metres of lateral pipe.
    fn cost(&self, load: &Load, lateral_m: f64) -> f64 {
        let full = (load.flow_lpm / load.flow_most_lpm).max(load.heads as f64 / self.heads as f64);
        self.station_m + lateral_m + self.empty_m * (1.0 - full).max(0.0).powi(2)
    }
}

/// One station to be: its heads and the tree node its laterals start from.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The heads, in walking order.
    pub heads: Vec<usize>,
    /// What they ask for together.
    pub load: Load,
    /// The lowest tree node that lies above all of them; never the root.
    pub top: usize,
    /// Their class.
    pub class: usize,
}

/// Groups the heads that stand on the tree into stations, ordered by their place in the tree.
///
/// A head that no limit allows even alone becomes a station of its own; what it lacks is found when it is solved. Other
/// seeds give other groupings that are about as good.
pub fn group(tree: &TrenchTree, needs: &[HeadNeed], limits: &Limits, seed: u64) -> Vec<Group> {
    let ways = Ancestry::of(tree);
    let mut parts: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (head, branch) in branches(tree) {
        let part = parts.entry((needs[head].class, branch)).or_default();
        part.push(head);
    }
    let of_part = |((class, _), mut heads): ((usize, usize), Vec<usize>)| {
        heads.sort_unstable();
        let part = Part { class, heads };
        of_part(tree, &ways, needs, &part, limits, seed)
    };
    let mut groups: Vec<Group> = parts.into_iter().flat_map(of_part).collect();
    groups.sort_by_key(|group| (group.top, group.heads[0]));
    groups
}

/// Stations of a class, and the fewest it could have for the pressures, heights and ways through the trenches of its heads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// Stations.
    pub stations: usize,
    /// Fewest.
    pub bound: usize,
}

/// The count of each class.
pub fn counts(groups: &[Group], needs: &[HeadNeed], limits: &Limits) -> BTreeMap<usize, Count> {
    let mut classes: BTreeMap<usize, Vec<&Group>> = BTreeMap::new();
    for group in groups {
        classes.entry(group.class).or_default().push(group);
    }
    let count = |groups: Vec<&Group>| {
        let heads = groups.iter().flat_map(|group| &group.heads);
        let claims = heads.map(|head| Claim::of(&needs[*head], needs[*head].left_lpm));
        Count {
            stations: groups.len(),
            bound: bound(claims, limits),
        }
    };
    let classes = classes.into_iter();
    classes
        .map(|(class, groups)| (class, count(groups)))
        .collect()
}

/// Heads that may share stations.
struct Part {
    class: usize,
    /// In rising order.
    heads: Vec<usize>,
}

/// Heads on the tree, each with the branch at the source that it hangs on: no station reaches across the source.
fn branches(tree: &TrenchTree) -> Vec<(usize, usize)> {
    let mut branch = vec![0; tree.parents.len()];
    let mut found = Vec::new();
    for node in 0..tree.parents.len() {
        let parent = tree.parents[node];
        branch[node] = if parent == 0 { node } else { branch[parent] };
        found.extend(tree.heads[node].map(|head| (head, branch[node])));
    }
    found
}

/// The stations of a part of the heads, from the best of several walks.
fn of_part(
    tree: &TrenchTree,
    ways: &Ancestry,
    needs: &[HeadNeed],
    part: &Part,
    limits: &Limits,
    seed: u64,
) -> Vec<Group> {
    let wanted = |head: usize| part.heads.binary_search(&head).is_ok();
    let tried = (0..TOURS).map(|order| {
        let tour = Tour::of(tree, ways, order, wanted);
        let packing = pack::pack(&tour, needs, limits, &ways.path_m);
        (packing, tour)
    });
    let best = tried.reduce(|a, b| if b.0.cost < a.0.cost { b } else { a });
    let Some((packing, tour)) = best else {
        return Vec::new();
    };
    let mut nodes = tour.nodes.clone();
    nodes.sort_unstable();
    let place = |node: &usize| {
        nodes
            .binary_search(node)
            .expect("every walk passes every head")
    };
    let stretches = packing
        .cuts
        .windows(2)
        .map(|cut| &tour.nodes[cut[0]..cut[1]]);
    let members = stretches.map(|stretch| {
        let mut members: Vec<usize> = stretch.iter().map(place).collect();
        members.sort_unstable();
        members
    });
    let head_at = |node: &usize| tree.heads[*node].expect("a walk stops at heads");
    let of_walk: Vec<HeadNeed> = nodes.iter().map(|node| needs[head_at(node)]).collect();
    let at: Vec<_> = nodes.iter().map(|node| tree.positions[*node]).collect();
    let claims = of_walk.iter().map(|need| Claim::of(need, need.left_lpm));
    let fewest = bound(claims, limits);
    let mut sharing = Sharing::new(
        Walk::of(ways, &nodes),
        limits,
        &of_walk,
        &at,
        members.collect(),
    );
    fewer(&mut sharing, limits, fewest, seed);
    let group = |members: &Vec<usize>| {
        let nodes: Vec<usize> = members.iter().map(|place| nodes[*place]).collect();
        group_of(&nodes, part.class, tree, ways, needs)
    };
    let used = sharing.members.iter().filter(|members| !members.is_empty());
    used.map(group).collect()
}

/// The group of the heads at nodes given in walking order.
fn group_of(
    nodes: &[usize],
    class: usize,
    tree: &TrenchTree,
    ways: &Ancestry,
    needs: &[HeadNeed],
) -> Group {
    let heads: Vec<usize> = nodes.iter().filter_map(|node| tree.heads[*node]).collect();
    let loads = heads.iter().map(|head| Load::of(&needs[*head]));
    Group {
        load: loads
            .reduce(|a, b| a.joined(&b))
            .expect("a stretch has a head"),
        top: ways.top_of(nodes.iter().copied()),
        heads,
        class,
    }
}

#[cfg(test)]
mod tests;
