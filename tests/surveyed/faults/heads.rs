//! Heads exchanged, turned, moved.

use super::dice::Dice;
use super::plant::{Kind, Site};
use geo::{Contains, Coord, Distance, Euclidean, Point};
use swardline::design::heads::classes::setting_for;
use swardline::site::ObstacleKind;

/// Share of a head's throw within which its water changes things for its neighbours.
const REACH: f64 = 0.5;

impl Site<'_> {
    fn head_is_free(&self, head: usize) -> bool {
        let of_design = &self.design.heads[head];
        self.is_free(of_design.position, REACH * of_design.radius_m)
            && self.design.station_of[head].is_some()
    }

    fn note_head(&mut self, kind: Kind, head: usize, how: String) {
        let id = self.existing.heads[head].from.id.clone();
        let reach_m = REACH * self.design.heads[head].radius_m;
        self.note(kind, &id, self.existing.heads[head].position, reach_m, how);
    }
}

/// One head of a station of several becomes a model of another class, its arc and radius kept as far as that goes.
pub fn other_class(site: &mut Site, dice: &mut Dice) {
    for head in dice.order(site.design.heads.len()) {
        let of_design = &site.design.heads[head];
        let station = site.design.station_of[head];
        let mates = site
            .design
            .station_of
            .iter()
            .filter(|s| **s == station)
            .count();
        if mates < 3 || !site.head_is_free(head) {
            continue;
        }
        let models = &site.project.catalogue.heads;
        let class = &models[of_design.model].rate_class;
        let off = |model: usize| {
            let (low, high) = (models[model].radius_min_m, models[model].radius_max_m);
            (of_design.radius_m.clamp(low, high) - of_design.radius_m).abs()
        };
        let others = (0..models.len()).filter(|&m| models[m].rate_class != *class);
        let Some(other) = others.min_by(|&a, &b| off(a).total_cmp(&off(b))) else {
            continue;
        };
        let model = &models[other];
        let radius_m = of_design
            .radius_m
            .clamp(model.radius_min_m, model.radius_max_m);
        let set = setting_for(model, radius_m, of_design.arc.sweep_deg, f64::INFINITY);
        let surveyed = &mut site.existing.heads[head];
        surveyed.model = Some(model.name.clone());
        surveyed.nozzle = Some(model.nozzles[set.nozzle].name.clone());
        surveyed.flow_ref_lpm = None;
        surveyed.radius_m = Some(radius_m);
        let how = format!("{} for {}", model.name, models[of_design.model].name);
        site.note_head(Kind::MixedStation, head, how);
        return;
    }
}

/// A head at the edge of paving throws on it: its arc is opened, or turned onto it.
pub fn on_road(site: &mut Site, dice: &mut Dice) {
    let roads = site.parcel.obstacles.iter();
    let roads: Vec<_> = roads.filter(|o| o.kind == ObstacleKind::Paving).collect();
    for head in dice.order(site.design.heads.len()) {
        let of_design = &site.design.heads[head];
        let beside = |reach_m: f64| {
            let at = Point(of_design.position);
            roads
                .iter()
                .any(|road| Euclidean.distance(&at, &road.shape) < reach_m)
        };
        let sweep_deg = of_design.arc.sweep_deg;
        if sweep_deg > 200.0 || !beside(0.6) || !site.head_is_free(head) {
            continue;
        }
        let (start_deg, sweep_deg) = if dice.between(0.0, 1.0) < 0.5 {
            (0.0, 360.0)
        } else {
            (
                (of_design.arc.start_deg + 180.0).rem_euclid(360.0),
                sweep_deg,
            )
        };
        let times = sweep_deg / of_design.arc.sweep_deg;
        let surveyed = &mut site.existing.heads[head];
        surveyed.arc_deg = Some((start_deg, sweep_deg));
        // The nozzle goes with the arc.
        surveyed.nozzle = None;
        surveyed.flow_ref_lpm = Some(times * of_design.flow_ref_lpm);
        site.note_head(
            Kind::OnRoad,
            head,
            format!("{sweep_deg:.0} from {start_deg:.0}"),
        );
        return;
    }
}

