//! One piece of the turf area: its edge, its corners, its width, and where a head may stand.

use crate::design::heads::axes::Axes;
use crate::design::heads::edges::{self, radius_for};
use crate::design::heads::ground::{Ground, Look};
use crate::design::heads::scene::Scene;
use crate::design::heads::spacing::spacing_share;
use crate::design::heads::{Task, cell_for, in_axes, zones};
use crate::geometry::Ring;
use geo::{Area, Coord, Distance, Euclidean, Intersects, Point, Polygon};

/// A head this near to the edge that heads stand on stands on it, m.
pub const ON_EDGE_M: f64 = 0.6;
/// Least number of cells to a piece's grid is left to the search; it is no finer than this for small pieces, m.
const CELL_LEAST_M: f64 = 0.125;
/// Places tried inside stand this share of the radius apart, and along the edge this.
const STEP_INSIDE: f64 = 0.25;
const STEP_ON_EDGE: f64 = 0.25;
/// Narrow ends without heads, over the least strip.
const STRIP_SHARE: f64 = 0.8;

/// Where a head stands on an edge: the ring, how far along it, and the bearings of the edge ahead and behind, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnEdge {
    /// The ring.
    pub ring: usize,
    /// How far along it, m.
    pub run_m: f64,
    /// How far off it, m.
    pub off_m: f64,
}

/// A part of a piece that carries one class, and that class.
pub struct Zone {
    /// The part.
    pub shape: Polygon<f64>,
    /// Its class.
    pub class: usize,
}

/// A piece of turf.
pub struct Piece {
    /// The piece in the parcel's frame.
    pub shape: Polygon<f64>,
    /// Parts of it for different classes.
    pub zones: Vec<Zone>,
    axes: Axes,
    ground: Ground,
    rings: Vec<Ring>,
    corners: Vec<Coord<f64>>,
}

impl Piece {
    /// A piece with its grid; `None` where no head can stand.
    pub fn new(task: &Task, piece: &Polygon<f64>) -> Option<Self> {
        let widest = task.classes.first()?;
        let look = Look::at(&in_axes(piece).1, widest.radius_most_m())?;
        let width_m = look.width_m(0.9);
        let whole = zones::class_for(width_m, task.classes);
        let zones: Vec<Zone> = (task.zones(piece).into_iter())
            .map(|(shape, class)| Zone {
                shape,
                class: class.unwrap_or(whole),
            })
            .collect();
        let class = &task.classes[whole];
        let reach_m =
            (class.radius_most_m().min(2.0 * look.width_m(1.0))).max(class.radius_least_m());
        let axes = Axes::choices(piece)[0];
        let cell_m = cell_for(class, look.width_m(0.25))
            .max((piece.unsigned_area() / super::super::CELLS_MOST).sqrt())
            .max(CELL_LEAST_M);
        let scene = Scene::new(task.parcel, piece, axes, 2.0 * reach_m)?;
        let ground = Ground::new(&scene, task.rules, cell_m, reach_m)?;
        if ground.standing.0.is_empty() {
            return None;
        }
        let rings = edges::rings(&ground);
        let apart = (spacing_share(task.rules), 1.0);
        let strip_m = STRIP_SHARE * task.rules.strip_least_m;
        let places = edges::places(&ground, &rings, class, apart, strip_m);
        let corners = places.iter().filter(|place| place.corner);
        Some(Self {
            corners: corners.map(|place| axes.parcel(place.at)).collect(),
            shape: piece.clone(),
            zones,
            axes,
            ground,
            rings,
        })
    }

    /// How far a place lies off the piece, m; 0 on it.
    pub fn off_m(&self, at: Coord<f64>) -> f64 {
        Euclidean.distance(&Point::from(at), &self.shape)
    }

