//! Which parcel each piece of turf and each water point belongs to.
//!
//! Areas here are approximate, on a plane scaled by the latitude: they only decide and tell shares.

mod existing;

pub(crate) use existing::{ExistingLayers, ExistingPicked};

use crate::finding::Finding;
use crate::site::feature::{Feature, Layer, RawShape, boxes_meet};
use crate::site::shapes::{closed, is_strip};
use geo::{
    Area, BooleanOps, Coord, Distance, Euclidean, Intersects, MultiPolygon, Point, Polygon, Rect,
};
use std::collections::BTreeMap;

/// WGS 84: great half-axis, m, and first eccentricity squared (NIMA TR8350.2).
const HALF_AXIS_M: f64 = 6_378_137.0;
const ECCENTRICITY_SQUARED: f64 = 0.006_694_379_990_14;
/// Share of a turf area beyond the first parcel below which nobody drew it across on purpose.
const SECOND_SHARE: f64 = 0.02;
/// Ground beyond the first parcel below which the same holds.
const SECOND_M2: f64 = 1.0;
/// A water point this near to a parcel belongs to it: taps stand on the boundary.
pub(crate) const WATER_POINT_NEAR_M: f64 = 2.0;

/// One parcel, by what belongs to it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Member {
    /// Index of the parcel's feature.
    pub(crate) feature: usize,
    /// Indices of its turf.
    pub(crate) turf: Vec<usize>,
    /// Indices of its water points.
    pub(crate) water_points: Vec<usize>,
    /// What of an existing system is its own.
    pub(crate) existing: ExistingPicked,
    /// What is to be told of this parcel already.
    pub(crate) findings: Vec<Finding>,
    /// Approximate turf, m².
    pub(crate) turf_m2: f64,
}

/// A shape on the approximate plane.
struct Rough {
    shape: MultiPolygon<f64>,
    bounds: Rect<f64>,
}

/// Moves degrees to an approximate plane about one latitude.
struct Plane {
    metres_per_lon: f64,
    metres_per_lat: f64,
}

impl Plane {
    fn about(layer: &Layer) -> Self {
        let middles = layer.features.iter().filter_map(|feature| feature.bounds);
        let latitudes: Vec<f64> = middles.map(|bounds| bounds.center().y).collect();
        let mean = latitudes.iter().sum::<f64>() / latitudes.len().max(1) as f64;
        // Radii of curvature across and along the meridian.
        let (sine, cosine) = mean.to_radians().sin_cos();
        let flattened = 1.0 - ECCENTRICITY_SQUARED * sine * sine;
        let across_m = HALF_AXIS_M / flattened.sqrt();
        let along_m = across_m * (1.0 - ECCENTRICITY_SQUARED) / flattened;
        Self {
            metres_per_lon: (across_m * cosine).to_radians(),
            metres_per_lat: along_m.to_radians(),
        }
    }

    fn at(&self, place: &Coord<f64>) -> Coord<f64> {
        Coord {
            x: place.x * self.metres_per_lon,
            y: place.y * self.metres_per_lat,
        }
    }

    fn rough(&self, feature: &Feature) -> Option<Rough> {
        let RawShape::Polygons(polygons) = &feature.shape else {
            return None;
        };
        let ring = |drawn: &Vec<Coord<f64>>| closed(drawn.iter().map(|at| self.at(at)).collect());
        let polygons = polygons
            .iter()
            .filter(|rings| !rings.is_empty())
            .map(|rings| Polygon::new(ring(&rings[0]), rings[1..].iter().map(ring).collect()));
        let shape = MultiPolygon::new(polygons.collect());
        let bounds = feature.bounds?;
        let bounds = Rect::new(self.at(&bounds.min()), self.at(&bounds.max()));
        Some(Rough { shape, bounds })
    }
}

