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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;
    use crate::design::model::Arc;
    use geo::{Coord, MultiPolygon, polygon};

    fn lawn(x: f64) -> Polygon<f64> {
        polygon![(x: x, y: 0.), (x: x + 24., y: 0.), (x: x + 24., y: 20.), (x: x, y: 20.)]
    }

    fn head(x: f64, radius_m: f64, sweep_deg: f64) -> Head {
        Head {
            position: Coord { x, y: 10.0 },
            turf: 0,
            model: 0,
            nozzle: 0,
            arc: Arc {
                start_deg: 0.0,
                sweep_deg,
            },
            radius_m,
            tilt: Default::default(),
            ground_m: 0.0,
            flow_ref_lpm: 20.0,
            one_row: false,
        }
    }

    /// Bound and estimate of one turf area under a rule.
    fn told(
        pieces: Vec<Polygon<f64>>,
        heads: &[Head],
        most_m2: f64,
        model: usize,
    ) -> (usize, Option<f64>) {
        let (mut parcel, mut project) = (example::parcel(), example::project());
        parcel.turf[0].shape = MultiPolygon::new(pieces);
        project.rules.lp_estimate_most_m2 = most_m2;
        let heads: Vec<Head> = heads
            .iter()
            .map(|head| Head {
                model,
                ..head.clone()
            })
            .collect();
        let judged = TurfResult {
            area_m2: parcel.turf[0].shape.unsigned_area(),
            heads: heads.len(),
            ..TurfResult::default()
        };
        let result = beside(vec![judged], &parcel, &heads, &project).remove(0);
        (result.heads_bound, result.heads_lp_estimate)
    }

    #[test]
    fn the_rule_says_which_areas_are_estimated_and_the_bound_is_always_told() {
        let of = |most_m2: f64| told(vec![lawn(0.0)], &[head(12.0, 10.0, 360.0)], most_m2, 0);
        assert_eq!(of(0.0), (4, None)); // 3.6
        assert_eq!(of(479.0), (4, None));
        let (bound, estimate) = of(480.0);
        assert!(bound == 4 && estimate.is_some_and(|heads| heads > 4.0));
    }

    #[test]
    fn pieces_add_up_and_those_without_heads_do_not_count() {
        let of = |x: &[f64]| {
            let heads: Vec<Head> = x.iter().map(|x| head(*x, 10.0, 360.0)).collect();
            told(vec![lawn(0.0), lawn(100.0)], &heads, 1e6, 0).1
        };
        let one = of(&[12.0]).unwrap();
        let two = of(&[12.0, 112.0]).unwrap();
        assert!((two - 2.0 * one).abs() < 0.11, "{one} {two}");
        assert_eq!(of(&[]), None);
        assert_eq!(of(&[50.0]), None); // stands on neither
    }

    #[test]
    fn a_model_that_is_not_in_the_catalogue_gives_no_estimate() {
        let of = |model: usize| told(vec![lawn(0.0)], &[head(12.0, 10.0, 360.0)], 1e6, model).1;
        assert!(of(0).is_some());
        assert_eq!(of(99), None);
    }

    #[test]
    fn the_typical_head_is_at_the_middle_of_the_wetted_ground() {
        let heads = [
            head(0.0, 10.0, 360.0),
            head(0.0, 4.0, 90.0),
            head(0.0, 8.0, 180.0),
        ];
        let on: Vec<&Head> = heads.iter().collect();
        assert_eq!(typical(&on).map(|head| head.radius_m), Some(10.0));
        assert_eq!(typical(&on[1..]).map(|head| head.radius_m), Some(8.0));
        assert_eq!(typical(&[]), None);
    }
}
