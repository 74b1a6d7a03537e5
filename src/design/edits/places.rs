//! Whether a thing may stand where a person put it.

use crate::finding::Finding;
use crate::site::{ObstacleKind, Parcel};
use geo::{BoundingRect, Contains, Coord, Distance, Euclidean, Intersects, MultiPolygon, Point};

/// A thing this near to an edge stands on it, m.
const ON_EDGE_M: f64 = 0.02;

/// Where a head stands.
pub(super) struct Place {
    /// The turf area it waters.
    pub(super) turf: usize,
    /// Its distance from that turf, m.
    pub(super) off_m: f64,
}

/// The ground that things are put on.
pub(super) struct Places<'a> {
    parcel: &'a Parcel,
}

impl<'a> Places<'a> {
    pub(super) fn of(parcel: &'a Parcel) -> Self {
        Self { parcel }
    }

    /// What keeps anything from standing at a place.
    pub(super) fn refusal(&self, at: Coord<f64>) -> Option<Finding> {
        let off_m = Euclidean.distance(&Point(at), &self.parcel.boundary);
        if !at.x.is_finite() || !at.y.is_finite() || off_m > ON_EDGE_M {
            let message = format!(
                "lies {off_m:.2} m outside the parcel {}, and what was done to it is not followed. Move it into the parcel, or to the layers of the parcel it lies in.",
                self.parcel.id
            );
            return Some(Finding::error("pin_off_parcel", message));
        }
        let hard = self.parcel.obstacles.iter().find(|obstacle| {
            matches!(obstacle.kind, ObstacleKind::Building | ObstacleKind::Water)
                && is_well_inside(&obstacle.shape, at)
        })?;
        let message = format!(
            "lies on the {} {}, and what was done to it is not followed. Move it off.",
            match hard.kind {
                ObstacleKind::Building => "building",
                _ => "water",
            },
            hard.id
        );
        Some(Finding::error("pin_on_obstacle", message))
    }

    /// Where a head stands.
    pub(super) fn of_head(&self, at: Coord<f64>) -> Result<Place, Finding> {
        if let Some(finding) = self.refusal(at) {
            return Err(finding);
        }
        let turf = self.parcel.turf.iter().enumerate();
        let off = turf.map(|(turf, area)| {
            let on = area.shape.intersects(&at);
            let off_m = if on {
                0.0
            } else {
                Euclidean.distance(&Point(at), &area.shape)
            };
            Place { turf, off_m }
        });
        off.min_by(|a, b| a.off_m.total_cmp(&b.off_m))
            .ok_or_else(|| {
                let message = "has no turf to water; what was done to it is not followed.";
                Finding::error("pin_off_turf", message)
            })
    }
}

fn is_well_inside(shape: &MultiPolygon<f64>, at: Coord<f64>) -> bool {
    let near = shape
        .bounding_rect()
        .is_some_and(|bounds| bounds.intersects(&at));
    near && shape.contains(&at) && {
        let rings = shape
            .iter()
            .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
        let mut off = rings.map(|ring| Euclidean.distance(&Point(at), ring));
        off.all(|off_m| off_m > ON_EDGE_M)
    }
}
