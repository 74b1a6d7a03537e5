//! Ways to build a lateral with three figures each: the greatest need, the least one, and the cost.
//!
//! Seen from the valve, a head needs what it needs itself and what is lost on the way. The greatest of these is what
//! the valve must give; how far the least lies below it is how much pressure spreads over the station. Both rise alike
//! through a pipe, so a spread once too great stays so. Long sets are cut to the cheapest way in each cell of a raster
//! of needs: what remains can be built, but may be dearer than the best.

use super::EQUAL_M;
use super::tree::{Budget, Labels};
use std::collections::BTreeSet;

/// First width of the raster's cells, m.
const CELL_M: f64 = 0.01;

/// One way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Way {
    pub(super) need: f64,
    pub(super) low: f64,
    pub(super) cost: f64,
    size: usize,
}

/// Ways of which none is beaten by another, by rising cost.
#[derive(Debug, Clone)]
pub(super) struct Ways(pub(super) Vec<Way>);

/// How sets are kept short.
#[derive(Debug, Clone, Copy)]
pub(super) struct Keep {
    pub(super) spread_most: f64,
    pub(super) need_most: f64,
    pub(super) most: usize,
}

impl Ways {
    /// A head that needs `need_m`.
    pub(super) fn head(need_m: f64) -> Self {
        Self(vec![Way {
            need: need_m,
            low: need_m,
            cost: 0.0,
            size: 0,
        }])
    }

    fn of(mut ways: Vec<Way>, most: usize) -> (Self, bool) {
        ways.sort_by(|a, b| {
            let cost = a.cost.total_cmp(&b.cost).then(a.need.total_cmp(&b.need));
            cost.then(b.low.total_cmp(&a.low))
        });
        let mut width_m = CELL_M;
        let mut lost = false;
        // Cells first: a set can be the product of two, and holding each way against each other would take too long.
        while ways.len() > 8 * most {
            ways = one_a_cell(ways, width_m);
            width_m *= 2.0;
            lost = true;
        }
        let mut kept: Vec<Way> = Vec::new();
        for way in ways {
            if !kept
                .iter()
                .any(|other| other.need <= way.need && other.low >= way.low)
            {
                kept.push(way);
            }
        }
        while kept.len() > most {
            kept = one_a_cell(kept, width_m);
            width_m *= 2.0;
            lost = true;
        }
        (Self(kept), lost)
    }
}

/// The first, cheapest way of each cell, and the one that needs least.
fn one_a_cell(ways: Vec<Way>, width_m: f64) -> Vec<Way> {
    let least = ways
        .iter()
        .map(|way| way.need)
        .fold(f64::INFINITY, f64::min);
    let mut frugal = false;
    let mut cells = BTreeSet::new();
    let cell = |value: f64| (value / width_m).floor() as i64;
    let keep = |way: &Way| {
        let first = cells.insert((cell(way.need), cell(way.low)));
        let spares = !frugal && way.need <= least;
        frugal |= spares;
        first || spares
    };
    ways.into_iter().filter(keep).collect()
}

impl Labels for Ways {
    type Keep = Keep;

    fn none() -> Self {
        Self(Vec::new())
    }

    fn free() -> Self {
        Self(vec![Way {
            need: f64::NEG_INFINITY,
            low: f64::INFINITY,
            cost: 0.0,
            size: 0,
        }])
    }

    fn join(&self, other: &Self, keep: &Keep) -> Self {
        let mut joined = Vec::with_capacity(self.0.len() * other.0.len());
        for a in &self.0 {
            for b in &other.0 {
                let way = Way {
                    need: a.need.max(b.need),
                    low: a.low.min(b.low),
                    cost: a.cost + b.cost,
                    size: 0,
                };
                if way.need - way.low <= keep.spread_most + EQUAL_M {
                    joined.push(way);
                }
            }
        }
        Self::of(joined, keep.most).0
    }

    fn merge(&self, other: &Self, keep: &Keep) -> (Self, bool) {
        let all = self.0.iter().chain(&other.0).copied();
        let few = all.filter(|way| way.need <= keep.need_most);
        Self::of(few.collect(), keep.most)
    }

    fn through(&self, size: usize, loss: f64, price: f64) -> Self {
        let through = |way: &Way| Way {
            need: way.need + loss,
            low: way.low + loss,
            cost: way.cost + price,
            size,
        };
        Self(self.0.iter().map(through).collect())
    }

    fn cheapest(&self, budget: Budget) -> Option<usize> {
        let within = |way: &&Way| {
            way.need <= budget.need_most + EQUAL_M && way.low >= budget.low_least - EQUAL_M
        };
        self.0.iter().find(within).map(|way| way.size)
    }
}
