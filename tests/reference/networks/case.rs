//! The case files that lie beside the repository, where they do.

use super::super::told::{Friction, Kind, Pipe, Told};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use swardline::design::hydraulics::{Node, Outlet};

/// A published or worked network with its known answer.
#[derive(Debug)]
pub struct Case {
    pub told: Told,
    /// Index of each node by its id.
    pub places: BTreeMap<String, usize>,
    pub file: Value,
}

/// A case by its name; `None`, and a word of it, where there is no such file.
pub fn case(name: &str) -> Option<Case> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../shared/cases")
        .join("networks")
        .join(format!("{name}.json"));
    let Ok(text) = std::fs::read_to_string(path) else {
        eprintln!("{name}: no case file here, NOT CHECKED");
        return None;
    };
    Some(read(
        serde_json::from_str(&text).expect("a case file is JSON"),
    ))
}

pub fn number(value: &Value, key: &str) -> f64 {
    value.get(key).and_then(Value::as_f64).unwrap_or(0.0)
}

pub fn word<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().expect("ids are text")
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().expect("a list")
}

fn read(file: Value) -> Case {
    let friction = match file["kinematic_viscosity_m2_s"].as_f64() {
        Some(viscosity_m2_s) => Friction::DarcyWeisbach { viscosity_m2_s },
        None => Friction::HazenWilliams,
    };
    let mut told = Told::new(friction, 0.5);
    let mut places = BTreeMap::new();
    for source in list(&file, "sources") {
        let place = told.add_node(Node::reservoir(number(source, "head_m")));
        places.insert(word(source, "id").to_owned(), place);
    }
    for spec in list(&file, "nodes") {
        places.insert(word(spec, "id").to_owned(), told.add_node(node(spec)));
    }
    for spec in list(&file, "pipes") {
        let ends = ["from", "to"].map(|end| places[word(spec, end)]);
        told.add_link(ends[0], ends[1], Kind::Pipe(pipe(friction, spec)));
    }
    Case { told, places, file }
}

fn node(spec: &Value) -> Node {
    let elevation_m = number(spec, "z");
    let mut junction = Node::junction(elevation_m, number(spec, "demand_lps") / 1e3);
    junction.outlet = spec.get("emitter").map(|emitter| Outlet {
        elevation_m,
        k: number(emitter, "k") / 1e3,
        exponent: number(emitter, "exponent"),
        resistance: 0.0,
    });
    junction
}

fn pipe(friction: Friction, spec: &Value) -> Pipe {
    let roughness = match friction {
        Friction::HazenWilliams => "C",
        Friction::DarcyWeisbach { .. } => "roughness_mm",
    };
    Pipe {
        length_m: number(spec, "length_m"),
        inside_mm: number(spec, "diameter_mm"),
        roughness: number(spec, roughness),
        minor_k: number(spec, "minor_k"),
    }
}
