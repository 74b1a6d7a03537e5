//! What could be done to one head, or at one place: settings, other models, other places, out.

use super::Freedom;
use super::area::Area;
use super::crew::Models;
use super::settings::{self, Offer};
use crate::design::heads::classes::Class;
use crate::design::model::Head;
use geo::Coord;

/// Radii tried lie within these shares of the present one.
const RADIUS_SHARES: (f64, f64) = (0.6, 1.6);
/// Steps of a move, in shares of the radius: along an edge, and inside.
const STEPS_ON_EDGE: [f64; 4] = [0.07, 0.15, 0.3, 0.5];
const STEPS_INSIDE: [f64; 3] = [0.12, 0.25, 0.45];
/// Radii of a head in another place, over the present one.
const MOVED_RADII: [f64; 3] = [0.9, 1.0, 1.1];
/// Corners within this many radii are tried.
const CORNER_SHARE: f64 = 0.4;
/// What a place 4 m inside a root zone costs, over what it counts in heads and the price of one.
const ROOTS_SHARE: f64 = 0.1;

/// How far a change may go; each allows those before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Sector, radius and nozzle.
    Set,
    /// Another model in the same place.
    Replace,
    /// Another place, or out.
    Move,
    /// New heads too.
    Add,
}

impl Level {
    /// All, the cheapest first.
    pub const ALL: [Self; 4] = [Self::Set, Self::Replace, Self::Move, Self::Add];
}

/// A change of one seat, or a new head.
#[derive(Debug, Clone)]
pub struct Change {
    /// The seat; `None` for a new head.
    pub seat: Option<usize>,
    /// What is to stand there.
    pub head: Option<Head>,
    /// What J falls by, m².
    pub gain: f64,
    /// What it costs more than the present state.
    pub price: f64,
}

impl Change {
    /// What is gained for the price; `least` stands for what costs nothing.
    pub fn worth(&self, least: f64) -> f64 {
        self.gain / self.price.max(least)
    }
}

/// The changes of a seat that gain at all, each kind's best.
pub fn of_seat(area: &mut Area, index: usize, level: Level) -> Vec<Change> {
    let freedom = area.seats[index].freedom;
    let works = |head: &Head| area.yard.job.sound(head);
    if freedom == Freedom::Fixed || !area.seats[index].head.as_ref().is_some_and(works) {
        return Vec::new();
    }
    let lifted = area.lift(index);
    let mut found = Vec::new();
    if let (Some(head), Some(rain)) = (&lifted.head, &lifted.rain) {
        let stays = area.gain(rain) - roots(area, head.position, head.radius_m);
        let mut heads = in_place(area, head, level);
        if level >= Level::Move && freedom == Freedom::Moved {
            heads.extend(elsewhere(area, head));
        }
        let free = area.seats[index].was.is_none() || freedom == Freedom::Moved;
        if level >= Level::Move && free {
            found.push((None, -stays));
        }
        let better = heads
            .into_iter()
            .map(|(head, gain)| (Some(head), gain - stays));
        found.extend(better);
    }
    let prices = area.yard.job.task.prices;
    let seat = &area.seats[index];
    let now = seat.price_with(lifted.head.as_ref(), &prices);
    let changes = found.into_iter().map(|(head, gain)| Change {
        seat: Some(index),
        gain,
        price: seat.price_with(head.as_ref(), &prices) - now,
        head,
    });
    let changes = changes.filter(|change| change.gain > 0.0).collect();
    area.put_back(index, lifted);
    changes
}

/// Radii that some models offer about a radius, m, that radius first.
fn radii(class: &Class, area: &Area, models: Models, about_m: f64) -> Vec<f64> {
    let heads = &area.yard.job.catalogue.heads;
    let takes = |radius: f64| match models {
        Models::Only(model) => {
            (heads[model].radius_min_m..=heads[model].radius_max_m).contains(&radius)
        }
        Models::Class(_) => true,
    };
    let window = RADIUS_SHARES.0 * about_m..=RADIUS_SHARES.1 * about_m;
    let offered = class.radii_m.iter().copied();
    let mut all: Vec<f64> = offered
        .filter(|radius| window.contains(radius) && takes(*radius))
        .collect();
    if takes(about_m) && matches!(models, Models::Only(_)) {
        all.insert(0, about_m);
    }
    if all.is_empty() {
        all.push(class.radii_m[class.nearest_radius(about_m)]);
        all.retain(|&radius| takes(radius));
    }
    all
}

/// The best settings in place, of the same model and, if allowed, of its class, and what J falls by with each.
fn in_place(area: &Area, head: &Head, level: Level) -> Vec<(Head, f64)> {
    let job = area.yard.job;
    let Some(class) = job.class_of(head.model) else {
        return Vec::new();
    };
    let own = Models::Only(head.model);
    let mut kinds = vec![own];
    if level >= Level::Replace && job.classes[class].models.len() > 1 {
        kinds.push(Models::Class(class));
    }
    let roots = roots(area, head.position, head.radius_m);
    let best = kinds.into_iter().filter_map(|models| {
        let offer = Offer {
            at: head.position,
            models,
            radii_m: radii(&job.classes[class], area, models, head.radius_m),
            kept_m: Some(head.radius_m),
            one_row: head.one_row,
        };
        settings::best(area, &offer)
    });
    best.map(|found| (found.head, found.gain - roots)).collect()
}

