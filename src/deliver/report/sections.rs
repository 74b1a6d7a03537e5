//! Long sections: ground, invert and hydraulic grade from the supply along the main to a valve.

use super::charts::{Chart, Line, Mark};
use crate::deliver::job::Job;
use crate::deliver::palette;
use crate::design::model::{Drain, Pipe, Section};
use crate::units::head_m_from_kpa;
use geo::{Coord, Euclidean, Length};

/// Distance between places where the ground is read, m.
const GROUND_STEP_M: f64 = 1.0;

/// Two drawings for each section worth showing: to the farthest valve, and to the one with the least pressure before it.
pub(super) fn drawn(job: &Job) -> Vec<String> {
    let stations = &job.design.stations;
    let far = |&s: &usize| length_m(job, s);
    let farthest = (0..stations.len()).max_by(|a, b| far(a).total_cmp(&far(b)));
    // Of equals the farthest, so that level ground gives one section and not two.
    let weakest = (0..stations.len()).min_by(|&a, &b| {
        let before_valve = stations[a]
            .valve_in_kpa
            .total_cmp(&stations[b].valve_in_kpa);
        before_valve.then(far(&b).total_cmp(&far(&a)))
    });
    let mut chosen: Vec<usize> = [farthest, weakest].into_iter().flatten().collect();
    chosen.dedup();
    chosen
        .iter()
        .flat_map(|&station| section(job, station))
        .collect()
}

fn length_m(job: &Job, station: usize) -> f64 {
    let way = job.way_to(job.design.stations[station].valve_node);
    way.iter()
        .map(|&pipe| job.design.pipes[pipe].length_m)
        .sum()
}

/// A way along mains: distance and node of each stop, and the ground between.
#[derive(Default)]
struct Profile {
    stops: Vec<(f64, usize)>,
    ground: Vec<(f64, f64)>,
}

fn profile(job: &Job, way: &[usize]) -> Profile {
    let mut profile = Profile::default();
    let mut at_m = 0.0;
    let mut node = job.design.supply.as_ref().map(|supply| supply.node);
    for &index in way {
        let pipe = &job.design.pipes[index];
        let from = node
            .filter(|&n| n == pipe.to)
            .map_or(pipe.from, |_| pipe.to);
        profile.stops.push((at_m, from));
        at_m = walked(job, pipe, from == pipe.to, at_m, &mut profile.ground);
        let to = if from == pipe.from {
            pipe.to
        } else {
            pipe.from
        };
        node = Some(to);
        profile.stops.push((at_m, to));
    }
    profile
}

/// Reads the ground along a pipe's line and returns the distance at its end.
fn walked(
    job: &Job,
    pipe: &Pipe,
    backwards: bool,
    start_m: f64,
    ground: &mut Vec<(f64, f64)>,
) -> f64 {
    let mut places: Vec<Coord<f64>> = pipe.line.coords().copied().collect();
    if backwards {
        places.reverse();
    }
    let mut at_m = start_m;
    for pair in places.windows(2) {
        let step = pair[1] - pair[0];
        let length_m = step.x.hypot(step.y);
        let count = (length_m / GROUND_STEP_M).ceil().max(1.0);
        for index in 0..=(count as usize) {
            let share = index as f64 / count;
            let height = job.parcel.terrain.height_m(pair[0] + step * share);
            ground.extend(height.map(|height| (at_m + length_m * share, height)));
        }
        at_m += length_m;
    }
    at_m
}

fn section(job: &Job, station: usize) -> Vec<String> {
    let way = job.way_to(job.design.stations[station].valve_node);
    if way.is_empty() {
        return Vec::new();
    }
    let profile = profile(job, &way);
    let nodes = &job.design.nodes;
    let invert = profile
        .stops
        .iter()
        .map(|&(m, n)| (m, nodes[n].invert_m))
        .collect();
    let title = format!(
        "Main from the supply to the valve of station {}",
        station + 1
    );
    let ground = Chart {
        title: format!("{title}: ground and pipe"),
        along: "distance, m",
        up: "height, m",
        up_least: 2.0,
        to_scale: true,
        lines: vec![
            line("ground", palette::GREEN, false, profile.ground.clone()),
            line("invert of the pipe", palette::BLACK, false, invert),
        ],
        marks: stops_to_see(job, &profile),
    };
    let grade = Chart {
        title: format!("{title}: hydraulic grade"),
        along: "distance, m",
        up: "height of water, m",
        up_least: 5.0,
        to_scale: true,
        lines: vec![
            line(
                "nothing running",
                palette::SKY_BLUE,
                true,
                static_grade(job, &profile),
            ),
            line(
                "this station running",
                palette::BLUE,
                false,
                running_grade(job, station, &way),
            ),
            line("ground", palette::GREEN, false, profile.ground),
        ],
        marks: Vec::new(),
    };
    vec![ground.svg(), grade.svg()]
}

