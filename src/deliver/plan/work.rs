//! What stands on the pipe: heads, valves, drain and air valves; and the places to look at.

use super::amid;
use super::base::switch;
use super::marks;
use super::sheet::Sheet;
use crate::deliver::attention::Placed;
use crate::deliver::job::Job;
use crate::design::model::{Head, Section, Valve, ValveKind};
use geo::Coord;

/// All heads, grouped by station.
pub(super) fn heads(sheet: &Sheet, job: &Job) -> String {
    let stations = (0..job.design.stations.len()).map(Some);
    let group = |station: Option<usize>| {
        let class = job.colours.class(station);
        let of = |&index: &usize| job.station_of(index) == station;
        let on_sheet = |&index: &usize| sheet.holds(job.design.heads[index].position);
        let heads = (0..job.design.heads.len()).filter(of).filter(on_sheet);
        let marks: String = heads.map(|index| head(sheet, job, index)).collect();
        format!("<g class=\"heads {class}\"{}>{marks}</g>", switch(station))
    };
    stations.chain([None]).map(group).collect()
}

/// One head.
pub(super) fn head(sheet: &Sheet, job: &Job, index: usize) -> String {
    let head = &job.design.heads[index];
    marks::head(
        sheet.at(head.position),
        head.arc,
        symbol_px(sheet, head),
        "",
    )
}

/// Radius of a head's symbol, px.
pub(super) fn symbol_px(sheet: &Sheet, head: &Head) -> f64 {
    (0.14 * head.radius_m * sheet.scale).clamp(2.8, 9.0)
}

/// Points of the work with their numbers.
pub(super) fn points(sheet: &Sheet, job: &Job) -> String {
    let every = |_: Section| true;
    fixed(sheet, job, &every) + &labels(sheet, job) + &looks(sheet, job)
}

/// Supply, valves, drain and air valves of the sections that `wanted` picks, as far as they lie on the sheet.
pub(super) fn fixed(sheet: &Sheet, job: &Job, wanted: &dyn Fn(Section) -> bool) -> String {
    let design = job.design;
    let place = |node: usize| {
        let position = design.nodes.get(node)?.position;
        sheet.holds(position).then(|| sheet.at(position))
    };
    let source_node = design.supply.as_ref().map(|supply| supply.node);
    let drains = design.drains.iter().filter(|d| wanted(d.section));
    let airs = design.air_valves.iter().filter(|_| wanted(Section::Main));
    let own = |valve: &&Valve| wanted(valve.station.map_or(Section::Main, Section::Station));
    // What stands at the point of connection belongs to its mark.
    let apart = |valve: &&Valve| Some(valve.node) != source_node;
    let valves = design.valves.iter().filter(own).filter(apart);
    let mut svg = source_node
        .and_then(place)
        .map_or(String::new(), marks::source);
    svg.extend(drains.filter_map(|d| Some(marks::drain(place(d.node)?, d.kind))));
    svg.extend(airs.filter_map(|&node| Some(marks::air(place(node)?))));
    svg.extend(valves.filter_map(|valve| Some(valve_mark(place(valve.node)?, valve, job))));
    svg
}

fn valve_mark(at: marks::At, valve: &Valve, job: &Job) -> String {
    match (valve.kind, valve.station) {
        (ValveKind::Control, Some(station)) => marks::control(
            at,
            (station, job.design.station_number(station)),
            job.colours.class(Some(station)),
        ),
        (ValveKind::Control, None) | (ValveKind::Backflow | ValveKind::Regulator, _) => {
            String::new()
        }
        (ValveKind::Isolation | ValveKind::Master, _) => marks::by_hand(at),
    }
}

/// The number of each station amid its heads, unless its valve stands there.
fn labels(sheet: &Sheet, job: &Job) -> String {
    let label = |(index, station): (usize, &crate::design::model::Station)| {
        let heads = station
            .heads
            .iter()
            .filter_map(|&h| job.design.heads.get(h));
        let places: Vec<Coord<f64>> = heads.map(|head| head.position).collect();
        let (x, y) = sheet.at(amid(&places).filter(|&at| sheet.holds(at))?);
        let valve = job.design.nodes.get(station.valve_node);
        let (valve_x, valve_y) = sheet.at(valve?.position);
        let far = (x - valve_x).hypot(y - valve_y) > 40.0;
        far.then(|| station_label(job, index, x, y - 12.0))
    };
    job.design
        .stations
        .iter()
        .enumerate()
        .filter_map(label)
        .collect()
}

fn station_label(job: &Job, index: usize, x: f64, y: f64) -> String {
    format!(
        "<text class=\"st {}\"{} x=\"{x:.1}\" y=\"{y:.1}\">{}</text>",
        job.colours.class(Some(index)),
        switch(Some(index)),
        job.design.station_number(index)
    )
}

/// The places to look at, numbered as in the list of findings. What concerns the whole parcel has no place on the plan.
fn looks(sheet: &Sheet, job: &Job) -> String {
    let mark = |(index, look): (usize, &crate::deliver::attention::Attention)| {
        let at = look
            .at
            .filter(|&at| look.placed != Placed::InParcel && sheet.holds(at))?;
        Some(marks::look(sheet.at(at), index + 1, look.finding.severity))
    };
    job.attention.iter().enumerate().filter_map(mark).collect()
}
