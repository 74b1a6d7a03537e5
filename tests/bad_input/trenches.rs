//! Ground through which trenches find no way, or a hard one, designed from files to findings.

use crate::builder::{Bench, messages, rectangle, tap, with};
use serde_json::Value;
use swardline::design::{design, model::Design, model::Surface};

fn designed(bench: &Bench) -> Design {
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("the files are sound");
    let parcel = ground.parcel("p1").expect("the parcel can be prepared");
    design(&parcel, &project)
}

fn obstacle(id: &str, kind: &str, west: f64, south: f64, east: f64, north: f64) -> Value {
    with(rectangle(id, west, south, east, north), "kind", kind)
}

fn on_stations(design: &Design) -> usize {
    design
        .stations
        .iter()
        .map(|station| station.heads.len())
        .sum()
}

#[test]
fn turf_behind_water_is_told_with_the_gap_and_the_rest_is_designed() {
    let bench = Bench {
        turf: vec![
            rectangle("t1", 2.0, 2.0, 18.0, 28.0),
            rectangle("t2", 24.0, 2.0, 38.0, 28.0),
        ],
        obstacles: vec![obstacle("canal", "water", 19.0, -1.0, 23.0, 31.0)],
        ..Bench::default()
    };
    let design = designed(&bench);
    let told = &messages(&design.findings, "turf_unreachable")[0];
    assert!(told.contains("t2") && told.contains(" m "), "{told}");
    assert!(on_stations(&design) >= 4, "{}", on_stations(&design));
    assert_eq!(on_stations(&design), design.heads.len());
}

#[test]
fn heads_behind_roots_get_the_shortest_hand_dug_trench_or_none_where_a_rule_forbids_it() {
    let ring = |rule: &str| Bench {
        turf: vec![
            rectangle("t1", 2.0, 2.0, 14.0, 28.0),
            rectangle("t2", 26.0, 2.0, 38.0, 28.0),
        ],
        // A row of trees whose root zones close the parcel from south to north.
        obstacles: (0..8)
            .map(|i| {
                let y = 4.2 * f64::from(i);
                let trunk = obstacle(&format!("tree-{i}"), "tree", 19.9, y, 20.1, y + 0.2);
                with(trunk, "root_radius_m", 3.5)
            })
            .collect(),
        more: format!("[rules]\n{rule}\n"),
        ..Bench::default()
    };
    let design = designed(&ring("roots_forbidden = false"));
    let by_hand = design
        .trenches
        .iter()
        .filter(|t| t.surface == Surface::Roots);
    let by_hand_m: f64 = by_hand.map(|t| t.length_m).sum();
    assert!((1.0..9.0).contains(&by_hand_m), "{by_hand_m}");
    messages(&design.findings, "hand_dug_roots");
    assert!(design.heads.iter().any(|head| head.turf == 1));

    let design = designed(&ring("roots_forbidden = true"));
    assert!(design.trenches.iter().all(|t| t.surface != Surface::Roots));
    assert!(messages(&design.findings, "turf_unreachable")[0].contains("t2"));
    assert!(on_stations(&design) >= 4);
}

#[test]
fn a_tap_in_a_building_is_told_and_the_pipe_begins_at_the_wall() {
    let bench = Bench {
        obstacles: vec![obstacle("pump-house", "building", 0.0, 10.0, 6.0, 16.0)],
        water_points: vec![tap("w1", 3.0, 13.0)],
        ..Bench::default()
    };
    let design = designed(&bench);
    messages(&design.findings, "water_point_in_obstacle");
    assert!(on_stations(&design) >= 4, "{:?}", design.findings);
    assert_eq!(on_stations(&design), design.heads.len());
}

#[test]
fn a_supply_for_less_than_one_head_leaves_the_heads_and_says_what_is_missing() {
    let weak = with(tap("w1", 1.0, 1.0), "static_kpa", 160);
    let bench = Bench {
        water_points: vec![with(weak, "residual_kpa", 100)],
        ..Bench::default()
    };
    let design = designed(&bench);
    let told = &messages(&design.findings, "supply_too_weak")[0];
    assert!(told.contains("kPa short"), "{told}");
    assert!(!design.heads.is_empty() && design.stations.is_empty());
}

#[test]
fn ground_without_height_on_the_only_way_is_bridged_and_told() {
    let mut bench = Bench {
        turf: vec![
            rectangle("t1", 2.0, 2.0, 14.0, 28.0),
            rectangle("t2", 26.0, 2.0, 38.0, 28.0),
        ],
        ..Bench::default()
    };
    // All rows of the columns between the two lawns.
    let first = (bench.raster.before + 16) as usize;
    bench.raster.hole = Some([first, 0, first + 8, bench.raster.rows]);
    let design = designed(&bench);
    messages(&design.findings, "terrain_gap_beside_turf");
    assert!(design.nodes.iter().all(|node| node.ground_m.is_finite()));
    assert_eq!(on_stations(&design), design.heads.len());
    assert!(design.heads.iter().any(|head| head.turf == 1));
}
