//! What lies there in the words of the catalogue: models, nozzles and settings of heads, sizes of pipe.

use super::sizes::{size_of, tell_assumed};
use crate::brief::{Catalogue, PipeSize, Rules};
use crate::design::coverage::Tilt;
use crate::design::model::{Arc, Head};
use crate::finding::Finding;
use crate::site::Parcel;
use crate::site::existing::{ExistingHead, Surveyed};
use geo::{Contains, Coord, Distance, Euclidean, Point};

/// Departure of a surveyed ground height from the terrain that is told, m.
const GROUND_OFF_M: f64 = 0.5;
/// Heads nearer to each other than this are one head drawn twice, m.
const ONE_HEAD_M: f64 = 0.05;
/// Ids that a message lists.
const LISTED: usize = 8;

/// Heads and sizes of a survey, in its order.
pub(super) struct Goods {
    /// `None` for a head that is left out, and told.
    pub(super) heads: Vec<Option<Head>>,
    /// Places in the catalogue, its own sizes first, then `new_sizes`; `None` where it is not known.
    pub(super) sizes: Vec<Option<usize>>,
    /// Sizes that are not in the catalogue.
    pub(super) new_sizes: Vec<PipeSize>,
}

/// A finding of one surveyed feature.
pub(super) fn of(finding: Finding, from: &Surveyed) -> Finding {
    finding.in_file(&from.file).of(&from.id)
}

/// Some ids, and how many more.
pub(super) fn listed<'a>(ids: impl Iterator<Item = &'a str>) -> String {
    let ids: Vec<&str> = ids.collect();
    let more = ids.len().saturating_sub(LISTED);
    let first = ids
        .iter()
        .take(LISTED)
        .copied()
        .collect::<Vec<_>>()
        .join(", ");
    if more > 0 {
        format!("{first} and {more} more")
    } else {
        first
    }
}

/// Matches everything.
pub(super) fn match_all(
    parcel: &Parcel,
    catalogue: &Catalogue,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) -> Goods {
    let heads = match_heads(parcel, catalogue, rules, findings);
    let mut new_sizes = Vec::new();
    let sizes = parcel.existing.pipes.iter();
    let sizes = sizes.map(|pipe| size_of(pipe, catalogue, rules, &mut new_sizes));
    let sizes: Vec<Option<usize>> = sizes.collect();
    for (pipe, size) in parcel.existing.pipes.iter().zip(&sizes) {
        if size.is_none() {
            let message = "has no size: give `nominal` with `material`, or `inside_mm`; or let the rules existing_lateral_mm and existing_main_mm assume one. The pressures of the stations behind it are not reckoned.";
            let finding = of(Finding::error("existing_size_missing", message), &pipe.from);
            findings.push(finding.at(pipe.line.0[0]));
        }
    }
    tell_assumed(parcel, catalogue, rules, findings);
    Goods {
        heads,
        sizes,
        new_sizes,
    }
}

fn match_heads(
    parcel: &Parcel,
    catalogue: &Catalogue,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) -> Vec<Option<Head>> {
    let surveyed = &parcel.existing.heads;
    let mut unclear: [Vec<&str>; 3] = Default::default();
    let mut heads: Vec<Option<Head>> = Vec::new();
    for (index, head) in surveyed.iter().enumerate() {
        let twin = surveyed[..index].iter().position(|other| {
            let off = other.position - head.position;
            off.x.hypot(off.y) < ONE_HEAD_M
        });
        if let Some(twin) = twin {
            let message = format!(
                "stands where {} stands and is left out: draw each head once.",
                surveyed[twin].from.id
            );
            let finding = of(Finding::warning("existing_head_twice", message), &head.from);
            findings.push(finding.at(head.position));
            heads.push(None);
            continue;
        }
        heads.push(match_head(
            parcel,
            head,
            catalogue,
            rules,
            &mut unclear,
            findings,
        ));
    }
    let told = [
        (
            "existing_model_assumed",
            "have no model that is in the catalogue; the one that suits their radius best is taken. Give their `model`, and add it to the catalogue",
        ),
        (
            "existing_arc_assumed",
            "have no arc; a full circle is taken. Give `arc_start_deg` and `arc_sweep_deg`",
        ),
        (
            "existing_radius_assumed",
            "have no radius; the full throw of their model is taken. Give `radius_m`",
        ),
    ];
    for ((code, says), ids) in told.into_iter().zip(unclear) {
        if !ids.is_empty() {
            let message = format!(
                "{} heads {says}: {}.",
                ids.len(),
                listed(ids.iter().copied())
            );
            findings.push(Finding::warning(code, message));
        }
    }
    heads
}

