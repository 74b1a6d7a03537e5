//! One parcel's features out of the layers of an edited design, in its frame.

use super::book::Layers;
use super::{EditedHead, EditedLine, EditedPoint, Edits, Hand, LeftOut, LineKind, PointKind};
use crate::finding::Finding;
use crate::mark::{Mark, columns_of};
use crate::site::feature::{Feature, Layer, RawShape, Value};
use crate::site::projector::Projector;
use geo::{Coord, Intersects, LineString, MultiPolygon};
use std::collections::BTreeSet;

/// Degrees are read to this many parts of one: as they are written, so that a place read again is the same.
const PARTS_OF_DEGREE: f64 = 1e8;
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
fn mark_fits(name: &str, feature: &Feature) -> bool {
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

/// One feature with what is said of it.
struct Reading<'a> {
    layer: &'a Layer,
    feature: &'a Feature,
    at: &'a At<'a>,
    findings: &'a mut Vec<Finding>,
}

impl Reading<'_> {
    fn tell(&mut self, finding: Finding) {
        let finding = finding.in_file(&self.layer.file).of(&self.feature.id);
        self.findings.push(finding);
    }

    /// The shape in the frame, where the feature is the parcel's own.
    fn local(&mut self) -> Option<RawShape> {
        let named = self.feature.text("parcel");
        let named = named.as_deref();
        let elsewhere = named.is_some_and(|name| name != self.at.parcel);
        if elsewhere && !self.at.own_folder {
            return None;
        }
        let mut shape = self.feature.shape.clone();
        for at in shape.coords_mut() {
            let whole = |degrees: f64| (degrees * PARTS_OF_DEGREE).round() / PARTS_OF_DEGREE + 0.0;
            match self.at.projector.forward(whole(at.x), whole(at.y)) {
                Ok(moved) => *at = moved,
                Err(error) => {
                    if named.is_some() || self.at.own_folder {
                        self.tell(Finding::error("projection_failed", error.to_string()));
                    }
                    return None;
                }
            }
        }
        if elsewhere {
            let message = format!(
                "names the parcel `{}` and stands among the features of {}; it is not used. Correct its `parcel`, or move it to that parcel's layers.",
                named.unwrap_or_default(),
                self.at.parcel
            );
            self.tell(Finding::error("edit_wrong_parcel", message));
            return None;
        }
        let inside = |at: &&Coord<f64>| self.at.boundary.intersects(*at);
        let own = named.is_some() || self.at.own_folder || shape.coords().iter().any(inside);
        own.then_some(shape)
    }

    fn hand(&mut self, name: &str, not_rightful: bool) -> Hand {
        Hand {
            id: self.feature.text("id").filter(|_| !not_rightful),
            pinned: self.pinned(),
            changed: not_rightful || !mark_fits(name, self.feature),
        }
    }

    fn pinned(&mut self) -> bool {
        let word = self.feature.text("pinned").unwrap_or_default();
        match word.to_lowercase().as_str() {
            "1" | "true" | "yes" | "t" | "y" => true,
            "" | "0" | "false" | "no" | "f" | "n" => false,
            _ => {
                let message = format!(
                    "its `pinned` is `{word}`, neither true nor false; it is taken for false. Correct it."
                );
                self.tell(Finding::warning("edit_value", message));
                false
            }
        }
    }

    /// A number within a range; one that is none, or lies outside, is told and taken as not given.
    fn number(&mut self, name: &str, (least, greatest): (f64, f64), decimals: i32) -> Option<f64> {
        let said = match self.feature.number(name) {
            Ok(None) => return None,
            Ok(Some(value)) if (least..=greatest).contains(&value) => {
                let parts = 10f64.powi(decimals);
                return Some((value * parts).round() / parts);
            }
            Ok(Some(value)) => format!("is {value}, outside {least} to {greatest}"),
            Err(text) => format!("`{text}` is no number"),
        };
        let message = format!("its {name} {said}; it is taken as not given. Correct it.");
        self.tell(Finding::warning("edit_value", message));
        None
    }

    fn place(&mut self, local: &RawShape) -> Option<Coord<f64>> {
        if let RawShape::Points(points) = local
            && let Some(first) = points.first()
        {
            return Some(*first);
        }
        self.refuse("a point");
        None
    }

    fn refuse(&mut self, wanted: &str) {
        let message = format!(
            "its geometry is {}, not {wanted}; it is not used. Draw it as {wanted}.",
            self.feature.shape.kind()
        );
        self.tell(Finding::error("edit_geometry", message));
    }

    fn head(&mut self, hand: Hand, local: &RawShape) -> Option<EditedHead> {
        let position = self.place(local)?;
        let start = self.number("arc_start_deg", (-360.0, 720.0), 4);
        let sweep = self.number("arc_sweep_deg", (1.0, 360.0), 4);
        let arc_deg = match (start, sweep) {
            (Some(start), Some(sweep)) => Some((start.rem_euclid(360.0), sweep)),
            (None, Some(360.0)) => Some((0.0, 360.0)),
            _ => None,
        };
        let row = self.feature.text("one_row").unwrap_or_default();
        Some(EditedHead {
            hand,
            position,
            model: self.feature.text("model"),
            nozzle: self.feature.text("nozzle"),
            arc_deg,
            radius_m: self.number("radius_m", (0.3, 60.0), 3),
            one_row: ["1", "true"].contains(&row.to_lowercase().as_str()),
        })
    }

    fn point(&mut self, hand: Hand, kind: PointKind, local: &RawShape) -> Option<EditedPoint> {
        let station = self.feature.text("station");
        Some(EditedPoint {
            hand,
            kind,
            position: self.place(local)?,
            section: station.or_else(|| self.feature.text("section")),
            size: self.feature.text("size"),
        })
    }

    fn line(&mut self, hand: Hand, kind: LineKind, local: &RawShape) -> Option<EditedLine> {
        let RawShape::Lines(parts) = local else {
            self.refuse("a line");
            return None;
        };
        let [part] = parts.as_slice() else {
            self.refuse("a line of one piece");
            return None;
        };
        if part.len() < 2 {
            self.refuse("a line");
            return None;
        }
        Some(EditedLine {
            hand,
            kind,
            line: LineString::new(part.clone()),
            material: self.feature.text("material"),
            nominal: self.feature.text("nominal"),
        })
    }
}
