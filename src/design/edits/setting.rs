//! A head as a person set it, in the words of the catalogue.

use crate::brief::{Catalogue, HeadModel, Rules};
use crate::design::coverage::Tilt;
use crate::design::heads::{ground_m, setting_for};
use crate::design::model::{Arc, Head};
use crate::finding::Finding;
use crate::site::Parcel;
use crate::site::edits::EditedHead;
use geo::Coord;

/// Differences that the rounding of a layer explains: of a place, m; of a radius, m; of an angle, degrees.
pub(super) const SAME_PLACE_M: f64 = 0.0015;
const SAME_RADIUS_M: f64 = 0.000_6;
const SAME_DEG: f64 = 0.000_1;
/// Departure from what a model can be set to that is told: radius, m; sweep, degrees.
const RADIUS_OFF_M: f64 = 0.01;
const SWEEP_OFF_DEG: f64 = 0.01;

/// A head as asked for.
pub(super) struct SetHead {
    pub(super) head: Head,
    /// Whether a person left something of its setting open.
    pub(super) open: bool,
}

/// What a head is set on.
#[derive(Clone, Copy)]
pub(super) struct Setter<'a> {
    pub(super) parcel: &'a Parcel,
    pub(super) catalogue: &'a Catalogue,
    pub(super) rules: &'a Rules,
}

