//! Tests of the estimate on seven shapes.

use super::covering::{Covering, LOW_QUARTER};
use super::{heads_bound, lp_estimate};
use crate::brief::Profile;
use geo::{Area, Polygon, Rotate, Scale, polygon};

const SETBACK_M: f64 = 0.12;

fn box_of(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<(f64, f64)> {
    vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
}

fn circle(x: f64, y: f64, radius: f64, corners: usize) -> Vec<(f64, f64)> {
    let angle = |i: usize| i as f64 * std::f64::consts::TAU / corners as f64;
    (0..corners)
        .map(|i| (x + radius * angle(i).cos(), y + radius * angle(i).sin()))
        .collect()
}

fn rectangle() -> Polygon<f64> {
    Polygon::new(box_of(0.0, 0.0, 60.0, 40.0).into(), vec![])
}

fn l_shape() -> Polygon<f64> {
    polygon![(x: 0., y: 0.), (x: 60., y: 0.), (x: 60., y: 25.), (x: 25., y: 25.), (x: 25., y: 55.), (x: 0., y: 55.)]
}

fn blob() -> Polygon<f64> {
    let point = |i: usize| {
        let a = i as f64 * std::f64::consts::TAU / 90.0;
        let r = 22.0 * (1.0 + 0.12 * (2.0 * a).cos() + 0.09 * (3.0 * a + 1.0).sin());
        (r * a.cos(), r * a.sin())
    };
    Polygon::new((0..90).map(point).collect::<Vec<_>>().into(), vec![])
}

fn strip() -> Polygon<f64> {
    Polygon::new(box_of(0.0, 0.0, 60.0, 4.0).into(), vec![])
}

fn building_and_trees() -> Polygon<f64> {
    let mut holes: Vec<geo::LineString<f64>> = vec![box_of(25.0, 18.0, 45.0, 30.0).into()];
    let trees = [
        (10.0, 10.0),
        (10.0, 38.0),
        (35.0, 8.0),
        (60.0, 10.0),
        (60.0, 38.0),
        (35.0, 41.0),
    ];
    holes.extend(trees.map(|(x, y)| circle(x, y, 0.8, 16).into()));
    Polygon::new(box_of(0.0, 0.0, 70.0, 48.6).into(), holes)
}

fn ring() -> Polygon<f64> {
    Polygon::new(
        box_of(0.0, 0.0, 50.0, 40.0).into(),
        vec![box_of(10.0, 10.0, 40.0, 30.0).into()],
    )
}

fn triangle() -> Polygon<f64> {
    let base = (2.0 * 960.0 * 34f64.to_radians().tan().recip()).sqrt();
    let height = 2.0 * 960.0 / base;
    polygon![(x: 0., y: 0.), (x: base, y: 0.), (x: base, y: height)]
}

fn shapes() -> Vec<(&'static str, Polygon<f64>, f64, f64)> {
    vec![
        ("rectangle", rectangle(), 12.0, 18.1),
        ("L", l_shape(), 12.0, 17.7),
        ("blob", blob(), 12.0, 12.9),
        ("strip", strip(), 4.0, 22.2),
        ("building and trees", building_and_trees(), 12.0, 25.0),
        ("ring", ring(), 10.0, 20.8),
        ("triangle", triangle(), 12.0, 9.1),
    ]
}

/// Estimates of another program for shapes of the same kind and size but not of the same outline, so exact agreement is
/// expected of none; the rectangle and the strip are the same ground.
#[test]
fn seven_shapes_come_out_as_expected() {
    for (name, piece, radius_m, known) in shapes() {
        let found = lp_estimate(&piece, radius_m, Profile::Cone, 0.05, SETBACK_M).unwrap();
        let off = if matches!(name, "rectangle" | "strip") {
            0.03
        } else {
            0.10
        };
        assert!(
            (found / known - 1.0).abs() < off,
            "{name}: {found} for {known}"
        );
        assert!(found > heads_bound(piece.unsigned_area(), radius_m) as f64 - 1.0);
    }
}

/// The mean is at least the low quarter's mean, so the parts times the greatest mean depth of a candidate are at least
/// 0.75: that much is proven for the programme. Sampled, a candidate brings up to some 5 % more than `R²`.
#[test]
fn the_estimate_is_no_less_than_its_own_bound_by_area() {
    for (name, piece, radius_m, _) in shapes() {
        let covering = Covering::of(&piece, radius_m, Profile::Parabola, 0.05, SETBACK_M).unwrap();
        let water = covering
            .candidates
            .iter()
            .map(|c| c.depths.iter().map(|d| d.1).sum::<f64>());
        let most = water.fold(0.0, f64::max);
        let least = LOW_QUARTER * covering.samples as f64 / most;
        let found = covering.fewest().unwrap();
        assert!(found > least - 1e-3, "{name}: {found} under {least}");
        let brought = most * covering.sample_m2 / radius_m.powi(2);
        assert!(brought < 1.06, "{name}: {brought}");
    }
}

#[test]
fn more_ground_never_takes_fewer_heads() {
    for (name, piece, radius_m, _) in shapes() {
        let at = |scale: f64| {
            lp_estimate(
                &piece.scale(scale),
                radius_m,
                Profile::Cone,
                0.05,
                SETBACK_M,
            )
            .unwrap()
        };
        let found = [1.0, 1.15, 1.3, 1.6].map(at);
        assert!(found.is_sorted(), "{name}: {found:?}");
    }
}

#[test]
fn it_does_not_matter_how_the_piece_lies() {
    let at = |degrees: f64| {
        let piece = l_shape().rotate_around_point(degrees, (3.0, -70.0).into());
        lp_estimate(&piece, 12.0, Profile::Cone, 0.05, SETBACK_M).unwrap()
    };
    for degrees in [17.0, 90.0, 201.0] {
        assert!((at(degrees) / at(0.0) - 1.0).abs() < 0.02, "{degrees}");
    }
}

#[test]
fn stricter_overspray_takes_no_fewer_heads() {
    let at = |most: f64| lp_estimate(&blob(), 12.0, Profile::Cone, most, SETBACK_M).unwrap();
    assert!(at(0.02) >= at(0.05) - 1e-3 && at(0.05) >= at(0.2) - 1e-3);
}

#[test]
fn no_estimate_where_there_is_none() {
    let none = |piece: &Polygon<f64>, radius_m: f64, overspray_most: f64| {
        assert_eq!(
            lp_estimate(piece, radius_m, Profile::Cone, overspray_most, SETBACK_M),
            None
        );
    };
    none(&rectangle().scale(10.0), 12.0, 0.05); // too many sample points
    none(&rectangle(), 0.0, 0.05);
    none(&rectangle(), f64::NAN, 0.05);
    none(&rectangle().scale(0.002), 12.0, 0.05); // narrower than twice the set-back
    none(&strip(), 30.0, 0.05); // any throw leaves the strip
    none(&Polygon::new(vec![(0.0, 0.0)].into(), vec![]), 12.0, 0.05);
}
