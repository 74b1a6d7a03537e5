//! A run of pipe made flat: distances, ground, inverts and water levels along it.

use crate::deliver::job::Job;
use crate::design::model::{NodeKind, Pipe, Section, Surface};
use crate::units::head_m_from_kpa;
use geo::{Coord, Euclidean, Length};

/// Distance between places where the ground is read, m.
const GROUND_STEP_M: f64 = 1.0;

/// A stretch that is more than plain digging.
pub(super) struct Stretch {
    /// Where it begins and ends, m.
    pub(super) from_to_m: (f64, f64),
    /// Paving or roots.
    pub(super) surface: Surface,
}

/// A run of pipe.
pub(super) struct Run {
    /// What it is.
    pub(super) title: String,
    /// From where distances count.
    pub(super) from: &'static str,
    /// Mains or a station.
    pub(super) section: Section,
    /// Pipes drawn, in order.
    pub(super) pipes: Vec<usize>,
    /// Distance and node of each end of a pipe, in order.
    pub(super) stops: Vec<(f64, usize)>,
    /// Heights of the ground.
    pub(super) ground: Vec<(f64, f64)>,
    /// Height the water would rise to while the station runs.
    pub(super) running: Vec<(f64, f64)>,
    /// The same with nothing running.
    pub(super) standing: Vec<(f64, f64)>,
    /// Paving and roots.
    pub(super) stretches: Vec<Stretch>,
}

impl Run {
    /// The way along mains to a station's valve, from the pipe with number `first` on.
    pub(super) fn of_main(job: &Job, station: usize, way: &[usize], first: usize) -> Self {
        let start = job.design.supply.as_ref().map(|supply| supply.node);
        let title = match first {
            0 => format!(
                "Main from the supply to the valve of station {}",
                job.design.station_number(station)
            ),
            _ => format!(
                "Branch of the main to the valve of station {}",
                job.design.station_number(station)
            ),
        };
        let mut run = Self::flat(job, start, way, first);
        let levels = running_grade(job, station, way);
        run.running = levels.into_iter().skip(first).collect();
        Self {
            title,
            from: "distance from the supply, m",
            section: Section::Main,
            ..run
        }
    }

    /// A way along laterals from a station's valve, from the pipe with number `first` on.
    pub(super) fn of_lateral(job: &Job, station: usize, way: &[usize], first: usize) -> Self {
        let valve = job.design.stations[station].valve_node;
        let mut run = Self::flat(job, Some(valve), way, first);
        let nodes = &job.design.nodes;
        let level =
            |&(at_m, n): &(f64, usize)| Some((at_m, level_m(job, n, nodes[n].pressure_kpa?)));
        run.running = run.stops.iter().filter_map(level).collect();
        let title = match first {
            0 => format!(
                "Station {}: longest run of its lateral",
                job.design.station_number(station)
            ),
            _ => format!(
                "Station {}: branch with a drain",
                job.design.station_number(station)
            ),
        };
        Self {
            title,
            from: "distance from the valve, m",
            section: Section::Station(station),
            ..run
        }
    }

    fn flat(job: &Job, start: Option<usize>, way: &[usize], first: usize) -> Self {
        let mut run = Self {
            title: String::new(),
            from: "",
            section: Section::Main,
            pipes: way[first..].to_vec(),
            stops: Vec::new(),
            ground: Vec::new(),
            running: Vec::new(),
            standing: Vec::new(),
            stretches: Vec::new(),
        };
        let mut at_m = 0.0;
        let mut node = start;
        for (number, &index) in way.iter().enumerate() {
            let pipe = &job.design.pipes[index];
            let backwards = node == Some(pipe.to);
            let (from, to) = match backwards {
                true => (pipe.to, pipe.from),
                false => (pipe.from, pipe.to),
            };
            let long_m = Euclidean.length(&pipe.line);
            if number >= first {
                if number == first {
                    run.stops.push((at_m, from));
                }
                run.read_ground(job, pipe, backwards, at_m);
                run.read_trenches(job, pipe, at_m, backwards.then_some(long_m));
                run.stops.push((at_m + long_m, to));
            }
            at_m += long_m;
            node = Some(to);
        }
        // With nothing running the water stands level, up to where a valve holds it back.
        let static_kpa = start.and_then(|node| job.design.nodes.get(node)?.static_kpa);
        if let (Some(start), Some(kpa)) = (start, static_kpa) {
            let level = level_m(job, start, kpa);
            run.standing = run.stops.iter().map(|&(at_m, _)| (at_m, level)).collect();
        }
        run
    }