/// Drain and air valves of the main along the way.
fn stops_to_see(job: &Job, profile: &Profile) -> Vec<Mark> {
    let design = job.design;
    let drained = |node: usize| {
        let of_main = |drain: &&Drain| drain.section == Section::Main && drain.node == node;
        design.drains.iter().any(|drain| of_main(&drain))
    };
    let mark = |&(at_m, node): &(f64, usize)| {
        let (text, above) = match (drained(node), design.air_valves.contains(&node)) {
            (true, _) => ("drain", false),
            (false, true) => ("air", true),
            (false, false) => return None,
        };
        Some(Mark {
            at: (at_m, design.nodes[node].invert_m),
            above,
            text: text.to_string(),
        })
    };
    // Each stop between two pipes is listed by both.
    let mut stops = profile.stops.clone();
    stops.dedup();
    stops.iter().filter_map(mark).collect()
}

/// Height that water would rise to along the way with nothing running.
fn static_grade(job: &Job, profile: &Profile) -> Vec<(f64, f64)> {
    let point = |&(at_m, index): &(f64, usize)| {
        let node = &job.design.nodes[index];
        Some((at_m, node.invert_m + head_m_from_kpa(node.static_kpa?)))
    };
    profile.stops.iter().filter_map(point).collect()
}

/// Height that water would rise to along the way while the station runs: as solved at the supply and before the valve, and
/// between them falling as each main's loss at its greatest flow, brought to the station's flow, has its share.
fn running_grade(job: &Job, index: usize, way: &[usize]) -> Vec<(f64, f64)> {
    let (design, station) = (job.design, &job.design.stations[index]);
    let Some(supply) = &design.supply else {
        return Vec::new();
    };
    let level_m = |node: usize, kpa: f64| design.nodes[node].invert_m + head_m_from_kpa(kpa);
    let start_m = level_m(supply.node, station.source_kpa);
    let fall_m = start_m - level_m(station.valve_node, station.valve_in_kpa);
    let share = |pipe: &Pipe| {
        let flow = station.flow_lpm / pipe.flow_lpm.max(1e-9);
        pipe.loss_kpa * flow.min(1.0).powf(1.852)
    };
    let pipes = || way.iter().map(|&pipe| &design.pipes[pipe]);
    let all = pipes().map(share).sum::<f64>().max(1e-12);
    let mut points = vec![(0.0, start_m)];
    let (mut at_m, mut fallen) = (0.0, 0.0);
    for pipe in pipes() {
        at_m += Euclidean.length(&pipe.line);
        fallen += share(pipe) / all;
        points.push((at_m, start_m - fall_m * fallen));
    }
    points
}

fn line(name: &'static str, colour: &'static str, dashed: bool, points: Vec<(f64, f64)>) -> Line {
    Line {
        name,
        colour,
        dashed,
        points,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn the_grade_falls_from_the_supply_to_the_valve_as_solved() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let station = &design.stations[1];
        let points = running_grade(&job, 1, &job.way_to(station.valve_node));
        assert!(points.windows(2).all(|pair| pair[1].1 <= pair[0].1 + 1e-9));
        let invert_m = design.nodes[station.valve_node].invert_m;
        let last = points.last().unwrap().1;
        assert!((last - invert_m - head_m_from_kpa(station.valve_in_kpa)).abs() < 1e-6);
    }

    #[test]
    fn a_section_runs_from_the_supply_to_the_valve_and_reads_the_ground() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let profile = profile(&job, &job.way_to(3));
        assert_eq!(profile.stops.first().map(|s| s.1), Some(0));
        assert_eq!(profile.stops.last().map(|s| s.1), Some(3));
        let (length_m, height_m) = *profile.ground.last().unwrap();
        assert!((length_m - (7.5f64.hypot(5.0) + 10.0)).abs() < 1e-9);
        assert!((height_m - 100.05).abs() < 1e-3, "{height_m}");
        assert_eq!(drawn(&job).len(), 2);
    }
}
