//! Where heads must hold back: beside walls, and on strips that one row waters.

use super::*;
use crate::geometry::sight::{Walls, free_m};

/// A lawn of 70 × 50 m about a house, and the walls.
fn about_a_house() -> (Parcel, Walls) {
    let house: MultiPolygon<f64> = Rect::new((26., 18.), (46., 34.)).to_polygon().into();
    let ground: MultiPolygon<f64> = Rect::new((0., 0.), (70., 50.)).to_polygon().into();
    let walls = Walls::new([&house]);
    let obstacle = Obstacle {
        id: "house".to_owned(),
        kind: ObstacleKind::Building,
        shape: house.clone(),
        root_zone: None,
    };
    let lawn = ground.difference(&house);
    (parcel(vec![lawn], vec![obstacle]), walls)
}

/// Heads of which some drop would hit a wall, by rays a fifth of a degree apart.
fn throwing_on_walls(heads: &[Head], walls: &Walls) -> usize {
    let hits = |head: &&Head| {
        let near = walls.near(head.position, 2.0 * head.radius_m);
        (0..=(5.0 * head.arc.sweep_deg) as usize)
            .map(|fifth| head.arc.start_deg + fifth as f64 / 5.0)
            .any(|deg| {
                let throw_m = head.radius_m * head.tilt.reach_share(deg);
                free_m(&near, head.position, deg, 2.0 * head.radius_m) < throw_m
            })
    };
    heads.iter().filter(hits).count()
}

#[test]
fn walls_are_wetted_only_where_the_rules_let_them() {
    let (parcel, walls) = about_a_house();
    let on_walls = |walls_dry: f64| {
        let rules = Rules {
            walls_dry,
            overspray_building: 1.0,
            ..Rules::default()
        };
        throwing_on_walls(&place(&parcel, &catalogue(), &rules).heads, &walls)
    };
    assert_eq!(on_walls(1.0), 0);
    assert!(on_walls(0.0) > 0);
}

#[test]
fn a_narrow_strip_has_one_row_along_a_side_and_a_wider_one_has_two() {
    let strip =
        |width_m: f64| laid_out(&lawn(&[(0., 0.), (44., 0.), (44., width_m), (0., width_m)])).0;
    let sides = |layout: &Layout, width_m: f64| {
        let south = |head: &&Head| head.position.y < 0.5 * width_m;
        let south = layout.heads.iter().filter(south).count();
        (south, layout.heads.len() - south)
    };
    let narrow = strip(2.2);
    let (south, north) = sides(&narrow, 2.2);
    assert_eq!(south.min(north), 0, "{south} and {north}");
    assert!((16..=24).contains(&(south + north)), "{}", south + north);
    assert!(narrow.heads.iter().all(|head| head.one_row));
    assert!(narrow.findings.iter().any(|f| f.code == "one_row"));
    let wide = strip(3.2);
    let (south, north) = sides(&wide, 3.2);
    assert!(south > 8 && north > 8, "{south} and {north}");
    assert!(wide.heads.iter().all(|head| !head.one_row));
}
