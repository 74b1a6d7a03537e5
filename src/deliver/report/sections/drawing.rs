//! A long section as a chart: the water's levels above, ground and pipe below, pipe sizes along the foot.

use super::crossings::Crossed;
use super::run::Run;
use crate::deliver::job::Job;
use crate::deliver::plan::escaped;
use crate::deliver::report::charts::{Axis, Chart, LEFT, Line, Mark, Panel, RIGHT, TOP, WIDE};
use crate::design::model::{DrainKind, Section, Surface};
use std::fmt::Write;

/// Feet of the two panels, px.
const LEVELS_FLOOR: f64 = 128.0;
const PIPE_TOP: f64 = 154.0;
const PIPE_FLOOR: f64 = 274.0;
/// Where the sizes stand, px.
const SIZES: f64 = 290.0;
const TICKS: f64 = 298.0;
const HIGH: f64 = 336.0;

/// The section of a run.
pub(super) fn drawn(job: &Job, run: &Run, crossed: &[Crossed]) -> String {
    let nodes = &job.design.nodes;
    let invert = run
        .stops
        .iter()
        .map(|&(m, n)| (m, nodes[n].invert_m))
        .collect();
    let ground = Line {
        name: "ground",
        class: "ground",
        points: run.ground.clone(),
    };
    let pipe = Line {
        name: "invert of the pipe",
        class: "invert",
        points: invert,
    };
    let levels = levels(run);
    let mut chart = Chart::new(&run.title, &told(run), HIGH);
    let above = panel(run, &levels, 5.0, (LEVELS_FLOOR, TOP));
    above.grid_up(&mut chart.svg, "water, m");
    for line in &levels {
        above.line(&mut chart.svg, line);
    }
    let lines = [pipe, ground];
    let below = panel(run, &lines, 1.5, (PIPE_FLOOR, PIPE_TOP));
    for stretch in &run.stretches {
        let (class, text) = match stretch.surface {
            Surface::Roots => ("by-hand", "roots, by hand"),
            _ => ("sleeves", "paving, sleeve"),
        };
        below.band(&mut chart.svg, stretch.from_to_m, class, text);
    }
    below.grid_up(&mut chart.svg, "height, m");
    for line in &lines {
        below.line(&mut chart.svg, line);
    }
    for mark in marks(job, run) {
        below.mark(&mut chart.svg, &mark);
    }
    for other in crossed {
        cross(&mut chart.svg, &below, other);
    }
    sizes(&mut chart.svg, job, run, &below);
    below.ticks_at(&mut chart.svg, TICKS, &along(run, &below));
    for line in levels.iter().chain(&lines) {
        chart.name_line(line);
    }
    chart.done()
}

fn told(run: &Run) -> String {
    let ends = [run.stops.first(), run.stops.last()].map(|s| s.map_or(0.0, |s| s.0));
    format!(
        "Ground, invert of the pipe and height of the water from {:.0} m to {:.0} m. The table below has the figures.",
        ends[0], ends[1]
    )
}

fn levels(run: &Run) -> [Line; 2] {
    [
        Line {
            name: "nothing running",
            class: "standing",
            points: run.standing.clone(),
        },
        Line {
            name: "station running",
            class: "running",
            points: run.running.clone(),
        },
    ]
}

fn panel(run: &Run, lines: &[Line], least_m: f64, (floor, top): (f64, f64)) -> Panel {
    let ups = lines.iter().flat_map(|line| &line.points).map(|p| p.1);
    let ends = [run.stops.first(), run.stops.last()].map(|s| s.map_or(0.0, |s| s.0));
    let step = Axis::over(ends.into_iter(), 1.0, LEFT, 280.0).step();
    let wide = WIDE - LEFT - RIGHT;
    Panel::new(
        Axis::fixed((ends[0], ends[1].max(ends[0] + 0.1)), step, LEFT, wide),
        Axis::over(ups, least_m, floor, top - floor),
    )
}

/// Name of the axis along, with how much steeper than true the ground is drawn.
fn along(run: &Run, panel: &Panel) -> String {
    let steeper = panel.y.px_per_unit() / panel.x.px_per_unit();
    match steeper >= 1.5 {
        true => format!("{}; ground drawn {steeper:.0} times as steep", run.from),
        false => run.from.to_string(),
    }
}

fn drain_words(kind: DrainKind) -> &'static str {
    match kind {
        DrainKind::Automatic => "drain",
        DrainKind::Manual => "drain, by hand",
        DrainKind::Flush => "flushing point",
    }
}

/// Drain and air valves of the run, and the valves at its ends.
fn marks(job: &Job, run: &Run) -> Vec<Mark> {
    let design = job.design;
    let mark = |&(at_m, node): &(f64, usize)| {
        let drain = design
            .drains
            .iter()
            .find(|d| d.node == node && d.section == run.section);
        let valve = design.stations.iter().position(|s| s.valve_node == node);
        let (text, above) = match (drain, valve) {
            (Some(drain), _) => (drain_words(drain.kind).into(), false),
            (None, _) if design.air_valves.contains(&node) && run.section == Section::Main => {
                ("air".into(), true)
            }
            (None, Some(station)) => (format!("valve {}", design.station_number(station)), true),
            (None, None) => return None,
        };
        Some(Mark {
            at: (at_m, design.nodes[node].invert_m),
            above,
            text,
        })
    };
    run.stops.iter().filter_map(mark).collect()
}

/// Another pipe that crosses: an upright cross at its own height.
fn cross(svg: &mut String, panel: &Panel, other: &Crossed) {
    let (x, y) = (panel.x.px(other.at_m), panel.y.px(other.invert_m));
    let y = y.clamp(PIPE_TOP, PIPE_FLOOR);
    let _ = write!(
        svg,
        "<path class=\"cross\" d=\"M{:.1} {y:.1}h10m-5 -5v10\"><title>{}</title></path>",
        x - 5.0,
        escaped(&other.text)
    );
}

/// Sizes along the foot, each once for as far as it goes.
fn sizes(svg: &mut String, job: &Job, run: &Run, panel: &Panel) {
    let mut start = 0;
    while start < run.pipes.len() {
        let size = job.design.pipes[run.pipes[start]].size;
        let same = |&&p: &&usize| job.design.pipes[p].size == size;
        let end = start + run.pipes[start..].iter().take_while(same).count();
        let (from, to) = (panel.x.px(run.stops[start].0), panel.x.px(run.stops[end].0));
        let nominal = job.catalogue().pipes.get(size).map_or("–", |s| &s.nominal);
        let _ = write!(
            svg,
            "<path class=\"axis\" d=\"M{from:.1} {:.0}V{TICKS:.0}\"/>",
            PIPE_FLOOR + 4.0
        );
        if to - from > 7.0 * nominal.chars().count() as f64 {
            let _ = write!(
                svg,
                "<text x=\"{:.1}\" y=\"{SIZES:.0}\" text-anchor=\"middle\">{}</text>",
                (from + to) / 2.0,
                escaped(nominal)
            );
        }
        start = end;
    }
}