/// The arc of a head is turned by 70 to 180 degrees.
pub fn turned(site: &mut Site, dice: &mut Dice) {
    for head in dice.order(site.design.heads.len()) {
        let arc = site.design.heads[head].arc;
        if arc.sweep_deg > 300.0 || !site.head_is_free(head) {
            continue;
        }
        let side = if dice.between(0.0, 1.0) < 0.5 {
            1.0
        } else {
            -1.0
        };
        let by_deg = side * dice.between(70.0, 180.0);
        let start_deg = (arc.start_deg + by_deg).rem_euclid(360.0);
        site.existing.heads[head].arc_deg = Some((start_deg, arc.sweep_deg));
        let how = format!("{:.0} turned by {by_deg:.0}", arc.sweep_deg);
        site.note_head(Kind::WrongArc, head, how);
        return;
    }
}

/// A head stands 2 m off, still on the turf; its pipe goes there with it, or stays.
pub fn moved(site: &mut Site, dice: &mut Dice, with_pipe: bool) {
    for head in dice.order(site.design.heads.len()) {
        let of_design = &site.design.heads[head];
        let Some(to) = aside(site, of_design.position, dice) else {
            continue;
        };
        if !site.head_is_free(head) {
            continue;
        }
        let from = of_design.position;
        let surveyed = &mut site.existing.heads[head];
        surveyed.position = to;
        surveyed.ground_m = site.parcel.terrain.height_m(to);
        let kind = if with_pipe {
            draw_pipe_to(site, from, to);
            Kind::Moved
        } else {
            Kind::MovedOffPipe
        };
        let (sweep_deg, radius_m) = (of_design.arc.sweep_deg, of_design.radius_m);
        let way = to - from;
        let bearing_deg = way.x.atan2(way.y).to_degrees().rem_euclid(360.0);
        let how = format!(
            "to {bearing_deg:.0}, arc {sweep_deg:.0} from {:.0}, {radius_m:.1} m",
            of_design.arc.start_deg
        );
        site.note_head(kind, head, how);
        return;
    }
}

/// A place on the turf 2 m off where the ground is no lower, so that pipe at the same height makes no new low point.
fn aside(site: &Site, from: Coord<f64>, dice: &mut Dice) -> Option<Coord<f64>> {
    let height_m = |at| site.parcel.terrain.height_m(at).unwrap();
    let on_turf = |at: Coord<f64>| {
        let turf = &site.parcel.turf[0].shape;
        let edges = turf
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        let mut edges = edges.map(|edge| Euclidean.distance(&Point(at), edge));
        turf.contains(&Point(at)) && edges.all(|far_m| far_m > 0.1)
    };
    let no_lower = |at| height_m(at) > height_m(from) - 0.01;
    (0..16).find_map(|_| {
        let angle = dice.between(0.0, std::f64::consts::TAU);
        let to = from
            + Coord {
                x: 2.0 * angle.sin(),
                y: 2.0 * angle.cos(),
            };
        (on_turf(to) && no_lower(to)).then_some(to)
    })
}

/// Ends of pipe at a place are drawn to another, at the same height; drains there go with them.
fn draw_pipe_to(site: &mut Site, from: Coord<f64>, to: Coord<f64>) {
    let is_here = |at: Coord<f64>| (at.x - from.x).hypot(at.y - from.y) < 0.01;
    for pipe in &mut site.existing.pipes {
        let last = pipe.line.0.len() - 1;
        for end in [0, last] {
            if is_here(pipe.line.0[end]) {
                pipe.line.0[end] = to;
                pipe.length_m = None;
            }
        }
    }
    for valve in &mut site.existing.valves {
        if is_here(valve.position) {
            valve.position = to;
        }
    }
}
