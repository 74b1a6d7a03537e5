use super::*;
use geo::Coord;
use proptest::prelude::*;

/// A tree of heads, each hung on an earlier node; node 0 is the source.
fn tree(places: &[(f64, f64)], parents: &[usize]) -> TrenchTree {
    let at = |(x, y): &(f64, f64)| Coord { x: *x, y: *y };
    let heads = places.len();
    TrenchTree {
        positions: [(0.0, 0.0)].iter().chain(places).map(at).collect(),
        heads: [None].into_iter().chain((0..heads).map(Some)).collect(),
        parents: [0].iter().chain(parents).copied().collect(),
        unreachable: vec![],
    }
}

fn need(flow_lpm: f64, ground_m: f64, class: usize, left_lpm: f64) -> HeadNeed {
    HeadNeed {
        flow_lpm,
        pressure_kpa: 250.0,
        ground_m,
        class,
        path_m: 0.0,
        left_lpm,
        flow_most_lpm: f64::INFINITY,
        spread_most_m: 5.0,
    }
}

/// A spine of `n` heads 10 m apart, climbing 1 m each.
fn spine(n: usize, left_lpm: f64) -> (TrenchTree, Vec<HeadNeed>) {
    let places: Vec<_> = (1..=n).map(|i| (10.0 * i as f64, 0.0)).collect();
    let parents: Vec<_> = (0..n).collect();
    let need = |i| HeadNeed {
        spread_most_m: 100.0,
        ..need(10.0, i as f64, 0, left_lpm)
    };
    (tree(&places, &parents), (0..n).map(need).collect())
}

fn limits() -> Limits {
    Limits {
        heads: 40,
        station_m: 100.0,
        spare_m: 0.0,
        empty_m: 20.0,
    }
}

#[test]
fn flow_limits_the_station_and_a_row_is_cut_into_the_fewest() {
    let (tree, needs) = spine(10, 35.0);
    let groups = group(&tree, &needs, &limits(), 0);
    assert!(groups.iter().all(|g| g.load.flow_lpm <= 35.0));
    assert_eq!(groups.len(), 4);
}

#[test]
fn a_hills_top_and_foot_are_not_on_one_line() {
    let (tree, mut needs) = spine(10, 1000.0);
    needs.iter_mut().for_each(|need| need.spread_most_m = 3.0);
    let groups = group(&tree, &needs, &limits(), 0);
    assert_eq!(groups.len(), 3);
    assert!(groups.iter().all(|g| g.load.high_m - g.load.low_m <= 3.0));
}

#[test]
fn a_head_the_supply_cannot_feed_still_gets_a_station() {
    let (tree, needs) = spine(2, 1.0);
    assert_eq!(group(&tree, &needs, &limits(), 0).len(), 2);
}

#[test]
fn two_rows_out_of_one_corner_are_two_stations_and_not_one_half_of_each() {
    let places = [1.0, 2.0, 3.0, 4.0].map(|i| 10.0 * i);
    let row = |f: fn(f64) -> (f64, f64)| places.map(f).to_vec();
    let places = [row(|x| (x, 0.0)), row(|y| (0.0, y))].concat();
    let tree = tree(&places, &[0, 1, 2, 3, 1, 5, 6, 7]);
    let needs = vec![need(10.0, 0.0, 0, 40.0); 8];
    let groups = group(&tree, &needs, &limits(), 0);
    assert_eq!(groups.len(), 2);
    assert_eq!(groups[0].heads, [0, 1, 2, 3]);
}

#[test]
fn no_station_reaches_across_the_source() {
    let tree = tree(&[(-10.0, 0.0), (10.0, 0.0)], &[0, 0]);
    let needs = vec![need(10.0, 0.0, 0, 40.0); 2];
    let groups = group(&tree, &needs, &limits(), 0);
    assert_eq!(groups.len(), 2);
    assert!(groups.iter().all(|g| g.top != 0));
}

