//! Parcels and turf that cross, overlap, repeat or lie nowhere.

use crate::assert_says;
use crate::builder::{Bench, messages, polygon, rectangle, tap, with};
use geo::Area;

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
