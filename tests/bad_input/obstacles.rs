//! Obstacles of an unknown kind or without a width.

use crate::assert_says;
use crate::builder::{Bench, messages, rectangle, with};
use geo::Area;
use serde_json::json;

#[test]
fn an_unknown_kind_of_obstacle_is_told_with_the_nearest_known_one() {
    let obstacle = with(rectangle("o1", 10.0, 10.0, 14.0, 14.0), "kind", "buildng");
    let ground = Bench {
        obstacles: vec![obstacle],
        ..Bench::default()
    }
    .open();
    let told = &messages(ground.findings(), "unknown_kind")[0];
    assert_says(
        told,
        &[
            "error: obstacles.geojson: o1",
            "`buildng`",
            "did you mean `building`?",
        ],
    );
}

#[test]
fn a_path_drawn_as_a_line_needs_a_width_and_takes_its_width_from_the_turf() {
    let across = |id: &str| {
        let mut line = with(rectangle(id, 0.0, 0.0, 1.0, 1.0), "kind", "paving");
        let corners = line["geometry"]["coordinates"][0].clone();
        let north = corners[0][1].as_f64().expect("a number");
        let west = corners[0][0].as_f64().expect("a number");
        line["geometry"] = json!({ "type": "LineString", "coordinates": [[west - 5.0, north + 15.0], [west + 45.0, north + 15.0]] });
        line
    };
    let bench = Bench {
        obstacles: vec![across("o1"), with(across("o2"), "width_m", 2.0)],
        ..Bench::default()
    };
    let parcel = bench.parcel().expect("sound but for o1");
    assert_says(
        &messages(&parcel.findings, "line_without_width")[0],
        &["obstacles.geojson: o1", "width_m"],
    );
    let area_m2 = parcel.turf[0].shape.unsigned_area();
    assert!((area_m2 - 36.0 * 24.0).abs() < 1.0, "{area_m2}");
    assert_eq!(parcel.turf[0].shape.0.len(), 2);
}