impl Setter<'_> {
    /// Whether a head stands and is set as the layer says, but for rounding.
    pub(super) fn is_same(&self, head: &Head, told: &EditedHead) -> bool {
        let model = self.catalogue.heads.get(head.model);
        let nozzle = model.and_then(|model| model.nozzles.get(head.nozzle));
        let named = |told: &Option<String>, name: Option<&str>| {
            told.as_deref()
                .is_none_or(|told| name.is_some_and(|name| name.eq_ignore_ascii_case(told)))
        };
        let arc = told.arc_deg.is_none_or(|(start, sweep)| {
            let off = (start - head.arc.start_deg + 180.0).rem_euclid(360.0) - 180.0;
            let turned = off.abs() <= SAME_DEG || (head.arc.is_full() && sweep >= 359.999);
            turned && (sweep - head.arc.sweep_deg).abs() <= SAME_DEG
        });
        distance_m(head.position, told.position) <= SAME_PLACE_M
            && named(&told.model, model.map(|model| model.name.as_str()))
            && named(&told.nozzle, nozzle.map(|nozzle| nozzle.name.as_str()))
            && arc
            && told
                .radius_m
                .is_none_or(|radius_m| (radius_m - head.radius_m).abs() <= SAME_RADIUS_M)
    }

    /// The head that the layer tells. What it leaves open is taken from `like`; where that is not the head itself before
    /// the edits, it may be set.
    ///
    /// # Errors
    /// A model or nozzle that the catalogue does not hold, or no model at all.
    pub(super) fn head(
        &self,
        told: &EditedHead,
        turf: usize,
        (like, itself): (Option<&Head>, bool),
    ) -> Result<SetHead, Finding> {
        let index = self.model(told, like)?;
        let model = &self.catalogue.heads[index];
        let same_model = like.filter(|like| like.model == index);
        let radius_m = told
            .radius_m
            .or(like.map(|like| like.radius_m.clamp(model.radius_min_m, model.radius_max_m)))
            .unwrap_or(model.radius_max_m);
        let arc = match told.arc_deg {
            Some((_, sweep_deg)) if sweep_deg >= 359.999 => Arc::FULL,
            Some((start_deg, sweep_deg)) => Arc {
                start_deg,
                sweep_deg,
            },
            None => like.filter(|_| itself).map_or(Arc::FULL, |like| like.arc),
        };
        let nozzle = match &told.nozzle {
            Some(name) => nozzle_named(model, name)?,
            None => same_model
                .filter(|like| like.arc.sweep_deg == arc.sweep_deg)
                .map_or_else(
                    || setting_for(model, radius_m, arc.sweep_deg, f64::INFINITY).nozzle,
                    |like| like.nozzle,
                ),
        };
        let of = &model.nozzles[nozzle];
        let share = if of.flow_follows_arc {
            arc.sweep_deg / 360.0
        } else {
            1.0
        };
        let terrain = &self.parcel.terrain;
        let at = told.position;
        Ok(SetHead {
            head: Head {
                position: at,
                turf,
                model: index,
                nozzle,
                arc,
                radius_m,
                tilt: Tilt::of(terrain, at, radius_m, self.rules.throw_fall_deg),
                ground_m: ground_m(terrain, at),
                flow_ref_lpm: of.flow_lpm * share,
                one_row: told.one_row,
            },
            open: !itself
                && (told.model.is_none() || told.arc_deg.is_none() || told.radius_m.is_none()),
        })
    }

    fn model(&self, told: &EditedHead, like: Option<&Head>) -> Result<usize, Finding> {
        let models = &self.catalogue.heads;
        let Some(name) = &told.model else {
            let like = like.map(|like| like.model);
            let sound = like.filter(|model| models.get(*model).is_some_and(has_nozzle));
            return sound.ok_or_else(|| {
                let message = "has no `model`, and no head stands on its turf to take one from; it is left out. Give its model.";
                Finding::error("pin_unknown_model", message)
            });
        };
        let found = models
            .iter()
            .position(|model| model.name.eq_ignore_ascii_case(name));
        found.filter(|model| has_nozzle(&models[*model])).ok_or_else(|| {
            let names: Vec<&str> = models.iter().map(|model| model.name.as_str()).collect();
            let message = format!(
                "its model `{name}` is not in the catalogue, and what was done to it is not followed; {}",
                crate::brief::problems::suggestion(name, &names)
            );
            Finding::error("pin_unknown_model", message)
        })
    }

    /// What a pinned head is set to that its model or nozzle cannot do.
    pub(super) fn faults(&self, head: &Head) -> Option<String> {
        let model = &self.catalogue.heads[head.model];
        let nozzle = &model.nozzles[head.nozzle];
        let mut said = Vec::new();
        let (least, most) = (model.radius_min_m, model.radius_max_m);
        if head.radius_m < least - RADIUS_OFF_M || head.radius_m > most + RADIUS_OFF_M {
            said.push(format!(
                "its radius of {:.2} m lies outside the {least:.2} to {most:.2} m of {}",
                head.radius_m, model.name
            ));
        }
        let (least, most) = (nozzle.sweep_min_deg, nozzle.sweep_max_deg);
        let sweep = head.arc.sweep_deg;
        if sweep < least - SWEEP_OFF_DEG || sweep > most + SWEEP_OFF_DEG {
            said.push(format!(
                "its sweep of {sweep:.1}° lies outside the {least:.0} to {most:.0}° of nozzle {}",
                nozzle.name
            ));
        }
        (!said.is_empty()).then(|| said.join("; "))
    }
}

fn has_nozzle(model: &HeadModel) -> bool {
    !model.nozzles.is_empty()
}

fn nozzle_named(model: &HeadModel, name: &str) -> Result<usize, Finding> {
    let nozzles = &model.nozzles;
    let found = nozzles
        .iter()
        .position(|nozzle| nozzle.name.eq_ignore_ascii_case(name));
    found.ok_or_else(|| {
        let names: Vec<&str> = nozzles.iter().map(|nozzle| nozzle.name.as_str()).collect();
        let message = format!(
            "its nozzle `{name}` is none of {}, and what was done to it is not followed; {}",
            model.name,
            crate::brief::problems::suggestion(name, &names)
        );
        Finding::error("pin_unknown_model", message)
    })
}

/// Distance between two places, m.
pub(super) fn distance_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (b.x - a.x).hypot(b.y - a.y)
}
