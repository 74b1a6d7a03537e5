//! Relaying: the pipe of works that lie already, changed as little as may be to serve other heads.
//!
//! Trench and pipe that lie cost nothing, new trench is dear. `keep` leaves heads on the pipe they have, `shed` takes off
//! stations what they cannot carry, `seek` and `hang` join what has no station to the nearest that has room or open one
//! more, `dead` takes out what serves nothing any more, `compact` numbers the rest anew; then `levels` sets inverts and
//! drains, `sizes` the sizes. A station that fails in the end takes less in another try.

mod compact;
mod course;
mod dead;
mod draft;
mod hand;
mod hang;
mod joined;
mod keep;
mod lay;
mod levels;
mod loads;
mod runs;
mod seek;
mod serve;
mod shed;
mod sizes;
mod sound;
mod tell;
mod tries;
mod valves;
mod way;
mod ways;
mod widen;

use crate::brief::{Catalogue, Rules};
use crate::design::hydraulics::StationError;
use crate::design::model::Head;
use crate::design::pipework::fittings::set_minor_losses;
use crate::design::supply::SupplyCurve;
use crate::design::trenches::surfaces::Surfaces;
use crate::design::works::Works;
use crate::finding::Finding;
use crate::site::Parcel;
use compact::Lying;
use draft::Draft;
pub use hand::Shifts;
use loads::Wishes;
use serve::Service;
use shed::Lesson;
use std::collections::BTreeSet;
pub use tell::told;
use tries::Try;

/// Tries, each with what the one before it taught.
const TRIES: usize = 3;

/// The ground and brief that works are changed on.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// The parcel.
    pub parcel: &'a Parcel,
    /// What lies on it.
    pub surfaces: &'a Surfaces,
    /// The supply at node 0.
    pub supply: &'a SupplyCurve,
    /// The catalogue, with the law of friction of the rules.
    pub catalogue: &'a Catalogue,
    /// The rules.
    pub rules: &'a Rules,
}

/// What must stay exactly as it is: indices in the old works. What does not exist is passed over.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fixed {
    /// Pipes: course, size and depth.
    pub pipes: BTreeSet<usize>,
    /// Nodes: place and depth.
    pub nodes: BTreeSet<usize>,
    /// Valves: place and size.
    pub valves: BTreeSet<usize>,
    /// Drains.
    pub drains: BTreeSet<usize>,
}

/// What of the new works lay there before: the index in the old works of each thing, `None` where it is new.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Origin {
    /// Of each node. One that moved with its head by up to 0.3 m is still the old one.
    pub nodes: Vec<Option<usize>>,
    /// Of each pipe. Both pieces of a pipe that was cut for a tee are of the old one.
    pub pipes: Vec<Option<usize>>,
    /// Of each trench.
    pub trenches: Vec<Option<usize>>,
    /// Of each station.
    pub stations: Vec<Option<usize>>,
    /// Of each valve; one that was replaced by another size is new.
    pub valves: Vec<Option<usize>>,
    /// Of each drain.
    pub drains: Vec<Option<usize>>,
    /// Whether each pipe lay there in another size: it is dug up and replaced.
    pub resized: Vec<bool>,
}

/// Works changed to serve other heads.
#[derive(Debug, Clone, PartialEq)]
pub struct Relaid {
    /// The works. Flows and pressures of pipes and nodes are those of the old works and mean nothing.
    pub works: Works,
    /// What of them lay there before.
    pub origin: Origin,
    /// Heads that no pipe reaches, stations that get no water.
    pub findings: Vec<Finding>,
}

/// Changes works as little as may be so that they serve `heads`; `from` tells the old head that each of them was, `None`
/// where it is added. Old heads that none of them was are removed.
///
/// Where nothing changes and nothing is wrong the works come back as they were. A head that cannot be reached is on no
/// station and is told.
///
/// # Errors
/// [`StationError::Missing`] where an index in the works or heads points to nothing.
pub fn relay(
    ground: &Ground,
    old: &Works,
    heads: Vec<Head>,
    from: &[Option<usize>],
    fixed: &Fixed,
) -> Result<Relaid, StationError> {
    relay_shifted(ground, old, heads, from, (fixed, &Shifts::default()))
}

