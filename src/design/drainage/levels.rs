//! Inverts by dynamic programming over absolute elevations.
//!
//! The grid is one of elevations, not of depths: with depths every pipe would be forced to fall by a whole step of the
//! ground's own making, and drains would breed. State of a node: its level, and whether water can leave it downwards
//! into the part already seen. The levels are read back in `trace.rs`. Kin: dynamic programmes for sewers, Mays and Yen 1975 (from memory).

mod trace;

use super::{Band, GradeRules, LevelPipe};

/// What one drain weighs beside a square metre of trench side dug.
const DRAIN: f64 = 1e6;
/// What one pipe without its grade weighs.
const RELAXED: f64 = 1e9;
/// Most levels searched at one node; wider bands are searched on a coarser grid.
const LEVELS_MOST: f64 = 2000.0;

/// The levels found, in steps of the grid.
pub(super) struct Chosen {
    pub(super) step_m: f64,
    pub(super) level: Vec<i64>,
    /// Steps each pipe has to fall by, by pipe; `None` for a pipe that closes a ring.
    pub(super) fall: Vec<Option<i64>>,
    pub(super) relaxed: usize,
}

/// The way from a node towards the root.
#[derive(Clone, Copy)]
struct Up {
    parent: usize,
    pipe: usize,
}

/// Least cost of everything behind a node, by its level.
struct Costs {
    first: i64,
    /// Nothing behind the node lies lower: water would stand here.
    dry: Vec<f64>,
    /// Water leaves the node into the part behind it.
    wet: Vec<f64>,
}

impl Costs {
    fn at(&self, level: i64) -> (f64, f64) {
        usize::try_from(level - self.first)
            .ok()
            .filter(|&index| index < self.dry.len())
            .map_or((f64::INFINITY, f64::INFINITY), |index| {
                (self.dry[index], self.wet[index])
            })
    }

    fn last(&self) -> i64 {
        self.first + self.dry.len() as i64 - 1
    }

    /// Cost of the node lying above the next one: it needs no drain.
    fn above(&self, level: i64) -> f64 {
        let (dry, wet) = self.at(level);
        dry.min(wet)
    }

    /// Cost of the node lying below the next one: it needs a drain if nothing lies lower still.
    fn below(&self, level: i64) -> f64 {
        let (dry, wet) = self.at(level);
        (dry + DRAIN).min(wet)
    }
}

/// Chooses a level for every node: fewest pipes without grade, fewest drains, least digging.
pub(super) fn choose(bands: &[Band], pipes: &[LevelPipe], rules: &GradeRules) -> Chosen {
    let step_m = step(bands, rules);
    let (order, up) = spanning(bands.len(), pipes);
    let fall = falls(&order, &up, pipes, rules, step_m);
    let mut costs = own_costs(bands, pipes, step_m);
    for &node in order.iter().rev() {
        if let Some(Up { parent, pipe }) = up[node] {
            let joined = join(&costs[parent], &costs[node], fall[pipe].unwrap_or(0));
            costs[parent] = joined;
        }
    }
    let (level, relaxed) = trace::back(&order, &up, &fall, &costs);
    Chosen {
        step_m,
        level,
        fall,
        relaxed,
    }
}

fn step(bands: &[Band], rules: &GradeRules) -> f64 {
    let widest_m = bands
        .iter()
        .map(|band| band.top_m - band.bottom_m)
        .fold(0.0, f64::max);
    let wanted_m = if rules.step_m.is_finite() {
        rules.step_m.clamp(0.0005, 0.05)
    } else {
        0.002
    };
    wanted_m.max(widest_m / LEVELS_MOST)
}

/// Nodes in an order in which every node comes after its parent, and each one's way up.
fn spanning(nodes: usize, pipes: &[LevelPipe]) -> (Vec<usize>, Vec<Option<Up>>) {
    let mut around = vec![Vec::new(); nodes];
    for (pipe, ends) in pipes.iter().enumerate() {
        around[ends.from].push((ends.to, pipe));
        around[ends.to].push((ends.from, pipe));
    }
    let (mut order, mut up, mut seen) = (Vec::new(), vec![None; nodes], vec![false; nodes]);
    for root in 0..nodes {
        if seen[root] {
            continue;
        }
        seen[root] = true;
        let mut next = order.len();
        order.push(root);
        while let Some(&node) = order.get(next) {
            next += 1;
            for &(other, pipe) in &around[node] {
                if !seen[other] {
                    seen[other] = true;
                    up[other] = Some(Up { parent: node, pipe });
                    order.push(other);
                }
            }
        }
    }
    (order, up)
}

