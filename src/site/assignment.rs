//! Which parcel each piece of turf and each water point belongs to.
//!
//! Areas here are approximate, on a plane scaled by the latitude: they only decide and tell shares.

use crate::finding::Finding;
use crate::site::feature::{Feature, Layer, RawShape, boxes_meet};
use crate::site::shapes::closed;
use geo::{
    Area, BooleanOps, Coord, Distance, Euclidean, Intersects, MultiPolygon, Point, Polygon, Rect,
};
use std::collections::BTreeMap;

/// Metres in a degree of latitude, about (mean radius 6 371 009 m).
const METRES_PER_DEGREE: f64 = 111_195.0;
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
}

impl Plane {
    fn about(layer: &Layer) -> Self {
        let middles = layer.features.iter().filter_map(|feature| feature.bounds);
        let latitudes: Vec<f64> = middles.map(|bounds| bounds.center().y).collect();
        let mean = latitudes.iter().sum::<f64>() / latitudes.len().max(1) as f64;
        Self {
            metres_per_lon: METRES_PER_DEGREE * mean.to_radians().cos(),
        }
    }

    fn at(&self, place: &Coord<f64>) -> Coord<f64> {
        Coord {
            x: place.x * self.metres_per_lon,
            y: place.y * METRES_PER_DEGREE,
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
    findings: &mut Vec<Finding>,
) -> BTreeMap<String, Member> {
    let plane = Plane::about(parcels);
    let mut members: BTreeMap<String, Member> = BTreeMap::new();
    let mut grounds: BTreeMap<String, Rough> = BTreeMap::new();
    for (index, feature) in parcels.features.iter().enumerate() {
        if let Some(rough) = plane.rough(feature) {
            grounds.entry(feature.id.clone()).or_insert(rough);
        }
        members.entry(feature.id.clone()).or_insert_with(|| Member {
            feature: index,
            ..Member::default()
        });
    }
    for (index, feature) in turf.features.iter().enumerate() {
        assign_turf(
            index,
            feature,
            turf,
            &plane,
            &grounds,
            &mut members,
            findings,
        );
    }
    for (index, feature) in water_points.features.iter().enumerate() {
        assign_water(
            index,
            feature,
            water_points,
            &plane,
            &grounds,
            &mut members,
            findings,
        );
    }
    members
}

/// The parcel a feature names, if there is one of that name; an unknown name is told.
fn named_parcel(
    feature: &Feature,
    layer: &Layer,
    members: &BTreeMap<String, Member>,
    findings: &mut Vec<Finding>,
) -> Option<String> {
    let name = feature.text("parcel")?;
    if members.contains_key(&name) {
        return Some(name);
    }
    let message = format!(
        "names the parcel `{name}`, which is not among the parcels; it is placed by where it lies."
    );
    findings.push(
        Finding::error("unknown_parcel", message)
            .in_file(&layer.file)
            .of(&feature.id),
    );
    None
}

#[expect(
    clippy::too_many_arguments,
    reason = "one step of `assign`, with its state"
)]
fn assign_turf(
    index: usize,
    feature: &Feature,
    layer: &Layer,
    plane: &Plane,
    grounds: &BTreeMap<String, Rough>,
    members: &mut BTreeMap<String, Member>,
    findings: &mut Vec<Finding>,
) {
    let rough = plane.rough(feature);
    let area_m2 = rough
        .as_ref()
        .map_or(0.0, |rough| rough.shape.unsigned_area());
    if let Some(name) = named_parcel(feature, layer, members, findings) {
        if let Some(member) = members.get_mut(&name) {
            member.turf.push(index);
            member.turf_m2 += area_m2;
        }
        return;
    }
    let told = |finding: Finding| finding.in_file(&layer.file).of(&feature.id);
    let Some(rough) = rough else {
        let message = format!(
            "is a {}, not a polygon; draw turf as polygons.",
            feature.shape.kind()
        );
        findings.push(told(Finding::error("not_a_polygon", message)));
        return;
    };
    let shares = shares_of(&rough, grounds);
    let Some((first, first_m2)) = shares.first() else {
        let message =
            "lies in no parcel and is not watered. Draw the parcel round it, or take it out.";
        findings.push(told(Finding::warning("turf_in_no_parcel", message)));
        return;
    };
    if let Some(member) = members.get_mut(first) {
        member.turf.push(index);
        member.turf_m2 += first_m2;
    }
    for (second, second_m2) in shares.iter().skip(1) {
        if *second_m2 < SECOND_M2 || *second_m2 < SECOND_SHARE * area_m2 {
            continue;
        }
        let message = format!(
            "lies in two parcels: {first_m2:.0} m² in {first}, {second_m2:.0} m² in {second}. It is counted to {first} and cut off at its boundary. Cut it in two, or name its parcel."
        );
        for parcel in [first, second] {
            if let Some(member) = members.get_mut(parcel) {
                member
                    .findings
                    .push(told(Finding::error("turf_in_two_parcels", message.clone())));
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

#[expect(
    clippy::too_many_arguments,
    reason = "one step of `assign`, with its state"
)]
fn assign_water(
    index: usize,
    feature: &Feature,
    layer: &Layer,
    plane: &Plane,
    grounds: &BTreeMap<String, Rough>,
    members: &mut BTreeMap<String, Member>,
    findings: &mut Vec<Finding>,
) {
    let named = named_parcel(feature, layer, members, findings);
    let told = |finding: Finding| finding.in_file(&layer.file).of(&feature.id);
    let RawShape::Points(points) = &feature.shape else {
        let message = format!(
            "is a {}, not a point; draw water points as points.",
            feature.shape.kind()
        );
        findings.push(told(Finding::error("not_a_point", message)));
        return;
    };
    let place = points.first().map(|at| plane.at(at));
    match named.or_else(|| place.and_then(|at| parcel_at(at, grounds))) {
        Some(name) => {
            if let Some(member) = members.get_mut(&name) {
                member.water_points.push(index);
            }
        }
        None => {
            let message = format!(
                "lies in no parcel, nor within {WATER_POINT_NEAR_M} m of one, and is not used."
            );
            findings.push(told(Finding::warning("water_point_in_no_parcel", message)));
        }
    }
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
