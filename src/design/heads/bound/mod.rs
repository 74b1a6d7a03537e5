//! How few heads could do: a proven bound by area, and an estimate by a linear programme of the covering.
//!
//! The estimate holds for the places, arcs and sample points it is given and proves nothing about others. Neither knows
//! walls, head-to-head spacing or the rule that corners get a head.

mod area;
mod candidates;
pub mod covering;
mod interior;
#[cfg(test)]
mod shapes;

pub use area::heads_bound;

use crate::brief::Profile;
use covering::Covering;
use geo::Polygon;

/// Heads of radius `radius_m` or 0.8 of it that the covering of `piece` takes at least, as parts of heads: the optimum
/// of a linear programme over candidate places and arcs, judged on sample points of the ground inset by `setback_m`.
///
/// Asked are: the mean of the low quarter at least 0.75 of the matched rate and 0.75 of the mean, no sample point under
/// 0.3 of the rate, no more than the share `overspray_most` of the water off the piece. `None` where the piece is too
/// small to stand a head on, too large for [`covering::SAMPLES_MOST`], or where no such covering exists or is found.
pub fn lp_estimate(
    piece: &Polygon<f64>,
    radius_m: f64,
    profile: Profile,
    overspray_most: f64,
    setback_m: f64,
) -> Option<f64> {
    Covering::of(piece, radius_m, profile, overspray_most, setback_m)?.fewest()
}
