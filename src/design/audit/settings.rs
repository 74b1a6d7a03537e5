//! Other settings and places of a head, and what the water about it would gain by each.

use super::field::{Field, Ground, Water};
use crate::design::coverage::working_at;
use crate::design::model::{Arc, Head, Working};
use geo::Coord;

/// Step between the bearings that an arc is tried at, degrees.
const TURN_DEG: f64 = 15.0;
/// Sweeps tried beside a head's own, degrees.
const SWEEPS_DEG: [f64; 6] = [90.0, 120.0, 180.0, 240.0, 270.0, 360.0];
/// Radii tried, over the head's own.
const RADII: [f64; 6] = [0.6, 0.7, 0.8, 0.9, 1.15, 1.3];
/// How far a head is tried beside its place, m, in so many directions.
const ASIDE_M: [f64; 4] = [0.75, 1.5, 2.25, 3.0];
const DIRECTIONS: usize = 16;
/// Share of the best gain that a smaller change must bring to be the one that is told.
const AS_GOOD: f64 = 0.8;

/// What is changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Change {
    /// The arc.
    Arc(Arc),
    /// The radius, m.
    Radius(f64),
    /// The place.
    Place(Coord<f64>),
}

/// A better way for a head to stand or be set.
pub(super) struct Better {
    pub(super) change: Change,
    /// What it gains, m² of dry ground.
    pub(super) gain_m2: f64,
    /// Its water then.
    pub(super) water: Water,
}

/// Which kinds of change are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Kinds {
    arc: bool,
    radius: bool,
    place: bool,
}

impl Kinds {
    pub(super) const ALL: Self = Self {
        arc: true,
        radius: true,
        place: true,
    };
    pub(super) const ARC: Self = Self {
        radius: false,
        place: false,
        ..Self::ALL
    };
    pub(super) const PLACE: Self = Self {
        arc: false,
        radius: false,
        ..Self::ALL
    };
}

/// The best change of a head whose own water is not in the field; the smallest that is about as good as any.
pub(super) fn best(
    field: &Field,
    head: &Head,
    work: &Working,
    own: &Water,
    tried_kinds: Kinds,
) -> Option<Better> {
    let now = field.harm(own);
    let tried = |change: Change| {
        let changed = changed(head, change);
        let work = working_at(&changed, work.pressure_kpa, field.catalogue);
        let water = field.water(&changed, &work);
        let gain_m2 = now - field.harm(&water);
        Better {
            change,
            gain_m2,
            water,
        }
    };
    let of = |asked: bool, changes: fn(&Field, &Head) -> Vec<Change>| {
        if asked {
            changes(field, head)
        } else {
            Vec::new()
        }
    };
    let kinds = [
        of(tried_kinds.arc, arcs),
        of(tried_kinds.radius, radii),
        of(tried_kinds.place, places),
    ];
    let mut best: Option<Better> = None;
    for changes in kinds {
        let of_kind = changes.into_iter().map(tried);
        let of_kind = of_kind.max_by(|a, b| a.gain_m2.total_cmp(&b.gain_m2));
        let more = |better: &Better| {
            best.as_ref()
                .is_none_or(|known| known.gain_m2 < AS_GOOD * better.gain_m2)
        };
        if let Some(better) = of_kind.filter(more) {
            best = Some(better);
        }
    }
    best
}

/// Arcs that a nozzle of its model takes.
fn arcs(field: &Field, head: &Head) -> Vec<Change> {
    let nozzles = &field.catalogue.heads[head.model].nozzles;
    let takes = |sweep_deg: &f64| {
        let mut nozzles = nozzles.iter();
        nozzles.any(|nozzle| {
            (nozzle.sweep_min_deg - 1e-6..=nozzle.sweep_max_deg + 1e-6).contains(sweep_deg)
        })
    };
    let own = (!head.arc.is_full()).then_some(head.arc.sweep_deg);
    let turns = (360.0 / TURN_DEG) as usize;
    let mut arcs = Vec::new();
    for sweep_deg in own.into_iter().chain(SWEEPS_DEG.into_iter().filter(takes)) {
        if sweep_deg >= 360.0 {
            arcs.push(Change::Arc(Arc::FULL));
            continue;
        }
        for turn in 0..turns {
            let start_deg = (head.arc.start_deg + turn as f64 * TURN_DEG).rem_euclid(360.0);
            arcs.push(Change::Arc(Arc {
                start_deg,
                sweep_deg,
            }));
        }
    }
    arcs
}

/// Radii that its model can be set to.
fn radii(field: &Field, head: &Head) -> Vec<Change> {
    let model = &field.catalogue.heads[head.model];
    let set = RADII.iter().map(|share| share * head.radius_m);
    let set = set.filter(|m| (model.radius_min_m - 1e-6..=model.radius_max_m + 1e-6).contains(m));
    set.map(Change::Radius).collect()
}

fn places(field: &Field, head: &Head) -> Vec<Change> {
    let mut places = Vec::new();
    for aside_m in ASIDE_M {
        for direction in 0..DIRECTIONS {
            let angle = direction as f64 * std::f64::consts::TAU / DIRECTIONS as f64;
            let at = head.position
                + Coord {
                    x: aside_m * angle.sin(),
                    y: aside_m * angle.cos(),
                };
            if field.is_turf(at) {
                places.push(Change::Place(at));
            }
        }
    }
    places
}

/// The head with a change; its flow follows arc and radius, as that of a matched nozzle does.
fn changed(head: &Head, change: Change) -> Head {
    let mut changed = head.clone();
    match change {
        Change::Arc(arc) => {
            changed.flow_ref_lpm *= arc.sweep_deg / head.arc.sweep_deg;
            changed.arc = arc;
        }
        Change::Radius(radius_m) => {
            changed.flow_ref_lpm *= (radius_m / head.radius_m).powi(2);
            changed.radius_m = radius_m;
        }
        Change::Place(at) => changed.position = at,
    }
    changed
}

/// Whether a kind of ground is no turf.
pub(super) fn astray(ground: Ground) -> bool {
    ground != Ground::Turf
}
