//! How few heads could do, beside what each turf area gets.

use crate::brief::Project;
use crate::design::heads::bound::{heads_bound, lp_estimate};
use crate::design::model::{Head, TurfResult};
use crate::site::{Parcel, TurfArea};
use geo::{Area, Intersects, Polygon};

/// The results with the bound by area, and with the estimate where the rule `lp_estimate_most_m2` asks for it.
pub(super) fn beside(
    mut results: Vec<TurfResult>,
    parcel: &Parcel,
    heads: &[Head],
    project: &Project,
) -> Vec<TurfResult> {
    for (index, (result, turf)) in results.iter_mut().zip(&parcel.turf).enumerate() {
        let on: Vec<&Head> = heads.iter().filter(|head| head.turf == index).collect();
        let most_m = on.iter().map(|head| head.radius_m).fold(0.0, f64::max);
        result.heads_bound = heads_bound(result.area_m2, most_m);
        let asked = turf.shape.unsigned_area() <= project.rules.lp_estimate_most_m2;
        if asked && !on.is_empty() {
            result.heads_lp_estimate = estimate(turf, &on, project);
        }
    }
    results
}

/// Sum over the pieces that have heads, to one decimal; `None` where one of them has no estimate.
fn estimate(turf: &TurfArea, heads: &[&Head], project: &Project) -> Option<f64> {
    let mut sum = 0.0;
    for piece in &turf.shape {
        let on: Vec<&Head> = heads
            .iter()
            .copied()
            .filter(|head| piece.intersects(&head.position))
            .collect();
        if !on.is_empty() {
            sum += of_piece(piece, &on, project)?;
        }
    }
    (sum > 0.0).then(|| (10.0 * sum).round() / 10.0)
}

fn of_piece(piece: &Polygon<f64>, heads: &[&Head], project: &Project) -> Option<f64> {
    let head = typical(heads)?;
    let profile = project.catalogue.heads.get(head.model)?.profile;
    let rules = &project.rules;
    lp_estimate(
        piece,
        head.radius_m,
        profile,
        rules.overspray_most,
        rules.head_setback_m,
    )
}

/// The head at the middle of the wetted ground: half of it lies under heads of its radius or a shorter one.
fn typical<'a>(heads: &[&'a Head]) -> Option<&'a Head> {
    let wetted = |head: &Head| head.radius_m * head.radius_m * head.arc.sweep_deg;
    let mut by_radius = heads.to_vec();
    by_radius.sort_by(|a, b| a.radius_m.total_cmp(&b.radius_m));
    let half = by_radius.iter().map(|head| wetted(head)).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    by_radius.into_iter().find(|head| {
        sum += wetted(head);
        sum >= half
    })
}
