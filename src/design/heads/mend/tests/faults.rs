//! Faults that are mended wherever they are.

use super::*;

/// Every third head a spray of three times the rate.
fn mixed(good: &[Head]) -> Vec<Head> {
    let mut heads = good.to_vec();
    for head in heads.iter_mut().skip(1).step_by(3) {
        head.model = 5;
        head.nozzle = 0;
        head.radius_m = 1.7;
        head.flow_ref_lpm = 36.0 * 1.7 * 1.7 / 60.0 * head.arc.sweep_deg / 360.0;
    }
    heads
}

#[test]
fn heads_of_two_rates_on_one_strip_are_made_one() {
    let parcel = lawn(&[(0., 0.), (30., 0.), (30., 3.), (0., 3.)]);
    let good = placed(&parcel);
    let catalogue = catalogue();
    let rate = |head: &Head| catalogue.heads[head.model].rate_mm_h;
    let heads = mixed(&good);
    assert!(heads.iter().any(|head| rate(head) != rate(&heads[0])));
    let mended = done(&parcel, &retrofit(&standing(&heads, Freedom::Moved)));
    let first = rate(&mended.heads[0]);
    assert!(mended.heads.iter().all(|head| rate(head) == first));
    // The few are changed for the sake of the many.
    assert_eq!(first, rate(&good[0]));
    assert!(mended.findings.is_empty(), "{:?}", mended.findings);
}

#[test]
fn a_head_on_the_road_comes_onto_the_turf() {
    let parcel = garden();
    let good = placed(&parcel);
    let corner = nearest(&good, (24.0, 0.0));
    let mut heads = good.clone();
    heads[corner].position = Coord { x: 25.0, y: -0.8 };
    let mended = done(&parcel, &retrofit(&standing(&heads, Freedom::Moved)));
    assert_eq!(differ(&heads, &mended), [corner]);
    let now = mended.heads[corner].position;
    assert!((now.x - 24.0).hypot(now.y) < 1.5, "{now:?}");
    let held = done(&parcel, &retrofit(&standing(&heads, Freedom::Set)));
    assert!(
        held.findings
            .iter()
            .any(|finding| finding.code == "mend_head_stays")
    );
}
