//! Trench trees on generated ground with paths, buildings and trees: as they are, and as many more starts would have them.
//!
//! Run: `cargo bench --bench trenches`. Heads stand on a lattice of 12 m, or at random half as many.

mod ground;

use geo::{Coord, Line};
use std::time::Instant;
use swardline::brief::Rules;
use swardline::design::trenches::{TrenchTree, price::price, route, surfaces::Surfaces};
use swardline::site::Parcel;

/// Starts of the comparison over those of a design.
const EFFORT: f64 = 20.0;

fn main() {
    println!("| ground | heads | trench, m | price | ratio of price | s |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for hectares in [0.5, 1.0, 2.0, 4.0, 8.0] {
        let (parcel, project) = ground::parcel(hectares);
        let lattice = ground::lattice::places(&parcel, 12.0);
        row(
            &format!("{hectares} ha, lattice"),
            &parcel,
            &project.rules,
            &lattice,
        );
        let scattered: Vec<_> = ground::lattice::places(&parcel, 3.7)
            .into_iter()
            .enumerate()
            .filter(|(i, _)| (i * 7919 + 13) % 97 < 5)
            .map(|(_, at)| at)
            .collect();
        row(
            &format!("{hectares} ha, scattered"),
            &parcel,
            &project.rules,
            &scattered,
        );
    }
}

fn row(name: &str, parcel: &Parcel, rules: &Rules, heads: &[Coord<f64>]) {
    let surfaces = Surfaces::of(parcel);
    let source = parcel.water_points[0].position;
    let tree = |effort: f64| -> TrenchTree {
        let rules = Rules {
            search_effort: effort,
            ..rules.clone()
        };
        route(parcel, &surfaces, source, heads, &rules)
    };
    let price_of = |tree: &TrenchTree| -> f64 {
        let nodes = 1..tree.parents.len();
        nodes
            .filter_map(|node| {
                let line = Line::new(tree.positions[node], tree.positions[tree.parents[node]]);
                price(line, &surfaces, &parcel.terrain, rules)
            })
            .sum()
    };
    let start = Instant::now();
    let ours = tree(1.0);
    let seconds = start.elapsed().as_secs_f64();
    let best = tree(EFFORT);
    println!(
        "| {name} | {} | {:.1} | {:.1} | {:.3} | {seconds:.2} |",
        heads.len(),
        ours.length_m(),
        price_of(&ours),
        price_of(&ours) / price_of(&best)
    );
}
