//! Throws on sloping ground, seen from outside.

use super::spread::{Scratch, Throw};
use super::{Tilt, Walls, throw_outline};
use crate::brief::{Catalogue, Profile, builtin_heads};
use crate::design::model::{Arc, Head, TurfResult, Working};
use crate::geometry::Grid;
use geo::{Area, Coord, MultiPolygon, Rect, Validation};
use proptest::prelude::*;

const PROFILES: [Profile; 4] = [
    Profile::Cone,
    Profile::Parabola,
    Profile::Ellipse,
    Profile::Uniform,
];

fn catalogue(profile: Profile) -> Catalogue {
    let mut heads = builtin_heads::heads();
    heads.iter_mut().for_each(|model| model.profile = profile);
    Catalogue {
        origin: "test".to_owned(),
        heads,
        pipes: Vec::new(),
        valves: Vec::new(),
    }
}

fn head(position: Coord<f64>, arc: Arc, radius_m: f64, tilt: Tilt) -> Head {
    Head {
        position,
        turf: 0,
        model: 0,
        nozzle: 0,
        arc,
        radius_m,
        tilt,
        ground_m: 0.0,
        flow_ref_lpm: 10.0,
        one_row: false,
    }
}

fn throw(head: &Head, profile: Profile, walls: &Walls) -> Throw {
    let work = Working {
        pressure_kpa: 300.0,
        flow_lpm: head.flow_ref_lpm,
        radius_m: head.radius_m,
        rate_mm_h: 0.0,
    };
    Throw::new(head, &work, &catalogue(profile), walls).unwrap()
}

/// Litres a minute on each cell.
fn rained(throw: &Throw, grid: &Grid) -> Vec<f64> {
    let mut cells = vec![0.0; grid.cells()];
    throw.runs(
        grid,
        &mut Scratch::default(),
        1.0,
        |first, weights, measure| {
            for (cell, &weight) in cells[first..].iter_mut().zip(weights) {
                *cell += f64::from(weight) * measure.lpm;
            }
        },
    );
    cells
}

fn arc(start_deg: f64, sweep_deg: f64) -> Arc {
    Arc {
        start_deg,
        sweep_deg,
    }
}

fn square(half_m: f64, cell_m: f64) -> Grid {
    Grid::over(Rect::new((-half_m, -half_m), (half_m, half_m)), 0.0, cell_m)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn every_drop_falls_somewhere_on_any_slope(
        east in -0.8..0.8_f64, north in -0.8..0.8_f64, start in 0.0..360.0_f64, sweep in 1.0..360.0_f64,
        radius in 0.5..7.0_f64, shape in 0..4_usize, x in -0.3..0.3_f64, walled: bool,
    ) {
        let house: MultiPolygon<f64> = Rect::new((2.0, -4.0), (9.0, 5.0)).to_polygon().into();
        let walls = if walled { Walls::new([&house]) } else { Walls::default() };
        let tilt = Tilt::of_slope(east, north, 45.0);
        let head = head(Coord { x, y: 0.1 }, arc(start, sweep), radius, tilt);
        let cells = rained(&throw(&head, PROFILES[shape], &walls), &square(19.0, 0.25));
        prop_assert!((cells.iter().sum::<f64>() - 10.0).abs() < 1e-5);
    }

    #[test]
    fn the_outline_on_a_slope_ends_where_the_throw_does(
        east in -0.5..0.5_f64, north in -0.5..0.5_f64, start in 0.0..360.0_f64, sweep in 20.0..360.0_f64,
    ) {
        let tilt = Tilt::of_slope(east, north, 45.0);
        let head = head(Coord { x: 4.0, y: 5.0 }, arc(start, sweep), 8.0, tilt);
        let outline = throw_outline(&head, 8.0, &Walls::default());
        prop_assert!(outline.is_valid() && outline.signed_area() > 0.0);
        for point in outline.exterior().coords() {
            let effective = tilt.effective_m(point.x - 4.0, point.y - 5.0);
            prop_assert!(effective < 1e-9 || (effective - 8.0).abs() < 1e-9);
        }
    }
}

