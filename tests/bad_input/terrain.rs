//! Rasters that miss, lack or mistake the ground.

use crate::assert_says;
use crate::builder::{Bench, Raster, messages, read};

#[test]
fn a_raster_that_misses_the_parcel_says_by_how_much() {
    let raster = Raster {
        columns: 60,
        ..Bench::default().raster
    };
    let findings = Bench {
        raster,
        ..Bench::default()
    }
    .parcel()
    .expect_err("refused");
    // The raster ends 20 m east of the parcel's west edge, the parcel 20 m farther.
    assert_says(
        &messages(&findings, "terrain_does_not_cover")[0],
        &["error: terrain.tif", "by up to 20 m"],
    );
}

#[test]
fn a_raster_elsewhere_says_what_may_be_wrong() {
    let raster = Raster {
        before: -5000,
        ..Bench::default().raster
    };
    let findings = Bench {
        raster,
        ..Bench::default()
    }
    .parcel()
    .expect_err("refused");
    let told = &messages(&findings, "terrain_does_not_cover")[0];
    assert_says(
        told,
        &[
            "does not cover the parcel",
            "longitude and latitude are exchanged",
        ],
    );
}

#[test]
fn much_nodata_under_turf_is_an_error_and_a_little_is_bridged() {
    let holed = |hole| Bench {
        raster: Raster {
            hole: Some(hole),
            ..Bench::default().raster
        },
        ..Bench::default()
    };
    let findings = holed([45, 45, 65, 65]).parcel().expect_err("refused");
    assert_says(
        &messages(&findings, "terrain_missing")[0],
        &["error: terrain.tif", "no heights under"],
    );
    let parcel = holed([60, 55, 63, 58]).parcel().expect("bridged");
    let told = &messages(&parcel.findings, "terrain_gap_bridged")[0];
    assert_says(told, &["warning", "under 9.0 m² of turf"]);
    let place = parcel.findings[0].place.expect("a place");
    let height_m = parcel.terrain.height_m(place).expect("bridged ground");
    assert!(
        (height_m - (100.0 + 0.02 * 61.0)).abs() < 0.02,
        "{height_m}"
    );
}

#[test]
fn feet_read_as_metres_are_doubted() {
    // A slope of 25 % written in feet.
    let steep = Raster {
        slope: 0.25 / 0.3048,
        ..Bench::default().raster
    };
    let parcel = Bench {
        raster: steep,
        ..Bench::default()
    }
    .parcel()
    .expect("designed with doubt");
    assert_says(
        &messages(&parcel.findings, "relief_absurd")[0],
        &["82 %", "feet", "terrain_unit"],
    );
    let steep = Raster {
        slope: 0.25 / 0.3048,
        ..Bench::default().raster
    };
    let told = Bench {
        raster: steep,
        more: "terrain_unit = 'foot'\n".to_owned(),
        ..Bench::default()
    };
    let parcel = told.parcel().expect("sound once the unit is said");
    assert!(parcel.findings.is_empty(), "{:?}", parcel.findings);
}

#[test]
fn metres_that_are_only_assumed_are_noted() {
    let ground = Bench::default().open();
    assert_says(
        &messages(ground.findings(), "terrain_unit_assumed")[0],
        &["note: terrain.tif", "metres were assumed"],
    );
}

#[test]
fn tiles_are_put_together_without_a_seam() {
    let bench = Bench::default();
    let whole = bench.parcel().expect("one raster");
    // The west tile ends under the parcel; the east one begins there, with the heights that go on.
    let west = Raster {
        columns: 60,
        ..Bench::default().raster
    };
    let tiled = Bench {
        raster: west,
        ..Bench::default()
    };
    let folder = tiled.write();
    let east = Raster {
        before: -20,
        columns: 60,
        z0_m: 100.0 + 0.02 * 60.0,
        south: -40,
        ..Bench::default().raster
    };
    east.write(&folder.path().join("east.tif"));
    let path = folder.path().join("project.toml");
    let text = std::fs::read_to_string(&path).expect("read");
    let text = text.replace("'terrain.tif'", "['terrain.tif', 'east.tif']");
    std::fs::write(&path, text).expect("written");
    let project = read(&folder).expect("sound");
    let parcel = swardline::site::open(&project)
        .expect("opens")
        .parcel("p1")
        .expect("covered by two tiles");
    for x in -19..=19 {
        let at = geo::Coord {
            x: f64::from(x),
            y: 3.3,
        };
        let (one, two) = (whole.terrain.height_m(at), parcel.terrain.height_m(at));
        let (one, two) = (one.expect("ground"), two.expect("ground"));
        assert!((one - two).abs() < 1e-3, "{x}: {one} against {two}");
    }
}

#[test]
fn no_data_that_the_raster_does_not_declare_is_no_ground() {
    let raster = Raster {
        hole: Some([60, 55, 63, 58]),
        declared: false,
        ..Bench::default().raster
    };
    let parcel = Bench {
        raster,
        ..Bench::default()
    }
    .parcel()
    .expect("bridged");
    messages(&parcel.findings, "terrain_gap_bridged");
    let lowest_m = parcel
        .terrain
        .heights_m
        .iter()
        .copied()
        .fold(f32::INFINITY, f32::min);
    assert!(lowest_m > 99.0, "{lowest_m}");
}
