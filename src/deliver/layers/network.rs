//! The pipe network: trenches, mains, laterals and nodes. Together the last three are a complete hydraulic model.

use crate::deliver::job::Job;
use crate::deliver::layer::{Layer, Shape};
use crate::deliver::palette;
use crate::design::model::{Ids, Lying, Node, NodeKind, Pipe, Section, Surface};
use geo::{Geometry, LineString};

/// Trenches.
pub(super) fn trenches(job: &Job) -> Layer {
    let trenches = &job.design.trenches;
    let colour = |i: usize| match trenches[i].surface {
        Surface::Roots => palette::VERMILION,
        Surface::Paving => palette::ORANGE,
        Surface::Turf | Surface::Bed | Surface::Bare => palette::GREY,
    };
    let title = |i: usize| {
        let trench = &trenches[i];
        let word = trench.surface.word();
        format!(
            "Trench {}, {:.1} m, {word}",
            Ids::number(&job.design.ids.trenches, i),
            trench.length_m
        )
    };
    Layer::new("trenches", Shape::Line, &job.names.trenches, &job.parcel.id)
        .geometry(|i| line(&trenches[i].line))
        .text("title", |i| Some(title(i)))
        .number("length_m", 3, |i| Some(up(trenches[i].length_m)))
        .number("cover_min_m", 4, |i| Some(trenches[i].cover_min_m))
        .number("cover_max_m", 4, |i| Some(trenches[i].cover_max_m))
        .whole("pipes", |i| Some(trenches[i].pipes))
        .text("surface", |i| Some(trenches[i].surface.word().to_string()))
        .flag("sleeve", |i| trenches[i].sleeve)
        .text("work", |i| {
            Some(Lying::word(*job.design.lying.as_ref()?.trenches.get(i)?).to_owned())
        })
        .flag("pinned", |i| job.design.pins.trenches.contains(&i))
        .stroke(4.0, colour)
}

/// Pipe before the control valves.
pub(super) fn mains(job: &Job) -> Layer {
    pipes(job, "mains", |pipe| pipe.section == Section::Main)
}

/// Pipe behind the control valves.
pub(super) fn laterals(job: &Job) -> Layer {
    pipes(job, "laterals", |pipe| pipe.section != Section::Main)
}

fn pipes(job: &Job, name: &'static str, wanted: impl Fn(&Pipe) -> bool) -> Layer {
    let all = &job.design.pipes;
    let chosen: Vec<usize> = (0..all.len()).filter(|&i| wanted(&all[i])).collect();
    let ids: Vec<String> = chosen.iter().map(|&i| job.names.pipes[i].clone()).collect();
    let pipe = |i: usize| &all[chosen[i]];
    let size = |i: usize| job.pipe_size(pipe(i));
    let from = |i: usize| job.design.nodes.get(pipe(i).from);
    let to = |i: usize| job.design.nodes.get(pipe(i).to);
    let node_name = |node: usize| job.names.nodes.get(node).cloned();
    Layer::new(name, Shape::Line, &ids, &job.parcel.id)
        .geometry(|i| line(&pipe(i).line))
        .text("title", |i| Some(pipe_title(job, chosen[i])))
        .text("station", |i| job.names.station(pipe(i).section))
        .text("survey_id", |i| job.survey_id(chosen[i], |ids| &ids.pipes))
        .text("from_node", |i| node_name(pipe(i).from))
        .text("to_node", |i| node_name(pipe(i).to))
        .list("trench", |i| trench_names(job, pipe(i)))
        .text("material", |i| Some(size(i)?.material.clone()))
        .text("nominal", |i| Some(size(i)?.nominal.clone()))
        .number("inside_mm", 3, |i| Some(size(i)?.inside_mm))
        .number("roughness_c", 2, |i| Some(size(i)?.roughness_c))
        .number("roughness_mm", 6, |i| Some(size(i)?.roughness_mm))
        .number("rating_kpa", 1, |i| Some(size(i)?.rating_kpa))
        .number("length_m", 8, |i| Some(pipe(i).length_m))
        .number("minor_k", 6, |i| Some(pipe(i).minor_k))
        .number("flow_lpm", 4, |i| Some(pipe(i).flow_lpm))
        .number("velocity_m_s", 4, |i| Some(pipe(i).velocity_m_s))
        .number("loss_kpa", 4, |i| Some(pipe(i).loss_kpa))
        .number("invert_from_m", 8, |i| Some(from(i)?.invert_m))
        .number("invert_to_m", 8, |i| Some(to(i)?.invert_m))
        .text("work", |i| {
            Some(Lying::word(*job.design.lying.as_ref()?.pipes.get(chosen[i])?).to_owned())
        })
        .flag("pinned", |i| job.design.pins.pipes.contains(&chosen[i]))
        .stroke(if name == "mains" { 3.0 } else { 1.5 }, |i| {
            pipe_colour(job, pipe(i))
        })
}

