//! What of the old works may stay, what of the new works is old, and what changes of heads cost.

use crate::brief::{Project, Retrofit};
use crate::design::heads::mend::ChangePrices;
use crate::design::model::{Head, HeadWork, Lying, Section, ValveKind};
use crate::design::works::Works;
use crate::design::works::relay::Origin;

/// Trench that a new head and a moved one want beside what lies, m: about half the spacing of middling heads. Common
/// practice, no source; the true trench is counted once it is laid.
const TRENCH_M: (f64, f64) = (5.0, 2.0);
/// Price of a metre of trench, of setting a head and of a nozzle, where none is given: invented, as the catalogue's are.
const TRENCH_PRICE: f64 = 10.0;
const SETTING_PRICE: f64 = 8.0;
const NOZZLE_PRICE: f64 = 4.0;
/// Prices of setting a head that taking it out costs.
const REMOVAL_SHARE: f64 = 0.5;
/// Places nearer than this are one, m.
const ONE_PLACE_M: f64 = 1e-3;

/// The old works without what may not stay. Heads stay in the list: whether they are kept is decided with the heads.
pub(super) fn shorn(old: &Works, keep: Retrofit) -> Works {
    if !keep.mains {
        return Works {
            heads: old.heads.clone(),
            ..source_alone(old)
        };
    }
    let mut left = old.clone();
    if !keep.valves {
        let all: Vec<usize> = (0..old.stations.len()).collect();
        left = old.without_stations(&all);
    } else if !keep.laterals {
        left.pipework
            .pipes
            .retain(|pipe| pipe.section == Section::Main);
        left.drains.retain(|drain| drain.section == Section::Main);
        let mut used: Vec<bool> = vec![false; left.pipework.nodes.len()];
        for pipe in &left.pipework.pipes {
            (used[pipe.from], used[pipe.to]) = (true, true);
        }
        for station in &mut left.stations {
            station.heads.clear();
        }
        for node in &mut left.pipework.nodes {
            node.head = None;
        }
    }
    left
}

/// The source and nothing else.
fn source_alone(old: &Works) -> Works {
    let mut left = Works::default();
    left.pipework
        .nodes
        .extend(old.pipework.nodes.first().cloned());
    let at_source = old
        .valves
        .iter()
        .filter(|valve| valve.node == 0 && valve.kind != ValveKind::Control);
    left.valves = at_source.cloned().collect();
    left
}

/// What changes of heads cost, by the prices of the project.
pub(super) fn prices(project: &Project) -> ChangePrices {
    let prices = &project.prices;
    let trench =
        prices.trench_per_m.unwrap_or(TRENCH_PRICE) + prices.labour_backfill_per_m.unwrap_or(0.0);
    let setting = prices.labour_head.unwrap_or(SETTING_PRICE);
    let models = &project.catalogue.heads;
    let head = models.iter().map(|model| model.price).sum::<f64>() / models.len().max(1) as f64;
    ChangePrices {
        set: prices.nozzle.unwrap_or(NOZZLE_PRICE) + 0.5 * setting,
        replace: head + setting,
        remove: REMOVAL_SHARE * setting,
        moved: setting + TRENCH_M.1 * trench,
        added: head + setting + TRENCH_M.0 * trench,
    }
}

/// What of the new works lies already.
pub(super) fn lying(
    old: &Works,
    new: &Works,
    from: &[Option<usize>],
    origin: &Origin,
    old_heads: usize,
) -> Lying {
    let pipes: Vec<bool> = (0..new.pipework.pipes.len())
        .map(|pipe| origin.pipes[pipe].is_some() && !origin.resized[pipe])
        .collect();
    let mut trenches: Vec<bool> = origin.trenches.iter().map(Option::is_some).collect();
    for (pipe, lies) in new.pipework.pipes.iter().zip(&pipes) {
        if !lies {
            for &trench in &pipe.trenches {
                if let Some(dug) = trenches.get_mut(trench) {
                    *dug = false;
                }
            }
        }
    }
    let stay = from.iter().flatten().count();
    Lying {
        heads: works(&old.heads, &new.heads, from),
        heads_removed: old_heads.saturating_sub(stay),
        pipes,
        trenches,
        valves: origin.valves.iter().map(Option::is_some).collect(),
        drains: origin.drains.iter().map(Option::is_some).collect(),
        air_valves: new
            .air_valves
            .iter()
            .map(|node| origin.nodes[*node].is_some_and(|node| old.air_valves.contains(&node)))
            .collect(),
    }
}

/// The work on every head.
pub(super) fn works(old: &[Head], new: &[Head], from: &[Option<usize>]) -> Vec<HeadWork> {
    let head = |(head, from): (&Head, &Option<usize>)| {
        from.map_or(HeadWork::New, |of| work(&old[of], head))
    };
    new.iter().zip(from).map(head).collect()
}

/// The old head that each head was, where some of the mended ones were left out on the way and the rest stand in order.
pub(super) fn found_again(
    new: &[Head],
    mended: &[Head],
    from: &[Option<usize>],
) -> Vec<Option<usize>> {
    let mut next = 0;
    let mut found = Vec::new();
    for head in new {
        let at = mended[next..]
            .iter()
            .position(|other| other.position == head.position);
        found.push(at.and_then(|at| from.get(next + at).copied().flatten()));
        next += at.map_or(0, |at| at + 1);
    }
    found
}

/// What is done to a head that stood there before.
fn work(old: &Head, new: &Head) -> HeadWork {
    let off = new.position - old.position;
    if off.x.hypot(off.y) > ONE_PLACE_M {
        return HeadWork::Moved;
    }
    if old.model != new.model {
        return HeadWork::Replaced;
    }
    let same = old.nozzle == new.nozzle
        && old.arc == new.arc
        && (old.radius_m - new.radius_m).abs() < 1e-6;
    if same { HeadWork::Kept } else { HeadWork::Set }
}
