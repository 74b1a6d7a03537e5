//! From the search's bins and cells to what the crew sets: exact arcs, models, nozzles, flows, heights.

use super::Task;
use super::axes::Axes;
use super::classes::{Class, setting_for};
use super::field::{BINS, Sweep};
use super::off_walls::{Throw, kept_off};
use super::scene::Scene;
use super::search::{Placed, Purpose};
use super::symmetry::Map;
use crate::design::coverage::Tilt;
use crate::design::model::{Arc, Head};
use crate::geometry::{Ring, sight};
use crate::site::Terrain;
use geo::Coord;

/// An arc's end within this of the edge's direction is set along the edge, degrees.
const SNAP_DEG: f64 = 7.0;

/// A stop is opened to a head that stands at most this far beyond it, degrees: arcs are set from head to head.
const OPENED_DEG: f64 = 6.0;
/// Heads within this many radii count.
const OPENED_REACH: f64 = 1.05;

/// What a sector may lose when both stops are set at tenths of a degree within it, degrees.
pub const ROUNDED_OFF_DEG: f64 = 0.2;

/// What the heads of a piece are finished with.
pub struct Finish<'a> {
    /// Parcel, catalogue and rules.
    pub task: &'a Task<'a>,
    /// The piece in its axes.
    pub scene: &'a Scene,
    /// Its edges.
    pub rings: &'a [Ring],
    /// The class of the heads.
    pub class: &'a Class,
    /// Whether they are the single row of a strip.
    pub one_row: bool,
}

impl Finish<'_> {
    /// The heads of one piece, from south to north, and what each is kept for.
    pub fn heads(&self, placed: &[(Placed, Map, Purpose)]) -> Vec<(Head, Purpose)> {
        let places: Vec<Coord<f64>> = placed
            .iter()
            .map(|(head, map, _)| map.place(head.at))
            .collect();
        let finished = placed
            .iter()
            .map(|(head, map, purpose)| (self.head(head, *map, &places), *purpose));
        let mut heads: Vec<(Head, Purpose)> = finished.collect();
        heads.sort_by(|a, b| {
            let (a, b) = (a.0.position, b.0.position);
            a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x))
        });
        heads
    }

    fn head(&self, placed: &Placed, map: Map, places: &[Coord<f64>]) -> Head {
        let (task, axes) = (self.task, &self.scene.axes);
        let aligned = self.arc(placed, places);
        let (arc, most_m) = self.off_walls(placed, aligned);
        let to_tenths = if arc == aligned { nearest } else { within };
        let arc = to_tenths(in_parcel(arc, map, axes));
        let wanted_m = self.class.radii_m[placed.radius].min(most_m);
        let model = self.class.model_for(task.catalogue, wanted_m);
        let set = setting_for(
            &task.catalogue.heads[model],
            wanted_m,
            arc.sweep_deg,
            most_m,
        );
        let position = axes.parcel(map.place(placed.at));
        let terrain = &task.parcel.terrain;
        Head {
            position,
            turf: task.turf,
            model,
            nozzle: set.nozzle,
            arc,
            radius_m: set.radius_m,
            tilt: Tilt::of(terrain, position, set.radius_m, task.rules.throw_fall_deg),
            ground_m: ground_m(terrain, position),
            flow_ref_lpm: set.flow_lpm,
            one_row: self.one_row,
        }
    }

    /// A sector in the axes closed until it keeps off the walls, and the radius up to which it does, m.
    fn off_walls(&self, placed: &Placed, arc: Arc) -> (Arc, f64) {
        let radius_m = self.class.radii_m[placed.radius];
        let task = self.task;
        if task.rules.walls_dry < 0.5 {
            return (arc, f64::INFINITY);
        }
        let tilt = Tilt::of(
            &task.parcel.terrain,
            self.scene.axes.parcel(placed.at),
            radius_m,
            task.rules.throw_fall_deg,
        );
        let walls = self
            .scene
            .walls
            .near(placed.at, 1.1 * radius_m * tilt.reach_share_most());
        if walls.is_empty() {
            return (arc, f64::INFINITY);
        }
        let (east, north) = self.scene.axes.local_direction(tilt.east, tilt.north);
        let throw = Throw {
            at: placed.at,
            arc,
            radius_m,
            tilt: Tilt { east, north },
            sweep_least_deg: self.class.sweep_min_deg + ROUNDED_OFF_DEG,
            radius_least_m: self.class.radius_least_m(),
        };
        kept_off(&walls, &throw)
    }

    /// The sector of a head in the axes, its stops along the edge where they all but are, and opened to the next head
    /// along the edge where that stands just beyond.
    fn arc(&self, placed: &Placed, places: &[Coord<f64>]) -> Arc {
        let radius_m = self.class.radii_m[placed.radius];
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
        let chord = (0.4 * radius_m).min(self.rings[ring].length_m() / 4.0);
        let along = [
            self.rings[ring].bearing_deg(run_m, chord),
            self.rings[ring].bearing_deg(run_m, -chord),
        ];
        let (start, end) = (along_edge(start, &along), along_edge(end, &along));
        let (start, end) = opened(placed.at, radius_m, (start, end), places);
        let aligned = Arc {
            start_deg: start.rem_euclid(360.0),
            sweep_deg: (end - start).clamp(self.class.sweep_min_deg, 345.0),
        };
        let middle = aligned.start_deg + 0.5 * aligned.sweep_deg;
        let walls = self.scene.walls.near(placed.at, radius_m);
        if sight::free_m(&walls, placed.at, middle, radius_m) > 0.5 * radius_m + 0.01 {
            aligned
        } else {
            plain
        }
    }
}

