//! Whole designs, as written to disk, held against laws that do not depend on how they were made.

// Test code: a panic is a failed test. The auditor's items are plain on purpose.
#![allow(clippy::unwrap_used, missing_docs)]

mod audit;
mod random_ground;

use audit::{Layers, audit};
use proptest::prelude::*;
use std::path::{Path, PathBuf};

fn design(project: &Path, out: &Path) {
    assert_cmd::Command::cargo_bin("swardline")
        .unwrap()
        .args(["design", "-q"])
        .arg(project)
        .arg("--out")
        .arg(out)
        .assert()
        .success();
}

fn parcels(out: &Path) -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = std::fs::read_dir(out.join("parcels"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    folders.sort();
    folders
}

/// The value below which a share of the values lies; `None` of none.
fn quantile(mut values: Vec<f64>, share: f64) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get((values.len() as f64 * share) as usize).copied()
}

#[test]
fn the_sample_campus_keeps_every_law_and_its_targets() {
    let out = tempfile::tempdir().unwrap();
    let project = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-parcels/project.toml");
    design(&project, out.path());
    let folders = parcels(out.path());
    assert_eq!(folders.len(), 10);
    let (mut du, mut reached) = (Vec::new(), Vec::new());
    let (mut area_m2, mut dry_m2, mut over_m2) = (0.0, 0.0, 0.0);
    for folder in &folders {
        assert_eq!(audit(folder), Vec::<String>::new(), "{}", folder.display());
        let layers = Layers::read(folder);
        for turf in layers.of("turf") {
            du.extend(turf.number("du_low_quarter"));
            reached.extend(turf.number("reached_fraction"));
            let turf_m2 = turf.number("area_m2").unwrap();
            area_m2 += turf_m2;
            dry_m2 += turf_m2 * turf.number("dry_fraction").unwrap_or(0.0);
            over_m2 += turf_m2 * turf.number("overspray_fraction").unwrap_or(0.0);
        }
        assert!(!layers.of("stations").is_empty(), "{}", folder.display());
    }
    // The program judges up to the set-back, and a hundredth lower than a coarser grid would.
    assert!(quantile(du.clone(), 0.5).unwrap() >= 0.79);
    assert!(quantile(du, 0.1).unwrap() >= 0.70);
    assert!(quantile(reached, 0.5).unwrap() >= 0.95);
    assert!(dry_m2 < 0.01 * area_m2, "{}", dry_m2 / area_m2);
    assert!(over_m2 < 0.02 * area_m2, "{}", over_m2 / area_m2);
}

#[test]
fn a_planted_fault_does_not_pass_the_auditor() {
    let out = tempfile::tempdir().unwrap();
    let (parcel, project) = random_ground::parcel(&random_ground::Shape::plain());
    random_ground::write(&parcel, &project, out.path());
    assert_eq!(audit(out.path()), Vec::<String>::new());
    for (layer, key, change) in [
        ("laterals", "flow_lpm", 1.2),
        ("nodes", "pressure_kpa", 1.01),
        ("heads", "flow_lpm", 0.8),
        ("drains", "node", 0.0),
    ] {
        let path = out.path().join("layers").join(format!("{layer}.geojson"));
        let good = std::fs::read_to_string(&path).unwrap();
        let mut collection: serde_json::Value = good.parse().unwrap();
        for feature in collection["features"].as_array_mut().unwrap() {
            let value = &mut feature["properties"][key];
            *value = match value.as_f64() {
                Some(number) => (number * change).into(),
                None => "nowhere".into(),
            };
        }
        std::fs::write(&path, collection.to_string()).unwrap();
        assert!(
            !audit(out.path()).is_empty(),
            "a change of {layer}.{key} went unseen"
        );
        std::fs::write(&path, good).unwrap();
    }
}

#[test]
fn no_trench_runs_along_the_wall_of_a_house_in_a_path() {
    let out = tempfile::tempdir().unwrap();
    let (parcel, project) = random_ground::parcel(&random_ground::Shape::house_in_path());
    random_ground::write(&parcel, &project, out.path());
    assert_eq!(audit(out.path()), Vec::<String>::new());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any lawn, any building, any slope, any supply: what is written obeys the laws.
    #[test]
    fn designs_of_random_ground_keep_every_law(shape in random_ground::shapes()) {
        let out = tempfile::tempdir().unwrap();
        let (parcel, project) = random_ground::parcel(&shape);
        random_ground::write(&parcel, &project, out.path());
        let found: Vec<String> = audit(out.path()).into_iter().filter(|line| !line.contains("outside its range")).collect();
        prop_assert_eq!(found, Vec::<String>::new());
    }
}
