//! Pipes in which the water runs too fast: each place is told, with the heads that it starves.

use crate::brief::Project;
use crate::design::model::{Design, Pipe, Section};
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use geo::{Coord, Euclidean, InterpolatableLine};

/// Velocity over the rule that is still called kept, since solved flows differ a little from planned ones.
const VELOCITY_GRACE: f64 = 1.05;

/// Velocity over that beyond which what single heads draw too much does not explain it.
const BY_HEADS_MOST: f64 = 1.25;

/// One place where pipe is too narrow.
pub(super) struct Fast {
    pub(super) section: Section,
    pub(super) finding: Finding,
}

impl Fast {
    /// Whether a station gets its water through it.
    pub(super) fn feeds(&self, station: usize) -> bool {
        match self.section {
            Section::Main => true,
            Section::Station(of) => of == station,
        }
    }
}

/// Pipes that run too fast; pipes of one size that follow on each other are told together.
///
/// `excess_lpm`: flow of each head over what it should have, L/min. Pipe that is fast for that alone is not told, since
/// the head is.
pub(super) fn fast(
    design: &Design,
    project: &Project,
    rebuilt: &Rebuilt,
    excess_lpm: &[f64],
) -> Vec<Fast> {
    let most = project.rules.velocity_most_m_s * VELOCITY_GRACE;
    let feeder = feeders(design);
    let excess = excess_in_pipes(design, &feeder, excess_lpm);
    let is_fast = |index: usize| {
        let pipe = &design.pipes[index];
        let due = 1.0 - excess[index] / pipe.flow_lpm.max(1e-9);
        let by_heads = pipe.velocity_m_s <= BY_HEADS_MOST * most;
        pipe.velocity_m_s > most && !(by_heads && pipe.velocity_m_s * due.clamp(0.0, 1.0) <= most)
    };
    let mut first = vec![None; design.pipes.len()];
    let mut runs: Vec<(usize, Vec<usize>)> = Vec::new();
    for (index, pipe) in design.pipes.iter().enumerate() {
        if !is_fast(index) {
            continue;
        }
        let before = feeder[pipe.from].filter(|&before: &usize| {
            let fed_by = &design.pipes[before];
            is_fast(before) && fed_by.size == pipe.size && fed_by.section == pipe.section
        });
        let run = before.and_then(|before| first[before]).unwrap_or_else(|| {
            runs.push((index, Vec::new()));
            runs.len() - 1
        });
        first[index] = Some(run);
        runs[run].1.push(index);
    }
    runs.into_iter()
        .map(|(worst, run)| told(design, project, rebuilt, worst, &run))
        .collect()
}

/// The pipe that feeds each node.
fn feeders(design: &Design) -> Vec<Option<usize>> {
    let mut feeder = vec![None; design.nodes.len()];
    for (index, pipe) in design.pipes.iter().enumerate() {
        if design.nodes[pipe.to].section == pipe.section {
            feeder[pipe.to] = Some(index);
        }
    }
    feeder
}

/// Flow in each pipe over what it should have, L/min; in mains that of the station with most.
fn excess_in_pipes(design: &Design, feeder: &[Option<usize>], of_heads: &[f64]) -> Vec<f64> {
    let mut of_laterals = vec![0.0; design.pipes.len()];
    let mut of_stations = vec![0.0; design.stations.len()];
    for (index, node) in design.nodes.iter().enumerate() {
        let Some(lpm) = node.head.and_then(|head| of_heads.get(head)) else {
            continue;
        };
        if let Section::Station(station) = node.section {
            of_stations[station] += lpm;
        }
        let mut at = feeder[index].filter(|_| *lpm > 0.0);
        while let Some(pipe) = at {
            of_laterals[pipe] += lpm;
            at = feeder[design.pipes[pipe].from];
        }
    }
    let most_lpm = of_stations.into_iter().fold(0.0, f64::max);
    let of_pipe = |(pipe, lpm): (&Pipe, f64)| match pipe.section {
        Section::Main => most_lpm,
        Section::Station(_) => lpm,
    };
    design.pipes.iter().zip(of_laterals).map(of_pipe).collect()
}

fn told(
    design: &Design,
    project: &Project,
    rebuilt: &Rebuilt,
    worst: usize,
    run: &[usize],
) -> Fast {
    let pipe = &design.pipes[worst];
    let size = &project.catalogue.pipes[pipe.size];
    let length_m: f64 = run.iter().map(|pipe| design.pipes[*pipe].length_m).sum();
    let wider = project
        .catalogue
        .pipes
        .iter()
        .filter(|other| !other.only_laid);
    let fits = |inside_mm: f64| {
        pipe.velocity_m_s * (size.inside_mm / inside_mm).powi(2) <= project.rules.velocity_most_m_s
    };
    let wider = wider
        .filter(|other| fits(other.inside_mm))
        .min_by(|a, b| a.inside_mm.total_cmp(&b.inside_mm));
    let remedy = wider.map_or_else(
        || "No size of the catalogue is wide enough: let fewer heads run at once.".to_owned(),
        |wider| format!("Pipe of {} {} would do.", wider.material, wider.nominal),
    );
    let starved = starved(design, project, pipe.section);
    let message = format!(
        "{length_m:.1} m of pipe {} {} are too narrow: {:.0} L/min run at {:.2} m/s, {:.1} are allowed{starved}. {remedy}",
        size.material,
        size.nominal,
        pipe.flow_lpm,
        pipe.velocity_m_s,
        project.rules.velocity_most_m_s
    );
    Fast {
        section: pipe.section,
        finding: Finding::warning("pipe_undersized", message)
            .of(rebuilt.ids.pipes[worst].clone())
            .at(middle(pipe)),
    }
}

/// What the heads behind lack, in words.
fn starved(design: &Design, project: &Project, section: Section) -> String {
    let behind = |station: Option<usize>| match section {
        Section::Main => station.is_some(),
        Section::Station(own) => station == Some(own),
    };
    let short = design
        .heads
        .iter()
        .zip(&design.station_of)
        .zip(&design.working);
    let short: Vec<f64> = short
        .filter(|((_, station), _)| behind(**station))
        .map(|((head, _), work)| {
            project.catalogue.heads[head.model].pressure_min_kpa - work.pressure_kpa
        })
        .filter(|kpa| *kpa > 0.5)
        .collect();
    let worst = short.iter().copied().fold(0.0, f64::max);
    match short.len() {
        0 => String::new(),
        count => {
            format!("; {count} heads behind it are short of pressure, by {worst:.0} kPa at worst")
        }
    }
}

/// The middle of a pipe.
fn middle(pipe: &Pipe) -> Coord<f64> {
    let point = pipe.line.point_at_ratio_from_start(&Euclidean, 0.5);
    point.map_or_else(|| pipe.line.0[0], |point| point.0)
}
