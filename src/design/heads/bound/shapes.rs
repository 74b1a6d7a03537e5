//! Tests of the estimate on seven shapes.

use super::covering::Covering;
use super::heads_bound;
use crate::brief::Profile;
use geo::{Area, Polygon, polygon};

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

#[test]
#[ignore]
fn show() {
    for (name, piece, radius_m, known) in shapes() {
        let begun = std::time::Instant::now();
        let covering = Covering::of(&piece, radius_m, Profile::Cone, 0.05, SETBACK_M).unwrap();
        let made = begun.elapsed().as_secs_f64();
        let found = covering.fewest();
        println!(
            "{name}: {:.0} m², {} candidates, {} samples, {found:?} ({known}), {made:.3} + {:.3} s, area {}",
            piece.unsigned_area(),
            covering.candidates.len(),
            covering.samples,
            begun.elapsed().as_secs_f64() - made,
            heads_bound(piece.unsigned_area(), radius_m)
        );
    }
}
