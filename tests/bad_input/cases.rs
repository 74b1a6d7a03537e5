//! Whole invented grounds with a manifest of what lies in them; skipped where they are not at hand.

use geo::{Area, Validation};
use serde_json::Value;
use std::path::Path;
use swardline::brief::Project;
use swardline::site::{self, Ground, Parcel};

fn case(name: &str) -> Option<(Ground, Value)> {
    let pieces = ["..", "shared", "cases", "ground", name];
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = pieces
        .iter()
        .fold(root.to_path_buf(), |path, piece| path.join(piece));
    open_case(&folder)
}

fn open_case(folder: &Path) -> Option<(Ground, Value)> {
    let manifest = std::fs::read_to_string(folder.join("manifest.json")).ok()?;
    let manifest = serde_json::from_str(&manifest).expect("the manifest is JSON");
    let project = Project::read(&folder.join("project.toml")).expect("the project is sound");
    Some((site::open(&project).expect("the files are sound"), manifest))
}

fn turf_m2(parcel: &Parcel) -> f64 {
    parcel
        .turf
        .iter()
        .map(|area| area.shape.unsigned_area())
        .sum()
}

/// No ring that crosses or touches itself may reach design.
fn check_valid(parcel: &Parcel) {
    for area in &parcel.turf {
        let errors = area.shape.validation_errors();
        assert!(errors.is_empty(), "{} {}: {errors:?}", parcel.id, area.id);
    }
    for obstacle in &parcel.obstacles {
        let errors = obstacle.shape.validation_errors();
        assert!(
            errors.is_empty(),
            "{} {}: {errors:?}",
            parcel.id,
            obstacle.id
        );
    }
}

/// Every parcel's turf within 0.1 % of the manifest's, and the ground at its water points within a tolerance.
fn check_against_manifest(name: &str, height_tolerance_m: f64) -> Vec<Parcel> {
    let Some((ground, manifest)) = case(name) else {
        return Vec::new();
    };
    let mut parcels = Vec::new();
    for told in manifest["parcels"].as_array().expect("parcels") {
        let id = told["id"].as_str().expect("id");
        let parcel = ground
            .parcel(id)
            .unwrap_or_else(|findings| panic!("{id}: {findings:?}"));
        let (ours, theirs) = (
            turf_m2(&parcel),
            told["irrigable_m2"].as_f64().expect("area"),
        );
        assert!(
            (ours / theirs - 1.0).abs() < 0.001,
            "{name} {id}: turf {ours} against {theirs}"
        );
        for (water, height) in told["water_point_ground_m"].as_object().expect("heights") {
            let point = parcel
                .water_points
                .iter()
                .find(|point| point.id == *water)
                .expect("point");
            let ours = parcel.terrain.height_m(point.position).expect("ground");
            let theirs = height.as_f64().expect("height");
            assert!(
                (ours - theirs).abs() < height_tolerance_m,
                "{name} {water}: {ours} against {theirs}"
            );
        }
        check_valid(&parcel);
        parcels.push(parcel);
    }
    parcels
}

#[test]
fn the_park_is_read_as_its_manifest_says() {
    check_against_manifest("park", 0.02);
}

#[test]
fn the_large_ground_is_read_as_its_manifest_says() {
    check_against_manifest("large", 0.02);
}

#[test]
fn the_real_park_in_another_reference_system_is_read_as_its_manifest_says() {
    // Its manifest gives the height of the cell that holds the point, ours is between cell centres.
    let parcels = check_against_manifest("tiergarten_on_lidar", 0.1);
    // Bilinear by hand between the cells that gdal_translate lists, at the place that gdaltransform gives.
    let by_hand = [
        ("w1", 403.072),
        ("w2", 406.602),
        ("w3", 383.759),
        ("w4", 396.198),
        ("w5", 398.623),
        ("w6", 401.349),
    ];
    for (parcel, (water, height_m)) in parcels.iter().zip(by_hand) {
        let point = &parcel.water_points[0];
        let ours = parcel.terrain.height_m(point.position).expect("ground");
        assert!(
            point.id == water && (ours - height_m).abs() < 0.002,
            "{water}: {ours}"
        );
    }
}

#[test]
fn every_fault_planted_on_the_hillside_is_told() {
    // The manifest gives the ground without the noise of 0.04 m (one sigma) that the raster carries.
    let parcels = check_against_manifest("hillside", 0.1);
    // Bilinear by hand between the cells that gdallocationinfo gives, in US survey feet.
    let by_hand = [319.4829, 291.2732, 342.2705];
    for (parcel, height_m) in parcels.iter().zip(by_hand) {
        let ours = parcel.terrain.height_m(parcel.water_points[0].position);
        let ours = ours.expect("ground");
        assert!((ours - height_m).abs() < 0.002, "{}: {ours}", parcel.id);
    }
    let Some((_, manifest)) = case("hillside") else {
        return;
    };
    for told in manifest["parcels"].as_array().expect("parcels") {
        let parcel = parcels
            .iter()
            .find(|parcel| told["id"] == parcel.id)
            .expect("parcel");
        for planted in told["planted"].as_array().expect("faults") {
            let code = match planted["fault"].as_str().expect("fault") {
                "sliver" => "sliver_dropped",
                "wrong_winding" | "spike" | "repeated_vertex" => "ring_repaired",
                "turf_beyond_parcel" => "turf_outside_parcel",
                // An island is sound input; trenches must go round the water.
                _ => continue,
            };
            let feature = planted["feature"].as_str();
            let found = parcel
                .findings
                .iter()
                .any(|finding| finding.code == code && finding.feature.as_deref() == feature);
            assert!(found, "{planted} is not told as {code}");
        }
    }
}
