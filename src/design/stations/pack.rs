//! Cuts a walk into stations: the cheapest way of all to cut it, found exactly.

use super::tour::Tour;
use super::{HeadNeed, Limits, Load};

/// What stations of a walk cost, and the heads of each, as ranges of the walk.
pub struct Packing {
    /// Price, in metres of lateral pipe.
    pub cost: f64,
    /// Where each station begins in the walk; the last entry is the walk's length.
    pub cuts: Vec<usize>,
}

/// The cheapest cut of a walk into stretches that the limits allow; a head that fits nowhere stands alone.
///
/// Limits never allow a stretch whose part they forbid, so each start is tried only until the first stretch too many.
pub fn pack(tour: &Tour, needs: &[HeadNeed], limits: &Limits, path_m: &[f64]) -> Packing {
    let n = tour.heads.len();
    let mut best = vec![(f64::INFINITY, 0); n + 1];
    best[0] = (0.0, 0);
    for start in 0..n {
        let mut load: Option<Load> = None;
        let mut walked_m = 0.0;
        let mut top_m = f64::INFINITY;
        for end in start..n {
            let head = Load::of(&needs[tour.heads[end]]);
            let with = load.map_or(head, |load| load.joined(&head));
            if end > start {
                if !limits.allow(&with) {
                    break;
                }
                let meet_m = tour.meets_m[end];
                walked_m += path_m[tour.nodes[end - 1]] + path_m[tour.nodes[end]] - 2.0 * meet_m;
                top_m = top_m.min(meet_m);
            }
            load = Some(with);
            let back_m = if end > start {
                path_m[tour.nodes[start]] + path_m[tour.nodes[end]] - 2.0 * top_m
            } else {
                0.0
            };
            let cost = best[start].0 + limits.cost(&with, (walked_m + back_m) / 2.0);
            if cost < best[end + 1].0 {
                best[end + 1] = (cost, start);
            }
        }
    }
    let mut cuts = vec![n];
    while let Some(&end) = cuts.last().filter(|end| **end > 0) {
        cuts.push(best[end].1);
    }
    cuts.reverse();
    Packing {
        cost: best[n].0,
        cuts,
    }
}
