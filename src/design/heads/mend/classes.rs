//! Heads of two rates on one piece of turf: one rate is made of them, with as little as can be.

use super::Freedom;
use super::area::Area;
use super::changes;
use super::crew::Models;
use super::faults::settle;
use crate::design::heads::classes::setting_for;
use crate::design::model::Head;
use crate::finding::Finding;
use geo::Coord;

/// The heads of one rate in a zone.
struct Group {
    class: usize,
    rate_mm_h: f64,
    seats: Vec<usize>,
    ground: f64,
}

/// Makes the heads of each zone one class; tells where some that may not be replaced keep it mixed.
pub fn unmix(area: &mut Area) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut changed = Vec::new();
    for (piece, zone) in zones(area) {
        let groups = groups(area, piece, zone);
        if groups.len() < 2 {
            continue;
        }
        let Some(main) = cheapest(area, &groups) else {
            continue;
        };
        for group in groups.iter().filter(|group| group.class != main) {
            for &index in &group.seats {
                let head = area.seats[index].head.clone();
                if let Some(other) = head.as_ref().and_then(|head| of_class(area, head, main)) {
                    if area.seats[index].freedom == Freedom::Fixed {
                        continue;
                    }
                    settle(area, index, Some(other));
                    changed.push((index, main));
                }
            }
        }
        let fixed = |&&index: &&usize| area.seats[index].freedom == Freedom::Fixed;
        let left = groups.iter().filter(|group| group.class != main);
        if let Some(&index) = left.flat_map(|group| group.seats.iter()).find(fixed) {
            findings.extend(told(area, index));
        }
    }
    if !changed.is_empty() {
        area.rain_anew();
        for (index, class) in changed {
            set_well(area, index, class);
        }
    }
    findings
}

fn told(area: &Area, index: usize) -> Option<Finding> {
    let at = area.seats[index].head.as_ref()?.position;
    let message = "A head that may not be changed applies another rate than those about it: run times cannot suit both.";
    let id = area.yard.job.parcel.turf[area.yard.turf].id.clone();
    Some(Finding::warning("mend_head_stays", message).of(id).at(at))
}

fn zones(area: &Area) -> Vec<(usize, usize)> {
    let pieces = area.yard.pieces.iter().enumerate();
    pieces
        .flat_map(|(piece, ground)| (0..ground.zones.len()).map(move |zone| (piece, zone)))
        .collect()
}

fn place_of(area: &Area, at: Coord<f64>) -> Option<(usize, usize)> {
    let off = |piece: usize| area.yard.pieces[piece].off_m(at);
    let piece = (0..area.yard.pieces.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
    Some((piece, area.yard.pieces[piece].zone_at(at)?))
}

/// Heads of a zone by rate: rates that differ by no more than one station bears are one.
fn groups(area: &Area, piece: usize, zone: usize) -> Vec<Group> {
    let job = area.yard.job;
    let mut groups: Vec<Group> = Vec::new();
    for (index, seat) in area.seats.iter().enumerate() {
        let Some(head) = seat.head.as_ref().filter(|head| job.sound(head)) else {
            continue;
        };
        let Some(class) = job.class_of(head.model) else {
            continue;
        };
        if place_of(area, head.position) != Some((piece, zone)) {
            continue;
        }
        let rate_mm_h = job.classes[class].rate_mm_h;
        let ground = head.radius_m * head.radius_m * head.arc.sweep_deg;
        let spread = job.rules.station_rate_spread;
        let alike = |group: &&mut Group| (group.rate_mm_h / rate_mm_h - 1.0).abs() <= spread;
        match groups.iter_mut().find(alike) {
            Some(group) => {
                group.seats.push(index);
                group.ground += ground;
            }
            None => groups.push(Group {
                class,
                rate_mm_h,
                seats: vec![index],
                ground,
            }),
        }
    }
    groups
}

/// The class to which the others are brought with the fewest left over and at least cost; the one with most ground among equals.
fn cheapest(area: &Area, groups: &[Group]) -> Option<usize> {
    let price = |main: &Group| {
        let (mut left, mut replaced) = (0usize, 0usize);
        for group in groups.iter().filter(|group| group.class != main.class) {
            for &index in &group.seats {
                let seat = &area.seats[index];
                let can = seat.freedom != Freedom::Fixed
                    && (seat.head.as_ref())
                        .is_some_and(|head| of_class(area, head, main.class).is_some());
                left += usize::from(!can);
                replaced += usize::from(can);
            }
        }
        (left, replaced)
    };
    let best = groups
        .iter()
        .min_by(|a, b| price(a).cmp(&price(b)).then(b.ground.total_cmp(&a.ground)))?;
    Some(best.class)
}

/// Radii of a class that stand in for another lie within these shares of it.
const RADIUS_SHARES: (f64, f64) = (0.7, 1.4);

/// The head of another class with the same sector and much the same radius; `None` where the class offers none.
fn of_class(area: &Area, head: &Head, class: usize) -> Option<Head> {
    let job = area.yard.job;
    let class = &job.classes[class];
    let radius_m = class.radii_m[class.nearest_radius(head.radius_m)];
    let share = radius_m / head.radius_m;
    if !(RADIUS_SHARES.0..=RADIUS_SHARES.1).contains(&share) {
        return None;
    }
    let model = class.model_for(job.catalogue, radius_m);
    let goods = &job.catalogue.heads[model];
    let set = setting_for(goods, radius_m, head.arc.sweep_deg, f64::INFINITY);
    Some(Head {
        model,
        nozzle: set.nozzle,
        radius_m: set.radius_m,
        flow_ref_lpm: set.flow_lpm,
        ..head.clone()
    })
}

/// The best setting of a head that is replaced anyway.
fn set_well(area: &mut Area, index: usize, class: usize) {
    let lifted = area.lift(index);
    let found = lifted.head.as_ref().and_then(|head| {
        let stays = area.gain(lifted.rain.as_ref()?);
        let found = changes::best_in_place(area, head, Models::Class(class))?;
        (found.1 > stays).then_some(found.0)
    });
    area.put_back(index, lifted);
    if let Some(head) = found {
        settle(area, index, Some(head));
    }
}
