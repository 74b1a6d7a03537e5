//! From the least costs back to the levels that have them.

use super::costs::{Costs, DRAIN, RELAXED};
use super::{Searched, Up};

/// One way a branch may lie beside its node.
struct Way {
    cost: f64,
    level: i64,
    branch_wet: bool,
    node_wet: bool,
    relaxed: bool,
}

/// Every way a branch may lie when its node lies at `level`.
fn ways(branch: &Costs, level: i64, fall: i64) -> impl Iterator<Item = Way> + '_ {
    (branch.first..=branch.last()).flat_map(move |other| {
        let (dry, wet) = branch.at(other);
        let relaxed = (other - level).abs() < fall;
        let price = if relaxed { RELAXED } else { 0.0 };
        [(dry, false), (wet, true)].map(|(cost, branch_wet)| {
            let drain = if other < level && !branch_wet {
                DRAIN
            } else {
                0.0
            };
            Way {
                cost: cost + price + drain,
                level: other,
                branch_wet,
                node_wet: other < level || (other == level && branch_wet),
                relaxed,
            }
        })
    })
}

/// Walks the least cost back from the roots: the level of every node, and how many pipes lost their grade.
pub(super) fn back(searched: &Searched) -> (Vec<i64>, usize) {
    let Searched {
        order,
        up,
        fall,
        costs,
    } = searched;
    let mut branches = vec![Vec::new(); up.len()];
    for &node in order {
        if let Some(Up { parent, pipe }) = up[node] {
            branches[parent].push((node, fall[pipe].unwrap_or(0)));
        }
    }
    let mut level = vec![0; up.len()];
    let mut wet = vec![false; up.len()];
    let mut relaxed = 0;
    for &node in order {
        if up[node].is_none() {
            (level[node], wet[node]) = best_root(&costs[node]);
        }
        for (branch, way) in best_ways(&branches[node], costs, level[node], wet[node]) {
            level[branch] = way.level;
            wet[branch] = way.branch_wet;
            relaxed += usize::from(way.relaxed);
        }
    }
    (level, relaxed)
}

fn best_root(costs: &Costs) -> (i64, bool) {
    let mut best = (f64::INFINITY, costs.first, false);
    for level in costs.first..=costs.last() {
        let (dry, wet) = costs.at(level);
        for (cost, is_wet) in [(dry + DRAIN, false), (wet, true)] {
            if cost < best.0 {
                best = (cost, level, is_wet);
            }
        }
    }
    (best.1, best.2)
}

/// The cheapest way of each branch, such that water leaves the node through at least one of them if it has to.
fn best_ways(
    branches: &[(usize, i64)],
    costs: &[Costs],
    level: i64,
    wet: bool,
) -> Vec<(usize, Way)> {
    let cheapest = |branch: usize, fall: i64, emptying: bool| {
        ways(&costs[branch], level, fall)
            .filter(|way| way.node_wet == emptying)
            .reduce(|best, way| if way.cost < best.cost { way } else { best })
            .filter(|way| way.cost.is_finite())
    };
    let mut chosen = Vec::new();
    let mut cheapest_turn: Option<(f64, usize, Way)> = None;
    let mut emptied = false;
    for &(branch, fall) in branches {
        let (keeps, empties) = (cheapest(branch, fall, false), cheapest(branch, fall, true));
        let (way, turned) = match (keeps, empties) {
            (Some(keeps), Some(empties)) if wet && empties.cost <= keeps.cost => (empties, None),
            (Some(keeps), Some(empties)) => (keeps, Some(empties)),
            (Some(keeps), None) => (keeps, None),
            (None, Some(empties)) => (empties, None),
            (None, None) => continue,
        };
        emptied |= way.node_wet;
        if let Some(turned) = turned {
            let extra = turned.cost - way.cost;
            if cheapest_turn.as_ref().is_none_or(|best| extra < best.0) {
                cheapest_turn = Some((extra, chosen.len(), turned));
            }
        }
        chosen.push((branch, way));
    }
    if wet
        && !emptied
        && let Some((_, index, turned)) = cheapest_turn
    {
        chosen[index].1 = turned;
    }
    chosen
}
