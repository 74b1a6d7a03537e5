//! Water points that say too little or nonsense.

use crate::assert_says;
use crate::builder::{Bench, messages, tap, with};

#[test]
fn a_nonsense_flow_test_says_why() {
    let rising = with(tap("w1", 1.0, 1.0), "residual_kpa", 600);
    let findings = Bench {
        water_points: vec![rising],
        ..Bench::default()
    }
    .parcel()
    .expect_err("refused");
    assert_says(
        &messages(&findings, "bad_supply_test")[0],
        &["water_points.geojson: w1", "600 kPa", "Check the test"],
    );
    messages(&findings, "no_water_point");
}

#[test]
fn half_a_service_pipe_names_the_file_the_tap_and_the_field() {
    let half = with(tap("w1", 1.0, 1.0), "service_length_m", 40);
    let flat = with(half.clone(), "service_inside_mm", 0);
    for (water_point, field) in [
        (half, "service_inside_mm is missing"),
        (flat, "service_inside_mm is 0, which must be above 0"),
    ] {
        let bench = Bench {
            water_points: vec![water_point],
            ..Bench::default()
        };
        let findings = bench.parcel().expect_err("refused");
        assert_says(
            &messages(&findings, "bad_supply_test")[0],
            &["error: water_points.geojson: w1", field],
        );
    }
}

#[test]
fn a_tap_far_outside_its_parcel_is_not_used() {
    let far = with(tap("w2", 400.0, 1.0), "parcel", "p1");
    let bench = Bench {
        water_points: vec![tap("w1", 1.0, 1.0), far],
        ..Bench::default()
    };
    let parcel = bench.parcel().expect("goes on with w1");
    assert_says(
        &messages(&parcel.findings, "water_point_outside_parcel")[0],
        &["w2", "360 m outside"],
    );
    assert_eq!(parcel.water_points.len(), 1);
}
