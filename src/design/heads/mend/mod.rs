//! Mending: heads that stand already are kept where they are good, and changed at least cost where they are not.
//!
//! For the retrofit of an old system, and for a layout that a person pinned, moved, took from or added to by hand. Turf
//! area by turf area: faults first; then, where a floor or limit of the rules fails, settings, other models, other places
//! and new heads, in that order and no further than needed; at last the area laid out anew. Judged with every head at its
//! rated pressure.

mod aim;
mod anew;
mod area;
mod changes;
mod classes;
mod crew;
mod faults;
mod goal;
mod order;
mod piece;
mod rain;
mod seat;
mod settings;
mod spots;
mod stages;
mod state;
#[cfg(test)]
mod tests;
mod undo;
mod verdict;
mod yard;

use crate::brief::{Catalogue, Rules};
use crate::design::model::Head;
use crate::finding::Finding;
use crate::site::Parcel;
use geo::Coord;
use state::State;
use yard::Job;

/// What may be done to a head that stands already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Freedom {
    /// Nothing.
    Fixed,
    /// Nozzle, sector and radius may be set, and another model may stand in the same place.
    Set,
    /// It may also be moved or taken out.
    Moved,
}

/// A head that stands already.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The head.
    pub head: Head,
    /// What may be done to it.
    pub freedom: Freedom,
}

/// What a change of one head costs, in any one currency; below 0 counts as 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChangePrices {
    /// Another nozzle, sector or radius.
    pub set: f64,
    /// Another model in the same place.
    pub replace: f64,
    /// Taking it out.
    pub remove: f64,
    /// Another place, newly set.
    pub moved: f64,
    /// A new head.
    pub added: f64,
}

/// What is to be mended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MendTask<'a> {
    /// The heads that stand, on all turf of the parcel.
    pub standing: &'a [Standing],
    /// What changes cost.
    pub prices: ChangePrices,
    /// Whether heads may be added.
    pub may_add: bool,
    /// Places where a person took a head away: none comes to stand within half its radius of one.
    pub keep_clear: &'a [Coord<f64>],
    /// Whether turf that meets floor and limits is left alone but for faults of single heads; else ground that stays dry
    /// somewhere on it, where a head was taken away or moved, is mended too.
    pub only_where_needed: bool,
}

/// Heads as mended.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mended {
    /// The heads: those kept in the order in which they stood, then those added.
    pub heads: Vec<Head>,
    /// The standing head that each was, as its place in the task; `None` for one added.
    pub from: Vec<Option<usize>>,
    /// Turf that stays short of the rules (`mend_short`), and faults of heads that may not be changed.
    pub findings: Vec<Finding>,
}

/// Times over all turf areas: heads of one water another.
const ROUNDS: usize = 2;

/// Mends the heads that stand on a parcel.
pub fn mend(parcel: &Parcel, catalogue: &Catalogue, rules: &Rules, task: &MendTask) -> Mended {
    let rules = &super::roots_weight::weighed(rules, parcel);
    let classes = super::classes::classes(catalogue);
    let task = &MendTask {
        prices: task.prices.sane(),
        ..*task
    };
    let job = Job {
        parcel,
        catalogue,
        rules,
        classes: &classes,
        task,
    };
    let mut state = State::of(&job);
    for round in 0..ROUNDS {
        let mut changed = false;
        for turf in 0..parcel.turf.len() {
            if round == 0 || state.fell_short(&job, turf) {
                changed |= state.mend_area(&job, turf);
            }
        }
        if !changed {
            break;
        }
    }
    state.finished(&job)
}

impl ChangePrices {
    /// Without what is no price.
    fn sane(self) -> Self {
        let sane = |price: f64| {
            if price.is_finite() {
                price.max(0.0)
            } else {
                0.0
            }
        };
        Self {
            set: sane(self.set),
            replace: sane(self.replace),
            remove: sane(self.remove),
            moved: sane(self.moved),
            added: sane(self.added),
        }
    }
}
