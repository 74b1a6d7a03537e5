//! What happens to bad input: a message that says what, where, and what to do.

#[path = "bad_input/builder.rs"]
mod builder;
#[path = "bad_input/cases.rs"]
mod cases;
#[path = "bad_input/climate.rs"]
mod climate;
#[path = "bad_input/depths.rs"]
mod depths;
#[path = "bad_input/hydraulics.rs"]
mod hydraulics;
#[path = "bad_input/prices.rs"]
mod prices;
#[path = "bad_input/trenches.rs"]
mod trenches;
#[path = "bad_input/turf.rs"]
mod turf;

use builder::{Bench, Raster, messages, polygon, read, rectangle, tap, with};
use geo::{Area, BooleanOps};
use serde_json::json;

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

#[test]
fn a_missing_file_is_named() {
    let folder = Bench::default().write();
    std::fs::remove_file(folder.path().join("turf.geojson")).expect("removed");
    let told = read(&folder).expect_err("refused").to_string();
    assert_says(&told, &["inputs.turf", "there is no file `turf.geojson`"]);
}

#[test]
fn an_unknown_key_is_named_with_the_nearest_known_one() {
    let bench = Bench {
        more: "[rules]\nvelocity_mots_m_s = 1.0\n".to_owned(),
        ..Bench::default()
    };
    let told = read(&bench.write()).expect_err("refused").to_string();
    assert_says(
        &told,
        &[
            "rules.velocity_mots_m_s",
            "did you mean `velocity_most_m_s`?",
        ],
    );
}

#[test]
fn garbage_in_place_of_raster_and_layer_is_told_for_both_at_once() {
    let (folder, project) = Bench::default().project();
    std::fs::write(folder.path().join("terrain.tif"), "no raster at all").expect("spoiled");
    std::fs::write(folder.path().join("turf.geojson"), "{\"type\": \"Feat").expect("spoiled");
    let told = swardline::site::open(&project)
        .expect_err("refused")
        .to_string();
    assert_says(
        &told,
        &[
            "terrain.tif: cannot be read as a raster",
            "turf.geojson: cannot be read as a vector layer",
        ],
    );
}

#[test]
fn metres_called_degrees_are_told() {
    let bench = Bench {
        crs: None,
        ..Bench::default()
    };
    let told = bench.refusal().to_string();
    assert_says(
        &told,
        &[
            "parcels.geojson: p1",
            "look like metres",
            "GeoPackage",
            "turf.geojson: t1",
        ],
    );
}

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
fn a_lawn_that_crosses_itself_is_left_out_and_the_others_go_on() {
    let bow_tie = polygon(
        "t2",
        &[
            (2.0, 15.0),
            (20.0, 28.0),
            (20.0, 15.0),
            (2.0, 28.0),
            (2.0, 15.0),
        ],
    );
    let bench = Bench {
        turf: vec![rectangle("t1", 2.0, 2.0, 38.0, 14.0), bow_tie],
        ..Bench::default()
    };
    let parcel = bench.parcel().expect("goes on with t1");
    assert_eq!(parcel.turf.len(), 1);
    assert_says(
        &messages(&parcel.findings, "self_crossing")[0],
        &["error: turf.geojson: t2", "crosses itself"],
    );
    let place = parcel.findings[0].place.expect("a place");
    // The diagonals cross at 11, 21.5; the frame's origin is the parcel's middle, 20, 15.
    assert!(
        (place.x + 9.0).abs() < 0.3 && (place.y - 6.5).abs() < 0.3,
        "{place:?}"
    );
}

#[test]
fn a_boundary_that_crosses_itself_refuses_its_parcel_alone() {
    let bow_tie = polygon(
        "p1",
        &[
            (0.0, 0.0),
            (40.0, 30.0),
            (40.0, 0.0),
            (0.0, 30.0),
            (0.0, 0.0),
        ],
    );
    let sound = rectangle("p2", 50.0, 0.0, 60.0, 30.0);
    let bench = Bench {
        parcels: vec![bow_tie, sound],
        turf: vec![rectangle("t2", 51.0, 1.0, 59.0, 29.0)],
        water_points: vec![tap("w2", 51.0, 1.0)],
        ..Bench::default()
    };
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("opens");
    let findings = ground.parcel("p1").expect_err("refused");
    assert_says(
        &messages(&findings, "self_crossing")[0],
        &["parcels.geojson: p1"],
    );
    assert!(ground.parcel("p2").is_ok());
}

