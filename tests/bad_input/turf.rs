//! Turf that is hard to water or drawn badly, designed from files to findings.

use crate::builder::{Bench, messages, polygon, rectangle};
use serde_json::Value;
use std::f64::consts::TAU;
use swardline::brief::Catalogue;
use swardline::design::{design, model::Design};

/// The design of the parcel `p1`, with another catalogue.
fn designed_with(turf: Vec<Value>, catalogue: Catalogue) -> Design {
    let bench = Bench {
        turf,
        ..Bench::default()
    };
    let (_folder, mut project) = bench.project();
    project.catalogue = catalogue;
    let ground = swardline::site::open(&project).expect("the files are sound");
    let parcel = ground.parcel("p1").expect("the parcel can be prepared");
    design(&parcel, &project)
}

fn designed(turf: Vec<Value>) -> Design {
    designed_with(turf, Catalogue::built_in())
}

/// A lawn that can be watered, so that the parcel has a design beside the bad piece.
fn lawn() -> Value {
    rectangle("t1", 2.0, 2.0, 38.0, 14.0)
}

fn heads_on(design: &Design, turf: usize) -> usize {
    design.heads.iter().filter(|head| head.turf == turf).count()
}

/// The built-in catalogue with nothing but rotors.
fn rotors() -> Catalogue {
    let mut catalogue = Catalogue::built_in();
    catalogue.heads.retain(|model| model.family == "rotor");
    for model in &mut catalogue.heads {
        (model.radius_min_m, model.radius_max_m) = (9.0, 13.0);
    }
    assert!(!catalogue.heads.is_empty());
    catalogue
}

/// The built-in catalogue with no nozzle for less than a half circle.
fn half_circles() -> Catalogue {
    let mut catalogue = Catalogue::built_in();
    for nozzle in catalogue
        .heads
        .iter_mut()
        .flat_map(|model| &mut model.nozzles)
    {
        nozzle.sweep_min_deg = nozzle.sweep_max_deg.min(180.0);
    }
    catalogue
}

/// A closed ring round a place, its radius by the share of the turn.
fn round(id: &str, corners: usize, radius_m: impl Fn(f64) -> f64) -> Value {
    let at = |corner: usize| {
        let angle = TAU * (corner % corners) as f64 / corners as f64;
        let radius_m = radius_m(angle);
        (20.0 + radius_m * angle.cos(), 15.0 + radius_m * angle.sin())
    };
    polygon(id, &(0..=corners).map(at).collect::<Vec<_>>())
}

/// The finding on an unwatered piece, which names its turf.
fn assert_left_out(design: &Design, turf: &str) {
    let told = messages(&design.findings, "turf_too_small");
    let named = told
        .iter()
        .any(|text| text.contains(&format!(": {turf}: ")) && text.contains("stays unwatered"));
    assert!(named, "{told:?}");
}

#[test]
fn turf_smaller_than_the_smallest_head_serves_is_left_out_and_told() {
    let scrap = rectangle("t2", 10.0, 20.0, 11.5, 21.5);
    let design = designed(vec![lawn(), scrap]);
    assert_left_out(&design, "t2");
    assert_eq!(heads_on(&design, 1), 0);
    assert!(heads_on(&design, 0) > 0);
}

#[test]
fn turf_thinner_than_a_metre_is_left_out_and_told() {
    let thin = rectangle("t2", 2.0, 20.0, 38.0, 20.8);
    let design = designed(vec![lawn(), thin]);
    assert_left_out(&design, "t2");
    assert_eq!(heads_on(&design, 1), 0);
}

#[test]
fn a_sliver_left_by_clipping_is_dropped_and_told() {
    // All but three millimetres of it lies beyond the parcel.
    let sliver = rectangle("t2", 39.997, 16.0, 60.0, 28.0);
    let design = designed(vec![lawn(), sliver]);
    let told = messages(&design.findings, "sliver_dropped");
    assert!(told.iter().any(|text| text.contains(": t2: ")), "{told:?}");
}

