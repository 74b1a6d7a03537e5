//! Heads and the ground they wet.

use crate::deliver::job::Job;
use crate::deliver::layer::{Layer, Shape};
use geo::Geometry;

/// Heads, as set and as they work.
pub(super) fn heads(job: &Job) -> Layer {
    let heads = &job.design.heads;
    let nodes = job.node_of_head();
    let model = |i: usize| job.head_model(&heads[i]);
    let working = |i: usize| job.working(i);
    Layer::new("heads", Shape::Point, &job.names.heads, &job.parcel.id)
        .geometry(|i| Some(Geometry::Point(heads[i].position.into())))
        .text("title", |i| Some(title(job, i)))
        .text("station", |i| job.station_name(i))
        .text("turf", |i| job.names.turf.get(heads[i].turf).cloned())
        .text("survey_id", |i| job.survey_id(i, |ids| &ids.heads))
        .text("model", |i| Some(model(i)?.name.clone()))
        .text("nozzle", |i| job.nozzle(&heads[i]).map(str::to_string))
        .text("node", |i| job.names.nodes.get(nodes[i]?).cloned())
        .number("arc_start_deg", 4, |i| Some(heads[i].arc.start_deg))
        .number("arc_sweep_deg", 4, |i| Some(heads[i].arc.sweep_deg))
        .number("radius_m", 3, |i| Some(heads[i].radius_m))
        .number("radius_working_m", 3, |i| Some(working(i)?.radius_m))
        .number("pressure_kpa", 6, |i| Some(working(i)?.pressure_kpa))
        .number("pressure_min_kpa", 2, |i| Some(model(i)?.pressure_min_kpa))
        .number("pressure_max_kpa", 2, |i| Some(model(i)?.pressure_max_kpa))
        .number("flow_lpm", 4, |i| Some(working(i)?.flow_lpm))
        .number("rate_mm_h", 3, |i| Some(working(i)?.rate_mm_h))
        .number("ground_m", 8, |i| Some(heads[i].ground_m))
        .flag("one_row", |i| heads[i].one_row)
        .flag("check_valve", |i| {
            job.design.check_valves.binary_search(&i).is_ok()
        })
        .number("flow_ref_lpm", 8, |i| Some(heads[i].flow_ref_lpm))
        .number("pressure_ref_kpa", 2, |i| Some(model(i)?.pressure_ref_kpa))
        .number("flow_exponent", 4, |i| Some(model(i)?.flow_exponent))
        .number("joint_loss_kpa", 4, |i| Some(model(i)?.joint_loss_kpa))
        .number("joint_flow_lpm", 4, |i| Some(model(i)?.joint_flow_lpm))
        .text("work", |i| {
            Some(job.design.lying.as_ref()?.heads.get(i)?.word().to_owned())
        })
        .flag("pinned", |i| job.design.pins.heads.contains(&i))
        .marker(|i| job.colours.station(job.station_of(i)))
}

fn title(job: &Job, index: usize) -> String {
    let head = &job.design.heads[index];
    let model = job.head_model(head).map_or("", |model| model.name.as_str());
    let nozzle = job.nozzle(head).unwrap_or("");
    let station = match job.station_of(index) {
        Some(station) => format!("station {}", job.design.station_number(station)),
        None => "no station".to_string(),
    };
    format!(
        "Head {}, {station}, {model} {nozzle}",
        job.design.head_number(index)
    )
}

/// Wetted outlines.
pub(super) fn throws(job: &Job) -> Layer {
    let throws = &job.design.throws;
    let colour = |i: usize| job.colours.station(job.station_of(i));
    Layer::new("throws", Shape::Polygon, &job.names.throws, &job.parcel.id)
        .geometry(|i| Some(Geometry::Polygon(throws[i].clone())))
        .text("title", |i| {
            Some(format!("Throw of head {}", job.design.head_number(i)))
        })
        .text("head", |i| job.names.heads.get(i).cloned())
        .text("station", |i| job.station_name(i))
        .stroke(0.5, colour)
        .fill(0.06, colour)
}