#[test]
fn ids_given_twice_are_named() {
    let twice = vec![
        rectangle("t1", 2.0, 2.0, 18.0, 28.0),
        rectangle("t1", 20.0, 2.0, 38.0, 28.0),
    ];
    let parcel = Bench {
        turf: twice,
        ..Bench::default()
    }
    .parcel()
    .expect("designed with both");
    assert_says(
        &messages(&parcel.findings, "duplicate_id")[0],
        &["error: turf.geojson: t1", "must be unique"],
    );
    let ids: Vec<_> = parcel.turf.iter().map(|area| area.id.as_str()).collect();
    assert_eq!(ids, ["t1", "t1 (2)"]);
    let twice = vec![
        rectangle("p1", 0.0, 0.0, 40.0, 30.0),
        rectangle("p1", 50.0, 0.0, 60.0, 30.0),
    ];
    let findings = Bench {
        parcels: twice,
        ..Bench::default()
    }
    .parcel()
    .expect_err("refused");
    assert_says(
        &messages(&findings, "duplicate_id")[0],
        &["error: parcels.geojson: p1", "several parcels"],
    );
}

#[test]
fn a_lawn_in_two_parcels_goes_to_the_greater_part_and_is_told_in_both() {
    let bench = Bench {
        parcels: vec![
            rectangle("p1", 0.0, 0.0, 30.0, 30.0),
            rectangle("p2", 30.0, 0.0, 60.0, 30.0),
        ],
        turf: vec![
            rectangle("t1", 2.0, 2.0, 40.0, 28.0),
            rectangle("t2", 42.0, 2.0, 58.0, 28.0),
        ],
        water_points: vec![tap("w1", 1.0, 1.0), tap("w2", 59.0, 1.0)],
        ..Bench::default()
    };
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("opens");
    let (first, second) = (
        ground.parcel("p1").expect("p1"),
        ground.parcel("p2").expect("p2"),
    );
    for parcel in [&first, &second] {
        let told = &messages(&parcel.findings, "turf_in_two_parcels")[0];
        assert_says(
            told,
            &["error: turf.geojson: t1", "728 m² in p1", "260 m² in p2"],
        );
    }
    assert!((first.turf[0].shape.unsigned_area() - 728.0).abs() < 1.0);
    assert_eq!(second.turf.len(), 1);
    assert_says(
        &messages(&first.findings, "turf_outside_parcel")[0],
        &["260", "clipped"],
    );
}

#[test]
fn a_parcel_without_water_and_one_without_turf_are_refused_with_the_reason() {
    let findings = Bench {
        water_points: Vec::new(),
        ..Bench::default()
    }
    .parcel()
    .expect_err("refused");
    assert_says(
        &messages(&findings, "no_water_point")[0],
        &["error: parcels.geojson: p1", "no usable water point"],
    );
    let findings = Bench {
        turf: Vec::new(),
        ..Bench::default()
    }
    .parcel()
    .expect_err("refused");
    assert_says(
        &messages(&findings, "no_turf")[0],
        &["error: parcels.geojson: p1", "no turf to water"],
    );
}

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

#[test]
fn turf_that_lies_in_no_parcel_and_a_strange_parcel_name_are_told() {
    let bench = Bench {
        turf: vec![
            rectangle("t1", 2.0, 2.0, 18.0, 28.0),
            rectangle("t2", 200.0, 2.0, 238.0, 28.0),
            with(rectangle("t3", 20.0, 2.0, 38.0, 28.0), "parcel", "p9"),
        ],
        ..Bench::default()
    };
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("opens");
    assert_says(
        &messages(ground.findings(), "turf_in_no_parcel")[0],
        &["turf.geojson: t2"],
    );
    assert_says(
        &messages(ground.findings(), "unknown_parcel")[0],
        &["t3", "`p9`"],
    );
    assert_eq!(ground.parcel("p1").expect("p1").turf.len(), 2);
    let findings = ground.parcel("p7").expect_err("unknown");
    assert_says(
        &messages(&findings, "unknown_parcel")[0],
        &["no parcel `p7`"],
    );
}

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
fn layers_of_a_geopackage_in_another_system_lie_where_those_of_geojson_do() {
    let bench = Bench::default();
    let folder = bench.write();
    let path = folder.path().join("project.toml");
    let text = std::fs::read_to_string(&path).expect("read");
    to_geopackage(
        &folder.path().join("turf.geojson"),
        &folder.path().join("site.gpkg"),
    );
    let source = "{ file = 'site.gpkg', layer = 'lawns' }";
    let text = text.replace("'turf.geojson'", source) + "[fields.turf]\nid = 'OBJECTID'\n";
    std::fs::write(&path, text).expect("written");
    let project = read(&folder).expect("sound");
    let parcel = swardline::site::open(&project)
        .expect("opens")
        .parcel("p1")
        .expect("sound");
    let plain = bench.parcel().expect("sound");
    assert_eq!(parcel.turf[0].id, "t1");
    let apart_m2 = parcel.turf[0]
        .shape
        .xor(&plain.turf[0].shape)
        .unsigned_area();
    assert!(apart_m2 < 0.1, "{apart_m2} m² apart");
}

