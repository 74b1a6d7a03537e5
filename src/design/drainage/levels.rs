//! Inverts by dynamic programming over absolute elevations.
//!
//! The grid is one of elevations, not of depths: with depths every pipe would be forced to fall by a whole step of the
//! ground's own making, and drains would breed. State of a node: its level, and whether water can leave it downwards
//! into the part already seen. The levels are read back in `trace.rs`. Kin: dynamic programmes for sewers, Mays and Yen 1975 (from memory).

mod costs;
mod trace;

use super::{Band, GradeRules, LevelPipe};
pub(super) use costs::Hanging;
use costs::{Costs, join, own_costs};

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

/// Chooses a level for every node: fewest pipes without grade, fewest drains, least digging, `hanging` costs included.
///
/// Costs that hang on a node must have been told on the same `step_m`.
pub(super) fn choose(
    bands: &[Band],
    pipes: &[LevelPipe],
    rules: &GradeRules,
    step_m: f64,
    hanging: &[Hanging],
) -> Chosen {
    let searched = Searched::of(bands, pipes, rules, step_m, hanging);
    let (level, relaxed) = trace::back(&searched);
    Chosen {
        step_m,
        level,
        fall: searched.fall,
        relaxed,
    }
}

/// Least cost of a whole section by the level of its node 0, to hang on `node` of another.
pub(super) fn hung_on(
    node: usize,
    bands: &[Band],
    pipes: &[LevelPipe],
    rules: &GradeRules,
    step_m: f64,
) -> Option<Hanging> {
    let searched = Searched::of(bands, pipes, rules, step_m, &[]);
    let root = searched.costs.first()?;
    Some(root.hung_on(node))
}

/// A section walked from its far ends to its roots.
struct Searched {
    order: Vec<usize>,
    up: Vec<Option<Up>>,
    fall: Vec<Option<i64>>,
    costs: Vec<Costs>,
}

impl Searched {
    fn of(
        bands: &[Band],
        pipes: &[LevelPipe],
        rules: &GradeRules,
        step_m: f64,
        hanging: &[Hanging],
    ) -> Self {
        let (order, up) = spanning(bands.len(), pipes);
        let fall = falls(&order, &up, pipes, rules, step_m);
        let mut costs = own_costs(bands, pipes, step_m);
        for hung in hanging {
            costs[hung.node].take_on(hung);
        }
        for &node in order.iter().rev() {
            if let Some(Up { parent, pipe }) = up[node] {
                let joined = join(&costs[parent], &costs[node], fall[pipe].unwrap_or(0));
                costs[parent] = joined;
            }
        }
        Self {
            order,
            up,
            fall,
            costs,
        }
    }
}

/// The step of the grid for sections that are searched together.
pub(super) fn step_m<'a>(bands: impl Iterator<Item = &'a Band>, rules: &GradeRules) -> f64 {
    let widest_m = bands
        .map(|band| band.top_m - band.bottom_m)
        .fold(0.0, f64::max);
    let wanted_m = if rules.step_m.is_finite() {
        rules.step_m.clamp(0.000_25, 0.05)
    } else {
        GradeRules::default().step_m
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
