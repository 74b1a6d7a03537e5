//! How much ground lies among roots.

use super::{Parcel, TurfArea};
use geo::{Area, BooleanOps, Buffer, MultiPolygon, Point, unary_union};

impl Parcel {
    /// Share of the area of these turf areas that lies in root zones, 0 to 1; 0 for none.
    pub fn share_among_roots<'a>(&self, turf: impl IntoIterator<Item = &'a TurfArea>) -> f64 {
        let zones: Vec<MultiPolygon<f64>> = self
            .obstacles
            .iter()
            .filter_map(|obstacle| obstacle.root_zone)
            .map(|(centre, radius_m)| Point::from(centre).buffer(radius_m))
            .collect();
        if zones.is_empty() {
            return 0.0;
        }
        let zones = unary_union(&zones);
        let (mut among_m2, mut all_m2) = (0.0, 0.0);
        for area in turf {
            among_m2 += area.shape.intersection(&zones).unsigned_area();
            all_m2 += area.shape.unsigned_area();
        }
        if all_m2 > 0.0 {
            (among_m2 / all_m2).min(1.0)
        } else {
            0.0
        }
    }
}
