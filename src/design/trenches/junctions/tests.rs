//! Junctions on small ground.

use super::*;
use crate::brief::Rules;
use crate::design::trenches::fixture;
use crate::design::trenches::surfaces::Surfaces;
use proptest::prelude::*;

/// Terminals as they come, joined in a row.
fn row(count: usize) -> Vec<(usize, usize)> {
    (1..count).map(|i| (i - 1, i)).collect()
}

fn at(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// Rules by which only metres count.
fn metres() -> Rules {
    Rules {
        cost_bend: 0.0,
        cost_junction: 0.0,
        cost_slope: 0.0,
        ..Rules::default()
    }
}

#[test]
fn the_corners_of_a_triangle_meet_in_the_point_of_fermat() {
    let corners = [at(0.0, 0.0), at(10.0, 0.0), at(5.0, 75f64.sqrt())];
    let meet = fermat(corners[0], corners[1], corners[2]).unwrap();
    assert!((meet.x - 5.0).abs() < 1e-9 && (meet.y - 75f64.sqrt() / 3.0).abs() < 1e-9);
    // From 120 degrees on the corner itself is best.
    assert_eq!(fermat(at(0.0, 0.0), at(10.0, 0.0), at(-5.0, 8.0)), None);
}

/// What the four corners of a square of 10 m cost, joined in a row at first.
fn square_cost(rules: &Rules) -> f64 {
    let parcel = fixture::parcel();
    let surfaces = Surfaces::of(&parcel);
    let digging = Digging {
        surfaces: &surfaces,
        terrain: &parcel.terrain,
        rules,
    };
    let corners = [(-20.0, -12.0), (-10.0, -12.0), (-10.0, -2.0), (-20.0, -2.0)];
    let square = corners.map(|(x, y)| at(x, y)).to_vec();
    improve(digging, square, &row(4), 4).cost()
}

#[test]
fn a_square_needs_two_junctions() {
    let (cost, least) = (square_cost(&metres()), 10.0 * (1.0 + 3f64.sqrt()));
    assert!((cost - least).abs() < 1e-3, "{cost} for {least}");
}

#[test]
fn a_dear_junction_is_not_dug() {
    let cost = square_cost(&Rules {
        cost_junction: 50.0,
        ..metres()
    });
    assert!((cost - 30.0).abs() < 1e-9, "{cost}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_tree_stays_a_tree_off_the_building_and_never_gets_dearer(
        places in prop::collection::vec((-24.0..24.0f64, -14.0..14.0f64), 3..14),
        bend in 0.0..4.0f64,
    ) {
        let parcel = fixture::parcel();
        let surfaces = Surfaces::of(&parcel);
        let rules = Rules { cost_bend: bend, ..Rules::default() };
        let digging = Digging { surfaces: &surfaces, terrain: &parcel.terrain, rules: &rules };
        let free = |p: &Coord<f64>| !surfaces.at(*p).hard;
        let places: Vec<Coord<f64>> = places.into_iter().map(|(x, y)| at(x, y)).filter(free).collect();
        let edges = row(places.len());
        let digs = |&(a, b): &(usize, usize)| digging.price(places[a], places[b]).is_some();
        prop_assume!(edges.iter().all(digs));
        let before = Net::new(digging, places.clone(), &edges, places.len()).cost();
        let net = improve(digging, places.clone(), &edges, places.len());
        prop_assert!(net.cost() <= before + 1e-9, "{} after {before}", net.cost());
        prop_assert_eq!(&net.at[..places.len()], &places[..]);
        // As many edges as nodes less one, all reached from the source: a tree.
        let mut reached = vec![0];
        let mut next = 0;
        while let Some(&node) = reached.get(next) {
            let new = net.beside[node].iter().map(|(to, _)| *to).filter(|to| !reached.contains(to));
            let new: Vec<usize> = new.collect();
            reached.extend(new);
            next += 1;
        }
        prop_assert!((0..places.len()).all(|terminal| reached.contains(&terminal)));
        prop_assert_eq!(net.edges().len(), reached.len() - 1);
        for (a, b) in net.edges() {
            prop_assert!(!surfaces.is_blocked(Line::new(net.at[a], net.at[b])));
            let found = digging.price(net.at[a], net.at[b]).unwrap();
            prop_assert!((net.price_of(a, b).unwrap() - found).abs() < 1e-9);
        }
    }
}

#[test]
fn a_path_is_crossed_square_where_a_bend_costs_less_than_the_metres_under_it() {
    let parcel = fixture::parcel();
    let surfaces = Surfaces::of(&parcel);
    let rules = Rules {
        cost_slope: 0.0,
        ..Rules::default()
    };
    let digging = Digging {
        surfaces: &surfaces,
        terrain: &parcel.terrain,
        rules: &rules,
    };
    // The path is 2 m wide along x = 0; straight across it the way is 60 degrees off square.
    let ends = vec![at(-5.0, -13.0), at(5.0, 4.3)];
    let straight = Net::new(digging, ends.clone(), &row(2), 2).cost();
    let net = improve(digging, ends, &row(2), 2);
    let line = |&(a, b): &(usize, usize)| Line::new(net.at[a], net.at[b]);
    let crossings: Vec<_> = net
        .edges()
        .iter()
        .flat_map(|edge| surfaces.crossings(line(edge)))
        .collect();
    assert_eq!(crossings.len(), 1);
    assert!((crossings[0].along_m - 2.0).abs() < 0.13, "{crossings:?}");
    assert!(net.cost() < straight - 5.0, "{} for {straight}", net.cost());
}