/// Assigns turf and water points to parcels. What belongs to none is told in `findings`.
pub(crate) fn assign(
    parcels: &Layer,
    turf: &Layer,
    water_points: &Layer,
    existing: &ExistingLayers,
    findings: &mut Vec<Finding>,
) -> BTreeMap<String, Member> {
    let mut assignment = Assignment::of(parcels);
    assignment.tell_overlaps(parcels);
    for (index, feature) in turf.features.iter().enumerate() {
        assignment.turf(index, feature, turf);
    }
    for (index, feature) in water_points.features.iter().enumerate() {
        assignment.water(index, feature, water_points);
    }
    assignment.existing(existing);
    findings.append(&mut assignment.findings);
    assignment.members
}

/// The parcels on the plane, and what is theirs so far.
struct Assignment {
    plane: Plane,
    grounds: BTreeMap<String, Rough>,
    members: BTreeMap<String, Member>,
    findings: Vec<Finding>,
}

impl Assignment {
    fn of(parcels: &Layer) -> Self {
        let plane = Plane::about(parcels);
        let mut members: BTreeMap<String, Member> = BTreeMap::new();
        let mut grounds: BTreeMap<String, Rough> = BTreeMap::new();
        for (index, feature) in parcels.features.iter().enumerate() {
            if let Some(rough) = plane.rough(feature) {
                grounds.entry(feature.id.clone()).or_insert(rough);
            }
            let member = || Member {
                feature: index,
                ..Member::default()
            };
            members.entry(feature.id.clone()).or_insert_with(member);
        }
        Self {
            plane,
            grounds,
            members,
            findings: Vec::new(),
        }
    }

    /// Tells parcels that share ground: what lies there would be designed by whichever has more of it.
    fn tell_overlaps(&mut self, parcels: &Layer) {
        let grounds: Vec<(&String, &Rough)> = self.grounds.iter().collect();
        let mut findings = Vec::new();
        for (index, (id, ground)) in grounds.iter().enumerate() {
            for (other_id, other) in &grounds[index + 1..] {
                if !boxes_meet(&ground.bounds, &other.bounds, 0.0) {
                    continue;
                }
                let shared = ground.shape.intersection(&other.shape);
                if shared.unsigned_area() >= SECOND_M2 && !is_strip(&shared) {
                    let message = format!(
                        "overlaps the parcel {other_id} by {:.0} m². Turf and pipe may be designed twice there; draw the boundary once.",
                        shared.unsigned_area()
                    );
                    let finding = Finding::warning("parcels_overlap", message);
                    findings.push(finding.in_file(&parcels.file).of(id.as_str()));
                }
            }
        }
        self.findings.append(&mut findings);
    }

    /// Tells of a feature that belongs to no parcel, with its place on the earth.
    fn tell(&mut self, layer: &Layer, feature: &Feature, mut finding: Finding) {
        if let Some(bounds) = feature.bounds {
            let middle = bounds.center();
            finding.message += &format!(" (near {:.6}, {:.6})", middle.x, middle.y);
        }
        self.findings
            .push(finding.in_file(&layer.file).of(&feature.id));
    }

    /// The parcel a feature names, if there is one of that name; an unknown name is told.
    fn named_parcel(&mut self, feature: &Feature, layer: &Layer) -> Option<String> {
        let name = feature.text("parcel")?;
        if self.members.contains_key(&name) {
            return Some(name);
        }
        let message = format!(
            "names the parcel `{name}`, which is not among the parcels; it is placed by where it lies."
        );
        self.tell(layer, feature, Finding::error("unknown_parcel", message));
        None
    }

    fn give_turf(&mut self, parcel: &str, index: usize, area_m2: f64) {
        if let Some(member) = self.members.get_mut(parcel) {
            member.turf.push(index);
            member.turf_m2 += area_m2;
        }
    }

