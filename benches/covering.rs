//! Time of estimating the fewest heads by the covering, by size of the piece: rectangles of 3 to 2, radius 12 m.
//!
//! `cargo bench --bench covering` prints the second table of `docs/methods/heads.md`, section "The bounds".

use geo::{Polygon, Rect};
use std::time::Instant;
use swardline::brief::Profile;
use swardline::design::heads::bound::covering::Covering;

fn main() {
    for squares in [5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0] {
        let area_m2: f64 = squares * 144.0;
        let long_m = (1.5 * area_m2).sqrt();
        let piece: Polygon<f64> = Rect::new((0.0, 0.0), (long_m, area_m2 / long_m)).to_polygon();
        let begun = Instant::now();
        let covering = Covering::of(&piece, 12.0, Profile::Cone, 0.05, 0.12)
            .expect("a rectangle has a covering");
        let found = covering.fewest().expect("and a fewest");
        println!(
            "| {squares} | {area_m2:.0} | {}, {} | {found:.1} | {:.2} |",
            covering.candidates.len(),
            covering.samples,
            begun.elapsed().as_secs_f64(),
        );
    }
}
