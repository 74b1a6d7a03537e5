//! One parcel's features out of the layers of an edited design, in its frame.

use super::book::Layers;
use super::feature::Reading;
use super::{Edits, LeftOut, LineKind, PointKind};
use crate::finding::Finding;
use crate::mark::{Mark, columns_of};
use crate::site::feature::{Feature, Layer, RawShape, Value};
use crate::site::projector::Projector;
use geo::MultiPolygon;
use std::collections::BTreeSet;

/// Heads nearer to a place than this stand there, m.
const THERE_M: f64 = 0.05;
/// Code of the finding that tells a place where a head was taken away.
const LEFT_OUT: &str = "head_left_out";
/// Code of the finding that tells what edits come to.
const EFFECT: &str = "edits_effect";

/// The parcel that features are taken for.
pub(crate) struct At<'a> {
    pub(crate) parcel: &'a str,
    pub(crate) boundary: &'a MultiPolygon<f64>,
    pub(crate) projector: &'a Projector,
    /// Whether features that name no parcel are the parcel's own wherever they lie.
    pub(crate) own_folder: bool,
}

/// Takes a parcel's features from the layers; `None` where none is its own.
pub(crate) fn of_parcel(
    file: &str,
    layers: &Layers,
    at: &At,
    findings: &mut Vec<Finding>,
) -> Option<Edits> {
    let mut edits = Edits {
        file: file.to_owned(),
        ..Edits::default()
    };
    let mut any = false;
    for (name, layer) in layers {
        let rightful = rightful(name, layer);
        for (index, feature) in layer.features.iter().enumerate() {
            let mut reading = Reading {
                layer,
                feature,
                at,
                findings,
            };
            let Some(local) = reading.local() else {
                continue;
            };
            any = true;
            let hand = reading.hand(name, !rightful.contains(&index));
            match *name {
                "heads" => edits.heads.extend(reading.head(hand, &local)),
                "valves" => edits
                    .points
                    .extend(reading.point(hand, PointKind::Valve, &local)),
                "drains" => edits
                    .points
                    .extend(reading.point(hand, PointKind::Drain, &local)),
                "nodes" => {
                    let node = reading.point(hand, PointKind::Node, &local);
                    edits.left_out.extend(node.as_ref().and_then(|node| {
                        let id = Some(feature.text("head")?);
                        let position = node.position;
                        Some(LeftOut { id, position })
                    }));
                    edits.points.extend(node);
                }
                "mains" => edits
                    .lines
                    .extend(reading.line(hand, LineKind::Main, &local)),
                "laterals" => edits
                    .lines
                    .extend(reading.line(hand, LineKind::Lateral, &local)),
                "trenches" => edits
                    .lines
                    .extend(reading.line(hand, LineKind::Trench, &local)),
                "parcel" => edits.base = feature.text("design_mark"),
                _ => attention(&mut edits, feature, &local),
            }
        }
    }
    if !any {
        return None;
    }
    keep_left_out(&mut edits);
    Some(edits)
}

/// What the layer of attention tells of earlier edits.
fn attention(edits: &mut Edits, feature: &Feature, local: &RawShape) {
    match (feature.text("code").as_deref(), local) {
        (Some(EFFECT), _) => edits.of_edited = true,
        (Some(LEFT_OUT), RawShape::Points(points)) => {
            edits
                .left_out
                .extend(points.first().map(|position| LeftOut {
                    id: None,
                    position: *position,
                }));
        }
        _ => {}
    }
}

/// Leaves of the heads that nodes name those that are gone from the layer, and no place where a head stands.
fn keep_left_out(edits: &mut Edits) {
    let there: BTreeSet<&str> = edits
        .heads
        .iter()
        .filter_map(|head| head.hand.id.as_deref())
        .collect();
    let heads = &edits.heads;
    let stands = |place: &LeftOut| {
        let mut off = heads.iter().map(|head| head.position - place.position);
        off.any(|off| off.x.hypot(off.y) < THERE_M)
    };
    edits.left_out.retain(|place| {
        let named = place.id.as_deref();
        named.is_none_or(|id| !there.contains(id)) && !stands(place)
    });
}

/// Features that have their id by right: of several of one id the first whose mark fits, else the first.
fn rightful(name: &str, layer: &Layer) -> BTreeSet<usize> {
    let mut of_id = std::collections::BTreeMap::new();
    for (index, feature) in layer.features.iter().enumerate() {
        let Some(id) = feature.text("id") else {
            continue;
        };
        // An id is unique in its parcel.
        let key = (feature.text("parcel"), id);
        let fits = mark_fits(name, feature);
        let holder = of_id.entry(key).or_insert((index, fits));
        if fits && !holder.1 {
            *holder = (index, true);
        }
    }
    of_id.into_values().map(|(index, _)| index).collect()
}

/// Whether a feature's mark is that of its values.
pub(super) fn mark_fits(name: &str, feature: &Feature) -> bool {
    let (Some(columns), Some(told)) = (columns_of(name), feature.text("mark")) else {
        return false;
    };
    let with = |mark: Mark, column: &str| match feature.properties.get(column) {
        Some(Value::Number(number)) => mark.number(*number),
        Some(Value::Text(text)) => mark.word(text),
        None => mark.word(""),
    };
    let set = columns
        .iter()
        .fold(with(Mark::default(), "id"), |mark, column| {
            with(mark, column)
        });
    let places = feature.shape.coords().into_iter();
    places.fold(set, |mark, at| mark.place(*at)).digits() == told
}
