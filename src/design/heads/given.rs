//! Heads that are given: they stay as they are, and the others are placed round them.

use super::edges::EdgePlace;
use super::{LONGEST_OVER_WIDTH, Task};
use crate::design::model::Head;
use geo::{Coord, Distance, Euclidean, Intersects, Point, Polygon};

/// A place on the edge nearer to a given head than this share of the smaller radius is left to that head.
const CLEAR_SHARE: f64 = 0.45;
/// Greatest share of the matched depth that a given head of a wrong nozzle counts for.
const SHARE_MOST: f64 = 3.0;
/// A given head that is said to throw farther is none, m.
const RADIUS_MOST_M: f64 = 100.0;
/// A given head this near to a piece stands on it, m: places are known no better.
const BESIDE_M: f64 = 0.3;

impl Task<'_> {
    /// Whether any head is given on this turf area.
    pub fn is_given(&self) -> bool {
        self.given.iter().any(|head| head.turf == self.turf)
    }

    /// Whether a head is given on a piece.
    pub fn stand_on(&self, piece: &Polygon<f64>) -> bool {
        self.given_on(piece).next().is_some()
    }

    /// Class of the heads given on a piece, where they are of one and its throws suit the width: rates are not mixed.
    pub fn class_given(&self, piece: &Polygon<f64>, width_m: f64) -> Option<usize> {
        let class_of = |head: &Head| {
            let of = |class: &super::Class| class.models.contains(&head.model);
            self.classes.iter().position(of)
        };
        let mut classes = self.given_on(piece).filter_map(class_of);
        let first = classes.next()?;
        let suits = self.classes[first].radius_least_m() <= LONGEST_OVER_WIDTH * width_m;
        (suits && classes.all(|class| class == first)).then_some(first)
    }

    /// Whether a place on the edge, `at` in the parcel's frame, is clear of the given heads.
    pub fn clear_of_given(&self, place: &EdgePlace, at: Coord<f64>) -> bool {
        let share = CLEAR_SHARE.max(self.rules.head_distance_least);
        let mut own = self.given.iter().filter(|head| head.turf == self.turf);
        own.all(|head| {
            let far_m = (head.position.x - at.x).hypot(head.position.y - at.y);
            far_m >= share * head.radius_m.min(place.radius_m)
        })
    }

    /// Depth of a head's water over that of its class: 1 for heads that were placed, whose nozzles are matched; `None` for a
    /// given one that gives no water.
    pub fn depth_share(&self, head: &Head, index: usize) -> Option<f64> {
        if index >= self.given.len() {
            return Some(1.0);
        }
        let rate_mm_h = self.catalogue.heads.get(head.model)?.rate_mm_h;
        let served_m2 = head.radius_m * head.radius_m * head.arc.sweep_deg / 360.0;
        let share = 60.0 * head.flow_ref_lpm / (served_m2 * rate_mm_h);
        let sound = share > 0.0 && share.is_finite() && head.radius_m <= RADIUS_MOST_M;
        sound.then(|| share.min(SHARE_MOST))
    }

    fn given_on<'b>(&'b self, piece: &'b Polygon<f64>) -> impl Iterator<Item = &'b Head> + 'b {
        self.given.iter().filter(move |head| {
            let at = Point::from(head.position);
            head.turf == self.turf
                && (piece.intersects(&at) || Euclidean.distance(&at, piece) <= BESIDE_M)
        })
    }
}