#[test]
fn each_direction_keeps_its_water_on_a_slope() {
    let grid = square(30.0, 0.1);
    let tilt = Tilt::of_slope(0.2, 0.1, 45.0);
    let of = |tilt| {
        rained(
            &throw(
                &head(Coord { x: 0.0, y: 0.0 }, Arc::FULL, 10.0, tilt),
                Profile::Cone,
                &Walls::default(),
            ),
            &grid,
        )
    };
    let mut eighths = [[0.0; 8]; 2];
    for (sums, water) in eighths.iter_mut().zip([of(Tilt::LEVEL), of(tilt)]) {
        for (cell, lpm) in water.iter().enumerate() {
            let at = grid.centre(cell % grid.columns, cell / grid.columns);
            let bearing = at.x.atan2(at.y).to_degrees().rem_euclid(360.0);
            sums[(bearing / 45.0) as usize % 8] += lpm;
        }
    }
    for (level, sloping) in eighths[0].iter().zip(eighths[1]) {
        assert!((level - sloping).abs() < 0.02 * level, "{eighths:?}");
    }
}

#[test]
fn a_slope_mirrored_mirrors_the_water() {
    let grid = Grid {
        origin: Coord { x: -15.0, y: -15.0 },
        cell_m: 0.25,
        columns: 120,
        rows: 120,
    };
    let of = |east: f64| {
        let head = head(
            Coord { x: 0.0, y: 0.0 },
            Arc::FULL,
            8.0,
            Tilt::of_slope(east, 0.1, 45.0),
        );
        rained(&throw(&head, Profile::Parabola, &Walls::default()), &grid)
    };
    let (uphill, downhill) = (of(0.2), of(-0.2));
    for row in 0..120 {
        for column in 0..120 {
            let (a, b) = (
                uphill[row * 120 + column],
                downhill[row * 120 + 119 - column],
            );
            assert!((a - b).abs() < 1e-6, "{row} {column}: {a} {b}");
        }
    }
}

#[test]
fn water_and_outline_agree_on_how_far_it_is() {
    let grid = square(20.0, 0.2);
    let tilt = Tilt::of_slope(-0.3, 0.15, 45.0);
    let head = head(Coord { x: 0.0, y: 0.0 }, arc(30.0, 250.0), 8.0, tilt);
    let outline = throw_outline(&head, 8.0, &Walls::default());
    let water = rained(&throw(&head, Profile::Ellipse, &Walls::default()), &grid);
    let wet = water.iter().enumerate().filter(|&(cell, &lpm)| {
        let at = grid.centre(cell % grid.columns, cell / grid.columns);
        lpm > 0.0 && head.arc.holds(at.x, at.y)
    });
    assert!((wet.count() as f64 * 0.04 / outline.unsigned_area() - 1.0).abs() < 0.01);
}

/// Twelve heads on a lawn of 30 by 20 m, radius 10 m, with arcs set `off_deg` aside so that edges run across the cells.
fn lawn_heads(off_deg: f64) -> Vec<Head> {
    let place = |i: usize| ((i % 4) as f64 * 10.0, (i / 4) as f64 * 10.0);
    let arcs = |column: usize, row: usize| match (column, row) {
        (0, 0) => arc(0.0, 90.0),
        (3, 0) => arc(270.0, 90.0),
        (0, 2) => arc(90.0, 90.0),
        (3, 2) => arc(180.0, 90.0),
        (_, 0) => arc(270.0, 180.0),
        (_, 2) => arc(90.0, 180.0),
        (0, _) => arc(0.0, 180.0),
        (3, _) => arc(180.0, 180.0),
        _ => Arc::FULL,
    };
    (0..12)
        .map(|i| {
            let (x, y) = place(i);
            let mut set = arcs(i % 4, i / 4);
            set.start_deg += off_deg;
            let mut head = head(Coord { x, y }, set, 10.0, Tilt::LEVEL);
            head.flow_ref_lpm *= set.sweep_deg / 90.0;
            head
        })
        .collect()
}

/// Rates on the lawn in cells of 0.5 m over `finer`, each coarse cell's mean.
fn rates(heads: &[Head], profile: Profile, finer: usize) -> Vec<f32> {
    let grid = Grid {
        origin: Coord { x: 0.0, y: 0.0 },
        cell_m: 0.5 / finer as f64,
        columns: 60 * finer,
        rows: 40 * finer,
    };
    let mut rate = vec![0.0; grid.cells()];
    for head in heads {
        throw(head, profile, &Walls::default()).rain(&grid, &mut Scratch::default(), &mut rate);
    }
    let mean = |cell: usize| {
        let (column, row) = (cell % 60 * finer, cell / 60 * finer);
        let part = |k: usize| rate[(row + k / finer) * grid.columns + column + k % finer];
        (0..finer * finer).map(part).sum::<f32>() / (finer * finer) as f32
    };
    (0..60 * 40).map(mean).collect()
}

