//! Low points and summits of a graph of levels, and what runs to each low point.
//!
//! Nodes are taken up from the lowest. Where two basins meet, the one with the higher low ends there: it is a low point
//! of its own if the meeting place is at least the tolerance above it, otherwise it belongs to the other basin.

use super::{DrainPoint, GradeRules, LevelPipe};

/// A low point and the nodes of its basin, up to the rim.
#[derive(Debug, Clone, PartialEq)]
pub struct Basin {
    /// The lowest node; of several, the first.
    pub low: usize,
    /// The nodes of the basin, among them those of shallower basins within.
    pub members: Vec<usize>,
}

/// Sets of nodes that grow together.
pub(super) struct Sets {
    up: Vec<usize>,
}

impl Sets {
    pub(super) fn new(count: usize) -> Self {
        Self {
            up: (0..count).collect(),
        }
    }

    pub(super) fn root(&mut self, node: usize) -> usize {
        let mut root = node;
        while self.up[root] != root {
            self.up[root] = self.up[self.up[root]];
            root = self.up[root];
        }
        root
    }

    /// Puts the second set into the first.
    pub(super) fn join(&mut self, first: usize, second: usize) {
        let (first, second) = (self.root(first), self.root(second));
        self.up[second] = first;
    }
}

/// What the sweep from the lowest node upwards finds.
struct Swept {
    basins: Vec<Basin>,
    /// Of every node, the low point that water from it runs to, shallow lows counted as levelled.
    runs_to: Vec<usize>,
}

/// The low points of a graph at least `tolerance_m` below the rim of their basin, by rising node; levels in metres.
///
/// Every connected part has at least one. Edges that name no node are passed over.
pub fn basins(level_m: &[f64], edges: &[(usize, usize)], tolerance_m: f64) -> Vec<Basin> {
    sweep(level_m, edges, tolerance_m).basins
}

fn sweep(level_m: &[f64], edges: &[(usize, usize)], tolerance_m: f64) -> Swept {
    let count = level_m.len();
    // Without any tolerance every node would end a basin of its own.
    let tolerance_m = tolerance_m.max(1e-6);
    let around = neighbours(count, edges);
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| level_m[a].total_cmp(&level_m[b]).then(a.cmp(&b)));
    let mut sets = Sets::new(count);
    let low: Vec<usize> = (0..count).collect();
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); count];
    let mut taken = vec![false; count];
    let mut runs_to: Vec<usize> = (0..count).collect();
    let mut levelled: Vec<Option<usize>> = vec![None; count];
    let mut found = Vec::new();
    for &node in &order {
        taken[node] = true;
        members[node] = vec![node];
        let lowest = around[node].iter().copied().filter(|&other| taken[other]);
        if let Some(next) =
            lowest.min_by(|&a, &b| level_m[a].total_cmp(&level_m[b]).then(a.cmp(&b)))
        {
            runs_to[node] = runs_to[next];
        }
        for &other in around[node].iter().filter(|&&other| taken[other]) {
            let (here, there) = (sets.root(node), sets.root(other));
            if here == there {
                continue;
            }
            let first = precedes(level_m, low[here], low[there]);
            let (kept, ended) = if first { (here, there) } else { (there, here) };
            if level_m[node] - level_m[low[ended]] >= tolerance_m {
                found.push(Basin {
                    low: low[ended],
                    members: members[ended].clone(),
                });
            } else {
                levelled[low[ended]] = Some(low[kept]);
            }
            sets.join(kept, ended);
            let moved = std::mem::take(&mut members[ended]);
            members[kept].extend(moved);
        }
    }
    for node in 0..count {
        if sets.root(node) == node {
            found.push(Basin {
                low: low[node],
                members: std::mem::take(&mut members[node]),
            });
        }
    }
    found.sort_by_key(|basin| basin.low);
    for place in &mut runs_to {
        // A levelled low lies after the one it runs on to in the order, so this ends.
        while let Some(next) = levelled[*place].filter(|next| next != place) {
            *place = next;
        }
    }
    Swept {
        basins: found,
        runs_to,
    }
}

fn precedes(level_m: &[f64], a: usize, b: usize) -> bool {
    level_m[a].total_cmp(&level_m[b]).then(a.cmp(&b)).is_le()
}

fn neighbours(count: usize, edges: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut around = vec![Vec::new(); count];
    for &(a, b) in edges {
        if a < count && b < count && a != b {
            around[a].push(b);
            around[b].push(a);
        }
    }
    around
}

/// A drain at every low point, with the pipe that runs to it.
pub fn drains(invert_m: &[f64], pipes: &[LevelPipe], rules: &GradeRules) -> Vec<DrainPoint> {
    let edges: Vec<(usize, usize)> = pipes.iter().map(|pipe| (pipe.from, pipe.to)).collect();
    let swept = sweep(invert_m, &edges, rules.tolerance_m);
    let mut litres = vec![0.0; invert_m.len()];
    for pipe in pipes {
        let lower = if precedes(invert_m, pipe.from, pipe.to) {
            pipe.from
        } else {
            pipe.to
        };
        litres[swept.runs_to[lower]] += pipe.length_m * pipe.bore_area_m2 * 1000.0;
    }
    let voids = if rules.gravel_voids > 0.0 {
        rules.gravel_voids.min(1.0)
    } else {
        1.0
    };
    swept
        .basins
        .iter()
        .map(|basin| DrainPoint {
            node: basin.low,
            drained_l: litres[basin.low],
            gravel_l: litres[basin.low] / voids,
        })
        .collect()
}

/// The lowest of the low points, where pipe that need not drain is rinsed; what runs out is led away, so no gravel.
pub fn flush_point(
    invert_m: &[f64],
    pipes: &[LevelPipe],
    rules: &GradeRules,
) -> Option<DrainPoint> {
    let lows = drains(invert_m, pipes, rules).into_iter();
    let lowest = lows.min_by(|a, b| {
        invert_m[a.node]
            .total_cmp(&invert_m[b.node])
            .then(a.node.cmp(&b.node))
    });
    lowest.map(|low| DrainPoint {
        gravel_l: 0.0,
        ..low
    })
}

/// Summits at which pipes meet, node 0 left out: one node for each, by rising node.
pub fn highs(invert_m: &[f64], edges: &[(usize, usize)], tolerance_m: f64) -> Vec<usize> {
    let around = neighbours(invert_m.len(), edges);
    let upside_down: Vec<f64> = invert_m.iter().map(|level_m| -level_m).collect();
    let mut highs: Vec<usize> = basins(&upside_down, edges, tolerance_m)
        .iter()
        .filter_map(|summit| {
            let top_m = invert_m[summit.low];
            let level = summit.members.iter().copied();
            level
                .filter(|&node| invert_m[node] >= top_m && node != 0 && around[node].len() > 1)
                .min()
        })
        .collect();
    highs.sort_unstable();
    highs.dedup();
    highs
}
