//! Faults that are mended whatever the area's figures are: wrong nozzles, water on walls and far off the turf, heads off the
//! turf, and heads that cannot work at all.

use super::Freedom;
use super::area::Area;
use super::changes;
use super::crew::{self, Models, Wish};
use super::rain::held_share;
use crate::design::coverage::Tilt;
use crate::design::coverage::spread::Scratch;
use crate::design::heads::classes::setting_for;
use crate::design::model::Head;
use crate::finding::Finding;
use geo::Coord;

/// Share of its water that a head may throw at a wall: what stops set by hand give. Common practice, no source.
const HELD_MOST: f64 = 0.01;
/// Share of a head's water off the turf from which its sector is asked.
const LOST_MOST: f64 = 0.12;
/// Such a sector is wrong where another loses no more than this share of that, and waters better.
const LOST_LESS: f64 = 0.5;
/// By how much it must water better, in shares of the square of the radius.
const BETTER: f64 = 0.05;
/// A head farther than this off the turf does not stand on it, m: places are known no better. Common practice, no source.
const OFF_MOST_M: f64 = 0.3;
/// A head moved onto the turf is worth this much, in shares of the square of its radius, or is taken out.
const WORTH_LEAST: f64 = 0.05;
/// Corners this much farther off than the edge are tried too, m.
const CORNER_M: f64 = 1.5;

/// What becomes of a head with one kind of fault; `None` where it has none, or nothing helps.
type Remedy = fn(&mut Area, usize, &Head) -> Option<Head>;

/// Mends the faults of an area's heads; tells those that must stay.
pub fn mend(area: &mut Area) -> Vec<Finding> {
    let mut findings = Vec::new();
    for index in 0..area.seats.len() {
        let Some(head) = area.seats[index].head.clone() else {
            continue;
        };
        if let Some(what) = off_turf(area, &head) {
            if area.seats[index].freedom == Freedom::Moved {
                onto_turf(area, index, &head);
            } else {
                findings.push(stays(area, &head, what));
            }
        }
    }
    let remedies: [Remedy; 4] = [unsound, wrong_nozzle, at_wall, wrong_sector];
    for remedy in remedies {
        for index in 0..area.seats.len() {
            let seat = &area.seats[index];
            let Some(head) = seat.head.clone().filter(|_| seat.freedom != Freedom::Fixed) else {
                continue;
            };
            if let Some(better) = remedy(area, index, &head) {
                settle(area, index, Some(better));
            }
        }
    }
    findings
}

/// Puts a head on a seat for good.
pub fn settle(area: &mut Area, index: usize, head: Option<Head>) {
    area.seats[index].base = head.clone();
    area.change(index, head);
}

fn stays(area: &Area, head: &Head, what: String) -> Finding {
    let message = format!("{what}, and may not be moved: look at its place.");
    Finding::warning("mend_head_stays", message)
        .of(area.yard.job.parcel.turf[area.yard.turf].id.clone())
        .at(head.position)
}

/// What is wrong with the place of a head, if it stands off the turf.
fn off_turf(area: &Area, head: &Head) -> Option<String> {
    if !(head.position.x.is_finite() && head.position.y.is_finite()) {
        return None;
    }
    let shape = &area.yard.job.parcel.turf[area.yard.turf].shape;
    let off_m = geo::Distance::distance(&geo::Euclidean, &geo::Point::from(head.position), shape);
    (off_m > OFF_MOST_M).then(|| format!("A head stands {off_m:.1} m off its turf"))
}

/// A head that stands off the turf goes to the nearest place on it, or out where it is not needed there.
fn onto_turf(area: &mut Area, index: usize, head: &Head) {
    area.change(index, None);
    let model = (area.yard.job.sound(head)).then_some(head);
    let best = model.and_then(|head| {
        let places = nearest_places(area, head.position);
        let found = places
            .into_iter()
            .filter_map(|at| changes::at_place(area, head, at));
        found.max_by(|a, b| a.1.total_cmp(&b.1))
    });
    let head = best
        .filter(|(head, gain)| *gain > WORTH_LEAST * head.radius_m * head.radius_m)
        .map(|(head, _)| head);
    settle(area, index, head);
}

