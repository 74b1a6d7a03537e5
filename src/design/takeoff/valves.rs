//! Valves by kind and size, and the boxes they stand in.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::design::model::{DrainKind, NodeKind, Valve, ValveKind};
use geo::Coord;

/// Valves this near may share a box, m (common practice, no source).
const SHARE_M: f64 = 3.0;

/// A box round a first valve.
struct ValveBox {
    centre: Coord<f64>,
    valves: usize,
}

/// Counts valves and boxes.
pub fn count(job: &Job, ledger: &mut Ledger) {
    for valve in &job.design.valves {
        count_valve(job, valve, ledger);
    }
    let boxes = control_boxes(job);
    let line = Line::new(Group::Valves, [10, 0, 0], "valve box", "each");
    ledger.add(line, boxes.len() as f64, job.prices.valve_box);
    let line = Line::new(
        Group::Valves,
        [11, 0, 0],
        "valve box, small, for one hand valve",
        "each",
    );
    ledger.add(line, hand_boxes(job, boxes) as f64, job.prices.valve_box);
}

fn count_valve(job: &Job, valve: &Valve, ledger: &mut Ledger) {
    let sizes = &job.catalogue.valves;
    let rank = sizes.iter().position(|size| size.size == valve.size);
    let price = if valve.kind == ValveKind::Control {
        let listed = rank.filter(|_| job.prices.use_catalogue);
        listed.map(|rank| sizes[rank].price)
    } else {
        job.prices.hand_valve
    };
    let order = [valve.kind as usize, rank.unwrap_or(sizes.len()), 0];
    let line = Line::new(
        Group::Valves,
        order,
        format!("{} valve", valve.kind.word()),
        "each",
    );
    ledger.add(line.sized(valve.size.clone()), 1.0, price);
}

fn place(job: &Job, node: usize) -> Option<Coord<f64>> {
    job.design.nodes.get(node).map(|node| node.position)
}

fn near(a: Coord<f64>, b: Coord<f64>) -> bool {
    (a.x - b.x).hypot(a.y - b.y) <= SHARE_M
}

/// Control valves, in their order, each into the first box near enough that has room.
fn control_boxes(job: &Job) -> Vec<ValveBox> {
    let room = job.rules.valve_box_valves.max(1.0) as usize;
    let mut boxes: Vec<ValveBox> = Vec::new();
    let controls = job
        .design
        .valves
        .iter()
        .filter(|valve| valve.kind == ValveKind::Control);
    for position in controls.filter_map(|valve| place(job, valve.node)) {
        match boxes
            .iter_mut()
            .find(|other| other.valves < room && near(other.centre, position))
        {
            Some(shared) => shared.valves += 1,
            None => boxes.push(ValveBox {
                centre: position,
                valves: 1,
            }),
        }
    }
    boxes
}

/// Boxes for what a hand must reach away from every other box. At the point of connection the chamber is local code's.
fn hand_boxes(job: &Job, boxes: Vec<ValveBox>) -> usize {
    let mut reached: Vec<Coord<f64>> = boxes.into_iter().map(|other| other.centre).collect();
    let controls = reached.len();
    let sources = job
        .design
        .nodes
        .iter()
        .filter(|node| node.kind == NodeKind::Source);
    let sources: Vec<Coord<f64>> = sources.map(|node| node.position).collect();
    let isolation = job
        .design
        .valves
        .iter()
        .filter(|valve| valve.kind == ValveKind::Isolation);
    let manual = job
        .design
        .drains
        .iter()
        .filter(|drain| drain.kind != DrainKind::Automatic);
    let nodes = isolation
        .map(|valve| valve.node)
        .chain(manual.map(|drain| drain.node));
    for position in nodes.filter_map(|node| place(job, node)) {
        if !reached
            .iter()
            .chain(&sources)
            .any(|other| near(*other, position))
        {
            reached.push(position);
        }
    }
    reached.len() - controls
}
