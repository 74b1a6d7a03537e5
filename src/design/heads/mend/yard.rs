//! One turf area as the mender sees it: its grid, what water does on each cell, its pieces, and where heads may stand.

use super::MendTask;
use super::piece::Piece;
use crate::brief::{Catalogue, Rules};
use crate::design::coverage::{Walls, walls_of};
use crate::design::heads::Task;
use crate::design::heads::classes::Class;
use crate::design::heads::ground::{RIM_SHARE, overspray_weight};
use crate::design::model::Head;
use crate::geometry::{Grid, fill};
use crate::site::{ObstacleKind, Parcel};
use geo::{BoundingRect, Buffer, Coord, MultiPolygon};

/// Coarsest and finest cell, m: those that coverage is judged on.
const CELL_M: (f64, f64) = (0.1, 0.5);
/// Most cells: bounds memory and time of a very large area with a very small head.
const CELLS_MOST: f64 = 6e5;
/// Room round the turf over the longest throw: downhill throws fly farther.
const ROOM: f64 = 1.15;
/// No head of a catalogue throws farther than this in earnest, m.
pub const RADIUS_MOST_M: f64 = 100.0;

/// What the mending of all turf areas shares.
pub struct Job<'a> {
    /// The parcel.
    pub parcel: &'a Parcel,
    /// The catalogue.
    pub catalogue: &'a Catalogue,
    /// The rules, roots weighed for the parcel.
    pub rules: &'a Rules,
    /// The classes of the catalogue.
    pub classes: &'a [Class],
    /// What is asked.
    pub task: &'a MendTask<'a>,
}

impl Job<'_> {
    /// The class of a model.
    pub fn class_of(&self, model: usize) -> Option<usize> {
        let holds = |class: &Class| class.models.contains(&model);
        self.classes.iter().position(holds)
    }

    /// Whether a head can work at all as it is said to stand.
    pub fn sound(&self, head: &Head) -> bool {
        let numbers = [
            head.position.x,
            head.position.y,
            head.arc.start_deg,
            head.arc.sweep_deg,
            head.radius_m,
            head.flow_ref_lpm,
        ];
        let model = self.catalogue.heads.get(head.model);
        numbers.iter().all(|number| number.is_finite())
            && model.is_some_and(|model| head.nozzle < model.nozzles.len())
            && self.class_of(head.model).is_some()
            && head.radius_m > 0.0
            && head.radius_m <= RADIUS_MOST_M
            && head.arc.sweep_deg > 0.0
            && head.flow_ref_lpm > 0.0
    }
}

/// A turf area on its grid.
pub struct Yard<'a> {
    /// What is shared.
    pub job: &'a Job<'a>,
    /// Which turf area.
    pub turf: usize,
    /// The grid.
    pub grid: Grid,
    /// 1 where water is wanted, 0 where it does not matter, below 0 where it does harm.
    pub want: Vec<f32>,
    /// 1 on cells of no turf.
    pub off_turf: Vec<f32>,
    /// Cells where water is wanted.
    pub wanted: Vec<u32>,
    /// Walls of buildings.
    pub walls: Walls,
    /// Its pieces.
    pub pieces: Vec<Piece>,
}

impl<'a> Yard<'a> {
    /// Lays the grid over a turf area; `least_m` is the shortest throw that reaches it. `None` for an area without extent.
    pub fn new(job: &'a Job<'a>, turf: usize, least_m: f64) -> Option<Self> {
        let shape = &job.parcel.turf[turf].shape;
        let bounds = shape.bounding_rect()?;
        let throws = job.classes.iter().map(Class::radius_most_m);
        let own = job.task.standing.iter().map(|standing| &standing.head);
        let own = own.filter(|head| head.turf == turf && job.sound(head));
        let room_m = ROOM * throws.chain(own.map(|h| h.radius_m)).fold(0.0, f64::max);
        let window_m2 = (bounds.width() + 2.0 * room_m) * (bounds.height() + 2.0 * room_m);
        let cell_m = (least_m / 10.0)
            .clamp(CELL_M.0, CELL_M.1)
            .max((window_m2 / CELLS_MOST).sqrt());
        let grid = Grid::over(bounds, room_m + cell_m, cell_m);
        let want = want(job, turf, &grid);
        let mut off_turf = vec![1.0; grid.cells()];
        for area in &job.parcel.turf {
            fill(&grid, &area.shape, |cell| off_turf[cell] = 0.0);
        }
        let task = Task {
            parcel: job.parcel,
            catalogue: job.catalogue,
            rules: job.rules,
            classes: job.classes,
            given: &[],
            turf,
            seed: 0,
        };
        let pieces = shape.iter().filter_map(|piece| Piece::new(&task, piece));
        Some(Self {
            pieces: pieces.collect(),
            walls: walls_of(&job.parcel.obstacles),
            wanted: (0..grid.cells() as u32)
                .filter(|&cell| want[cell as usize] > 0.0)
                .collect(),
            job,
            turf,
            grid,
            want,
            off_turf,
        })
    }

    /// The piece that a place lies on or is nearest to.
    pub fn piece_at(&self, at: Coord<f64>) -> Option<&Piece> {
        let off = |piece: &&Piece| piece.off_m(at);
        self.pieces.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    /// Whether a person took a head away so near to a place that none of this radius may stand there anew.
    pub fn kept_clear(&self, at: Coord<f64>, radius_m: f64) -> bool {
        let near = |clear: &Coord<f64>| (clear.x - at.x).hypot(clear.y - at.y) < 0.5 * radius_m;
        self.job.task.keep_clear.iter().any(near)
    }
}

/// What water does on every cell, as the search for whole layouts weighs it.
fn want(job: &Job, turf: usize, grid: &Grid) -> Vec<f32> {
    let rules = job.rules;
    let mut want = vec![-(rules.overspray_plain as f32); grid.cells()];
    let mut paint = |shape: &MultiPolygon<f64>, value: f32| {
        fill(grid, shape, |cell| want[cell] = value);
    };
    let (hard, soft): (Vec<_>, Vec<_>) =
        (job.parcel.obstacles.iter()).partition(|obstacle| obstacle.kind == ObstacleKind::Building);
    for obstacle in soft {
        paint(&obstacle.shape, -overspray_weight(obstacle.kind, rules));
    }
    for area in &job.parcel.turf {
        paint(&area.shape, -(rules.overspray_other_turf as f32));
    }
    let shape = &job.parcel.turf[turf].shape;
    paint(&shape.buffer(RIM_SHARE * grid.cell_m), 0.0);
    for obstacle in hard {
        paint(&obstacle.shape, -overspray_weight(obstacle.kind, rules));
    }
    paint(&shape.buffer(-rules.head_setback_m), 1.0);
    want
}
