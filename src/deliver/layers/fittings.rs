//! Valves, drain valves and air valves.

use crate::deliver::job::Job;
use crate::deliver::layer::{Layer, Shape};
use crate::deliver::palette;
use crate::design::model::{DrainKind, Ids, Lying, Section, ValveKind};
use geo::Geometry;

/// Valves.
pub(super) fn valves(job: &Job) -> Layer {
    let valves = &job.design.valves;
    let node_name = |node: usize| job.names.nodes.get(node).cloned();
    let title = |i: usize| match valves[i].station {
        Some(station) => format!(
            "{} valve, station {}",
            capital(valves[i].kind),
            job.design.station_number(station)
        ),
        None => format!("{} valve", capital(valves[i].kind)),
    };
    Layer::new("valves", Shape::Point, &job.names.valves, &job.parcel.id)
        .geometry(|i| place(job, valves[i].node))
        .text("title", |i| Some(title(i)))
        .text("kind", |i| Some(valves[i].kind.word().to_string()))
        .text("station", |i| {
            job.names.station(Section::Station(valves[i].station?))
        })
        .text("survey_id", |i| job.survey_id(i, |ids| &ids.valves))
        .text("node", |i| node_name(valves[i].node))
        .number("flow_lpm", 4, |i| Some(valves[i].flow_lpm))
        .text("size", |i| Some(valves[i].size.clone()))
        .number("regulated_kpa", 4, |i| {
            job.design.stations.get(valves[i].station?)?.regulated_kpa
        })
        .text("work", |i| {
            Some(Lying::word(*job.design.lying.as_ref()?.valves.get(i)?).to_owned())
        })
        .flag("pinned", |i| job.design.pins.valves.contains(&i))
        .marker(|i| job.colours.station(valves[i].station))
}

/// The valve's kind as a title begins.
fn capital(kind: ValveKind) -> &'static str {
    match kind {
        ValveKind::Control => "Control",
        ValveKind::Isolation => "Isolation",
        ValveKind::Backflow => "Backflow preventer,",
        ValveKind::Master => "Master",
        ValveKind::Regulator => "Regulator",
    }
}

/// Drain valves.
pub(super) fn drains(job: &Job) -> Layer {
    let drains = &job.design.drains;
    let node = |i: usize| job.design.nodes.get(drains[i].node);
    let title = |i: usize| {
        let section = job.names.section(drains[i].section);
        match drains[i].kind {
            DrainKind::Flush => format!("Flushing point, {section}"),
            kind => format!("Drain valve, {}, {section}", kind.word()),
        }
    };
    Layer::new("drains", Shape::Point, &job.names.drains, &job.parcel.id)
        .geometry(|i| place(job, drains[i].node))
        .text("title", |i| Some(title(i)))
        .text("kind", |i| Some(drains[i].kind.word().to_string()))
        .text("section", |i| Some(job.names.section(drains[i].section)))
        .text("node", |i| job.names.nodes.get(drains[i].node).cloned())
        .number("ground_m", 4, |i| Some(node(i)?.ground_m))
        .number("invert_m", 4, |i| Some(node(i)?.invert_m))
        .number("drained_l", 2, |i| Some(drains[i].drained_l))
        .number("gravel_l", 2, |i| Some(drains[i].gravel_l))
        .text("work", |i| {
            Some(Lying::word(*job.design.lying.as_ref()?.drains.get(i)?).to_owned())
        })
        .flag("access_box", |i| drains[i].kind != DrainKind::Automatic)
        .flag("pinned", |i| job.design.pins.drains.contains(&i))
        .marker(|_| palette::BLUE)
}

/// Air valves.
pub(super) fn air_valves(job: &Job) -> Layer {
    let at = &job.design.air_valves;
    let names = &job.names.air_valves;
    Layer::new("air_valves", Shape::Point, names, &job.parcel.id)
        .geometry(|i| place(job, at[i]))
        .text("title", |i| {
            Some(format!(
                "Air valve {}",
                Ids::number(&job.design.ids.air_valves, i)
            ))
        })
        .text("node", |i| job.names.nodes.get(at[i]).cloned())
        .number("invert_m", 4, |i| {
            Some(job.design.nodes.get(at[i])?.invert_m)
        })
        .marker(|_| palette::SKY_BLUE)
}

fn place(job: &Job, node: usize) -> Option<Geometry<f64>> {
    let node = job.design.nodes.get(node)?;
    Some(Geometry::Point(node.position.into()))
}
