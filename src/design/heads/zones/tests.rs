use super::*;
use crate::brief::builtin_heads;
use crate::brief::{Catalogue, HeadModel};
use geo::{BooleanOps, LineString, Rect};
use proptest::prelude::*;

fn class(rate_mm_h: f64, least_m: f64, most_m: f64) -> Class {
    let steps = 10;
    Class {
        rate_mm_h,
        radii_m: (0..=steps)
            .map(|i| least_m * (most_m / least_m).powf(f64::from(i) / f64::from(steps)))
            .collect(),
        sweep_min_deg: 40.0,
        models: vec![0],
    }
}

/// Rotors and sprays.
fn two_classes() -> Vec<Class> {
    vec![class(12.0, 9.0, 13.0), class(36.0, 3.0, 5.0)]
}

const ROTORS: usize = 0;
const SPRAYS: usize = 1;

fn built_in() -> Vec<Class> {
    let heads: Vec<HeadModel> = builtin_heads::heads();
    super::super::classes::classes(&Catalogue {
        origin: "built in".to_owned(),
        heads,
        pipes: Vec::new(),
        valves: Vec::new(),
    })
}

fn union(boxes: &[(f64, f64, f64, f64)]) -> Polygon<f64> {
    let shape = boxes
        .iter()
        .map(|&(x, y, u, v)| Rect::new((x, y), (u, v)).to_polygon())
        .fold(MultiPolygon::new(vec![]), |sum, part| sum.union(&part));
    assert_eq!(shape.0.len(), 1);
    shape.0[0].clone()
}

fn found(piece: &Polygon<f64>) -> Vec<Zone> {
    zones(piece, &two_classes(), &Rules::default())
}

fn classes_of(zones: &[Zone]) -> Vec<usize> {
    let mut classes: Vec<usize> = zones.iter().map(|zone| zone.class).collect();
    classes.sort_unstable();
    classes
}

fn closed(points: impl IntoIterator<Item = (f64, f64)>) -> Polygon<f64> {
    Polygon::new(points.into_iter().collect::<LineString<f64>>(), Vec::new())
}

#[test]
fn a_tail_is_parted_from_its_lawn_by_a_straight_seam_at_the_neck() {
    let piece = union(&[(0.0, 0.0, 60.0, 40.0), (60.0, 10.0, 100.0, 15.0)]);
    let zones = found(&piece);
    assert_eq!(classes_of(&zones), [ROTORS, SPRAYS]);
    let tail = zones.iter().find(|zone| zone.class == SPRAYS).unwrap();
    assert!((tail.width_m - 5.0).abs() < 0.4, "{}", tail.width_m);
    let area_m2 = tail.shape.unsigned_area();
    assert!((area_m2 - 200.0).abs() < 6.0, "{area_m2}");
    // A rectangle: the seam has no corners.
    assert_eq!(tail.shape.0[0].exterior().0.len(), 5);
}

#[test]
fn a_tail_at_an_angle_with_rough_edges_is_cut_short_and_straight_too() {
    let (sin, cos) = 0.5f64.sin_cos();
    let turn = |(x, y): (f64, f64)| (x * cos - y * sin, x * sin + y * cos);
    let mut ring = vec![(0.0, 0.0), (60.0, 0.0), (60.0, 10.0)];
    ring.extend((1..80).map(|i| (60.0 + 0.5 * f64::from(i), 10.0 + 0.15 * f64::from(i % 2))));
    ring.extend(
        (0..80)
            .rev()
            .map(|i| (60.0 + 0.5 * f64::from(i), 15.0 - 0.15 * f64::from(i % 3))),
    );
    ring.extend([(60.0, 40.0), (0.0, 40.0)]);
    let zones = found(&closed(ring.into_iter().map(turn)));
    assert_eq!(classes_of(&zones), [ROTORS, SPRAYS]);
    let area_m2 = zones
        .iter()
        .find(|z| z.class == SPRAYS)
        .unwrap()
        .shape
        .unsigned_area();
    assert!((area_m2 - 190.0).abs() < 10.0, "{area_m2}");
}

#[test]
fn ground_of_one_kind_is_one_zone() {
    let lawn = union(&[(0.0, 0.0, 60.0, 40.0)]);
    assert_eq!(classes_of(&found(&lawn)), [ROTORS]);
    let strip = union(&[(0.0, 0.0, 60.0, 4.0)]);
    assert_eq!(classes_of(&found(&strip)), [SPRAYS]);
    let acute = closed([(0.0, 0.0), (80.0, 0.0), (80.0, 25.0)]);
    assert_eq!(classes_of(&found(&acute)), [ROTORS]);
    let sharp = closed([(0.0, 0.0), (100.0, -9.0), (100.0, 9.0)]);
    assert_eq!(found(&sharp).len(), 1);
}

#[test]
fn a_ring_five_metres_wide_is_one_zone_of_sprays() {
    let outer = Rect::new((0.0, 0.0), (50.0, 40.0)).to_polygon();
    let inner = Rect::new((5.0, 5.0), (45.0, 35.0)).to_polygon();
    let zones = found(&outer.difference(&inner).0[0]);
    assert_eq!(classes_of(&zones), [SPRAYS]);
    assert!((zones[0].shape.unsigned_area() - 800.0).abs() < 1e-6);
}

