//! The whole design of one parcel, and its routing alone, on generated ground. Run: `cargo bench --bench design`.

mod ground;

use divan::Bencher;
use swardline::design::design;
use swardline::design::trenches::{route, surfaces::Surfaces};

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
    let positions = ground::lattice::places(&parcel, STEP_M);
    eprintln!("{hectares} ha: {} heads", positions.len());
    let surfaces = Surfaces::of(&parcel);
    bencher.bench(|| {
        route(
            &parcel,
            &surfaces,
            parcel.water_points[0].position,
            &positions,
            &project.rules,
        )
    });
}
