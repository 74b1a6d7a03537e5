//! Designs changed by hand that are not ours, or say what cannot be.

use crate::assert_says;
use crate::builder::{Bench, messages, read};
use serde_json::{Value, json};
use swardline::finding::Finding;
use swardline::site::{self, Parcel, SiteError};
use tempfile::TempDir;

/// Somewhere in the bench's parcel, degrees.
const HERE: [f64; 2] = [13.380_4, 52.521_5];

fn head(properties: Value, [lon, lat]: [f64; 2]) -> Value {
    json!({ "type": "Feature", "properties": properties,
        "geometry": { "type": "Point", "coordinates": [lon, lat] } })
}

/// A bench with a file of edits, and its project's text.
fn with_edits(file: &str, features: &[Value]) -> TempDir {
    let bench = Bench {
        more: "edits = 'hand'\n".to_owned(),
        ..Bench::default()
    };
    let folder = bench.write();
    let hand = folder.path().join("hand");
    std::fs::create_dir(&hand).expect("a folder for edits");
    let collection = json!({ "type": "FeatureCollection", "features": features });
    std::fs::write(hand.join(file), collection.to_string()).expect("edits are written");
    folder
}

fn opened(folder: &TempDir) -> Result<site::Ground, SiteError> {
    site::open(&read(folder).expect("the project file is sound"))
}

fn refusal(file: &str, features: &[Value]) -> Vec<Finding> {
    opened(&with_edits(file, features))
        .expect_err("refused")
        .findings
}

fn parcel(features: &[Value]) -> Parcel {
    let folder = with_edits("heads.geojson", features);
    let ground = opened(&folder).expect("the files are sound");
    ground.parcel("p1").expect("a sound parcel")
}

#[test]
fn a_folder_without_heads_is_not_ours() {
    let told = refusal("trees.geojson", &[head(json!({ "id": "oak" }), HERE)]);
    assert_says(
        &messages(&told, "edits_not_ours")[0],
        &[
            "error: hand",
            "no layer `heads` (none of our layers)",
            "output folder of a run",
        ],
    );
}

#[test]
fn heads_without_ids_are_not_ours() {
    let told = refusal("heads.geojson", &[head(json!({ "model": "spray" }), HERE)]);
    assert_says(
        &messages(&told, "edits_not_ours")[0],
        &["hand/heads.geojson", "none of its heads has an `id`"],
    );
}

#[test]
fn edits_that_are_not_there_are_told_with_the_project() {
    let bench = Bench {
        more: "edits = 'nowhere'\n".to_owned(),
        ..Bench::default()
    };
    let told = read(&bench.write()).expect_err("refused").to_string();
    assert_says(&told, &["inputs.edits", "`nowhere`"]);
}

#[test]
fn a_parcel_that_is_none_is_told_once() {
    let named = |id: &str| head(json!({ "id": id, "parcel": "p9" }), HERE);
    let folder = with_edits("heads.geojson", &[named("head-0001"), named("head-0002")]);
    let ground = opened(&folder).expect("the files are sound");
    let told = messages(ground.findings(), "unknown_parcel");
    assert_eq!(told.len(), 1);
    assert_says(&told[0], &["hand", "`p9`"]);
    assert_eq!(ground.parcel("p1").expect("a sound parcel").edits, None);
}

#[test]
fn values_and_shapes_that_cannot_be_are_told() {
    let features = [
        head(
            json!({ "id": "head-0001", "parcel": "p1", "pinned": "maybe" }),
            HERE,
        ),
        head(
            json!({ "id": "head-0002", "parcel": "p1", "radius_m": -3 }),
            HERE,
        ),
        json!({ "type": "Feature", "properties": { "id": "head-0003", "parcel": "p1" },
            "geometry": { "type": "LineString", "coordinates": [HERE, [13.380_5, 52.521_5]] } }),
    ];
    let parcel = parcel(&features);
    let values = messages(&parcel.findings, "edit_value");
    assert_says(
        &values[0],
        &[
            "hand/heads.geojson: head-0001",
            "`maybe`, neither true nor false",
        ],
    );
    assert_says(
        &values[1],
        &["head-0002", "radius_m is -3, outside 0.3 to 60"],
    );
    let shapes = messages(&parcel.findings, "edit_geometry");
    assert_says(&shapes[0], &["head-0003", "a line, not a point"]);
    assert_eq!(parcel.edits.expect("edits").heads.len(), 2);
}

#[test]
fn ticks_of_any_gis_are_read() {
    let ticked = [json!(true), json!(1), json!("yes"), json!("TRUE")];
    let clear = [json!(false), json!(0), json!(""), json!(null)];
    // A GIS writes one kind of value to a column.
    for (ticked, clear) in ticked.iter().zip(&clear) {
        let features = [
            head(
                json!({ "id": "head-0001", "parcel": "p1", "pinned": ticked }),
                HERE,
            ),
            head(
                json!({ "id": "head-0002", "parcel": "p1", "pinned": clear }),
                HERE,
            ),
        ];
        let pins = parcel(&features).edits.expect("edits").heads;
        let pins: Vec<bool> = pins.iter().map(|head| head.hand.pinned).collect();
        assert_eq!(pins, [true, false], "{ticked} {clear}");
    }
}

#[test]
fn a_copy_of_a_head_is_a_head_of_its_own() {
    let features = [
        head(json!({ "id": "head-0001", "parcel": "p1" }), HERE),
        head(
            json!({ "id": "head-0001", "parcel": "p1" }),
            [HERE[0] + 1e-5, HERE[1]],
        ),
    ];
    let heads = parcel(&features).edits.expect("edits").heads;
    let ids: Vec<_> = heads.iter().map(|head| head.hand.id.as_deref()).collect();
    assert_eq!(ids, [Some("head-0001"), None]);
    assert!(heads.iter().all(|head| head.hand.changed));
}