#[test]
fn two_lawns_and_the_neck_between_them_are_three_zones() {
    let piece = union(&[
        (0.0, 0.0, 40.0, 40.0),
        (40.0, 18.0, 70.0, 23.0),
        (70.0, 0.0, 110.0, 40.0),
    ]);
    let zones = found(&piece);
    assert_eq!(classes_of(&zones), [ROTORS, ROTORS, SPRAYS]);
    let neck = zones.iter().find(|zone| zone.class == SPRAYS).unwrap();
    assert!((neck.shape.unsigned_area() - 150.0).abs() < 8.0);
}

#[test]
fn a_lawn_with_a_narrow_way_round_a_pond_is_cut_on_both_sides_of_it() {
    // 60 x 40 lawn, beside it a pond with 4 m of grass round its three other sides.
    let piece = union(&[(0.0, 0.0, 60.0, 40.0), (59.0, 0.0, 110.0, 40.0)]);
    let pond = Rect::new((60.0, 4.0), (106.0, 36.0)).to_polygon();
    let piece = piece.difference(&pond).0[0].clone();
    let zones = found(&piece);
    assert_eq!(classes_of(&zones), [ROTORS, SPRAYS]);
    let sum_m2: f64 = zones.iter().map(|zone| zone.shape.unsigned_area()).sum();
    assert!((sum_m2 - piece.unsigned_area()).abs() < 1e-6);
}

#[test]
fn a_tail_too_short_for_a_station_stays_with_the_lawn() {
    let piece = union(&[(0.0, 0.0, 60.0, 40.0), (60.0, 10.0, 69.0, 15.0)]);
    assert_eq!(classes_of(&found(&piece)), [ROTORS]);
}

#[test]
fn a_bulge_too_small_for_rotors_stays_with_its_strip() {
    let piece = union(&[(0.0, 0.0, 100.0, 5.0), (44.0, 0.0, 56.0, 12.0)]);
    assert_eq!(classes_of(&found(&piece)), [SPRAYS]);
}

#[test]
fn the_built_in_heads_need_one_zone() {
    let tail = union(&[(0.0, 0.0, 60.0, 40.0), (60.0, 10.0, 100.0, 15.0)]);
    let zones = zones(&tail, &built_in(), &Rules::default());
    assert_eq!(classes_of(&zones), [0]);
    assert_eq!(zones[0].shape, tail.into());
}

#[test]
fn no_classes_and_no_extent_give_no_zones() {
    let lawn = union(&[(0.0, 0.0, 6.0, 4.0)]);
    assert!(zones(&lawn, &[], &Rules::default()).is_empty());
    let flat = closed([(0.0, 0.0), (5.0, 0.0), (2.0, 0.0)]);
    assert!(found(&flat).is_empty());
}

/// A star of random reach.
fn stars() -> impl Strategy<Value = Polygon<f64>> {
    proptest::collection::vec(3.0f64..60.0, 5..24).prop_map(|reach| {
        let step = std::f64::consts::TAU / reach.len() as f64;
        let at = |(i, r): (usize, &f64)| (r * (i as f64 * step).cos(), r * (i as f64 * step).sin());
        closed(reach.iter().enumerate().map(at).collect::<Vec<_>>())
    })
}

/// A lawn with tails of random width, length and place to the north, and ponds in it.
fn combs() -> impl Strategy<Value = Polygon<f64>> {
    let tail = (1.0f64..9.0, 2.0f64..50.0);
    let pond = (0.0f64..100.0, 0.0f64..30.0, 1.0f64..25.0);
    let tails = proptest::collection::vec(tail, 1..7);
    let ponds = proptest::collection::vec(pond, 0..4);
    (tails, ponds, 3.0f64..40.0, 0.0f64..1.5).prop_filter_map(
        "in one piece",
        |(tails, ponds, high, angle)| {
            let mut shape: MultiPolygon<f64> =
                Rect::new((0.0, 0.0), (110.0, high)).to_polygon().into();
            for (i, (wide, long)) in tails.into_iter().enumerate() {
                let x = 15.0 * i as f64;
                shape =
                    shape.union(&Rect::new((x, high - 1.0), (x + wide, high + long)).to_polygon());
            }
            for (x, y, side) in ponds {
                shape = shape.difference(&Rect::new((x, y), (x + side, y + side)).to_polygon());
            }
            use geo::AffineOps;
            let turn = geo::AffineTransform::rotate(angle.to_degrees(), (0.0, 0.0));
            shape.0.first().map(|piece| piece.affine_transform(&turn))
        },
    )
}

fn check(piece: &Polygon<f64>) -> Result<(), TestCaseError> {
    let zones = found(piece);
    let area_m2 = piece.unsigned_area();
    let sum_m2: f64 = zones.iter().map(|zone| zone.shape.unsigned_area()).sum();
    prop_assert!(
        (sum_m2 - area_m2).abs() <= 1e-6 * area_m2,
        "{} of {}",
        sum_m2,
        area_m2
    );
    let whole: MultiPolygon<f64> = piece.clone().into();
    for (number, zone) in zones.iter().enumerate() {
        let beyond_m2 = zone.shape.difference(&whole).unsigned_area();
        prop_assert!(beyond_m2 <= 1e-6 * area_m2);
        for other in &zones[number + 1..] {
            let shared_m2 = zone.shape.intersection(&other.shape).unsigned_area();
            prop_assert!(shared_m2 <= 1e-6 * area_m2);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn zones_of_stars_are_a_partition(piece in stars()) {
        check(&piece)?;
    }

    #[test]
    fn zones_of_combs_are_a_partition(piece in combs()) {
        check(&piece)?;
    }
}
