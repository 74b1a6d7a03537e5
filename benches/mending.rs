//! The table of `docs/methods/mending.md`: layouts spoilt in one way each, what mending makes of them, and its time.
//!
//! `cargo bench --locked --bench mending`

#![allow(missing_docs)]

use geo::{Coord, LineString, Polygon, Rect};
use std::time::Instant;
use swardline::brief::{Catalogue, Rules};
use swardline::design::coverage::rated_turf;
use swardline::design::heads::mend::{ChangePrices, Freedom, MendTask, Standing, mend};
use swardline::design::heads::place;
use swardline::design::model::{Arc, Head};
use swardline::site::{Existing, Frame, Parcel, Terrain, TurfArea};

const PRICES: ChangePrices = ChangePrices {
    set: 8.0,
    replace: 60.0,
    remove: 25.0,
    moved: 70.0,
    added: 110.0,
};

/// A parcel with one lawn.
fn lawn(width_m: f64, depth_m: f64) -> Parcel {
    let corners = vec![
        (0., 0.),
        (width_m, 0.),
        (width_m, depth_m),
        (0., depth_m),
        (0., 0.),
    ];
    let turf = TurfArea {
        id: "t0".to_owned(),
        shape: Polygon::new(LineString::from(corners), Vec::new()).into(),
        soil: None,
        season: None,
    };
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
        turf: vec![turf],
        obstacles: Vec::new(),
        water_points: Vec::new(),
        existing: Existing::default(),
        edits: None,
        terrain: Terrain::plane(400.0, 0.01, 0.0, 150.0),
        findings: Vec::new(),
    }
}

fn placed(parcel: &Parcel) -> Vec<Head> {
    place(parcel, &Catalogue::built_in(), &Rules::default()).heads
}

fn du(parcel: &Parcel, heads: &[Head]) -> f64 {
    let result = rated_turf(parcel, 0, heads, &Catalogue::built_in(), &Rules::default());
    result.du_low_quarter.unwrap_or(0.0)
}

fn row(
    name: &str,
    parcel: &Parcel,
    heads: &[Head],
    may_add: bool,
    freedom: Freedom,
    only_where_needed: bool,
) {
    let start = Instant::now();
    let standing: Vec<Standing> = heads
        .iter()
        .map(|head| Standing {
            head: head.clone(),
            freedom,
        })
        .collect();
    let task = MendTask {
        standing: &standing,
        prices: PRICES,
        may_add,
        keep_clear: &[],
        only_where_needed,
    };
    let mended = mend(parcel, &Catalogue::built_in(), &Rules::default(), &task);
    let took = start.elapsed();
    let (mut kept, mut set, mut replaced, mut moved, mut added) = (0, 0, 0, 0, 0);
    for (head, from) in mended.heads.iter().zip(&mended.from) {
        match from.map(|from| &heads[from]) {
            None => added += 1,
            Some(was) if was == head => kept += 1,
            Some(was) if was.position != head.position => moved += 1,
            Some(was) if was.model != head.model => replaced += 1,
            Some(_) => set += 1,
        }
    }
    let out = heads.len() - kept - set - replaced - moved;
    let start = Instant::now();
    let anew = placed(parcel);
    let anew_took = start.elapsed();
    println!(
        "| {name} | {} | {kept} | {set} | {replaced} | {moved} | {out} | {added} | {:.2} | {:.2} | {:.2} ({}) | {took:?} {anew_took:?} {:?}",
        heads.len(),
        du(parcel, heads),
        du(parcel, &mended.heads),
        du(parcel, &anew),
        anew.len(),
        mended.findings.iter().map(|f| f.code).collect::<Vec<_>>(),
    );
}

fn spoilt(heads: &[Head], how: impl Fn(usize, &mut Head)) -> Vec<Head> {
    let mut heads = heads.to_vec();
    for (i, head) in heads.iter_mut().enumerate() {
        how(i, head);
    }
    heads
}

fn main() {
    let park = lawn(60.0, 40.0);
    let heads = placed(&park);
    row("nothing spoilt", &park, &heads, true, Freedom::Moved, true);
    let fifth = |i: usize| i % 5 == 2;
    let turned = spoilt(&heads, |i, head| {
        if fifth(i) && !head.arc.is_full() {
            head.arc.start_deg = (head.arc.start_deg + 70.0).rem_euclid(360.0);
        }
    });
    row(
        "every fifth sector turned by 70°",
        &park,
        &turned,
        true,
        Freedom::Moved,
        true,
    );
    let nozzles = spoilt(&heads, |i, head| {
        if i % 3 == 0 {
            head.nozzle = 0;
            head.flow_ref_lpm *= 0.45;
        }
    });
    row(
        "every third nozzle too small",
        &park,
        &nozzles,
        true,
        Freedom::Moved,
        true,
    );
    let missing: Vec<Head> = (heads.iter().enumerate())
        .filter(|(i, _)| i % 4 != 1)
        .map(|(_, head)| head.clone())
        .collect();
    row(
        "every fourth head gone",
        &park,
        &missing,
        true,
        Freedom::Moved,
        true,
    );
    row(
        "the same, no dry ground left",
        &park,
        &missing,
        true,
        Freedom::Moved,
        false,
    );
    let two: Vec<Head> = (heads.iter().enumerate())
        .filter(|(i, _)| ![9, 14].contains(i))
        .map(|(_, head)| head.clone())
        .collect();
    row(
        "two heads inside gone, no dry ground left",
        &park,
        &two,
        true,
        Freedom::Moved,
        false,
    );
    row(
        "the same, none may be added",
        &park,
        &missing,
        false,
        Freedom::Moved,
        true,
    );
    let off = spoilt(&heads, |i, head| {
        let (dx, dy) = (
            (30.0 - head.position.x).signum(),
            (20.0 - head.position.y).signum(),
        );
        if i % 2 == 0 {
            head.position.x += 1.6 * dx;
            head.position.y += 1.2 * dy;
        }
    });
    row(
        "every second head 2 m off",
        &park,
        &off,
        true,
        Freedom::Moved,
        true,
    );
    let short = spoilt(&heads, |_, head| {
        head.radius_m *= 0.8;
        head.flow_ref_lpm *= 0.64;
    });
    row(
        "all throws a fifth too short",
        &park,
        &short,
        true,
        Freedom::Moved,
        true,
    );
    row(
        "the same, none may be moved",
        &park,
        &short,
        false,
        Freedom::Set,
        true,
    );
    let garden = lawn(24.0, 18.0);
    let heads = placed(&garden);
    let mixed = spoilt(&heads, |i, head| {
        if i % 3 == 1 {
            head.model = 5;
            head.nozzle = 0;
            head.radius_m = 1.7;
            head.flow_ref_lpm = 36.0 * 1.7 * 1.7 / 60.0 * head.arc.sweep_deg / 360.0;
        }
    });
    row(
        "sprays of another rate among stream heads",
        &garden,
        &mixed,
        true,
        Freedom::Moved,
        true,
    );
    let first = placed(&park)[0].clone();
    let grid: Vec<Head> = (0..24)
        .map(|i| Head {
            position: Coord {
                x: 5.0 + 10.0 * f64::from(i % 6),
                y: 5.0 + 10.0 * f64::from(i / 6),
            },
            arc: Arc::FULL,
            radius_m: 9.0,
            flow_ref_lpm: 12.0 * 81.0 / 60.0,
            nozzle: 0,
            model: 1,
            ..first.clone()
        })
        .collect();
    row(
        "full circles alone, 10 m apart",
        &park,
        &grid,
        true,
        Freedom::Moved,
        true,
    );
}
