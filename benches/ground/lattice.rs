//! Heads on a lattice: ground for trenches without the search for heads.

use geo::{BoundingRect, Contains, Coord, Point};
use swardline::site::Parcel;

/// Places on turf, `step_m` apart.
pub fn places(parcel: &Parcel, step_m: f64) -> Vec<Coord<f64>> {
    let bounds = parcel
        .boundary
        .bounding_rect()
        .expect("a parcel has an extent");
    let (columns, rows) = (bounds.width() / step_m, bounds.height() / step_m);
    let places = (0..rows as i32).flat_map(|j| (0..columns as i32).map(move |i| (i, j)));
    let at = |(i, j)| {
        bounds.min()
            + Coord {
                x: f64::from(i) + 0.5,
                y: f64::from(j) + 0.5,
            } * step_m
    };
    let on_turf = |at: &Coord<f64>| {
        parcel
            .turf
            .iter()
            .any(|turf| turf.shape.contains(&Point::from(*at)))
    };
    places.map(at).filter(on_turf).collect()
}
