//! From the search's bins and cells to what the crew sets: exact arcs, models, nozzles, flows, heights.

use super::Task;
use super::classes::{Class, nozzle_for};
use super::field::{BINS, Sweep};
use super::search::Placed;
use crate::design::coverage::Tilt;
use crate::design::model::{Arc, Head};
use crate::geometry::{Ring, sight};
use crate::site::Terrain;
use geo::Coord;

/// An arc's end within this of the edge's direction is set along the edge, degrees.
const SNAP_DEG: f64 = 7.0;

/// The heads of one piece, from south to north.
pub fn heads(task: &Task, rings: &[Ring], class: &Class, placed: &[Placed]) -> Vec<Head> {
    let mut order: Vec<&Placed> = placed.iter().collect();
    order.sort_by(|a, b| a.at.y.total_cmp(&b.at.y).then(a.at.x.total_cmp(&b.at.x)));
    order.iter().map(|p| head(task, rings, class, p)).collect()
}

fn head(task: &Task, rings: &[Ring], class: &Class, placed: &Placed) -> Head {
    let radius_m = class.radii_m[placed.radius];
    let arc = arc_of(task, rings, class, placed);
    let radius_m = (radius_m * 100.0).round() / 100.0;
    let model = class.model_for(task.catalogue, radius_m);
    let (nozzle, flow_ref_lpm) = nozzle_for(&task.catalogue.heads[model], radius_m, arc.sweep_deg);
    Head {
        position: placed.at,
        turf: task.turf,
        model,
        nozzle,
        arc,
        radius_m,
        tilt: Tilt::of(
            &task.parcel.terrain,
            placed.at,
            radius_m,
            task.rules.throw_fall_deg,
        ),
        ground_m: ground_m(&task.parcel.terrain, placed.at),
        flow_ref_lpm,
    }
}

fn bin_deg(bin: usize) -> f64 {
    bin as f64 * 360.0 / BINS as f64
}

fn arc_of(task: &Task, rings: &[Ring], class: &Class, placed: &Placed) -> Arc {
    let radius_m = class.radii_m[placed.radius];
    let Sweep { first, count } = placed.sweep;
    if count >= BINS {
        return Arc::FULL;
    }
    let (start, end) = (bin_deg(first), bin_deg(first + count));
    let plain = Arc {
        start_deg: start,
        sweep_deg: end - start,
    };
    let Some((ring, run_m)) = placed.edge else {
        return plain;
    };
    let chord = (0.4 * radius_m).min(rings[ring].length_m() / 4.0);
    let along = [
        rings[ring].bearing_deg(run_m, chord),
        rings[ring].bearing_deg(run_m, -chord),
    ];
    let snap = |bearing: f64| {
        along
            .iter()
            .map(|edge| (edge - bearing + 180.0).rem_euclid(360.0) - 180.0)
            .filter(|off| off.abs() <= SNAP_DEG)
            .min_by(|a, b| a.abs().total_cmp(&b.abs()))
            .unwrap_or(0.0)
    };
    let (start, end) = (start + snap(start), end + snap(end));
    let round = |degrees: f64| (degrees * 10.0).round() / 10.0;
    let aligned = Arc {
        start_deg: round(start).rem_euclid(360.0),
        sweep_deg: round((end - start).clamp(class.sweep_min_deg, 345.0)),
    };
    let middle = aligned.start_deg + 0.5 * aligned.sweep_deg;
    let walls = task.walls.near(placed.at, radius_m);
    if sight::free_m(&walls, placed.at, middle, radius_m) > 0.5 * radius_m + 0.01 {
        aligned
    } else {
        plain
    }
}

/// Height of the ground, or of the nearest ground that is known within some 60 cells; 0 where none is.
fn ground_m(terrain: &Terrain, at: Coord<f64>) -> f64 {
    if let Some(height) = terrain.height_m(at) {
        return height;
    }
    for ring in 1..=60 {
        let far = f64::from(ring) * terrain.cell_m.max(0.1);
        for direction in 0..16 {
            let (sin, cos) = (f64::from(direction) * std::f64::consts::TAU / 16.0).sin_cos();
            let near = Coord {
                x: at.x + far * sin,
                y: at.y + far * cos,
            };
            if let Some(height) = terrain.height_m(near) {
                return height;
            }
        }
    }
    0.0
}
