//! The whole design of one parcel, and its routing alone, on generated ground. Run: `cargo bench --bench design`.

mod ground;

use divan::Bencher;
use swardline::brief::Project;
use swardline::design::design;
use swardline::design::stations::{HeadNeed, Limits, group};
use swardline::design::trenches::{TrenchTree, route, surfaces::Surfaces};
use swardline::site::Parcel;

/// Between heads, m.
const STEP_M: f64 = 12.0;

fn main() {
    divan::main();
}

#[divan::bench(args = [1.0, 4.0, 16.0, 64.0], sample_count = 1, sample_size = 1)]
fn whole(bencher: Bencher, hectares: f64) {
    let (parcel, project) = ground::parcel(hectares);
    bencher.bench(|| design(&parcel, &project));
}

/// Trenches to heads on a lattice of 12 m.
#[divan::bench(args = [1.0, 4.0, 16.0, 100.0], sample_count = 3, sample_size = 1)]
fn routing(bencher: Bencher, hectares: f64) {
    let (parcel, project) = ground::parcel(hectares);
    bencher.bench(|| routed(&parcel, &project));
}

/// Stations of heads on a lattice of 12 m, each of which draws a thirtieth to a twelfth of what a station may.
#[divan::bench(args = [1.0, 4.0, 16.0, 100.0], sample_count = 3, sample_size = 1)]
fn stations(bencher: Bencher, hectares: f64) {
    let (parcel, project) = ground::parcel(hectares);
    let tree = routed(&parcel, &project);
    let needs: Vec<HeadNeed> = (0..tree.heads.len())
        .map(|i| need(i, &parcel, &tree))
        .collect();
    let limits = Limits::of(&project.rules);
    eprintln!("{} stations", group(&tree, &needs, &limits, 0).len());
    bencher.bench(|| group(&tree, &needs, &limits, 0));
}

fn routed(parcel: &Parcel, project: &Project) -> TrenchTree {
    let positions = ground::lattice::places(parcel, STEP_M);
    eprintln!("{} heads", positions.len());
    let surfaces = Surfaces::of(parcel);
    let source = parcel.water_points[0].position;
    route(parcel, &surfaces, source, &positions, &project.rules)
}

/// What a head asks for, by its number.
fn need(head: usize, parcel: &Parcel, tree: &TrenchTree) -> HeadNeed {
    let node = tree.heads.iter().position(|at| *at == Some(head));
    let ground_m = node.and_then(|node| parcel.terrain.height_m(tree.positions[node]));
    HeadNeed {
        flow_lpm: 10.0 + (head % 4) as f64 * 5.0,
        pressure_kpa: 300.0,
        ground_m: ground_m.unwrap_or(0.0),
        class: 0,
        path_m: 0.0,
        left_lpm: 300.0,
        flow_most_lpm: f64::INFINITY,
        spread_most_m: 5.0,
    }
}
