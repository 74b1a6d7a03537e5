//! Every low point of the laid pipe has a drain, every summit of the main an air valve.
//!
//! A low is judged by walking: from any node, stepping only downhill (or level), a drain must be reached; water has no
//! other way out.

use super::layers::Layers;
use std::collections::{BTreeMap, BTreeSet};

/// Rises up to this are taken out when the trench is trimmed, m.
const LEVEL_M: f64 = 0.02;

pub fn problems(layers: &Layers) -> Vec<String> {
    let invert: BTreeMap<&str, f64> = layers
        .of("nodes")
        .iter()
        .filter_map(|n| Some((n.text("id"), n.number("invert_m")?)))
        .collect();
    let drains: BTreeSet<&str> = layers.of("drains").iter().map(|d| d.text("node")).collect();
    let airs: BTreeSet<&str> = layers
        .of("air_valves")
        .iter()
        .map(|a| a.text("node"))
        .collect();
    let mut sections: BTreeMap<&str, BTreeMap<&str, Vec<&str>>> = BTreeMap::new();
    for (layer, key) in [("mains", "main"), ("laterals", "")] {
        for pipe in layers.of(layer) {
            let section = sections
                .entry(if key.is_empty() {
                    pipe.text("station")
                } else {
                    key
                })
                .or_default();
            section
                .entry(pipe.text("from_node"))
                .or_default()
                .push(pipe.text("to_node"));
            section
                .entry(pipe.text("to_node"))
                .or_default()
                .push(pipe.text("from_node"));
        }
    }
    let mut found = Vec::new();
    for (name, joins) in &sections {
        for &node in joins.keys() {
            if !finds(
                node,
                joins,
                &drains,
                |a, b| invert[b] <= invert[a],
                |b| invert[b] - invert[node],
            ) {
                found.push(format!("{name}: water at {node} finds no drain"));
            }
        }
    }
    if let Some(joins) = sections.get("main") {
        let source = layers
            .of("nodes")
            .iter()
            .find(|n| n.text("kind") == "source")
            .map_or("", |n| n.text("id"));
        for (&node, around) in joins {
            let top = around.len() > 1
                && node != source
                && around.iter().all(|b| invert[b] < invert[node] - LEVEL_M);
            if top && !airs.contains(node) {
                found.push(format!("main: no air valve at the summit {node}"));
            }
        }
    }
    found
}

/// Whether a walk that never climbs more than `LEVEL_M` above the lowest ground it has seen comes to one of `goals`.
fn finds<'a>(
    start: &'a str,
    joins: &BTreeMap<&'a str, Vec<&'a str>>,
    goals: &BTreeSet<&str>,
    down: impl Fn(&str, &str) -> bool,
    height: impl Fn(&str) -> f64,
) -> bool {
    let mut open = vec![(start, height(start))];
    let mut seen = BTreeSet::new();
    while let Some((node, low)) = open.pop() {
        if goals.contains(node) {
            return true;
        }
        if !seen.insert(node) {
            continue;
        }
        for &next in &joins[node] {
            if down(node, next) || height(next) <= low + LEVEL_M {
                open.push((next, low.min(height(next))));
            }
        }
    }
    false
}
