//! What happens to bad input: a message that says what, where, and what to do.

#[path = "bad_input/builder.rs"]
mod builder;
#[path = "bad_input/cases.rs"]
mod cases;
#[path = "bad_input/climate.rs"]
mod climate;
#[path = "bad_input/depths.rs"]
mod depths;
#[path = "bad_input/edits.rs"]
mod edits;
#[path = "bad_input/existing.rs"]
mod existing;
#[path = "bad_input/files.rs"]
mod files;
#[path = "bad_input/hydraulics.rs"]
mod hydraulics;
#[path = "bad_input/obstacles.rs"]
mod obstacles;
#[path = "bad_input/parcels.rs"]
mod parcels;
#[path = "bad_input/prices.rs"]
mod prices;
#[path = "bad_input/terrain.rs"]
mod terrain;
#[path = "bad_input/trenches.rs"]
mod trenches;
#[path = "bad_input/turf.rs"]
mod turf;
#[path = "bad_input/water_points.rs"]
mod water_points;

use builder::Bench;
use geo::Area;

/// Every part must stand in the text.
fn assert_says(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "`{part}` is not in: {text}");
    }
}

#[test]
fn the_bench_itself_is_sound() {
    let parcel = Bench::default().parcel().expect("a sound parcel");
    let codes: Vec<_> = parcel.findings.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [""; 0]);
    let area_m2 = parcel.turf[0].shape.unsigned_area();
    // UTM shrinks lengths by 0.9997 here, so the true area is a little larger than drawn.
    assert!((area_m2 - 936.0).abs() < 1.0, "{area_m2}");
    let at = parcel.water_points[0].position;
    let height_m = parcel.terrain.height_m(at).expect("ground under the tap");
    // 41 m from the raster's west edge, cell centres half a cell in.
    assert!(
        (height_m - (100.0 + 0.02 * 40.5)).abs() < 0.001,
        "{height_m}"
    );
}