fn pipe_colour(job: &Job, pipe: &Pipe) -> &'static str {
    match pipe.section {
        Section::Main => palette::BLACK,
        Section::Station(station) => job.colours.station(Some(station)),
    }
}

fn pipe_title(job: &Job, index: usize) -> String {
    let pipe = &job.design.pipes[index];
    let nominal = job
        .pipe_size(pipe)
        .map_or("?", |size| size.nominal.as_str());
    let what = match pipe.section {
        Section::Main => "Main".to_string(),
        Section::Station(station) => {
            format!("Lateral of station {},", job.design.station_number(station))
        }
    };
    format!("{what} size {nominal}, {:.1} L/min", pipe.flow_lpm)
}

fn trench_names(job: &Job, pipe: &Pipe) -> Vec<String> {
    let name = |&trench: &usize| job.names.trenches.get(trench).cloned();
    pipe.trenches.iter().filter_map(name).collect()
}

/// Nodes.
pub(super) fn nodes(job: &Job) -> Layer {
    let nodes = &job.design.nodes;
    let title = |i: usize| {
        format!(
            "Node {}, {}",
            Ids::number(&job.design.ids.nodes, i),
            nodes[i].kind.word()
        )
    };
    Layer::new("nodes", Shape::Point, &job.names.nodes, &job.parcel.id)
        .geometry(|i| Some(Geometry::Point(nodes[i].position.into())))
        .text("title", |i| Some(title(i)))
        .text("kind", |i| Some(nodes[i].kind.word().to_string()))
        .text("station", |i| job.names.station(nodes[i].section))
        .text("head", |i| job.names.heads.get(nodes[i].head?).cloned())
        .number("ground_m", 8, |i| Some(nodes[i].ground_m))
        .number("invert_m", 8, |i| Some(nodes[i].invert_m))
        .number("pressure_kpa", 6, |i| nodes[i].pressure_kpa)
        .number("static_kpa", 6, |i| nodes[i].static_kpa)
        .flag("pinned", |i| job.design.pins.nodes.contains(&i))
        .marker(|i| node_colour(job, &nodes[i]))
}

fn node_colour(job: &Job, node: &Node) -> &'static str {
    match (node.kind, node.section) {
        (NodeKind::Source, _) => palette::BLUE,
        (_, Section::Station(station)) => job.colours.station(Some(station)),
        (_, Section::Main) => palette::BLACK,
    }
}

fn line(line: &LineString<f64>) -> Option<Geometry<f64>> {
    (line.0.len() > 1).then(|| Geometry::LineString(line.clone()))
}

/// A length rounded up to the millimetre: pipe must never be counted short.
fn up(length_m: f64) -> f64 {
    (length_m * 1000.0 - 1e-6).ceil() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_never_short_nor_a_millimetre_long() {
        assert_eq!(up(12.3), 12.3);
        assert_eq!(up(12.3001), 12.301);
        assert_eq!(up(0.0), 0.0);
    }
}
