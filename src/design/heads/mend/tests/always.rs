//! What must hold whatever stands.

use super::*;
use crate::design::coverage::rated_working;
use crate::design::coverage::simulate;
use crate::design::heads::place_round;
use crate::site::ObstacleKind;
use proptest::prelude::*;

#[test]
fn heads_given_stay_and_the_others_are_placed_round_them() {
    let parcel = garden();
    let (catalogue, rules) = (catalogue(), Rules::default());
    let good = place(&parcel, &catalogue, &rules);
    let given: Vec<Head> = good.heads.iter().step_by(3).cloned().collect();
    let layout = place_round(&parcel, &catalogue, &rules, &given);
    assert_eq!(layout.heads[..given.len()], given[..]);
    assert_eq!(layout.purposes.len(), layout.heads.len());
    for (i, head) in layout.heads.iter().enumerate().skip(given.len()) {
        for other in layout.heads[..i].iter() {
            let far_m =
                (head.position.x - other.position.x).hypot(head.position.y - other.position.y);
            assert!(
                far_m > 0.3 * head.radius_m.min(other.radius_m),
                "{head:?} {other:?}"
            );
        }
    }
    assert!(du(&parcel, &layout.heads) >= rules.du_least);
    assert!(layout.heads.len() <= good.heads.len() + 3);
    let all = place_round(&parcel, &catalogue, &rules, &good.heads);
    assert_eq!(all.heads[..good.heads.len()], good.heads[..]);
    assert!(all.findings.is_empty(), "{:?}", all.findings);
}

#[test]
fn heads_that_are_no_heads_do_no_harm() {
    let parcel = garden();
    let good = placed(&parcel);
    let mut heads = good.clone();
    heads[0].model = 99;
    heads[1].radius_m = f64::NAN;
    heads[2].position.x = f64::INFINITY;
    heads[3].turf = 7;
    heads[4].flow_ref_lpm = -1.0;
    heads[5].radius_m = 1e12;
    for freedom in [Freedom::Fixed, Freedom::Set, Freedom::Moved] {
        let mended = done(&parcel, &redesign(&standing(&heads, freedom)));
        assert!(mended.heads.iter().any(|head| head.turf == 7));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10, ..ProptestConfig::default() })]

    #[test]
    fn fixed_heads_come_out_as_they_went_in(
        width in 8.0..28.0_f64, height in 6.0..20.0_f64, cut in 0.0..0.4_f64,
        pins in proptest::collection::vec((0.0..1.0_f64, 0.0..1.0_f64, 0.0..360.0_f64, 40.0..360.0_f64, 0..6usize), 1..5),
        freedom in 0..2usize, spoil in -2.0..2.0_f64, everywhere: bool,
    ) {
        let parcel = lawn(&[(0., 0.), (width, cut * height), (width * (1.0 - cut), height), (0., height)]);
        let good = placed(&parcel);
        let free = [Freedom::Set, Freedom::Moved][freedom];
        let mut all = standing(&good, free);
        for standing in all.iter_mut().step_by(2) {
            standing.head.position.x += spoil;
        }
        for (x, y, start_deg, sweep_deg, model) in pins {
            let model = model % catalogue().heads.len();
            let goods = &catalogue().heads[model];
            let head = Head {
                position: Coord { x: x * width, y: y * height },
                turf: 0,
                model,
                nozzle: 0,
                arc: Arc { start_deg, sweep_deg },
                radius_m: goods.radius_min_m,
                tilt: crate::design::coverage::Tilt::LEVEL,
                ground_m: 400.0,
                flow_ref_lpm: 5.0,
                one_row: false,
            };
            all.push(Standing { head, freedom: Freedom::Fixed });
        }
        let task = MendTask { only_where_needed: !everywhere, ..retrofit(&all) };
        let mended = done(&parcel, &task);
        prop_assert_eq!(mended.heads.len(), mended.from.len());
        for (index, standing) in all.iter().enumerate() {
            let now = mended.from.iter().position(|from| *from == Some(index));
            if standing.freedom == Freedom::Fixed {
                prop_assert_eq!(now.map(|now| &mended.heads[now]), Some(&standing.head));
            }
            if standing.freedom == Freedom::Set {
                let position = now.map(|now| mended.heads[now].position);
                prop_assert_eq!(position, Some(standing.head.position));
            }
        }
        let again = done(&parcel, &task);
        prop_assert_eq!(mended, again);
    }

    #[test]
    fn finished_layouts_beside_houses_stay_as_they_are(
        width in 10.0..30.0_f64, height in 8.0..20.0_f64, cut in 0.0..0.4_f64, x in 0.2..0.6_f64, y in 0.2..0.6_f64,
    ) {
        let house = Rect::new((x * width, y * height), (x * width + 3.0, y * height + 2.5)).to_polygon();
        let mut parcel = lawn(&[(0., 0.), (width, cut * height), (width * (1.0 - cut), height), (0., height)]);
        parcel.turf[0].shape = geo::BooleanOps::difference(&parcel.turf[0].shape, &house);
        parcel.obstacles.push(Obstacle {
            id: "house".to_owned(),
            kind: ObstacleKind::Building,
            shape: house.into(),
            root_zone: None,
        });
        let heads = placed(&parcel);
        let (catalogue, rules) = (catalogue(), Rules::default());
        let working: Vec<_> = heads.iter().map(|head| rated_working(head, &catalogue)).collect();
        if simulate(&parcel, &heads, &working, &catalogue, &rules).findings.is_empty() {
            unchanged(&heads, &done(&parcel, &retrofit(&standing(&heads, Freedom::Moved))));
        }
    }
}