    /// The zone that a place lies in or is nearest to.
    pub fn zone_at(&self, at: Coord<f64>) -> Option<usize> {
        let point = Point::from(at);
        let off = |zone: usize| Euclidean.distance(&point, &self.zones[zone].shape);
        (0..self.zones.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))
    }

    /// Whether a head may be put here.
    pub fn may_stand(&self, at: Coord<f64>) -> bool {
        let local = self.axes.local(at);
        let on_turf = self.ground.standing.intersects(&Point::from(local))
            || self.nearest(at).is_some_and(|edge| edge.off_m < 0.02);
        on_turf && !self.ground.in_pit(local)
    }

    /// How bad it is to dig here because of roots: 1 some 4 m inside a root zone.
    pub fn roots_at(&self, at: Coord<f64>) -> f64 {
        self.ground.roots_at(self.axes.local(at))
    }

    /// Width of the ground at a place, m.
    pub fn width_at(&self, at: Coord<f64>) -> f64 {
        self.ground.width_at(self.axes.local(at))
    }

    /// The nearest place of the edge that heads stand on.
    pub fn nearest(&self, at: Coord<f64>) -> Option<OnEdge> {
        let local = self.axes.local(at);
        let near = |(ring, line): (usize, &Ring)| {
            let (run_m, off_m) = line.run_near(local);
            OnEdge { ring, run_m, off_m }
        };
        let all = self.rings.iter().enumerate().map(near);
        all.min_by(|a, b| a.off_m.total_cmp(&b.off_m))
    }

    /// Where a head stands on the edge, if it does.
    pub fn on_edge(&self, at: Coord<f64>) -> Option<OnEdge> {
        self.nearest(at).filter(|edge| edge.off_m <= ON_EDGE_M)
    }

    /// The place `by_m` further along the edge.
    pub fn along(&self, edge: &OnEdge, by_m: f64) -> Coord<f64> {
        self.axes
            .parcel(self.rings[edge.ring].at(edge.run_m + by_m))
    }

    /// Bearings of the edge ahead and behind, degrees, over chords that suit a radius.
    pub fn bearings_deg(&self, edge: &OnEdge, radius_m: f64) -> [f64; 2] {
        let ring = &self.rings[edge.ring];
        let chord_m = (0.4 * radius_m).min(ring.length_m() / 4.0);
        [chord_m, -chord_m].map(|by_m| {
            self.axes
                .parcel_bearing_deg(ring.bearing_deg(edge.run_m, by_m))
        })
    }

    /// Corners of the edge within `reach_m` of a place.
    pub fn corners_near(&self, at: Coord<f64>, reach_m: f64) -> Vec<Coord<f64>> {
        let near = |corner: &&Coord<f64>| (corner.x - at.x).hypot(corner.y - at.y) <= reach_m;
        self.corners.iter().filter(near).copied().collect()
    }

    /// Places where a head could be put in, each with the radius that the width asks for there, m.
    pub fn candidates(&self, class: &super::super::classes::Class) -> Vec<(Coord<f64>, f64)> {
        let mut all: Vec<(Coord<f64>, f64)> = (self.corners.iter())
            .map(|&at| (at, radius_for(self.width_at(at), class)))
            .collect();
        for ring in &self.rings {
            let mut run_m = 0.0;
            while run_m < ring.length_m() {
                let local = ring.at(run_m);
                let aim_m = radius_for(self.ground.width_at(local), class);
                if !self.ground.in_pit(local) {
                    all.push((self.axes.parcel(local), aim_m));
                }
                run_m += STEP_ON_EDGE * aim_m;
            }
        }
        let grid = self.ground.grid;
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let cell = row * grid.columns + column;
                if self.ground.want[cell] <= 0.0 {
                    continue;
                }
                let aim_m = radius_for(f64::from(self.ground.width_m[cell]), class);
                let every = ((STEP_INSIDE * aim_m / grid.cell_m) as usize).max(1);
                let local = grid.centre(column, row);
                let inner = f64::from(self.ground.reach_m[cell]) > 0.4 * aim_m;
                if inner && row % every == 0 && column % every == 0 && !self.ground.in_pit(local) {
                    all.push((self.axes.parcel(local), aim_m));
                }
            }
        }
        all
    }
}