    fn turf(&mut self, index: usize, feature: &Feature, layer: &Layer) {
        let named = self.named_parcel(feature, layer);
        let Some(rough) = self.plane.rough(feature) else {
            match named {
                // Its parcel will tell what is wrong with it.
                Some(name) => self.give_turf(&name, index, 0.0),
                None => {
                    let message = format!(
                        "its geometry is {}, not a polygon; draw turf as polygons.",
                        feature.shape.kind()
                    );
                    self.tell(layer, feature, Finding::error("not_a_polygon", message));
                }
            }
            return;
        };
        if let Some(name) = named {
            self.give_turf(&name, index, rough.shape.unsigned_area());
            return;
        }
        let shares = shares_of(&rough, &self.grounds);
        let Some((first, first_m2)) = shares.first() else {
            let message =
                "lies in no parcel and is not watered. Draw the parcel round it, or take it out.";
            self.tell(
                layer,
                feature,
                Finding::warning("turf_in_no_parcel", message),
            );
            return;
        };
        self.give_turf(first, index, *first_m2);
        let area_m2 = rough.shape.unsigned_area();
        for (second, second_m2) in shares.iter().skip(1) {
            if *second_m2 >= SECOND_M2 && *second_m2 >= SECOND_SHARE * area_m2 {
                let message = format!(
                    "lies in two parcels: {first_m2:.0} m² in {first}, {second_m2:.0} m² in {second}. It is counted to {first} and cut off at its boundary. Cut it in two, or name its parcel."
                );
                let finding = Finding::error("turf_in_two_parcels", message);
                self.tell_parcels(
                    &[first, second],
                    &finding.in_file(&layer.file).of(&feature.id),
                );
            }
        }
    }

    fn tell_parcels(&mut self, parcels: &[&String], finding: &Finding) {
        for parcel in parcels {
            if let Some(member) = self.members.get_mut(*parcel) {
                member.findings.push(finding.clone());
            }
        }
    }

    fn water(&mut self, index: usize, feature: &Feature, layer: &Layer) {
        let named = self.named_parcel(feature, layer);
        let RawShape::Points(points) = &feature.shape else {
            let message = format!(
                "its geometry is {}, not a point; draw water points as points.",
                feature.shape.kind()
            );
            self.tell(layer, feature, Finding::error("not_a_point", message));
            return;
        };
        let place = points.first().map(|at| self.plane.at(at));
        let parcel = named.or_else(|| place.and_then(|at| parcel_at(at, &self.grounds)));
        match parcel.and_then(|name| self.members.get_mut(&name)) {
            Some(member) => member.water_points.push(index),
            None => {
                let message = format!(
                    "lies in no parcel, nor within {WATER_POINT_NEAR_M} m of one, and is not used."
                );
                self.tell(
                    layer,
                    feature,
                    Finding::warning("water_point_in_no_parcel", message),
                );
            }
        }
    }
}

/// Parcels that a shape shares ground with, the greatest share first.
fn shares_of(rough: &Rough, grounds: &BTreeMap<String, Rough>) -> Vec<(String, f64)> {
    let mut shares: Vec<(String, f64)> = grounds
        .iter()
        .filter(|(_, ground)| boxes_meet(&rough.bounds, &ground.bounds, 0.0))
        .map(|(id, ground)| {
            (
                id.clone(),
                rough.shape.intersection(&ground.shape).unsigned_area(),
            )
        })
        .filter(|(_, area_m2)| *area_m2 > 0.0)
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    shares
}

/// The parcel at a place or, failing that, the nearest one within reach.
fn parcel_at(at: Coord<f64>, grounds: &BTreeMap<String, Rough>) -> Option<String> {
    let here = Rect::new(at, at);
    let distance_m = |ground: &Rough| {
        if ground.shape.intersects(&at) {
            0.0
        } else {
            Euclidean.distance(&Point(at), &ground.shape)
        }
    };
    grounds
        .iter()
        .filter(|(_, ground)| boxes_meet(&here, &ground.bounds, WATER_POINT_NEAR_M))
        .map(|(id, ground)| (id, distance_m(ground)))
        .filter(|(_, distance_m)| *distance_m <= WATER_POINT_NEAR_M)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(id, _)| id.clone())
}
