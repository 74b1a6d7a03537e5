//! Designs changed by hand: the layers of one run are the edits of the next.

use crate::scratch::{Scratch, text};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Designs into a folder with edits; what was printed.
fn design(scratch: &Scratch, edits: &str, out: &str) -> String {
    let project = scratch.read("project.toml");
    let name = format!("{out}.toml");
    scratch.write(&name, &format!("{project}edits = {edits:?}\n"));
    let done = scratch.run(&["design", &name, "--out", out, "--only", "square"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    text(&done.stdout)
}

fn first_design() -> Scratch {
    let scratch = Scratch::with_ground();
    let done = scratch.run(&["design", "project.toml", "--out", "one", "--only", "square"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    scratch
}

fn layer_of(scratch: &Scratch, out: &str, layer: &str) -> Value {
    let file = format!("{out}/parcels/square/layers/{layer}.geojson");
    serde_json::from_str(&scratch.read(&file)).unwrap()
}

fn features(layer: &mut Value) -> &mut Vec<Value> {
    layer["features"].as_array_mut().unwrap()
}

/// Copies the layers of a run to `hand/`, changed.
fn edit(scratch: &Scratch, out: &str, change: impl Fn(&str, &mut Vec<Value>)) {
    for (file, contents) in scratch.files(&format!("{out}/parcels/square/layers")) {
        let mut layer: Value = serde_json::from_slice(&contents).unwrap();
        let name = file.file_stem().unwrap().to_str().unwrap();
        change(name, features(&mut layer));
        scratch.write(&format!("hand/{name}.geojson"), &layer.to_string());
    }
}

fn by_id(layer: &mut Value) -> BTreeMap<String, Value> {
    let features = features(layer).drain(..);
    features
        .map(|feature| {
            (
                feature["properties"]["id"].as_str().unwrap().to_owned(),
                feature,
            )
        })
        .collect()
}

fn messages(scratch: &Scratch, out: &str, code: &str) -> Vec<String> {
    let mut attention = layer_of(scratch, out, "attention");
    let of_code = features(&mut attention)
        .iter()
        .filter(|f| f["properties"]["code"] == code);
    of_code
        .map(|f| f["properties"]["message"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn edits_without_a_change_give_the_same_bytes() {
    let scratch = first_design();
    let one = scratch.files("one/parcels");
    assert!(one.len() > 10);
    for (edits, out) in [
        ("one", "two"),
        ("one/parcels/square/design.gpkg", "three"),
        ("one/parcels/square/layers", "four"),
    ] {
        design(&scratch, edits, out);
        assert!(scratch.files(&format!("{out}/parcels")) == one, "{edits}");
    }
}

#[test]
fn what_was_pinned_moved_set_added_and_taken_away_stays_so_run_after_run() {
    let scratch = first_design();
    let moved = json!("head-0002");
    edit(&scratch, "one", |layer, features| {
        if layer != "heads" {
            return;
        }
        features.retain(|head| head["properties"]["id"] != "head-0004");
        for head in features.iter_mut() {
            if head["properties"]["id"] == "head-0001" {
                head["properties"]["pinned"] = json!(true);
            }
            if head["properties"]["id"] == moved {
                let at = head["geometry"]["coordinates"].as_array_mut().unwrap();
                // Half a metre or so towards the middle of the lawn.
                for (place, middle) in at.iter_mut().zip([12.100_165, 49.200_108]) {
                    let was = place.as_f64().unwrap();
                    *place = json!(was + (middle - was).signum() * 0.000_005);
                }
            }
        }
        let added = json!({
            "type": "Feature",
            "properties": { "parcel": "square" },
            "geometry": { "type": "Point", "coordinates": [12.100_15, 49.200_1] },
        });
        features.push(added);
    });
    design(&scratch, "hand", "two");
    let before = by_id(&mut layer_of(&scratch, "one", "heads"));
    let asked: Value = serde_json::from_str(&scratch.read("hand/heads.geojson")).unwrap();
    let asked = by_id_of_asked(&asked);
    let after = by_id(&mut layer_of(&scratch, "two", "heads"));
    let set = |head: &Value| {
        let names = [
            "model",
            "nozzle",
            "arc_start_deg",
            "arc_sweep_deg",
            "radius_m",
        ];
        names.map(|name| head["properties"][name].clone())
    };
    for id in ["head-0001", "head-0002"] {
        assert_eq!(after[id]["geometry"], asked[id]["geometry"]);
        assert_eq!(set(&after[id]), set(&before[id]));
        assert_eq!(after[id]["properties"]["pinned"], true);
    }
    assert!(!after.contains_key("head-0004"));
    let added = after
        .values()
        .find(|head| head["geometry"]["coordinates"] == json!([12.100_15, 49.200_1]));
    assert_eq!(
        added.expect("the head that was added")["properties"]["pinned"],
        true
    );
    assert_eq!(messages(&scratch, "two", "head_left_out").len(), 1);
    let effect = messages(&scratch, "two", "edits_effect");
    assert!(
        effect.len() == 1 && effect[0].contains("turf square: DU"),
        "{effect:?}"
    );

    for (edits, out) in [("two", "three"), ("two/parcels/square/layers", "four")] {
        design(&scratch, edits, out);
        let (two, again) = (
            scratch.files("two/parcels"),
            scratch.files(&format!("{out}/parcels")),
        );
        let differ: Vec<_> = two
            .iter()
            .zip(&again)
            .filter(|(a, b)| a != b)
            .map(|(a, _)| &a.0)
            .collect();
        assert!(
            two.len() == again.len() && differ.is_empty(),
            "{edits}: {differ:?}"
        );
    }
}

fn by_id_of_asked(layer: &Value) -> BTreeMap<String, Value> {
    let features = layer["features"].as_array().unwrap().iter();
    let named = features.filter(|feature| feature["properties"]["id"].is_string());
    named
        .map(|f| {
            (
                f["properties"]["id"].as_str().unwrap().to_owned(),
                f.clone(),
            )
        })
        .collect()
}
