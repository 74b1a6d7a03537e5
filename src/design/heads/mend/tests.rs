//! Layouts spoilt in one way each, and what mending makes of them.

use super::*;
use crate::brief::builtin_heads;
use crate::design::coverage::rated_turf;
use crate::design::heads::place;
use crate::design::model::Arc;
use crate::site::{Frame, Obstacle, Terrain, TurfArea};
use geo::{LineString, MultiPolygon, Polygon, Rect};

mod always;
mod faults;

const PRICES: ChangePrices = ChangePrices {
    set: 8.0,
    replace: 60.0,
    remove: 25.0,
    moved: 70.0,
    added: 110.0,
};

fn catalogue() -> Catalogue {
    Catalogue {
        origin: "built in".to_owned(),
        heads: builtin_heads::heads(),
        pipes: Vec::new(),
        valves: Vec::new(),
    }
}

fn parcel(shapes: Vec<MultiPolygon<f64>>, obstacles: Vec<Obstacle>) -> Parcel {
    let turf = shapes.into_iter().enumerate().map(|(i, shape)| TurfArea {
        id: format!("t{i}"),
        shape,
        soil: None,
        season: None,
    });
    Parcel {
        id: "p".to_owned(),
        name: None,
        frame: Frame {
            lon0_deg: 9.0,
            lat0_deg: 47.0,
        },
        boundary: Rect::new((-200.0, -200.0), (200.0, 200.0))
            .to_polygon()
            .into(),
        turf: turf.collect(),
        obstacles,
        water_points: Vec::new(),
        existing: crate::site::Existing::default(),
        edits: None,
        terrain: Terrain::plane(400.0, 0.01, 0.0, 150.0),
        findings: Vec::new(),
    }
}

fn lawn(points: &[(f64, f64)]) -> Parcel {
    let mut line = LineString::from(points.to_vec());
    line.close();
    parcel(vec![Polygon::new(line, Vec::new()).into()], Vec::new())
}

/// A lawn of 24 by 18 m.
fn garden() -> Parcel {
    lawn(&[(0., 0.), (24., 0.), (24., 18.), (0., 18.)])
}

fn standing(heads: &[Head], freedom: Freedom) -> Vec<Standing> {
    heads
        .iter()
        .map(|head| Standing {
            head: head.clone(),
            freedom,
        })
        .collect()
}

fn placed(parcel: &Parcel) -> Vec<Head> {
    place(parcel, &catalogue(), &Rules::default()).heads
}

/// A task of a retrofit: turf that is good enough is left alone.
fn retrofit(standing: &[Standing]) -> MendTask<'_> {
    MendTask {
        standing,
        prices: PRICES,
        may_add: true,
        keep_clear: &[],
        only_where_needed: true,
    }
}

/// A task of a designer who wants no dry ground either.
fn redesign(standing: &[Standing]) -> MendTask<'_> {
    MendTask {
        only_where_needed: false,
        ..retrofit(standing)
    }
}

fn done(parcel: &Parcel, task: &MendTask) -> Mended {
    mend(parcel, &catalogue(), &Rules::default(), task)
}

fn du(parcel: &Parcel, heads: &[Head]) -> f64 {
    let result = rated_turf(parcel, 0, heads, &catalogue(), &Rules::default());
    result.du_low_quarter.unwrap_or(0.0)
}

fn nearest(heads: &[Head], at: (f64, f64)) -> usize {
    let far = |i: &usize| (heads[*i].position.x - at.0).hypot(heads[*i].position.y - at.1);
    (0..heads.len())
        .min_by(|a, b| far(a).total_cmp(&far(b)))
        .unwrap()
}

/// Places in which two lists of heads differ.
fn differ(before: &[Head], after: &Mended) -> Vec<usize> {
    (0..before.len())
        .filter(|&i| {
            let now = after.from.iter().position(|from| *from == Some(i));
            now.is_none_or(|now| after.heads[now] != before[i])
        })
        .collect()
}

#[test]
fn a_finished_layout_stays_as_it_is() {
    for parcel in [
        garden(),
        lawn(&[(0., 0.), (40., 0.), (40., 3.5), (0., 3.5)]),
        lawn(&[
            (0., 0.),
            (26., 0.),
            (26., 10.),
            (11., 10.),
            (11., 22.),
            (0., 22.),
        ]),
        lawn(&[(0., 0.), (30., 4.), (34., 19.), (8., 24.)]),
    ] {
        let heads = placed(&parcel);
        let standing = standing(&heads, Freedom::Moved);
        for task in [retrofit(&standing), redesign(&standing)] {
            unchanged(&heads, &done(&parcel, &task));
        }
    }
}

fn unchanged(heads: &[Head], mended: &Mended) {
    assert_eq!(mended.heads, heads);
    assert!(mended.findings.is_empty(), "{:?}", mended.findings);
    let from: Vec<_> = (0..heads.len()).map(Some).collect();
    assert_eq!(mended.from, from);
}

