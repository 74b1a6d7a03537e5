//! Heads and root zones.

use super::{catalogue, laid_out, parcel};
use crate::brief::Rules;
use crate::design::heads::place;
use crate::design::model::Head;
use crate::site::{Obstacle, ObstacleKind};
use geo::{Coord, MultiPolygon, Rect};

fn tree(x: f64, y: f64, radius_m: f64) -> Obstacle {
    Obstacle {
        id: format!("tree-{x}-{y}"),
        kind: ObstacleKind::Tree,
        shape: MultiPolygon::new(Vec::new()),
        root_zone: Some((Coord { x, y }, radius_m)),
    }
}

#[test]
fn a_tree_in_the_lawn_keeps_heads_off_its_roots() {
    let turf: MultiPolygon<f64> = Rect::new((0.0, 0.0), (60.0, 40.0)).to_polygon().into();
    let (layout, _) = laid_out(&parcel(vec![turf], vec![tree(30.0, 20.0, 4.0)]));
    let in_roots = |h: &&Head| (h.position.x - 30.0).hypot(h.position.y - 20.0) < 4.0;
    assert_eq!(layout.heads.iter().filter(in_roots).count(), 0);
}

#[test]
fn heads_leave_roots_as_far_as_the_rule_weighs_them() {
    let (width_m, reach_m) = (12.0, 7.0);
    let trees = (0..4).map(|i| tree(6.0 + 16.0 * f64::from(i), 2.0, reach_m));
    let turf: MultiPolygon<f64> = Rect::new((0.0, 0.0), (60.0, width_m)).to_polygon().into();
    let ground = parcel(vec![turf], trees.collect());
    let dug_m = |head_roots: f64| -> f64 {
        let rules = Rules {
            head_roots,
            ..Rules::default()
        };
        let catalogue = catalogue();
        let layout = place(&ground, &catalogue, &rules);
        let zones = ground.obstacles.iter().filter_map(|o| o.root_zone);
        let way_out = |head: &Head| {
            zones
                .clone()
                .map(|(at, radius_m)| {
                    radius_m - (head.position.x - at.x).hypot(head.position.y - at.y)
                })
                .fold(0.0, f64::max)
        };
        layout.heads.iter().map(way_out).sum()
    };
    let (careless_m, careful_m) = (dug_m(0.0), dug_m(8.0));
    assert!(careless_m > 5.0, "{careless_m}");
    assert!(careful_m < 0.5 * careless_m, "{careful_m} for {careless_m}");
}

#[test]
fn zones_count_once_and_only_on_turf() {
    let lawn: MultiPolygon<f64> = Rect::new((0.0, 0.0), (100.0, 50.0)).to_polygon().into();
    let share = |centres: &[(f64, f64)]| {
        let trees = centres.iter().map(|&(x, y)| tree(x, y, 10.0)).collect();
        let ground = parcel(vec![lawn.clone()], trees);
        ground.share_among_roots(&ground.turf)
    };
    let circle = std::f64::consts::PI * 100.0 / 5000.0;
    let near = |found: f64, expected: f64| (found - expected).abs() < 0.02 * expected;
    assert!(share(&[]).abs() < 1e-12);
    assert!(near(share(&[(50.0, 25.0)]), circle));
    assert!(near(share(&[(50.0, 25.0), (50.0, 25.0)]), circle));
    assert!(near(share(&[(0.0, 25.0)]), 0.5 * circle));
}
