//! The whole hand-over of the example, read back.

use super::*;
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

/// Writes the example into a fresh folder; `SWARDLINE_EXAMPLE_OUT` keeps it for other programs to check.
fn written(name: &str) -> (tempfile::TempDir, PathBuf) {
    let temporary = tempfile::tempdir().unwrap();
    let root = match std::env::var_os("SWARDLINE_EXAMPLE_OUT") {
        Some(kept) => PathBuf::from(kept).join(name),
        None => temporary.path().to_path_buf(),
    };
    let folder = root.join("parcels/P-1");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let (parcel, design) = (example::parcel(), example::design());
    write_parcel(&parcel, &design, &example::project(), &folder).unwrap();
    (temporary, folder)
}

fn layers(folder: &Path) -> Vec<(String, geojson::FeatureCollection)> {
    let mut files: Vec<_> = fs::read_dir(folder.join("layers"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    let read = |path: &PathBuf| fs::read_to_string(path).unwrap().parse().unwrap();
    let name = |path: &PathBuf| path.file_stem().unwrap().to_string_lossy().into_owned();
    files.iter().map(|path| (name(path), read(path))).collect()
}

#[test]
fn every_layer_is_there_and_no_id_is_given_twice() {
    let (_kept, folder) = written("layers");
    let layers = layers(&folder);
    assert_eq!(layers.len(), 15);
    let mut ids = BTreeSet::new();
    for (name, layer) in &layers {
        for feature in &layer.features {
            let id = feature.property("id").unwrap().as_str().unwrap();
            assert!(ids.insert(id.to_string()), "{name}: {id} twice");
            assert_eq!(feature.property("layer").unwrap(), name);
        }
    }
    assert!(ids.contains("T1") && ids.contains("T1-obstacle"));
}

/// RFC 7946, sections 3.1.6 and 5: right-handed rings, and a `bbox` that is what the coordinates say.
#[test]
fn rings_are_right_handed_and_boxes_hold_their_features() {
    use geo::{BoundingRect, Winding};
    let (_kept, folder) = written("rings");
    for (name, layer) in layers(&folder) {
        let shape: geo::GeometryCollection<f64> =
            (&geojson::GeoJson::from(layer.clone())).try_into().unwrap();
        let bounds = shape.bounding_rect().unwrap();
        let (min, max) = (bounds.min(), bounds.max());
        assert_eq!(layer.bbox, Some(vec![min.x, min.y, max.x, max.y]), "{name}");
        let polygons = shape.0.into_iter().flat_map(|geometry| match geometry {
            geo::Geometry::Polygon(polygon) => vec![polygon],
            geo::Geometry::MultiPolygon(shape) => shape.0,
            _ => Vec::new(),
        });
        for polygon in polygons {
            assert!(polygon.exterior().is_ccw(), "{name}");
            assert!(
                polygon.interiors().iter().all(|hole| hole.is_cw()),
                "{name}"
            );
        }
    }
}

#[test]
fn the_figures_tell_each_station_s_way_and_leave_the_unknown_null() {
    let (_kept, folder) = written("figures");
    let text = fs::read_to_string(folder.join("design.json")).unwrap();
    let figures: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mains = figures["stations"][1]["mains"].as_array().unwrap();
    let way: Vec<_> = mains
        .iter()
        .map(|main| main["pipe"].as_str().unwrap())
        .collect();
    assert_eq!(way, ["main-001", "main-003"]);
    assert_eq!(mains[0]["flow_lpm"], figures["stations"][1]["flow_lpm"]);
    assert!(figures["turf"][0]["overspray_fraction"].is_null());
    assert_eq!(figures["bounds"]["stations"]["bound"], 2);
}

#[test]
fn the_same_design_gives_the_same_bytes() {
    let (_a, first) = written("same_a");
    // GeoPackages carry the second of their making unless told otherwise.
    std::thread::sleep(std::time::Duration::from_millis(1100));
    let (_b, second) = written("same_b");
    for name in [
        "design.gpkg",
        "design.json",
        "settings.csv",
        "layers/heads.geojson",
    ] {
        let bytes = |folder: &Path| fs::read(folder.join(name)).unwrap();
        assert!(bytes(&first) == bytes(&second), "{name} differs");
    }
}

#[test]
fn the_geopackage_holds_what_the_layers_hold() {
    use gdal::vector::LayerAccess;
    let (_kept, folder) = written("package");
    let file = gdal::Dataset::open(folder.join("design.gpkg")).unwrap();
    let rows = |name: &str| {
        file.layer_by_name(name)
            .map_or(0, |layer| layer.feature_count())
    };
    for (name, layer) in layers(&folder) {
        let points = format!("{name}_points");
        let total = rows(&name) + rows(&points);
        assert_eq!(total, layer.features.len() as u64, "{name}");
    }
    assert_eq!(rows("obstacles_points"), 1);
    assert_eq!(rows("layer_styles"), 16);
}

#[test]
fn an_empty_design_is_handed_over_too() {
    let folder = tempfile::tempdir().unwrap();
    let (parcel, project) = (example::parcel(), example::project());
    write_parcel(&parcel, &Design::default(), &project, folder.path()).unwrap();
    let layers = layers(folder.path());
    assert_eq!(layers.len(), 15);
    let turf = &layers.iter().find(|(name, _)| name == "turf").unwrap().1;
    assert!(turf.features[0].property("heads").unwrap().is_null());
}

/// A large parcel, for timing: `cargo test --lib three_thousand -- --ignored --nocapture`.
#[test]
#[ignore = "a measurement, not a check"]
fn three_thousand_heads_are_written() {
    let mut design = example::design();
    for _ in 1..200 {
        let one = example::design();
        design.heads.extend(one.heads);
        design.working.extend(one.working);
        design.throws.extend(one.throws);
        design.station_of.extend(one.station_of);
        design.nodes.extend(one.nodes);
        design.pipes.extend(one.pipes);
        design.trenches.extend(one.trenches);
    }
    let folder = tempfile::tempdir().unwrap();
    let (parcel, project) = (example::parcel(), example::project());
    let job = Job::new(&parcel, &design, &project);
    let start = std::time::Instant::now();
    let lap = |what: &str| println!("{what}: {:?}", start.elapsed());
    let lonlat = LonLat::new(parcel.frame).unwrap();
    let layers = layers::all(&job, &lonlat).unwrap();
    lap("layers");
    geojson_file::write_all(&layers, &folder.path().join("layers")).unwrap();
    lap("geojson");
    geopackage::write(&layers, &folder.path().join("design.gpkg")).unwrap();
    lap("geopackage");
    report::write(&job, &folder.path().join("report.html")).unwrap();
    lap("report");
    let size = |name: &str| fs::metadata(folder.path().join(name)).unwrap().len();
    println!(
        "{} heads, report {} bytes, package {}",
        design.heads.len(),
        size("report.html"),
        size("design.gpkg")
    );
}
