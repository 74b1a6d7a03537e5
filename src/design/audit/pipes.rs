//! Pipes in which the water runs too fast: each place is told, with the heads that it starves.

use crate::brief::Project;
use crate::design::model::{Design, Pipe, Section};
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use geo::{Coord, Euclidean, InterpolatableLine};

/// Velocity over the rule that is still called kept, since solved flows differ a little from planned ones.
const VELOCITY_GRACE: f64 = 1.05;

/// One place where pipe is too narrow.
pub(super) struct Fast {
    pub(super) section: Section,
    pub(super) finding: Finding,
}

/// Pipes that run too fast; pipes of one size that follow on each other are told together.
pub(super) fn fast(design: &Design, project: &Project, rebuilt: &Rebuilt) -> Vec<Fast> {
    let most = project.rules.velocity_most_m_s * VELOCITY_GRACE;
    let is_fast = |pipe: &Pipe| pipe.velocity_m_s > most;
    let mut feeder = vec![None; design.nodes.len()];
    for (index, pipe) in design.pipes.iter().enumerate() {
        if design.nodes[pipe.to].section == pipe.section {
            feeder[pipe.to] = Some(index);
        }
    }
    let mut first = vec![None; design.pipes.len()];
    let mut runs: Vec<(usize, Vec<usize>)> = Vec::new();
    for (index, pipe) in design
        .pipes
        .iter()
        .enumerate()
        .filter(|(_, pipe)| is_fast(pipe))
    {
        let before = feeder[pipe.from].filter(|&before: &usize| {
            let fed_by = &design.pipes[before];
            is_fast(fed_by) && fed_by.size == pipe.size && fed_by.section == pipe.section
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