fn nearest_places(area: &Area, at: Coord<f64>) -> Vec<Coord<f64>> {
    let Some(piece) = area.yard.piece_at(at) else {
        return Vec::new();
    };
    let Some(edge) = piece.nearest(at) else {
        return Vec::new();
    };
    let mut places = piece.corners_near(at, edge.off_m + CORNER_M);
    places.extend([0.0, -1.0, 1.0].map(|by_m| piece.along(&edge, by_m)));
    places
}

/// A head that cannot work: another in its place.
fn unsound(area: &mut Area, index: usize, head: &Head) -> Option<Head> {
    let job = area.yard.job;
    if job.sound(head) || !head.position.x.is_finite() || !head.position.y.is_finite() {
        return None;
    }
    let piece = area.yard.piece_at(head.position)?;
    let zone = piece.zones.get(piece.zone_at(head.position)?)?;
    let class = job.class_of(head.model).unwrap_or(zone.class);
    let lifted = area.lift(index);
    let found = changes::best_in_place(area, head, Models::Class(class));
    area.put_back(index, lifted);
    found.map(|(head, _)| head)
}

/// How far the rate of a head departs from its class's, as a share.
fn rate_off(area: &Area, head: &Head) -> f64 {
    let rate_mm_h = area.yard.job.catalogue.heads[head.model].rate_mm_h;
    let served_m2 = head.radius_m * head.radius_m * head.arc.sweep_deg / 360.0;
    (60.0 * head.flow_ref_lpm / (served_m2 * rate_mm_h) - 1.0).abs()
}

/// A head whose nozzle does not match its sector and radius: the nozzle that does.
fn wrong_nozzle(area: &mut Area, _: usize, head: &Head) -> Option<Head> {
    let job = area.yard.job;
    if !job.sound(head) {
        return None;
    }
    let model = &job.catalogue.heads[head.model];
    let nozzle = &model.nozzles[head.nozzle];
    let takes = nozzle.sweep_min_deg - 0.5..=nozzle.sweep_max_deg + 0.5;
    let off = rate_off(area, head);
    if off <= job.rules.station_rate_spread && takes.contains(&head.arc.sweep_deg) {
        return None;
    }
    let wanted_m = head.radius_m.clamp(model.radius_min_m, model.radius_max_m);
    let set = setting_for(model, wanted_m, head.arc.sweep_deg, wanted_m);
    let other = Head {
        nozzle: set.nozzle,
        radius_m: set.radius_m,
        flow_ref_lpm: set.flow_lpm,
        ..head.clone()
    };
    let better = rate_off(area, &other) < off - 0.01 || !takes.contains(&head.arc.sweep_deg);
    better.then_some(other)
}

/// A head that throws at a wall: its stops closed or its throw shortened.
fn at_wall(area: &mut Area, _: usize, head: &Head) -> Option<Head> {
    let job = area.yard.job;
    if job.rules.walls_dry < 0.5 || !job.sound(head) {
        return None;
    }
    let held = held_share(area.yard, head);
    if held <= HELD_MOST {
        return None;
    }
    let wish = Wish {
        at: head.position,
        models: Models::Only(head.model),
        radius_m: head.radius_m,
        arc: head.arc,
        one_row: head.one_row,
    };
    let set = crew::set(area, &wish);
    (held_share(area.yard, &set) < LOST_LESS * held).then_some(set)
}

/// A head that throws far more off the turf than it must: a better sector.
fn wrong_sector(area: &mut Area, index: usize, head: &Head) -> Option<Head> {
    if !area.yard.job.sound(head) {
        return None;
    }
    let lifted = area.lift(index);
    let rain = area.rain_of(head, &mut Scratch::default());
    let (lost, stays) = (rain.lost_share() + rain.held_share, area.gain(&rain));
    let found = (lost > LOST_MOST)
        .then(|| changes::best_in_place(area, head, Models::Only(head.model)))
        .flatten();
    let better = found.filter(|(other, gain)| {
        let rain = area.rain_of(other, &mut Scratch::default());
        let less = rain.lost_share() + rain.held_share <= LOST_LESS * lost;
        less && gain - stays > BETTER * head.radius_m * head.radius_m
    });
    area.put_back(index, lifted);
    let (mut other, _) = better?;
    if (other.radius_m - head.radius_m).abs() < 1e-9 {
        other.tilt = Tilt { ..head.tilt };
    }
    Some(other)
}