/// A stop set along the edge where it all but is, degrees; `along` are the two bearings of the edge.
pub fn along_edge(stop_deg: f64, along: &[f64; 2]) -> f64 {
    let off = along
        .iter()
        .map(|edge| (edge - stop_deg + 180.0).rem_euclid(360.0) - 180.0)
        .filter(|off| off.abs() <= SNAP_DEG)
        .min_by(|a, b| a.abs().total_cmp(&b.abs()));
    stop_deg + off.unwrap_or(0.0)
}

/// Stops, each moved out to the farthest of the heads in reach that stand a few degrees beyond it.
pub fn opened(
    at: Coord<f64>,
    radius_m: f64,
    (start, end): (f64, f64),
    places: &[Coord<f64>],
) -> (f64, f64) {
    let (mut before, mut after) = (0.0f64, 0.0f64);
    for place in places {
        let (dx, dy) = (place.x - at.x, place.y - at.y);
        let far_m = dx.hypot(dy);
        if far_m < 1e-6 || far_m > OPENED_REACH * radius_m {
            continue;
        }
        let bearing = dx.atan2(dy).to_degrees();
        let beyond = |turn: f64| Some(turn.rem_euclid(360.0)).filter(|&off| off <= OPENED_DEG);
        before = before.max(beyond(start - bearing).unwrap_or(0.0));
        after = after.max(beyond(bearing - end).unwrap_or(0.0));
    }
    (start - before, end + after)
}

/// A sector of the axes, mapped, in the parcel's frame.
fn in_parcel(arc: Arc, map: Map, axes: &Axes) -> Arc {
    if arc.is_full() {
        return arc;
    }
    let first = if map.mirrors() {
        arc.start_deg + arc.sweep_deg
    } else {
        arc.start_deg
    };
    Arc {
        start_deg: axes.parcel_bearing_deg(map.bearing_deg(first)),
        sweep_deg: arc.sweep_deg,
    }
}

/// A sector to the nearest tenth of a degree.
pub fn nearest(arc: Arc) -> Arc {
    let round = |degrees: f64| (degrees * 10.0).round() / 10.0;
    Arc {
        start_deg: round(arc.start_deg).rem_euclid(360.0),
        sweep_deg: round(arc.sweep_deg),
    }
}

/// The largest sector within one that has its stops at tenths of a degree: walls stand just beyond.
pub fn within(arc: Arc) -> Arc {
    if arc.is_full() {
        return arc;
    }
    let start = (arc.start_deg * 10.0).ceil();
    let end = ((arc.start_deg + arc.sweep_deg) * 10.0).floor();
    Arc {
        start_deg: (start / 10.0).rem_euclid(360.0),
        sweep_deg: (end - start) / 10.0,
    }
}

fn bin_deg(bin: usize) -> f64 {
    bin as f64 * 360.0 / BINS as f64
}

/// Height of the ground, or of the nearest ground that is known within some 60 cells; 0 where none is.
pub fn ground_m(terrain: &Terrain, at: Coord<f64>) -> f64 {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stops_beside_walls_are_rounded_into_the_sector() {
        let arc = Arc {
            start_deg: 359.94,
            sweep_deg: 40.25,
        };
        let set = within(arc);
        assert!(set.start_deg.abs() < 1e-9, "{set:?}");
        assert!((set.sweep_deg - 40.1).abs() < 1e-9, "{set:?}");
        assert!(arc.sweep_deg - set.sweep_deg <= ROUNDED_OFF_DEG);
    }

    #[test]
    fn other_stops_go_to_the_nearest_tenth() {
        let set = nearest(Arc {
            start_deg: 359.97,
            sweep_deg: 40.26,
        });
        assert!(set.start_deg.abs() < 1e-9 && (set.sweep_deg - 40.3).abs() < 1e-9);
    }
}
