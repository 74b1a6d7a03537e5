//! The turf of one parcel: cleaned, clipped, obstacles taken out, slivers dropped, every change told.

use crate::finding::Finding;
use crate::site::cleaning::clean;
use crate::site::feature::{Feature, Layer, RawShape, boxes_meet};
use crate::site::shapes::{bounds, is_sliver, place_in, subtract, without_crumbs};
use crate::site::{Obstacle, TurfArea};
use geo::{Area, BooleanOps, MultiPolygon};

/// Turf beyond the boundary or on other turf below this comes from drawing the same line twice.
const TELLING_M2: f64 = 0.05;

/// Cuts the turf areas of a parcel one after the other.
pub(crate) struct TurfCutter<'p> {
    pub(crate) layer: &'p Layer,
    pub(crate) boundary: &'p MultiPolygon<f64>,
    pub(crate) obstacles: &'p [Obstacle],
    pub(crate) areas: Vec<TurfArea>,
    pub(crate) findings: Vec<Finding>,
}

impl TurfCutter<'_> {
    fn tell(&mut self, feature: &Feature, finding: Finding, shape: &MultiPolygon<f64>) {
        let finding = finding.in_file(&self.layer.file).of(&feature.id);
        let finding = match (finding.place, place_in(shape)) {
            (None, Some(place)) => finding.at(place),
            _ => finding,
        };
        self.findings.push(finding);
    }

    /// Adds a feature whose shape is already in the parcel's frame.
    pub(crate) fn add(&mut self, feature: &Feature, local: &RawShape) {
        let nothing = MultiPolygon::new(Vec::new());
        let RawShape::Polygons(polygons) = local else {
            let message = format!(
                "its geometry is {}, not a polygon; draw turf as polygons. It is ignored.",
                local.kind()
            );
            self.tell(feature, Finding::error("not_a_polygon", message), &nothing);
            return;
        };
        let cleaned = clean(polygons, self.layer.winding_matters);
        if let Some(at) = cleaned.crossing {
            let message = "its outline crosses itself, so it is unclear what is turf; nothing is designed on it. Redraw it without the crossing.";
            self.tell(
                feature,
                Finding::error("self_crossing", message).at(at),
                &nothing,
            );
            return;
        }
        if !cleaned.repairs.is_empty() {
            let message = format!("repaired: {}.", cleaned.repairs.join("; "));
            self.tell(
                feature,
                Finding::note("ring_repaired", message),
                &cleaned.shape,
            );
        }
        if cleaned.shape.0.is_empty() {
            let message = "has no area and is ignored.";
            self.tell(feature, Finding::note("sliver_dropped", message), &nothing);
            return;
        }
        let drawn = cleaned.shape;
        let inside = self.clipped(feature, drawn.clone());
        if inside.0.is_empty() {
            return;
        }
        let shape = self.without_obstacles(inside);
        let shape = self.without_other_turf(feature, shape);
        if shape.0.is_empty() {
            self.tell_covered(feature, &drawn);
        }
        let shape = self.without_slivers(feature, shape);
        if !shape.0.is_empty() {
            let season = self.season_of(feature);
            self.areas.push(TurfArea {
                id: feature.id.clone(),
                shape,
                soil: feature.text("soil").map(|soil| soil.to_lowercase()),
                season,
            });
        }
    }

    /// Nothing is left of it: a sliver between two drawings is a note, a lawn a warning.
    fn tell_covered(&mut self, feature: &Feature, drawn: &MultiPolygon<f64>) {
        let area_m2 = drawn.unsigned_area();
        let finding = if drawn.iter().all(is_sliver) {
            let message = format!(
                "a sliver of {area_m2:.2} m², wholly on obstacles or other turf, was dropped: no heads stand there."
            );
            Finding::note("sliver_dropped", message)
        } else {
            let message = format!(
                "its {area_m2:.1} m² lie wholly on obstacles or other turf; nothing is left to water."
            );
            Finding::warning("turf_covered", message)
        };
        self.tell(feature, finding, drawn);
    }

    fn season_of(&mut self, feature: &Feature) -> Option<String> {
        let season = feature.text("season")?.to_lowercase();
        if matches!(season.as_str(), "cool" | "warm") {
            return Some(season);
        }
        let message =
            format!("its season `{season}` is neither `cool` nor `warm` and is not used.");
        let nothing = MultiPolygon::new(Vec::new());
        self.tell(
            feature,
            Finding::warning("season_unknown", message),
            &nothing,
        );
        None
    }

    fn clipped(&mut self, feature: &Feature, shape: MultiPolygon<f64>) -> MultiPolygon<f64> {
        let Some((outside, outside_m2)) = subtract(&shape, self.boundary).map_or_else(
            || Some((shape.clone(), shape.unsigned_area())),
            |(outside, _)| {
                let outside_m2 = outside.unsigned_area();
                (outside_m2 > TELLING_M2).then_some((outside, outside_m2))
            },
        ) else {
            return without_crumbs(shape.intersection(self.boundary));
        };
        let inside = without_crumbs(shape.intersection(self.boundary));
        let finding = if inside.0.is_empty() {
            let message = "lies wholly outside its parcel and is not watered. Correct its place or its `parcel`.";
            Finding::error("turf_outside_parcel", message)
        } else {
            let message =
                format!("{outside_m2:.1} m² of it lie outside the parcel and were clipped off.");
            Finding::warning("turf_outside_parcel", message)
        };
        self.tell(feature, finding, &outside);
        inside
    }

    fn without_obstacles(&self, mut shape: MultiPolygon<f64>) -> MultiPolygon<f64> {
        for obstacle in self.obstacles {
            let (Some(here), Some(there)) = (bounds(&shape), bounds(&obstacle.shape)) else {
                continue;
            };
            if boxes_meet(&here, &there, 0.0)
                && let Some((left, _)) = subtract(&shape, &obstacle.shape)
            {
                shape = left;
            }
        }
        shape
    }

    fn without_other_turf(
        &mut self,
        feature: &Feature,
        mut shape: MultiPolygon<f64>,
    ) -> MultiPolygon<f64> {
        let mut told = Vec::new();
        for other in &self.areas {
            let (Some(here), Some(there)) = (bounds(&shape), bounds(&other.shape)) else {
                continue;
            };
            if !boxes_meet(&here, &there, 0.0) {
                continue;
            }
            if let Some((left, shared_m2)) = subtract(&shape, &other.shape) {
                if shared_m2 > TELLING_M2 {
                    told.push(format!("{shared_m2:.1} m² with {}", other.id));
                }
                shape = left;
            }
        }
        if !told.is_empty() {
            let message = format!(
                "overlaps other turf ({}); the shared ground counts once.",
                told.join(", ")
            );
            self.tell(feature, Finding::note("turf_overlap", message), &shape);
        }
        shape
    }

    fn without_slivers(
        &mut self,
        feature: &Feature,
        shape: MultiPolygon<f64>,
    ) -> MultiPolygon<f64> {
        let (slivers, pieces): (Vec<_>, Vec<_>) = shape.into_iter().partition(is_sliver);
        if !slivers.is_empty() {
            let count = slivers.len();
            let slivers = MultiPolygon::new(slivers);
            let message = format!(
                "{count} sliver{} of {:.2} m² in all (below 1 m² or narrower than 0.3 m on the mean) dropped: no heads stand there.",
                if count == 1 { "" } else { "s" },
                slivers.unsigned_area()
            );
            self.tell(feature, Finding::note("sliver_dropped", message), &slivers);
        }
        MultiPolygon::new(pieces)
    }
}
