//! No head too many: what each is said to be kept for fails without it, judged anew from the finished heads.

use super::*;
use crate::design::coverage::low_quarter;
use crate::design::coverage::profile::depth_factor;

/// Whether a head throws onto a place, by `reach` of its radius and `inset_deg` inside its stops.
fn throws_onto(head: &Head, at: Coord<f64>, reach: f64, inset_deg: f64) -> bool {
    let (dx, dy) = (at.x - head.position.x, at.y - head.position.y);
    let after = dx.atan2(dy).to_degrees() - head.arc.start_deg - inset_deg;
    let inside = head.arc.is_full()
        || after.rem_euclid(360.0) <= (head.arc.sweep_deg - 2.0 * inset_deg).max(0.0);
    let far = dx.hypot(dy);
    far > 1e-6 && far <= reach * head.radius_m && inside
}

/// Whether some neighbour is surely left with fewer than two others that reach it: what nozzles, snapped stops and the
/// directions of the search can add is taken off.
fn leaves_one_unreached(heads: &[Head], gone: usize) -> bool {
    let surely = |from: usize, to: usize| {
        from != to && from != gone && throws_onto(&heads[from], heads[to].position, 0.97, 15.0)
    };
    (0..heads.len())
        .filter(|&to| to != gone && throws_onto(&heads[gone], heads[to].position, 1.1, -15.0))
        .any(|to| (0..heads.len()).filter(|&from| surely(from, to)).count() < 2)
}

/// Mean of the driest quarter within the throw of a head that is gone, over the rate of its class.
fn low_without(parcel: &Parcel, catalogue: &Catalogue, heads: &[Head], gone: usize) -> f64 {
    let lost = &heads[gone];
    let model = &catalogue.heads[lost.model];
    let steps = 24;
    let mut depths: Vec<f32> = Vec::new();
    for i in -steps..=steps {
        for j in -steps..=steps {
            let step_m = lost.radius_m / f64::from(steps);
            let at = lost.position
                + Coord {
                    x: f64::from(i) * step_m,
                    y: f64::from(j) * step_m,
                };
            let near = f64::from(i).hypot(f64::from(j)) <= f64::from(steps);
            if !near || !parcel.turf[0].shape.contains(&Point::from(at)) {
                continue;
            }
            let rain = |head: &Head| {
                let (dx, dy) = (at.x - head.position.x, at.y - head.position.y);
                let far = dx.hypot(dy) / head.radius_m;
                if far < 1.0 && head.arc.holds(dx, dy) {
                    depth_factor(catalogue.heads[head.model].profile, far) / std::f64::consts::PI
                } else {
                    0.0
                }
            };
            let others = heads.iter().enumerate().filter(|(k, _)| *k != gone);
            depths.push(others.map(|(_, head)| rain(head)).sum::<f64>() as f32);
        }
    }
    assert!(model.rate_mm_h > 0.0);
    low_quarter(&depths).unwrap_or(0.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn without_any_head_what_it_is_kept_for_fails(points in star()) {
        let parcel = level(lawn(&points));
        let (catalogue, rules) = (catalogue(), Rules::default());
        let layout = place(&parcel, &catalogue, &rules);
        let heads = &layout.heads;
        prop_assert_eq!(heads.len(), layout.purposes.len());
        let judged = |heads: &[Head]| {
            let working: Vec<_> = heads.iter().map(|h| rated_working(h, &catalogue)).collect();
            simulate(&parcel, heads, &working, &catalogue, &rules).turf.remove(0)
        };
        let whole = judged(heads);
        for (gone, purpose) in layout.purposes.iter().enumerate() {
            let head = &heads[gone];
            match purpose {
                Purpose::Given => prop_assert!(false, "{head:?} was not given"),
                Purpose::Corner => {
                    let off = |p: &(f64, f64)| (p.0 - head.position.x).hypot(p.1 - head.position.y);
                    let nearest = points.iter().map(off).fold(f64::INFINITY, f64::min);
                    prop_assert!(nearest < 1.5, "{nearest} {head:?}");
                }
                Purpose::Reach => prop_assert!(leaves_one_unreached(heads, gone), "{head:?}"),
                Purpose::Dry => {
                    let low = low_without(&parcel, &catalogue, heads, gone);
                    prop_assert!(low < 0.65, "{low} {head:?}");
                }
                Purpose::Evenness | Purpose::Target => {
                    let rest: Vec<Head> = heads.iter().enumerate()
                        .filter(|(k, _)| *k != gone).map(|(_, head)| head.clone()).collect();
                    let (with, without) = (&whole, judged(&rest));
                    let worse = without.du_low_quarter < with.du_low_quarter
                        || without.dry_fraction > with.dry_fraction
                        || low_without(&parcel, &catalogue, heads, gone) < 0.75;
                    prop_assert!(worse, "{purpose:?} {head:?}");
                }
            }
        }
    }
}
