//! From a sector wished for to what the crew sets: stops along edges and to the next head, off walls, a matched nozzle.

use super::area::Area;
use crate::brief::HeadModel;
use crate::design::coverage::Tilt;
use crate::design::heads::classes::setting_for;
use crate::design::heads::finish::{
    ROUNDED_OFF_DEG, along_edge, ground_m, nearest, opened, within,
};
use crate::design::heads::off_walls::{Throw, kept_off};
use crate::design::model::{Arc, Head};
use geo::Coord;

/// Greatest sweep short of a full circle, degrees.
const SWEEP_MOST_DEG: f64 = 345.0;
/// Heads within this many radii are asked whether a stop opens to them.
const NEAR_SHARE: f64 = 1.1;

/// Which models may stand at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Models {
    /// This one alone.
    Only(usize),
    /// Those of this class.
    Class(usize),
}

/// A throw wished for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// Where the head stands.
    pub at: Coord<f64>,
    /// Which models it may be.
    pub models: Models,
    /// Its radius, m.
    pub radius_m: f64,
    /// Its sector.
    pub arc: Arc,
    /// Whether it stands in the single row of a strip.
    pub one_row: bool,
}

/// Least sweep that the models can be set to, degrees.
pub fn sweep_least_deg(area: &Area, models: Models) -> f64 {
    let job = area.yard.job;
    match models {
        Models::Only(model) => least_sweep(&job.catalogue.heads[model]),
        Models::Class(class) => job.classes[class].sweep_min_deg,
    }
}

fn least_sweep(model: &HeadModel) -> f64 {
    let sweeps = model.nozzles.iter().map(|nozzle| nozzle.sweep_min_deg);
    sweeps.fold(360.0, f64::min)
}

/// The head as it would be set.
pub fn set(area: &Area, wish: &Wish) -> Head {
    let job = area.yard.job;
    let least_deg = sweep_least_deg(area, wish.models);
    let aligned = aligned(area, wish, least_deg);
    let (arc, most_m) = off_walls(area, wish, aligned, least_deg);
    let arc = match () {
        () if arc.is_full() => Arc::FULL,
        () if arc == aligned => nearest(arc),
        () => within(arc),
    };
    let wanted_m = wish.radius_m.min(most_m);
    let model = match wish.models {
        Models::Only(model) => model,
        Models::Class(class) => job.classes[class].model_for(job.catalogue, wanted_m),
    };
    let set = setting_for(&job.catalogue.heads[model], wanted_m, arc.sweep_deg, most_m);
    let terrain = &job.parcel.terrain;
    Head {
        position: wish.at,
        turf: area.yard.turf,
        model,
        nozzle: set.nozzle,
        arc,
        radius_m: set.radius_m,
        tilt: Tilt::of(terrain, wish.at, set.radius_m, job.rules.throw_fall_deg),
        ground_m: ground_m(terrain, wish.at),
        flow_ref_lpm: set.flow_lpm,
        one_row: wish.one_row,
    }
}

/// The sector with its stops along the edge where they all but are, and opened to the next head just beyond them.
fn aligned(area: &Area, wish: &Wish, least_deg: f64) -> Arc {
    if wish.arc.is_full() {
        return Arc::FULL;
    }
    let (mut start, mut end) = (wish.arc.start_deg, wish.arc.start_deg + wish.arc.sweep_deg);
    let piece = area.yard.piece_at(wish.at);
    let edge = piece.and_then(|piece| Some((piece, piece.on_edge(wish.at)?)));
    if let Some((piece, edge)) = edge {
        let along = piece.bearings_deg(&edge, wish.radius_m);
        (start, end) = (along_edge(start, &along), along_edge(end, &along));
        let near_m = NEAR_SHARE * wish.radius_m;
        let places: Vec<Coord<f64>> = (area.heads())
            .map(|head| head.position)
            .filter(|at| (at.x - wish.at.x).hypot(at.y - wish.at.y) <= near_m)
            .collect();
        (start, end) = opened(wish.at, wish.radius_m, (start, end), &places);
    }
    Arc {
        start_deg: start.rem_euclid(360.0),
        sweep_deg: (end - start).clamp(least_deg.min(SWEEP_MOST_DEG), SWEEP_MOST_DEG),
    }
}

/// The sector closed until it keeps off the walls, and the radius up to which it does, m.
fn off_walls(area: &Area, wish: &Wish, arc: Arc, least_deg: f64) -> (Arc, f64) {
    let job = area.yard.job;
    if job.rules.walls_dry < 0.5 {
        return (arc, f64::INFINITY);
    }
    let tilt = Tilt::of(
        &job.parcel.terrain,
        wish.at,
        wish.radius_m,
        job.rules.throw_fall_deg,
    );
    let near_m = 1.1 * wish.radius_m * tilt.reach_share_most();
    let walls = area.yard.walls.near(wish.at, near_m);
    if walls.is_empty() {
        return (arc, f64::INFINITY);
    }
    let radius_least_m = match wish.models {
        Models::Only(model) => job.catalogue.heads[model].radius_min_m,
        Models::Class(class) => job.classes[class].radius_least_m(),
    };
    let throw = Throw {
        at: wish.at,
        arc,
        radius_m: wish.radius_m,
        tilt,
        sweep_least_deg: least_deg + ROUNDED_OFF_DEG,
        radius_least_m,
    };
    kept_off(&walls, &throw)
}