#[test]
fn stations_that_could_be_uneven_are_made_even() {
    let (tree, needs) = spine(9, 60.0);
    let groups = group(&tree, &needs, &limits(), 0);
    let mut flows: Vec<f64> = groups.iter().map(|g| g.load.flow_lpm).collect();
    flows.sort_by(f64::total_cmp);
    assert_eq!(flows, [40.0, 50.0]);
}

prop_compose! {
    fn random_ground()(count in 2usize..40)(
        places in prop::collection::vec((0.0..90.0, 0.0..90.0), count),
        uplinks in prop::collection::vec(0.0..1.0, count),
        flows in prop::collection::vec((3.0..25.0, 0.0..12.0, 0usize..2), count),
    ) -> (TrenchTree, Vec<HeadNeed>) {
        // Hung on one of the last few nodes, so that there are both rows and forks.
        let parents: Vec<usize> = uplinks.iter().enumerate()
            .map(|(i, up): (usize, &f64)| i - ((up * 3.0) as usize).min(i.saturating_sub(1)))
            .collect();
        let needs = flows.iter().map(|&(lpm, z, class)| need(lpm, z, class, 70.0)).collect();
        (walked(tree(&places, &parents)), needs)
    }
}

/// The same tree with nodes in walking order, as the routing gives it.
fn walked(tree: TrenchTree) -> TrenchTree {
    let children = tree.children();
    let (mut new, mut number) = (TrenchTree::default(), vec![0; tree.parents.len()]);
    let mut open = vec![0];
    while let Some(node) = open.pop() {
        number[node] = new.positions.len();
        new.positions.push(tree.positions[node]);
        new.heads.push(tree.heads[node]);
        new.parents.push(number[tree.parents[node]]);
        open.extend(children[node].iter().rev());
    }
    new
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn every_head_is_on_one_station_within_all_limits((tree, needs) in random_ground()) {
        let limits = limits();
        let groups = group(&tree, &needs, &limits, 0);
        let mut all: Vec<_> = groups.iter().flat_map(|g| g.heads.clone()).collect();
        all.sort_unstable();
        prop_assert_eq!(all, (0..needs.len()).collect::<Vec<_>>());
        for g in &groups {
            prop_assert!(limits.allow(&g.load), "{:?}", g.load);
            let loads = g.heads.iter().map(|head| Load::of(&needs[*head]));
            let summed = loads.reduce(|a, b| a.joined(&b)).unwrap();
            prop_assert!((summed.flow_lpm - g.load.flow_lpm).abs() < 1e-9);
            prop_assert!(g.heads.iter().all(|head| needs[*head].class == g.class));
            for head in &g.heads {
                let node = tree.heads.iter().position(|at| *at == Some(*head)).unwrap();
                prop_assert!(Ancestry::of(&tree).meet(node, g.top) == g.top);
            }
        }
    }

    #[test]
    fn stations_are_no_fewer_than_their_bound((tree, needs) in random_ground()) {
        let limits = limits();
        let groups = group(&tree, &needs, &limits, 0);
        for class in 0..2 {
            let claims = needs.iter().filter(|need| need.class == class);
            let least = bound(claims.map(|need| Claim::of(need, need.left_lpm)), &limits);
            prop_assert!(groups.iter().filter(|g| g.class == class).count() >= least);
        }
    }

    #[test]
    fn exchanging_never_makes_stations_dearer((tree, needs) in random_ground()) {
        let limits = limits();
        let ways = Ancestry::of(&tree);
        let tour = Tour::of(&tree, &ways, 0, |head| needs[head].class == 0);
        let packing = pack::pack(&tour, &needs, &limits, &ways.path_m);
        let price = |groups: &[Group]| -> f64 {
            let groups = groups.iter().filter(|g| g.class == 0);
            groups.map(|g| {
                let node = |head: &usize| tree.heads.iter().position(|at| *at == Some(*head)).unwrap();
                let nodes: Vec<usize> = g.heads.iter().map(node).collect();
                let all: Vec<usize> = (0..nodes.len()).collect();
                limits.cost(&g.load, Walk::of(&ways, &nodes).joining_m(&all))
            }).sum()
        };
        let groups = group(&tree, &needs, &limits, 0);
        prop_assert!(price(&groups) <= packing.cost + 1e-6);
    }
}