    fn read_ground(&mut self, job: &Job, pipe: &Pipe, backwards: bool, start_m: f64) {
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
                self.ground
                    .extend(height.map(|height| (at_m + length_m * share, height)));
            }
            at_m += length_m;
        }
    }

    /// Paving and roots along a pipe; `turned_m` is its length where it is walked against its line.
    fn read_trenches(&mut self, job: &Job, pipe: &Pipe, start_m: f64, turned_m: Option<f64>) {
        let mut at_m = 0.0;
        let known = pipe
            .trenches
            .iter()
            .filter_map(|&t| job.design.trenches.get(t));
        for trench in known {
            let end_m = at_m + Euclidean.length(&trench.line);
            if matches!(trench.surface, Surface::Paving | Surface::Roots) {
                let (from, to) = match turned_m {
                    Some(long_m) => (long_m - end_m, long_m - at_m),
                    None => (at_m, end_m),
                };
                self.stretches.push(Stretch {
                    from_to_m: (start_m + from, start_m + to),
                    surface: trench.surface,
                });
            }
            at_m = end_m;
        }
    }
}

/// Height that water of a gauge pressure at a node's invert would rise to, m.
fn level_m(job: &Job, node: usize, kpa: f64) -> f64 {
    job.design.nodes[node].invert_m + head_m_from_kpa(kpa)
}

/// What a foreman finds at a node of a run, in words.
pub(super) fn what_stands(job: &Job, run: &Run, node: usize) -> String {
    let design = job.design;
    let at = &design.nodes[node];
    let mut words = Vec::new();
    match at.kind {
        NodeKind::Source => words.push("supply".to_owned()),
        NodeKind::Valve => {
            let own = design.stations.iter().position(|s| s.valve_node == node);
            words.push(own.map_or("valve".into(), |s| {
                format!("valve {}", design.station_number(s))
            }));
        }
        NodeKind::Head => {
            let order = job.order_of_heads();
            let number = at.head.and_then(|head| order.get(head).copied());
            words.push(number.map_or("head".into(), |n| format!("head {}", n + 1)));
        }
        NodeKind::End => words.push("end".to_owned()),
        NodeKind::Junction => {}
    }
    let drained = |d: &&crate::design::model::Drain| d.node == node && d.section == run.section;
    if let Some(drain) = design.drains.iter().find(drained) {
        words.push(format!("drain, {}", drain.kind.word()));
    }
    if design.air_valves.contains(&node) {
        words.push("air valve".to_owned());
    }
    if words.is_empty() {
        words.push("bend or joint".to_owned());
    }
    words.join(", ")
}

/// Height that water would rise to along the way while the station runs: as solved at the supply and before the valve, and
/// between them falling as each main's loss at its greatest flow, brought to the station's flow, has its share.
fn running_grade(job: &Job, index: usize, way: &[usize]) -> Vec<(f64, f64)> {
    let (design, station) = (job.design, &job.design.stations[index]);
    let Some(supply) = &design.supply else {
        return Vec::new();
    };
    let start_m = level_m(job, supply.node, station.source_kpa);
    let fall_m = start_m - level_m(job, station.valve_node, station.valve_in_kpa);
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
    fn a_section_runs_from_the_supply_to_the_valve_and_reads_the_ground_and_the_path() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let run = Run::of_main(&job, 1, &job.way_to(3), 0);
        assert_eq!(run.stops.first().map(|s| s.1), Some(0));
        assert_eq!(run.stops.last().map(|s| s.1), Some(3));
        let (length_m, height_m) = *run.ground.last().unwrap();
        assert!((length_m - (7.5f64.hypot(5.0) + 10.0)).abs() < 1e-9);
        assert!((height_m - 100.05).abs() < 1e-3, "{height_m}");
        let path = run.stretches[0].from_to_m;
        assert!(
            (path.0 - 1.8f64.hypot(1.2)).abs() < 1e-9 && path.1 > path.0,
            "{path:?}"
        );
        let branch = Run::of_main(&job, 1, &job.way_to(3), 1);
        assert_eq!(branch.stops[0].1, 1);
        assert!((branch.running[0].0 - branch.stops[0].0).abs() < 1e-9);
    }
}
