//! Time of placing heads on, and of simulating, about a hectare of winding lawn; and how many cells a second one core
//! updates when heads are rained on a grid. `coverage_numpy.py` beside this file rains the same heads in NumPy.

use geo::{Coord, LineString, MultiPolygon, Polygon, Rect};
use std::time::Instant;
use swardline::brief::{Catalogue, Rules, builtin_heads};
use swardline::design::coverage::spread::{Scratch, Throw};
use swardline::design::coverage::{Tilt, Walls};
use swardline::design::model::{Arc, Head, Working};
use swardline::design::{coverage, heads};
use swardline::geometry::Grid;
use swardline::site::{Frame, Parcel, Terrain, TurfArea};

/// Radius of the heads rained, m.
const RADIUS_M: f64 = 10.0;
/// Times each grid is rained on.
const PASSES: usize = 41;

fn main() {
    for cell_m in [1.0, 0.5, 0.25, 0.1] {
        report("level", cell_m, Tilt::LEVEL);
    }
    for cell_m in [0.5, 0.1] {
        report("slope", cell_m, Tilt::of_slope(0.1, 0.05, 45.0));
    }
    divan::main();
}

/// Rains 64 heads on a grid, time and again, and prints the median rate.
fn report(ground: &str, cell_m: f64, tilt: Tilt) {
    let grid = Grid {
        origin: Coord { x: -20.0, y: -20.0 },
        cell_m,
        columns: (110.0 / cell_m) as usize,
        rows: (110.0 / cell_m) as usize,
    };
    let heads: Vec<Head> = (0..64).map(|i| head(i, cell_m, tilt)).collect();
    let cells: usize = heads.iter().map(|head| cells_of(head, &grid)).sum();
    let throws: Vec<Throw> = heads.iter().filter_map(throw).collect();
    let mut rate = vec![0.0f32; grid.cells()];
    let mut scratch = Scratch::default();
    let mut seconds: Vec<f64> = (0..PASSES)
        .map(|_| {
            let begun = Instant::now();
            for throw in &throws {
                throw.rain(&grid, &mut scratch, &mut rate);
            }
            begun.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_by(f64::total_cmp);
    let million_s = |seconds: f64| cells as f64 / seconds / 1e6;
    println!(
        "rain, {ground}, cell {cell_m:.2} m: {cells} cells, median {:.1}, best {:.1} million updates/s",
        million_s(seconds[PASSES / 2]),
        million_s(seconds[0]),
    );
}

/// Heads on a square lattice, a little off the cells, with arcs of a quarter to a full circle in turn.
fn head(i: usize, cell_m: f64, tilt: Tilt) -> Head {
    let off = |share: f64, turn: usize| share * cell_m * (i % turn) as f64;
    Head {
        position: Coord {
            x: (i / 8) as f64 * RADIUS_M + off(0.31, 7),
            y: (i % 8) as f64 * RADIUS_M + off(0.17, 5),
        },
        turf: 0,
        model: 0,
        nozzle: 0,
        arc: Arc {
            start_deg: (37.0 * i as f64) % 360.0,
            sweep_deg: [90.0, 180.0, 270.0, 360.0][i % 4],
        },
        radius_m: RADIUS_M,
        tilt,
        ground_m: 0.0,
        flow_ref_lpm: 10.0,
        one_row: false,
    }
}

fn throw(head: &Head) -> Option<Throw> {
    let work = Working {
        pressure_kpa: 300.0,
        flow_lpm: head.flow_ref_lpm,
        radius_m: head.radius_m,
        rate_mm_h: 12.0,
    };
    Throw::new(head, &work, &catalogue(), &Walls::default())
}

/// Cells whose centres the head wets: what is counted as updates.
fn cells_of(head: &Head, grid: &Grid) -> usize {
    (0..grid.cells())
        .map(|cell| grid.centre(cell % grid.columns, cell / grid.columns) - head.position)
        .filter(|off| head.tilt.effective_m(off.x, off.y) < head.radius_m)
        .filter(|off| head.arc.holds(off.x, off.y))
        .count()
}

fn catalogue() -> Catalogue {
    Catalogue {
        origin: "built in".to_owned(),
        heads: builtin_heads::heads(),
        pipes: Vec::new(),
        valves: Vec::new(),
    }
}

fn lawn() -> Parcel {
    let mut line: LineString<f64> = (0..180)
        .map(|i| f64::from(i) * 2.0_f64.to_radians())
        .map(|a| (a, 52.0 + 10.0 * (3.0 * a).sin() + 4.0 * (7.0 * a).cos()))
        .map(|(a, r)| (r * a.cos(), 1.2 * r * a.sin()))
        .collect();
    line.close();
    let shape: MultiPolygon<f64> = Polygon::new(line, Vec::new()).into();
    Parcel {
        id: "bench".to_owned(),
        name: None,
        frame: Frame {
            lon0_deg: 0.0,
            lat0_deg: 0.0,
        },
        boundary: Rect::new((-100.0, -100.0), (100.0, 100.0))
            .to_polygon()
            .into(),
        turf: vec![TurfArea {
            id: "lawn".to_owned(),
            shape,
            soil: None,
            season: None,
        }],
        obstacles: Vec::new(),
        water_points: Vec::new(),
        existing: swardline::site::Existing::default(),
        edits: None,
        terrain: Terrain::plane(100.0, 0.01, 0.02, 100.0),
        findings: Vec::new(),
    }
}

#[divan::bench]
fn place(bencher: divan::Bencher) {
    let (parcel, catalogue, rules) = (lawn(), catalogue(), Rules::default());
    bencher.bench(|| heads::place(&parcel, &catalogue, &rules));
}

#[divan::bench]
fn simulate(bencher: divan::Bencher) {
    let (parcel, catalogue, rules) = (lawn(), catalogue(), Rules::default());
    let layout = heads::place(&parcel, &catalogue, &rules);
    let working: Vec<_> = layout
        .heads
        .iter()
        .map(|head| coverage::rated_working(head, &catalogue))
        .collect();
    bencher.bench(|| coverage::simulate(&parcel, &layout.heads, &working, &catalogue, &rules));
}