/// The best setting of a head, lifted off its seat, that may be of its own model alone or of any of a class.
pub fn best_in_place(area: &Area, head: &Head, models: Models) -> Option<(Head, f64)> {
    let job = area.yard.job;
    let class = match models {
        Models::Only(model) => job.class_of(model)?,
        Models::Class(class) => class,
    };
    if !(head.position.x.is_finite() && head.position.y.is_finite()) {
        return None;
    }
    let about_m = if job.sound(head) {
        head.radius_m
    } else {
        let piece = area.yard.piece_at(head.position)?;
        let width_m = piece.width_at(head.position);
        super::super::edges::radius_for(width_m, &job.classes[class])
    };
    let offer = Offer {
        at: head.position,
        models,
        radii_m: radii(&job.classes[class], area, models, about_m),
        kept_m: Some(head.radius_m),
        one_row: head.one_row,
    };
    settings::best(area, &offer).map(|found| (found.head, found.gain))
}

/// The best of other places near by.
fn elsewhere(area: &Area, head: &Head) -> Option<(Head, f64)> {
    let places = places_near(area, head);
    let mut best: Option<(Head, f64)> = None;
    for at in places {
        if let Some((found, gain)) = at_place(area, head, at)
            && best.as_ref().is_none_or(|(_, most)| gain > *most)
        {
            best = Some((found, gain));
        }
    }
    best
}

/// The head in another place, set as is best there; `None` where it may not stand.
pub fn at_place(area: &Area, head: &Head, at: Coord<f64>) -> Option<(Head, f64)> {
    let job = area.yard.job;
    let class = job.class_of(head.model)?;
    let models = Models::Only(head.model);
    let piece = area.yard.piece_at(at)?;
    if !piece.may_stand(at) || !clear(area, at, head.radius_m) {
        return None;
    }
    let known = radii(&job.classes[class], area, models, head.radius_m);
    let near = |share: f64| {
        let off = |radius: &f64| (radius / (share * head.radius_m)).ln().abs();
        known
            .iter()
            .copied()
            .min_by(|a, b| off(a).total_cmp(&off(b)))
    };
    let mut radii_m: Vec<f64> = MOVED_RADII
        .iter()
        .filter_map(|&share| near(share))
        .collect();
    radii_m.dedup();
    let offer = Offer {
        at,
        models,
        radii_m,
        kept_m: None,
        one_row: head.one_row,
    };
    let found = settings::best(area, &offer)?;
    let gain = found.gain - roots(area, at, found.head.radius_m);
    Some((found.head, gain))
}

/// Whether a place is far enough from all heads, and from places where a person took one away.
pub fn clear(area: &Area, at: Coord<f64>, radius_m: f64) -> bool {
    let share = area.yard.job.rules.head_distance_least;
    let apart = |other: &Head| {
        let far_m = (other.position.x - at.x).hypot(other.position.y - at.y);
        far_m >= share * radius_m.min(other.radius_m)
    };
    area.heads().all(apart) && !area.yard.kept_clear(at, radius_m)
}

fn places_near(area: &Area, head: &Head) -> Vec<Coord<f64>> {
    let (at, radius_m) = (head.position, head.radius_m);
    let Some(piece) = area.yard.piece_at(at) else {
        return Vec::new();
    };
    let mut places = piece.corners_near(at, CORNER_SHARE * radius_m);
    match piece.on_edge(at) {
        Some(edge) => {
            let steps = STEPS_ON_EDGE.iter().flat_map(|&step| [step, -step]);
            places.extend(steps.map(|step| piece.along(&edge, step * radius_m)));
        }
        None => {
            places.extend(
                piece
                    .nearest(at)
                    .filter(|edge| edge.off_m < CORNER_SHARE * radius_m)
                    .map(|edge| piece.along(&edge, 0.0)),
            );
            for step in STEPS_INSIDE {
                for direction in 0..8 {
                    let (sin, cos) = (f64::from(direction) * std::f64::consts::FRAC_PI_4).sin_cos();
                    places.push(Coord {
                        x: at.x + step * radius_m * sin,
                        y: at.y + step * radius_m * cos,
                    });
                }
            }
        }
    }
    places
}

/// What roots at a place cost a head, m².
pub fn roots(area: &Area, at: Coord<f64>, radius_m: f64) -> f64 {
    let rules = area.yard.job.rules;
    let weight = ROOTS_SHARE * rules.head_roots * rules.head_price;
    let roots = area
        .yard
        .piece_at(at)
        .map_or(0.0, |piece| piece.roots_at(at));
    weight * roots * radius_m * radius_m
}
