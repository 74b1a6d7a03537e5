//! Which runs of pipe get a section.

use super::run::Run;
use crate::deliver::job::Job;
use crate::design::model::Section;
use std::collections::BTreeSet;

/// A branch of the main shorter than this gets no section of its own unless a drain or an air valve stands on it, m.
const SHORT_MAIN_M: f64 = 4.0;
/// A branch of a lateral shorter than this gets none, m: the tables tell where its drain is and how deep.
const SHORT_LATERAL_M: f64 = 10.0;

/// Sections of the mains.
pub(super) struct Mains {
    /// What is drawn, the longest first.
    pub(super) runs: Vec<Run>,
    /// Numbers of stations whose short branch is not drawn.
    pub(super) left_out: String,
}

/// The longest way from the supply to a valve; then of each other valve, by length, what is not drawn yet.
pub(super) fn mains(job: &Job) -> Mains {
    let design = job.design;
    let way = |station: usize| job.way_to(design.stations[station].valve_node);
    let mut ways: Vec<(usize, Vec<usize>)> =
        (0..design.stations.len()).map(|s| (s, way(s))).collect();
    ways.retain(|(_, way)| !way.is_empty());
    ways.sort_by(|a, b| {
        length_m(job, &b.1)
            .total_cmp(&length_m(job, &a.1))
            .then(a.0.cmp(&b.0))
    });
    let mut drawn = BTreeSet::new();
    let (mut runs, mut left_out) = (Vec::new(), Vec::new());
    for (station, way) in ways {
        let fresh = way.iter().take_while(|pipe| drawn.contains(*pipe)).count();
        let new = &way[fresh..];
        if new.is_empty() {
            continue;
        }
        if length_m(job, new) < SHORT_MAIN_M && fresh > 0 && !has_valve_on(job, Section::Main, new)
        {
            left_out.push(job.design.station_number(station));
            continue;
        }
        runs.push(Run::of_main(job, station, &way, fresh));
        drawn.extend(new.iter().copied());
    }
    left_out.sort_unstable();
    let left_out: Vec<String> = left_out.iter().map(usize::to_string).collect();
    Mains {
        runs,
        left_out: left_out.join(", "),
    }
}

/// The longest run of a station, and every other of some length that holds a drain.
pub(super) fn laterals(job: &Job, station: usize) -> Vec<Run> {
    let section = Section::Station(station);
    let mut ways = ways_of(job, station);
    ways.sort_by(|a, b| length_m(job, b).total_cmp(&length_m(job, a)).then(a.cmp(b)));
    let mut drawn = BTreeSet::new();
    let mut runs = Vec::new();
    for way in ways {
        let fresh = way.iter().take_while(|pipe| drawn.contains(*pipe)).count();
        let new = &way[fresh..];
        let worth = length_m(job, new) >= SHORT_LATERAL_M && has_valve_on(job, section, new);
        if new.is_empty() || !(runs.is_empty() || worth) {
            continue;
        }
        runs.push(Run::of_lateral(job, station, &way, fresh));
        drawn.extend(new.iter().copied());
    }
    runs
}

/// From the valve of a station to each of its dead ends.
fn ways_of(job: &Job, station: usize) -> Vec<Vec<usize>> {
    let design = job.design;
    let mut leaving: Vec<Vec<usize>> = vec![Vec::new(); design.nodes.len()];
    for (index, pipe) in design.pipes_of(Section::Station(station)) {
        if pipe.to < design.nodes.len()
            && let Some(list) = leaving.get_mut(pipe.from)
        {
            list.push(index);
        }
    }
    let mut ways = Vec::new();
    let mut seen = BTreeSet::new();
    let mut ahead: Vec<(usize, Vec<usize>)> =
        vec![(design.stations[station].valve_node, Vec::new())];
    while let Some((node, way)) = ahead.pop() {
        let onward = leaving.get(node).map_or(&[][..], Vec::as_slice);
        // A pipe met twice would be a ring, which laterals have not.
        let next: Vec<usize> = onward.iter().copied().filter(|&p| seen.insert(p)).collect();
        if next.is_empty() && !way.is_empty() {
            ways.push(way);
            continue;
        }
        for pipe in next {
            let mut longer = way.clone();
            longer.push(pipe);
            ahead.push((design.pipes[pipe].to, longer));
        }
    }
    ways
}

/// Whether a drain of the section, or an air valve, stands on pipes beyond where they begin.
fn has_valve_on(job: &Job, section: Section, pipes: &[usize]) -> bool {
    let design = job.design;
    let mut ends = pipes.iter().map(|&pipe| design.pipes[pipe].to);
    ends.any(|node| {
        let drained = |d: &crate::design::model::Drain| d.node == node && d.section == section;
        design.drains.iter().any(drained) || design.air_valves.contains(&node)
    })
}

fn length_m(job: &Job, way: &[usize]) -> f64 {
    way.iter()
        .map(|&pipe| job.design.pipes[pipe].length_m)
        .sum()
}
