//! One feature of an edited layer, checked and given its type. What cannot be used is told.

use super::read::{At, mark_fits};
use super::{EditedHead, EditedLine, EditedPoint, Hand, LineKind, PointKind};
use crate::finding::Finding;
use crate::site::feature::{Feature, Layer, RawShape};
use geo::{Coord, Intersects, LineString};

/// Degrees are read to this many parts of one: as they are written, so that a place read again is the same.
const PARTS_OF_DEGREE: f64 = 1e8;

/// One feature with what is said of it.
pub(super) struct Reading<'a> {
    pub(super) layer: &'a Layer,
    pub(super) feature: &'a Feature,
    pub(super) at: &'a At<'a>,
    pub(super) findings: &'a mut Vec<Finding>,
}

impl Reading<'_> {
    fn tell(&mut self, finding: Finding) {
        let finding = finding.in_file(&self.layer.file).of(&self.feature.id);
        self.findings.push(finding);
    }

    /// The shape in the frame, where the feature is the parcel's own.
    pub(super) fn local(&mut self) -> Option<RawShape> {
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

    pub(super) fn hand(&mut self, name: &str, not_rightful: bool) -> Hand {
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

    pub(super) fn head(&mut self, hand: Hand, local: &RawShape) -> Option<EditedHead> {
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

    pub(super) fn point(
        &mut self,
        hand: Hand,
        kind: PointKind,
        local: &RawShape,
    ) -> Option<EditedPoint> {
        let station = self.feature.text("station");
        Some(EditedPoint {
            hand,
            kind,
            position: self.place(local)?,
            section: station.or_else(|| self.feature.text("section")),
            size: self.feature.text("size"),
        })
    }

    pub(super) fn line(
        &mut self,
        hand: Hand,
        kind: LineKind,
        local: &RawShape,
    ) -> Option<EditedLine> {
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
