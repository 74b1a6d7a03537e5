//! How a head stands: how far within the turf, and how much of its sector opens on other ground at once.

use crate::design::model::Head;
use crate::site::Parcel;
use geo::{BoundingRect, Contains, Coord, Distance, Euclidean, LineString, Point};

/// Directions looked in, and how far a direction must lie within a sector to count as in it, degrees.
const STEP_DEG: f64 = 5.0;
const WITHIN_DEG: f64 = 10.0;
/// Where it is looked, m from the head: ground that is no turf at both is no gap in the drawing.
const LOOKS_M: [f64; 2] = [0.5, 1.0];

/// How a head stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Standing {
    /// Distance from the nearest edge of turf, m.
    pub(super) edge_m: f64,
    /// Degrees of its sector that open on other ground than turf within a metre.
    pub(super) shut_deg: f64,
    /// The same as a share of the directions within its sector.
    pub(super) shut_share: f64,
}

/// How a head stands on the turf of a parcel.
pub(super) fn standing(parcel: &Parcel, head: &Head) -> Standing {
    let at = Point(head.position);
    let turf = parcel.turf.iter().flat_map(|turf| &turf.shape);
    let rings = turf.flat_map(|piece| std::iter::once(piece.exterior()).chain(piece.interiors()));
    let edge_m = rings
        .map(|ring: &LineString<f64>| Euclidean.distance(&at, ring))
        .fold(f64::INFINITY, f64::min);
    // Farther within than it is looked, every direction opens on turf.
    let (shut_deg, shut_share) = if edge_m > LOOKS_M[1] {
        (0.0, 0.0)
    } else {
        shut(parcel, head)
    };
    Standing {
        edge_m,
        shut_deg,
        shut_share,
    }
}

fn shut(parcel: &Parcel, head: &Head) -> (f64, f64) {
    let near = |rect: geo::Rect<f64>| {
        let (low, high, at) = (rect.min(), rect.max(), head.position);
        let reach_m = LOOKS_M[1];
        (low.x - reach_m..=high.x + reach_m).contains(&at.x)
            && (low.y - reach_m..=high.y + reach_m).contains(&at.y)
    };
    let turf = parcel.turf.iter().flat_map(|turf| &turf.shape);
    let turf: Vec<_> = turf
        .filter(|piece| piece.bounding_rect().is_some_and(near))
        .collect();
    let is_shut = |bearing_deg: f64| {
        let way = towards(bearing_deg);
        LOOKS_M.iter().all(|&far_m| {
            let there = Point(head.position + way * far_m);
            !turf.iter().any(|piece| piece.contains(&there))
        })
    };
    let steps = (360.0 / STEP_DEG) as usize;
    let bearings = (0..steps).map(|step| step as f64 * STEP_DEG);
    let in_sector = |bearing_deg: &f64| {
        [0.0, WITHIN_DEG, -WITHIN_DEG].iter().all(|by| {
            let way = towards(bearing_deg + by);
            head.arc.holds(way.x, way.y)
        })
    };
    let within: Vec<f64> = bearings.filter(in_sector).collect();
    let shut = within.iter().filter(|deg| is_shut(**deg)).count() as f64;
    (shut * STEP_DEG, shut / within.len().max(1) as f64)
}

fn towards(bearing_deg: f64) -> Coord<f64> {
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    Coord { x: sin, y: cos }
}
