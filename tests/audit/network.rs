//! Continuity, friction and hydrostatics along the laterals; every head fed from its valve, every valve from the source.

use super::layers::{Feature, Layers};
use std::collections::{BTreeMap, BTreeSet};

/// Conventional metre of water, kPa.
const KPA_PER_M: f64 = 9.806_65;
const VELOCITY_MOST_M_S: f64 = 1.55;

pub fn problems(layers: &Layers) -> Vec<String> {
    let nodes: BTreeMap<&str, &Feature> = layers
        .of("nodes")
        .iter()
        .map(|n| (n.text("id"), n))
        .collect();
    let mut found = Vec::new();
    for layer in ["mains", "laterals"] {
        for pipe in layers.of(layer) {
            found.extend(pipe_law(layer, pipe));
        }
    }
    found.extend(
        layers
            .of("laterals")
            .iter()
            .filter_map(|pipe| pressure_drop(pipe, &nodes)),
    );
    for station in layers.of("stations") {
        found.extend(station_problems(layers, station));
    }
    found.extend(layers.of("heads").iter().filter_map(out_of_range));
    found
}

fn pipe_law(layer: &str, pipe: &Feature) -> Vec<String> {
    let id = pipe.text("id");
    let get = |key| pipe.number(key);
    let (Some(flow_lpm), Some(inside_mm), Some(length_m), Some(c), Some(velocity), Some(loss_kpa)) = (
        get("flow_lpm"),
        get("inside_mm"),
        get("length_m"),
        get("roughness_c"),
        get("velocity_m_s"),
        get("loss_kpa"),
    ) else {
        return vec![format!("{layer}/{id} lacks a figure")];
    };
    let (flow, d) = (flow_lpm / 60_000.0, inside_mm / 1000.0);
    let mut found = Vec::new();
    let by_area = flow / (std::f64::consts::PI * d * d / 4.0);
    if (by_area - velocity).abs() > 0.005 + 0.005 * velocity {
        found.push(format!(
            "{layer}/{id}: velocity {velocity} is not flow over area {by_area:.3}"
        ));
    }
    if velocity > VELOCITY_MOST_M_S {
        found.push(format!("{layer}/{id}: velocity {velocity}"));
    }
    let friction_kpa =
        10.66683 * length_m * flow.powf(1.852) / (c.powf(1.852) * d.powf(4.871)) * KPA_PER_M;
    if loss_kpa < friction_kpa * 0.999 - 0.01 {
        found.push(format!(
            "{layer}/{id}: loss {loss_kpa} is under friction {friction_kpa:.3}"
        ));
    }
    found
}

fn pressure_drop(pipe: &Feature, nodes: &BTreeMap<&str, &Feature>) -> Option<String> {
    let (from, to) = (
        nodes.get(pipe.text("from_node"))?,
        nodes.get(pipe.text("to_node"))?,
    );
    let fall_kpa = from.number("pressure_kpa")? - to.number("pressure_kpa")?;
    let rise_kpa = KPA_PER_M * (to.number("invert_m")? - from.number("invert_m")?);
    let off_kpa = (fall_kpa - pipe.number("loss_kpa")? - rise_kpa).abs();
    (off_kpa > 0.05).then(|| {
        format!(
            "laterals/{}: pressure drop is {off_kpa:.3} kPa off loss and rise",
            pipe.text("id")
        )
    })
}

fn out_of_range(head: &Feature) -> Option<String> {
    let kpa = head.number("pressure_kpa")?;
    let off_kpa =
        (head.number("pressure_min_kpa")? - kpa).max(kpa - head.number("pressure_max_kpa")?);
    (off_kpa > 0.5).then(|| {
        format!(
            "heads/{}: {off_kpa:.1} kPa outside its range",
            head.text("id")
        )
    })
}

fn station_problems(layers: &Layers, station: &Feature) -> Vec<String> {
    let id = station.text("id");
    let mut balance: BTreeMap<&str, f64> = BTreeMap::new();
    let mut next: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for pipe in layers
        .of("laterals")
        .iter()
        .filter(|p| p.text("station") == id)
    {
        let (from, to, flow) = (
            pipe.text("from_node"),
            pipe.text("to_node"),
            pipe.number("flow_lpm").unwrap_or(f64::NAN),
        );
        *balance.entry(from).or_default() -= flow;
        *balance.entry(to).or_default() += flow;
        next.entry(from).or_default().push(to);
    }
    let mut drawn = 0.0;
    let mut head_nodes = BTreeSet::new();
    for head in layers
        .of("heads")
        .iter()
        .filter(|h| h.text("station") == id)
    {
        let flow = head.number("flow_lpm").unwrap_or(f64::NAN);
        drawn += flow;
        *balance.entry(head.text("node")).or_default() -= flow;
        head_nodes.insert(head.text("node"));
    }
    let valve = layers
        .of("valves")
        .iter()
        .find(|v| v.text("id") == station.text("valve"))
        .map_or("", |v| v.text("node"));
    let mut found: Vec<String> = balance
        .iter()
        .filter(|(node, q)| **node != valve && q.abs() > 0.02)
        .map(|(node, q)| format!("{id}: {q:.3} L/min appear or vanish at {node}"))
        .collect();
    let reached = reach(valve, &next);
    found.extend(
        head_nodes
            .difference(&reached)
            .map(|node| format!("{id}: head node {node} is not reached from its valve")),
    );
    let mains = main_links(layers);
    let source = layers
        .of("nodes")
        .iter()
        .find(|n| n.text("kind") == "source")
        .map_or("", |n| n.text("id"));
    if !reach(source, &mains).contains(valve) {
        found.push(format!("{id}: its valve is not reached from the source"));
    }
    if (drawn - station.number("flow_lpm").unwrap_or(f64::NAN)).abs() > 0.1 {
        found.push(format!(
            "{id}: its flow is not the sum of its heads ({drawn:.2} L/min)"
        ));
    }
    found
}

fn main_links(layers: &Layers) -> BTreeMap<&str, Vec<&str>> {
    let mut next: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for pipe in layers.of("mains") {
        next.entry(pipe.text("from_node"))
            .or_default()
            .push(pipe.text("to_node"));
    }
    next
}

fn reach<'a>(start: &'a str, next: &BTreeMap<&'a str, Vec<&'a str>>) -> BTreeSet<&'a str> {
    let mut seen = BTreeSet::new();
    let mut open = vec![start];
    while let Some(node) = open.pop() {
        if seen.insert(node) {
            open.extend(next.get(node).into_iter().flatten());
        }
    }
    seen
}
