//! What a reviewer should look at: the findings of intake and design together, gravest first, each at a place.

use crate::design::model::Design;
use crate::finding::Finding;
use crate::site::Parcel;
use geo::{Centroid, Coord, InteriorPoint, MultiPolygon};
use std::cmp::Reverse;

/// How well the place of a finding is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Placed {
    /// The finding named the place.
    Exactly,
    /// In the feature that the finding names.
    InFeature,
    /// It concerns the parcel; the place is a point inside it.
    InParcel,
}

impl Placed {
    /// The word used in files.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Exactly => "point",
            Self::InFeature => "feature",
            Self::InParcel => "parcel",
        }
    }
}

/// A finding and where to draw it.
#[derive(Debug)]
pub(crate) struct Attention<'a> {
    pub(crate) finding: &'a Finding,
    pub(crate) at: Option<Coord<f64>>,
    pub(crate) placed: Placed,
}

/// The findings of intake and design, gravest first, no finding twice.
pub(crate) fn gathered<'a>(parcel: &'a Parcel, design: &'a Design) -> Vec<Attention<'a>> {
    let mut findings: Vec<&Finding> = Vec::new();
    for finding in parcel.findings.iter().chain(&design.findings) {
        if !findings.contains(&finding) {
            findings.push(finding);
        }
    }
    findings.sort_by_key(|finding| Reverse(finding.severity));
    findings.into_iter().map(|f| located(parcel, f)).collect()
}

fn located<'a>(parcel: &Parcel, finding: &'a Finding) -> Attention<'a> {
    let feature = || feature_point(parcel, finding.feature.as_deref()?);
    let (at, placed) = match (finding.place, feature()) {
        (Some(place), _) => (Some(place), Placed::Exactly),
        (None, Some(place)) => (Some(place), Placed::InFeature),
        (None, None) => (inner_point(&parcel.boundary), Placed::InParcel),
    };
    Attention {
        finding,
        at,
        placed,
    }
}

fn feature_point(parcel: &Parcel, id: &str) -> Option<Coord<f64>> {
    let turf = parcel.turf.iter().find(|turf| turf.id == id);
    let obstacle = || parcel.obstacles.iter().find(|obstacle| obstacle.id == id);
    let water = || parcel.water_points.iter().find(|point| point.id == id);
    turf.and_then(|turf| inner_point(&turf.shape))
        .or_else(|| obstacle().and_then(|o| inner_point(&o.shape).or(o.root_zone.map(|z| z.0))))
        .or_else(|| water().map(|point| point.position))
}

/// A point inside, or at least amid, a shape.
fn inner_point(shape: &MultiPolygon<f64>) -> Option<Coord<f64>> {
    let point = shape.interior_point().or_else(|| shape.centroid())?;
    Some(point.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn the_gravest_come_first_and_each_has_a_place() {
        let (mut parcel, mut design) = (example::parcel(), example::design());
        let place = Coord { x: 1.0, y: 2.0 };
        parcel.findings = vec![Finding::note("a", "a"), Finding::warning("b", "b").of("T1")];
        design.findings = vec![
            Finding::note("a", "a"),
            Finding::error("c", "c").at(place),
            Finding::warning("d", "d").of("nothing of that id"),
        ];
        let out = gathered(&parcel, &design);
        let codes: Vec<_> = out.iter().map(|a| a.finding.code).collect();
        assert_eq!(codes, ["c", "b", "d", "a"]);
        assert_eq!(out[0].at, Some(place));
        let words: Vec<_> = out.iter().map(|a| a.placed.word()).collect();
        assert_eq!(words, ["point", "feature", "parcel", "parcel"]);
        assert!(out.iter().all(|a| a.at.is_some()));
    }
}