/// Copies a layer into Lambert's conformal projection of Europe, with the id under another name.
fn to_geopackage(from: &std::path::Path, into: &std::path::Path) {
    use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
    use gdal::vector::{LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};
    let source = gdal::Dataset::open(from).expect("readable");
    let mut layer = source.layer(0).expect("one layer");
    let mut system = SpatialRef::from_epsg(3034).expect("known");
    system.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let driver = gdal::DriverManager::get_driver_by_name("GPKG").expect("GDAL writes GeoPackage");
    let mut target = driver.create_vector_only(into).expect("made");
    for name in ["empty", "lawns"] {
        let options = LayerOptions {
            name,
            srs: Some(&system),
            ty: OGRwkbGeometryType::wkbPolygon,
            options: None,
        };
        let made = target.create_layer(options).expect("a layer");
        made.create_defn_fields(&[("OBJECTID", OGRFieldType::OFTString)])
            .expect("a column");
    }
    let made = target.layer_by_name("lawns").expect("a layer");
    for feature in layer.features() {
        let moved = feature
            .geometry()
            .expect("drawn")
            .transform_to(&system)
            .expect("moved");
        let id = feature
            .field_as_string(0)
            .expect("a column")
            .expect("an id");
        let mut copy = gdal::vector::Feature::new(made.defn()).expect("a feature");
        copy.set_geometry(moved).expect("set");
        copy.set_field_string(0, &id).expect("set");
        copy.create(&made).expect("stored");
    }
}

#[test]
fn parcels_prepared_on_many_threads_are_the_same() {
    let bench = Bench {
        parcels: vec![
            rectangle("p1", 0.0, 0.0, 19.0, 30.0),
            rectangle("p2", 20.0, 0.0, 40.0, 30.0),
        ],
        turf: vec![
            rectangle("t1", 1.0, 2.0, 18.0, 28.0),
            rectangle("t2", 21.0, 2.0, 38.0, 28.0),
        ],
        water_points: vec![tap("w1", 1.0, 1.0), tap("w2", 39.0, 1.0)],
        ..Bench::default()
    };
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("opens");
    let alone = [ground.parcel("p1"), ground.parcel("p2")];
    std::thread::scope(|scope| {
        let ground = &ground;
        let threads: Vec<_> = (0..8)
            .map(|number| scope.spawn(move || ground.parcel(["p1", "p2"][number % 2])))
            .collect();
        for (number, thread) in threads.into_iter().enumerate() {
            assert_eq!(thread.join().expect("no panic"), alone[number % 2]);
        }
    });
}

#[test]
fn parcels_that_share_ground_are_told_and_neighbours_are_not() {
    let parcels = |west| {
        vec![
            rectangle("p1", 0.0, 0.0, 20.0, 30.0),
            rectangle("p2", west, 0.0, 40.0, 30.0),
        ]
    };
    let ground = Bench {
        parcels: parcels(18.0),
        ..Bench::default()
    }
    .open();
    assert_says(
        &messages(ground.findings(), "parcels_overlap")[0],
        &["parcels.geojson: p1", "p2 by 60 m²"],
    );
    let ground = Bench {
        parcels: parcels(20.0),
        ..Bench::default()
    }
    .open();
    assert!(
        ground
            .findings()
            .iter()
            .all(|finding| finding.code != "parcels_overlap")
    );
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

#[test]
fn turf_beyond_its_parcel_under_beds_and_on_other_turf_counts_once() {
    let bench = Bench {
        turf: vec![
            rectangle("t1", -5.0, 0.0, 20.0, 30.0),
            rectangle("t2", 18.0, 0.0, 40.0, 30.0),
        ],
        obstacles: vec![with(rectangle("o1", 10.0, 10.0, 14.0, 15.0), "kind", "Bed")],
        ..Bench::default()
    };
    let parcel = bench.parcel().expect("sound");
    assert_says(
        &messages(&parcel.findings, "turf_outside_parcel")[0],
        &["warning: turf.geojson: t1", "150.", "clipped"],
    );
    assert_says(
        &messages(&parcel.findings, "turf_overlap")[0],
        &["note: turf.geojson: t2", "60.", "with t1"],
    );
    let area_m2: f64 = parcel
        .turf
        .iter()
        .map(|area| area.shape.unsigned_area())
        .sum();
    assert!((area_m2 - (1200.0 - 20.0)).abs() < 1.0, "{area_m2}");
}