/// The same, where nodes and pipes of the old works are to lie elsewhere first.
///
/// # Errors
/// See [`relay`].
pub fn relay_shifted(
    ground: &Ground,
    old: &Works,
    heads: Vec<Head>,
    from: &[Option<usize>],
    (fixed, shifts): (&Fixed, &Shifts),
) -> Result<Relaid, StationError> {
    sound::check(ground, old, &heads)?;
    let mut lessons = vec![Lesson::default(); old.stations.len()];
    let mut best: Option<Try> = None;
    for _ in 0..TRIES {
        let tried = attempt(ground, old, &heads, from, (fixed, shifts), &lessons);
        let learned = tried.teach(old, from, &mut lessons);
        let better = best
            .as_ref()
            .is_none_or(|best| tried.fault() < best.fault());
        if better {
            best = Some(tried);
        }
        if !learned {
            break;
        }
    }
    best.map(|best| best.relaid).ok_or(StationError::NoStation)
}

fn attempt(
    ground: &Ground,
    old: &Works,
    heads: &[Head],
    from: &[Option<usize>],
    (fixed, shifts): (&Fixed, &Shifts),
    lessons: &[Lesson],
) -> Try {
    let mut draft = Draft::new(ground, old, heads.to_vec(), fixed);
    draft.shift(shifts);
    let mut loose = keep::keep(&mut draft, from);
    let wishes = Wishes::of(&draft);
    loose.extend(shed::of_other_class(&mut draft, &wishes));
    let failing = failing(&draft, &wishes);
    loose.extend(shed::overdrawn(&mut draft, &wishes, &failing, lessons));
    let lost = hang::hang_all(&mut draft, &wishes, loose);
    dead::take_out(&mut draft);
    let fed: Vec<bool> = draft
        .lots
        .iter()
        .filter(|l| !l.gone)
        .map(|l| l.fed)
        .collect();
    let mut lying = draft.compact();
    set_fittings(&mut lying);
    lying.set_inverts(ground);
    let service = Service::of(&lying, heads, &fed, &wishes, (ground, fixed));
    let judged = sizes::set(&mut lying, &service, fixed);
    lying.set_drains(ground, fixed);
    valves::set(&mut lying, &judged, fixed, ground.catalogue);
    finish(&mut lying, old);
    let flow_lpm = service.groups.iter().map(|group| group.load.flow_lpm);
    Try {
        flow_lpm: flow_lpm.collect(),
        lost: lost.iter().map(|loose| loose.heads.len()).sum(),
        relaid: Relaid {
            findings: tell::findings(&lost, &lying, &fed, heads),
            works: lying.works,
            origin: lying.origin,
        },
        judged,
    }
}

/// Whether each station breaks a rule as it lies, of those that a design would not group so.
fn failing(draft: &Draft, wishes: &Wishes) -> Vec<bool> {
    let over = |lot: &draft::Lot| {
        let load = Wishes::load(&wishes.usual, &lot.heads);
        lot.fed && load.is_some_and(|load| !wishes.limits.allow(&load))
    };
    if !draft.lots.iter().any(over) {
        return vec![false; draft.lots.len()];
    }
    let fed: Vec<bool> = draft.lots.iter().map(|lot| lot.fed).collect();
    let lying = draft.compact();
    let service = Service::of(
        &lying,
        &draft.heads,
        &fed,
        wishes,
        (draft.ground, draft.fixed),
    );
    let fails = |(station, lot): (usize, &draft::Lot)| {
        let judge = || service.judge(&lying.works.pipework, station);
        over(lot) && judge().is_none_or(|judged| judged.fault > 0.0)
    };
    draft.lots.iter().enumerate().map(fails).collect()
}

/// Minor losses anew where other pipes meet than before.
fn set_fittings(lying: &mut Lying) {
    let work = &mut lying.works.pipework;
    let mut anew = work.pipes.clone();
    set_minor_losses(&work.nodes, &mut anew);
    for (pipe, anew) in work.pipes.iter_mut().zip(anew) {
        if lying.refit.contains(&pipe.from) {
            pipe.minor_k = anew.minor_k;
        }
    }
}

/// Says which old pipes have another size, and keeps the old runs where no pipe changed.
fn finish(lying: &mut Lying, old: &Works) {
    let before = &old.pipework;
    for (i, pipe) in lying.works.pipework.pipes.iter().enumerate() {
        let was = lying.origin.pipes[i].map(|was| before.pipes[was].size);
        lying.origin.resized[i] = was.is_some_and(|was| was != pipe.size);
    }
    if lying.works.pipework.pipes == before.pipes {
        lying.works.pipework.runs.clone_from(&before.runs);
    }
}

#[cfg(test)]
mod tests;
