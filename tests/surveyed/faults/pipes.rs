//! Pipes made too narrow or drawn short, drains forgotten.

use super::dice::Dice;
use super::plant::{Kind, Site};
use geo::Coord;
use swardline::site::existing::ExistingValveKind;

/// How far an end is drawn short, m.
const SHORT_M: f64 = 0.3;

fn middle(points: &[Coord<f64>]) -> Coord<f64> {
    (points[0] + points[points.len() - 1]) / 2.0
}

/// A pipe gets a bore in which its water runs 1.15 to 2 times as fast as the rule allows.
pub fn narrow(site: &mut Site, dice: &mut Dice) {
    let most_m_s = site.project.rules.velocity_most_m_s;
    for index in dice.order(site.design.pipes.len()) {
        let pipe = &site.design.pipes[index];
        let place = middle(&pipe.line.0);
        if pipe.flow_lpm < 4.0 || pipe.length_m < 1.0 || !site.is_free(place, 1.0) {
            continue;
        }
        let times = dice.between(1.15, 2.0);
        let now_mm = site.project.catalogue.pipes[pipe.size].inside_mm;
        let inside_mm = now_mm * (pipe.velocity_m_s / (times * most_m_s)).sqrt();
        let surveyed = &mut site.existing.pipes[index];
        (surveyed.nominal, surveyed.inside_mm) = (None, Some(inside_mm));
        let id = surveyed.from.id.clone();
        let how = format!("{:.0} L/min at {times:.2} times", pipe.flow_lpm);
        site.note(Kind::NarrowPipe, &id, place, 1.0, how);
        return;
    }
}

/// A drain is not there.
pub fn no_drain(site: &mut Site, dice: &mut Dice) {
    for index in dice.order(site.existing.valves.len()) {
        let valve = &site.existing.valves[index];
        let drains = [
            ExistingValveKind::DrainAutomatic,
            ExistingValveKind::DrainManual,
        ];
        if !drains.contains(&valve.kind) || !site.is_free(valve.position, 0.0) {
            continue;
        }
        let (id, place) = (valve.from.id.clone(), valve.position);
        site.existing.valves.remove(index);
        site.note(Kind::NoDrain, &id, place, 0.0, String::new());
        return;
    }
}

/// An end of a pipe is drawn 30 cm short, and what it joins is not named.
pub fn gap(site: &mut Site, dice: &mut Dice) {
    for index in dice.order(site.existing.pipes.len()) {
        let pipe = &site.existing.pipes[index];
        let points = &pipe.line.0;
        let last = points.len() - 1;
        let (end, before) = if dice.between(0.0, 1.0) < 0.5 {
            (0, 1)
        } else {
            (last, last - 1)
        };
        let way = points[before] - points[end];
        let far_m = way.x.hypot(way.y);
        if far_m < 3.0 * SHORT_M || !site.is_free(points[end], 0.0) {
            continue;
        }
        let place = points[end] + way * (SHORT_M / 2.0 / far_m);
        let id = pipe.from.id.clone();
        let pipe = &mut site.existing.pipes[index];
        pipe.line.0[end] = pipe.line.0[end] + way * (SHORT_M / far_m);
        let name = if end == 0 {
            &mut pipe.nodes.0
        } else {
            &mut pipe.nodes.1
        };
        *name = None;
        site.note(Kind::Gap, &id, place, 0.0, String::new());
        return;
    }
}
