//! The whole design of one parcel, and its routing alone, on generated ground. Run: `cargo bench --bench design`.

mod ground;

use divan::Bencher;
use geo::{BoundingRect, Contains, Coord, Point};
use swardline::design::design;
use swardline::design::trenches::{route, surfaces::Surfaces};
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
    let positions = lattice(&parcel);
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

fn lattice(parcel: &Parcel) -> Vec<Coord<f64>> {
    let bounds = parcel
        .boundary
        .bounding_rect()
        .expect("a parcel has an extent");
    let (columns, rows) = (bounds.width() / STEP_M, bounds.height() / STEP_M);
    let places = (0..rows as i32).flat_map(|j| (0..columns as i32).map(move |i| (i, j)));
    let at = |(i, j)| {
        bounds.min()
            + Coord {
                x: f64::from(i) + 0.5,
                y: f64::from(j) + 0.5,
            } * STEP_M
    };
    let on_turf = |at: &Coord<f64>| {
        parcel
            .turf
            .iter()
            .any(|turf| turf.shape.contains(&Point::from(*at)))
    };
    places.map(at).filter(on_turf).collect()
}
