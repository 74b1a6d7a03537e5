//! Costs of the part of a section behind a node, by the level of that node.

use super::{Band, LevelPipe};

/// What one drain weighs beside a square metre of trench side dug.
pub(super) const DRAIN: f64 = 1e6;
/// What one pipe without its grade weighs.
pub(super) const RELAXED: f64 = 1e9;

/// Least cost of everything behind a node, by its level.
pub(super) struct Costs {
    pub(super) first: i64,
    /// Nothing behind the node lies lower: water would stand here.
    dry: Vec<f64>,
    /// Water leaves the node into the part behind it.
    wet: Vec<f64>,
}

impl Costs {
    pub(super) fn at(&self, level: i64) -> (f64, f64) {
        usize::try_from(level - self.first)
            .ok()
            .filter(|&index| index < self.dry.len())
            .map_or((f64::INFINITY, f64::INFINITY), |index| {
                (self.dry[index], self.wet[index])
            })
    }

    pub(super) fn last(&self) -> i64 {
        self.first + self.dry.len() as i64 - 1
    }

    /// Adds what hangs on the node; a level that it does not know costs what its nearest does, and a lost grade.
    pub(super) fn take_on(&mut self, hung: &Hanging) {
        let last = hung.cost.len() as i64 - 1;
        for (index, dry) in self.dry.iter_mut().enumerate() {
            let at = self.first + index as i64 - hung.first;
            let known = usize::try_from(at.clamp(0, last.max(0))).unwrap_or(0);
            let strange = if (0..=last).contains(&at) {
                0.0
            } else {
                RELAXED
            };
            *dry += hung.cost.get(known).copied().unwrap_or(0.0) + strange;
        }
    }

    /// Cost of the node lying above the next one: it needs no drain.
    pub(super) fn above(&self, level: i64) -> f64 {
        let (dry, wet) = self.at(level);
        dry.min(wet)
    }

    /// Cost of the node lying below the next one: it needs a drain if nothing lies lower still.
    pub(super) fn below(&self, level: i64) -> f64 {
        let (dry, wet) = self.at(level);
        (dry + DRAIN).min(wet)
    }

    /// The cost of a whole section by the level of this, its first node.
    pub(super) fn hung_on(&self, node: usize) -> Hanging {
        Hanging {
            node,
            first: self.first,
            cost: (self.first..=self.last())
                .map(|level| self.below(level))
                .collect(),
        }
    }
}

/// What hangs on a node beside the section itself: its least cost by the node's level, from `first` on.
#[derive(Debug, Clone, PartialEq)]
pub(in super::super) struct Hanging {
    pub(in super::super) node: usize,
    first: i64,
    cost: Vec<f64>,
}

/// Digging at each level of each node, before anything behind it is counted.
pub(super) fn own_costs(bands: &[Band], pipes: &[LevelPipe], step_m: f64) -> Vec<Costs> {
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
pub(super) fn join(node: &Costs, branch: &Costs, fall: i64) -> Costs {
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