fn match_head<'a>(
    parcel: &Parcel,
    head: &'a ExistingHead,
    catalogue: &Catalogue,
    rules: &Rules,
    unclear: &mut [Vec<&'a str>; 3],
    findings: &mut Vec<Finding>,
) -> Option<Head> {
    let named = head.model.as_deref().and_then(|name| {
        let models = catalogue.heads.iter();
        models
            .clone()
            .position(|model| model.name.eq_ignore_ascii_case(name))
    });
    let model = named.or_else(|| {
        unclear[0].push(&head.from.id);
        nearest_model(head.radius_m, catalogue)
    })?;
    let of_catalogue = &catalogue.heads[model];
    let arc = head.arc_deg.map_or_else(
        || {
            unclear[1].push(&head.from.id);
            Arc::FULL
        },
        |(start_deg, sweep_deg)| Arc {
            start_deg,
            sweep_deg,
        },
    );
    let radius_m = head.radius_m.unwrap_or_else(|| {
        unclear[2].push(&head.from.id);
        of_catalogue.radius_max_m
    });
    let (nozzle, flow_ref_lpm) = nozzle(head, of_catalogue, radius_m, arc.sweep_deg, findings);
    Some(Head {
        position: head.position,
        turf: turf_at(parcel, head.position),
        model,
        nozzle,
        arc,
        radius_m,
        tilt: Tilt::of(
            &parcel.terrain,
            head.position,
            radius_m,
            rules.throw_fall_deg,
        ),
        ground_m: ground_m(parcel, head, findings),
        flow_ref_lpm: head.flow_ref_lpm.unwrap_or(flow_ref_lpm),
        one_row: head.one_row,
    })
}

/// The model whose full throw is the least that reaches a radius; the farthest where none does.
fn nearest_model(radius_m: Option<f64>, catalogue: &Catalogue) -> Option<usize> {
    let most = |i: &usize| catalogue.heads[*i].radius_max_m;
    let models = 0..catalogue.heads.len();
    let reaching = models
        .clone()
        .filter(|i| most(i) >= radius_m.unwrap_or(f64::INFINITY));
    let least = reaching.min_by(|a, b| most(a).total_cmp(&most(b)));
    least.or_else(|| models.max_by(|a, b| most(a).total_cmp(&most(b))))
}

/// The nozzle by name, else the one that suits radius and arc, and its flow.
fn nozzle(
    head: &ExistingHead,
    model: &crate::brief::HeadModel,
    radius_m: f64,
    sweep_deg: f64,
    findings: &mut Vec<Finding>,
) -> (usize, f64) {
    let named = head.nozzle.as_deref().and_then(|name| {
        let mut nozzles = model.nozzles.iter();
        nozzles.position(|nozzle| nozzle.name.eq_ignore_ascii_case(name))
    });
    if let (None, Some(name)) = (named, &head.nozzle) {
        let message = format!(
            "its nozzle `{name}` is none of {}; the one that suits its radius and arc is taken.",
            model.name
        );
        let finding = of(
            Finding::warning("existing_nozzle_unknown", message),
            &head.from,
        );
        findings.push(finding.at(head.position));
    }
    match named {
        Some(nozzle) => {
            let of_model = &model.nozzles[nozzle];
            let share = if of_model.flow_follows_arc {
                sweep_deg / 360.0
            } else {
                1.0
            };
            (nozzle, of_model.flow_lpm * share)
        }
        None => {
            let set = crate::design::heads::classes::setting_for(
                model,
                radius_m,
                sweep_deg,
                f64::INFINITY,
            );
            (set.nozzle, set.flow_lpm)
        }
    }
}

/// The turf area a head stands on, else the nearest.
fn turf_at(parcel: &Parcel, at: Coord<f64>) -> usize {
    let point = Point(at);
    let on = parcel
        .turf
        .iter()
        .position(|turf| turf.shape.contains(&point));
    let far_m = |turf: &usize| Euclidean.distance(&point, &parcel.turf[*turf].shape);
    let nearest = || (0..parcel.turf.len()).min_by(|a, b| far_m(a).total_cmp(&far_m(b)));
    on.or_else(nearest).unwrap_or(0)
}

/// The surveyed height where the terrain bears it out, else the terrain's.
fn ground_m(parcel: &Parcel, head: &ExistingHead, findings: &mut Vec<Finding>) -> f64 {
    let terrain_m = parcel.terrain.height_m(head.position);
    match (head.ground_m, terrain_m) {
        (Some(told_m), Some(terrain_m)) if (told_m - terrain_m).abs() > GROUND_OFF_M => {
            let message = format!(
                "its ground_m is {told_m:.2} m, the terrain gives {terrain_m:.2} m, which is taken. Correct the one or the other."
            );
            let finding = of(Finding::warning("existing_ground_off", message), &head.from);
            findings.push(finding.at(head.position));
            terrain_m
        }
        (Some(told_m), _) => told_m,
        (None, Some(terrain_m)) => terrain_m,
        (None, None) => 0.0,
    }
}