/// Steps each pipe must fall by: the difference of the rounded falls at its two distances from the root, so that what
/// rounding takes from one pipe it gives to the next.
fn falls(
    order: &[usize],
    up: &[Option<Up>],
    pipes: &[LevelPipe],
    rules: &GradeRules,
    step_m: f64,
) -> Vec<Option<i64>> {
    let mut distance_m = vec![0.0; up.len()];
    let mut fall = vec![None; pipes.len()];
    let steps = |length_m: f64| (length_m * rules.grade / step_m).round() as i64;
    for &node in order {
        if let Some(Up { parent, pipe }) = up[node] {
            distance_m[node] = distance_m[parent] + pipes[pipe].length_m;
            fall[pipe] = Some(steps(distance_m[node]) - steps(distance_m[parent]));
        }
    }
    fall
}

/// Digging at each level of each node, before anything behind it is counted.
fn own_costs(bands: &[Band], pipes: &[LevelPipe], step_m: f64) -> Vec<Costs> {
    // Half of every pipe that meets there is dug to the node's depth; the hair keeps lone nodes up.
    let mut width_m = vec![1e-6; bands.len()];
    for pipe in pipes {
        width_m[pipe.from] += pipe.length_m / 2.0;
        width_m[pipe.to] += pipe.length_m / 2.0;
    }
    bands
        .iter()
        .zip(width_m)
        .map(|(band, width_m)| {
            let (first, last) = range(band, step_m);
            let digging = |level: i64| (band.top_m - level as f64 * step_m).max(0.0) * width_m;
            let dry: Vec<f64> = (first..=last).map(digging).collect();
            let wet = vec![f64::INFINITY; dry.len()];
            Costs { first, dry, wet }
        })
        .collect()
}

/// First and last level within a band; a band between two levels gets the one below its top.
fn range(band: &Band, step_m: f64) -> (i64, i64) {
    if band.fixed {
        let level = (band.top_m / step_m).round() as i64;
        return (level, level);
    }
    let last = (band.top_m / step_m + 1e-6).floor() as i64;
    let first = (band.bottom_m / step_m - 1e-6).ceil() as i64;
    (first.min(last), last)
}

/// Costs of a node with one more branch behind it, whose pipe must fall by `fall` steps one way or the other.
fn join(node: &Costs, branch: &Costs, fall: i64) -> Costs {
    let higher = Rising::new(branch);
    let lower = Falling::new(branch);
    let mut dry = Vec::with_capacity(node.dry.len());
    let mut wet = Vec::with_capacity(node.dry.len());
    for (index, (&own_dry, &own_wet)) in node.dry.iter().zip(&node.wet).enumerate() {
        let level = node.first + index as i64;
        let (level_dry, level_wet) = branch.at(level);
        let flat = if fall == 0 { 0.0 } else { RELAXED };
        let gap = fall.max(1);
        let keeps = (higher.from(level + gap))
            .min(higher.from(level + 1) + RELAXED)
            .min(level_dry + flat);
        let empties = (lower.to(level - gap))
            .min(lower.to(level - 1) + RELAXED)
            .min(level_wet + flat);
        dry.push(own_dry + keeps);
        wet.push((own_dry + empties).min(own_wet + keeps.min(empties)));
    }
    Costs {
        first: node.first,
        dry,
        wet,
    }
}

/// Least cost of a branch at a level or any higher one.
struct Rising {
    first: i64,
    least: Vec<f64>,
}

impl Rising {
    fn new(branch: &Costs) -> Self {
        let mut least: Vec<f64> = (branch.first..=branch.last())
            .map(|level| branch.above(level))
            .collect();
        for index in (1..least.len()).rev() {
            least[index - 1] = least[index - 1].min(least[index]);
        }
        Self {
            first: branch.first,
            least,
        }
    }

    fn from(&self, level: i64) -> f64 {
        let index = usize::try_from(level - self.first).unwrap_or(0);
        self.least.get(index).copied().unwrap_or(f64::INFINITY)
    }
}

/// Least cost of a branch at a level or any lower one.
struct Falling {
    first: i64,
    least: Vec<f64>,
}

impl Falling {
    fn new(branch: &Costs) -> Self {
        let mut least: Vec<f64> = (branch.first..=branch.last())
            .map(|level| branch.below(level))
            .collect();
        for index in 1..least.len() {
            least[index] = least[index].min(least[index - 1]);
        }
        Self {
            first: branch.first,
            least,
        }
    }

    fn to(&self, level: i64) -> f64 {
        let Ok(index) = usize::try_from(level - self.first) else {
            return f64::INFINITY;
        };
        let last = self.least.len().saturating_sub(1);
        self.least
            .get(index.min(last))
            .copied()
            .unwrap_or(f64::INFINITY)
    }
}