#[test]
fn the_grid_judged_on_agrees_with_one_eight_times_as_fine() {
    for profile in PROFILES {
        for off_deg in [0.0, 20.0] {
            let heads = lawn_heads(off_deg);
            let [coarse, fine] = [1, 8].map(|finer| rates(&heads, profile, finer));
            let off = |figure: fn(&[f32]) -> Option<f64>| {
                (figure(&coarse).unwrap() - figure(&fine).unwrap()).abs()
            };
            let (du, cu) = (off(super::du_low_quarter), off(super::cu_christiansen));
            let mean = fine.iter().sum::<f32>() / fine.len() as f32;
            let squares = coarse.iter().zip(&fine).map(|(a, b)| (a - b) * (a - b));
            let typical = (squares.sum::<f32>() / fine.len() as f32).sqrt() / mean;
            let case = format!("{profile:?} {off_deg}: {du:.4} {cu:.4} {typical:.4}");
            assert!(du < 0.005 && cu < 0.005 && typical < 0.02, "{case}");
        }
    }
}

/// A lawn of 30 by 20 m whose six heads in the east have another class's model.
fn two_classes(fast_times: f64) -> TurfResult {
    let mut catalogue = catalogue(Profile::Cone);
    let mut fast = catalogue.heads[0].clone();
    fast.rate_class = "thrice".to_owned();
    fast.rate_mm_h *= fast_times;
    catalogue.heads.push(fast);
    let mut heads = lawn_heads(0.0);
    let work = |head: &Head| Working {
        pressure_kpa: 300.0,
        flow_lpm: head.flow_ref_lpm,
        radius_m: head.radius_m,
        rate_mm_h: 12.0,
    };
    for head in heads.iter_mut().filter(|head| head.position.x > 15.0) {
        head.model = catalogue.heads.len() - 1;
        head.flow_ref_lpm *= fast_times;
    }
    let working: Vec<Working> = heads.iter().map(work).collect();
    let shape: MultiPolygon<f64> = Rect::new((0.0, 0.0), (30.0, 20.0)).to_polygon().into();
    let parcel = crate::site::Parcel {
        id: "two".to_owned(),
        name: None,
        frame: crate::site::Frame {
            lon0_deg: 0.0,
            lat0_deg: 0.0,
        },
        boundary: shape.clone(),
        turf: vec![crate::site::TurfArea {
            id: "lawn".to_owned(),
            shape,
            soil: None,
            season: None,
        }],
        obstacles: Vec::new(),
        water_points: Vec::new(),
        existing: crate::site::Existing::default(),
        edits: None,
        terrain: crate::site::Terrain::plane(0.0, 0.0, 0.0, 40.0),
        findings: Vec::new(),
    };
    let rules = crate::brief::Rules::default();
    super::simulate(&parcel, &heads, &working, &catalogue, &rules).turf[0].clone()
}

#[test]
fn a_class_of_three_times_the_rate_runs_a_third_as_long() {
    let (one, two) = (two_classes(1.0), two_classes(3.0));
    let figures = |t: &TurfResult| {
        [
            t.du_low_quarter.unwrap(),
            t.cu_christiansen.unwrap(),
            t.dry_fraction.unwrap(),
            t.overspray_fraction.unwrap(),
        ]
    };
    for (one, two) in figures(&one).into_iter().zip(figures(&two)) {
        assert!((one - two).abs() < 1e-5, "{one} {two}");
    }
    let rates = |t: &TurfResult| (t.mean_rate_mm_h.unwrap(), t.class_rate_mm_h.unwrap());
    // The tie of ground goes to the faster class: the mean is given at its rate, in step with it.
    let ((one_mm_h, one_class), (two_mm_h, two_class)) = (rates(&one), rates(&two));
    assert!((one_mm_h / one_class - two_mm_h / two_class).abs() < 1e-4);
    assert_eq!(one.reached_fraction, Some(1.0));
}