#[test]
fn rings_of_thousands_of_corners_are_watered() {
    let circle = designed(vec![round("t1", 5_000, |_| 11.0)]);
    assert!(heads_on(&circle, 0) > 0, "{:?}", circle.findings);
    let wiggle = |angle: f64| 11.0 + 0.05 * (2_000.0 * angle).sin();
    let wiggle = designed(vec![round("t1", 20_000, wiggle)]);
    assert!(heads_on(&wiggle, 0) > 0, "{:?}", wiggle.findings);
}

#[test]
fn turf_with_two_hundred_holes_is_watered() {
    let mut turf = rectangle("t1", 2.0, 2.0, 38.0, 28.0);
    let rings = turf["geometry"]["coordinates"]
        .as_array_mut()
        .expect("rings");
    for number in 0..200 {
        let (west, south) = (
            3.0 + 1.7 * f64::from(number % 20),
            3.0 + 2.4 * f64::from(number / 20),
        );
        let hole = rectangle("hole", west, south, west + 0.3, south + 0.3);
        rings.push(hole["geometry"]["coordinates"][0].clone());
    }
    assert_eq!(
        turf["geometry"]["coordinates"].as_array().map(Vec::len),
        Some(201)
    );
    let design = designed(vec![turf]);
    assert!(heads_on(&design, 0) > 0, "{:?}", design.findings);
}

#[test]
fn small_arcs_that_no_nozzle_has_never_end_in_a_panic() {
    let catalogue = half_circles();
    let design = designed_with(vec![lawn()], catalogue.clone());
    for head in &design.heads {
        let nozzle = &catalogue.heads[head.model].nozzles[head.nozzle];
        assert!(
            head.arc.sweep_deg + 1e-6 >= nozzle.sweep_min_deg,
            "{head:?}"
        );
    }
}

#[test]
fn no_station_mixes_two_precipitation_classes() {
    let mut catalogue = Catalogue::built_in();
    let far = rotors().heads;
    catalogue.heads.retain(|model| model.family != "rotor");
    for model in &mut catalogue.heads {
        model.rate_class = "quick".to_owned();
    }
    let near = catalogue.heads.len();
    catalogue.heads.extend(far);
    assert!(
        near > 0
            && catalogue.heads[near..]
                .iter()
                .all(|model| model.rate_class != "quick")
    );
    let strip = rectangle("t2", 2.0, 24.0, 38.0, 27.0);
    let design = designed_with(
        vec![rectangle("t1", 2.0, 2.0, 38.0, 22.0), strip],
        catalogue.clone(),
    );
    let class_of = |head: usize| {
        catalogue.heads[design.heads[head].model]
            .rate_class
            .as_str()
    };
    let mut used: Vec<&str> = (0..design.heads.len()).map(class_of).collect();
    used.sort_unstable();
    used.dedup();
    assert_eq!(used.len(), 2, "{used:?}: {:?}", design.findings);
    assert!(design.stations.len() > 1);
    for station in &design.stations {
        assert!(
            station
                .heads
                .iter()
                .all(|&head| class_of(head) == station.rate_class)
        );
    }
    assert!(design.station_of.iter().all(Option::is_some));
}

#[test]
fn a_strip_too_narrow_for_every_throw_is_told() {
    let strip = rectangle("t1", 2.0, 2.0, 38.0, 5.0);
    let design = designed_with(vec![strip], rotors());
    let told = messages(&design.findings, "no_head_fits");
    assert!(told.iter().any(|text| text.contains(": t1: ")), "{told:?}");
}

#[test]
fn corners_served_by_wider_arcs_than_theirs_are_told() {
    let catalogue = half_circles();
    let design = designed_with(vec![lawn()], catalogue);
    let told = messages(&design.findings, "arc_not_offered");
    assert!(told.iter().any(|text| text.contains(": t1: ")), "{told:?}");
}