#[test]
fn a_sector_turned_onto_the_road_is_set_back_and_nothing_else_touched() {
    let parcel = garden();
    let good = placed(&parcel);
    let corner = nearest(&good, (0.0, 0.0));
    let mut heads = good.clone();
    heads[corner].arc.start_deg = 180.0;
    let mended = done(&parcel, &retrofit(&standing(&heads, Freedom::Moved)));
    assert_eq!(differ(&heads, &mended), [corner]);
    let now = &mended.heads[corner];
    assert_eq!(now.position, good[corner].position);
    let off = (now.arc.start_deg + 180.0).rem_euclid(360.0) - 180.0;
    assert!(off.abs() < 8.0 && now.arc.sweep_deg < 100.0, "{now:?}");
}

#[test]
fn a_nozzle_of_half_the_flow_is_changed_for_the_right_one() {
    let parcel = garden();
    let good = placed(&parcel);
    let mut heads = good.clone();
    heads[2].nozzle = 0;
    heads[2].flow_ref_lpm *= 0.5;
    let mended = done(&parcel, &retrofit(&standing(&heads, Freedom::Set)));
    assert_eq!(differ(&heads, &mended), [2]);
    assert_eq!(mended.heads[2].nozzle, good[2].nozzle);
    assert_eq!(mended.heads[2].arc, good[2].arc);
    let share = mended.heads[2].flow_ref_lpm / good[2].flow_ref_lpm;
    assert!((share - 1.0).abs() < 1e-9, "{share}");
}

#[test]
fn a_head_two_metres_off_its_place_is_made_good() {
    let parcel = garden();
    let good = placed(&parcel);
    let rules = Rules {
        du_least: 0.80,
        ..Rules::default()
    };
    let before = du(&parcel, &good);
    assert!(before > 0.82, "{before}");
    let mut heads = good.clone();
    for at in [(0.0, 0.0), (24.0, 18.0)] {
        let corner = nearest(&heads, at);
        let head = &mut heads[corner];
        head.position.x += if at.0 > 0.0 { -3.0 } else { 3.0 };
        head.position.y += if at.1 > 0.0 { -2.0 } else { 2.0 };
    }
    let spoilt = du(&parcel, &heads);
    assert!(spoilt < 0.80, "{spoilt}");
    let standing = standing(&heads, Freedom::Moved);
    let mended = mend(&parcel, &catalogue(), &rules, &retrofit(&standing));
    assert!(mended.findings.is_empty(), "{:?}", mended.findings);
    assert_eq!(mended.heads.len(), heads.len());
    assert!(du(&parcel, &mended.heads) >= 0.80);
    assert!(!differ(&heads, &mended).is_empty());
}

/// The garden without its heads in the east, so that it falls short.
fn without_east(good: &[Head]) -> Vec<Head> {
    let west = good.iter().filter(|head| head.position.x < 20.0);
    west.cloned().collect()
}

#[test]
fn missing_heads_are_added_only_where_that_is_allowed() {
    let parcel = garden();
    let heads = without_east(&placed(&parcel));
    let standing = standing(&heads, Freedom::Set);
    let task = retrofit(&standing);
    let mended = done(&parcel, &task);
    assert!(mended.findings.is_empty(), "{:?}", mended.findings);
    assert!(mended.from.iter().any(Option::is_none));
    let rules = Rules::default();
    assert!(du(&parcel, &mended.heads) >= rules.du_least);
    let without = done(
        &parcel,
        &MendTask {
            may_add: false,
            ..task
        },
    );
    assert_eq!(without.heads.len(), heads.len());
    assert!(without.from.iter().all(Option::is_some));
    let told: Vec<_> = without
        .findings
        .iter()
        .map(|finding| finding.code)
        .collect();
    assert_eq!(told, ["mend_short"]);
    assert_eq!(without.findings[0].feature.as_deref(), Some("t0"));
    assert!(without.findings[0].place.is_some_and(|at| at.x > 12.0));
}

#[test]
fn no_head_comes_back_to_where_a_person_took_one_away() {
    let parcel = lawn(&[(0., 0.), (44., 0.), (44., 30.), (0., 30.)]);
    let good = placed(&parcel);
    let gone = nearest(&good, (0.0, 0.0));
    let at = good[gone].position;
    let mut heads = good.clone();
    heads.remove(gone);
    let standing = standing(&heads, Freedom::Fixed);
    let near = |head: &Head, share: f64| {
        (head.position.x - at.x).hypot(head.position.y - at.y) < share * head.radius_m
    };
    let free = done(&parcel, &redesign(&standing));
    assert!(
        free.heads.iter().any(|head| near(head, 0.5)),
        "nothing to keep clear"
    );
    let clear = [at];
    let task = MendTask {
        keep_clear: &clear,
        ..redesign(&standing)
    };
    let kept = done(&parcel, &task);
    for (head, from) in kept.heads.iter().zip(&kept.from) {
        let stood = from.is_some_and(|from| heads[from].position == head.position);
        assert!(stood || !near(head, 0.5), "{head:?}");
    }
}
