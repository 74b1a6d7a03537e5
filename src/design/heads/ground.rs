//! One piece of turf as the search sees it: a grid of what each cell wants, and where heads may stand.

use super::scene::Scene;
use crate::brief::Rules;
use crate::geometry::distance::{distance_cells, width_cells};
use crate::geometry::{Grid, fill};
use crate::site::{Obstacle, ObstacleKind};
use geo::{
    Area, BoundingRect, Buffer, Coord, Intersects, LineString, MultiPolygon, Orient, Point,
    Polygon, orient::Direction,
};
use rstar::primitives::CachedEnvelope;
use rstar::{AABB, RTree};

/// Water on cells whose middle lies off the piece by at most this share of a cell is not counted as lost: arcs are set
/// along the edge in the end, however the edge cuts the cells.
pub const RIM_SHARE: f64 = 0.25;

/// How bad water is on each kind of ground that is not turf, by the rules.
pub fn overspray_weight(kind: ObstacleKind, rules: &Rules) -> f32 {
    let weight = match kind {
        ObstacleKind::Building => rules.overspray_building,
        ObstacleKind::Paving => rules.overspray_paving,
        ObstacleKind::Water => rules.overspray_water,
        ObstacleKind::Bed => rules.overspray_bed,
        ObstacleKind::Tree => rules.overspray_tree,
    };
    weight as f32
}

/// A piece of turf on a grid.
pub struct Ground {
    /// The grid, with room for every throw round the turf.
    pub grid: Grid,
    /// 1 where water is wanted, 0 where it does not matter, below 0 where it does harm.
    pub want: Vec<f32>,
    /// 1 on cells of any turf, which catch water, 0 elsewhere.
    pub catches: Vec<f32>,
    /// Width of the ground at each cell of the piece, m; 0 elsewhere.
    pub width_m: Vec<f32>,
    /// Distance to the piece's edge, small holes left out, m.
    pub reach_m: Vec<f32>,
    /// How bad it is to dig here because of roots: 1 some 4 m inside a root zone.
    pub roots: Vec<f32>,
    /// Small holes, grown by the set-back: no head stands in one.
    pits: RTree<CachedEnvelope<Polygon<f64>>>,
    /// The piece without its small holes, inset by the set-back: heads stand on its edge or within.
    pub standing: MultiPolygon<f64>,
}

impl Ground {
    /// Lays the grid of cells `cell_m` over the piece of a scene; `reach_m` is the longest throw.
    pub fn new(scene: &Scene, rules: &Rules, cell_m: f64, reach_m: f64) -> Option<Self> {
        let piece = &scene.piece;
        let bounds = piece.bounding_rect()?;
        let grid = Grid::centred(bounds, reach_m + 2.0 * cell_m, cell_m);
        let filled = without_small_holes(piece, reach_m);
        let standing = filled.buffer(-rules.head_setback_m);
        let mut want = off_turf(scene, rules, &grid);
        let mut catches = vec![0.0; grid.cells()];
        for turf in &scene.turf {
            fill(&grid, turf, |cell| catches[cell] = 1.0);
        }
        let rim = piece.buffer(RIM_SHARE * cell_m);
        fill(&grid, &rim, |cell| {
            catches[cell] = 1.0;
            want[cell] = want[cell].max(0.0);
        });
        let judged = piece.buffer(-rules.head_setback_m);
        fill(&grid, &judged, |cell| want[cell] = 1.0);
        let mut inside = vec![false; grid.cells()];
        fill(&grid, &filled.clone().into(), |cell| inside[cell] = true);
        let pits = small_holes(piece, &filled)
            .flat_map(|hole| hole.orient(Direction::Default).buffer(rules.head_setback_m))
            .map(CachedEnvelope::new)
            .collect();
        let reach = distance_cells(&grid, &inside);
        let cell = cell_m as f32;
        let width = width_cells(&grid, &reach, reach_m as f32 / cell);
        Some(Self {
            want,
            catches,
            // A disc drawn between cell centres is a cell too wide.
            width_m: width.iter().map(|w| ((w - 1.0) * cell).max(0.0)).collect(),
            reach_m: reach.iter().map(|r| ((r - 0.5) * cell).max(0.0)).collect(),
            roots: roots(&grid, &scene.obstacles),
            pits: RTree::bulk_load(pits),
            standing,
            grid,
        })
    }

    /// Width of the ground at a place, the widest of the cells round it, m.
    pub fn width_at(&self, at: Coord<f64>) -> f64 {
        let (column, row) = self.grid.cell_of(at);
        let mut width = 0.0f32;
        for y in row - 1..=row + 1 {
            for x in column - 1..=column + 1 {
                if (0..self.grid.columns as i64).contains(&x)
                    && (0..self.grid.rows as i64).contains(&y)
                {
                    width = width.max(self.width_m[y as usize * self.grid.columns + x as usize]);
                }
            }
        }
        f64::from(width)
    }

    /// Distance to the edge, m.
    pub fn reach_at(&self, at: Coord<f64>) -> f64 {
        self.grid
            .index_of(at)
            .map_or(0.0, |cell| f64::from(self.reach_m[cell]))
    }

    /// Whether a head may stand in the middle of the turf here.
    pub fn holds_head(&self, at: Coord<f64>) -> bool {
        let inside = self.grid.index_of(at).is_some_and(|cell| {
            self.want[cell] > 0.0 && f64::from(self.reach_m[cell]) >= self.grid.cell_m
        });
        inside && !self.in_pit(at)
    }

    /// Whether the place lies in a small hole.
    pub fn in_pit(&self, at: Coord<f64>) -> bool {
        let point = Point::from(at);
        let here = AABB::from_point(point);
        let mut near = self.pits.locate_in_envelope_intersecting(&here);
        near.any(|pit| pit.intersects(&point))
    }

    /// How bad it is to dig here because of roots: 1 some 4 m inside a root zone.
    pub fn roots_at(&self, at: Coord<f64>) -> f64 {
        self.grid
            .index_of(at)
            .map_or(0.0, |cell| f64::from(self.roots[cell]))
    }
}

/// A first look at a piece: how wide it is, before class and grid are chosen.
pub struct Look {
    rising_m: Vec<f32>,
}

impl Look {
    /// Looks on a grid of some thousands of cells of turf. `None` for a piece without extent.
    pub fn at(piece: &Polygon<f64>, reach_m: f64) -> Option<Self> {
        let bounds = piece.bounding_rect()?;
        let cell_m = (bounds.width() * bounds.height() / 2.5e5)
            .sqrt()
            .clamp(0.125, 0.5);
        let grid = Grid::over(bounds, 2.0 * cell_m, cell_m);
        let mut inside = vec![false; grid.cells()];
        fill(&grid, &without_small_holes(piece, reach_m).into(), |cell| {
            inside[cell] = true
        });
        let reach = distance_cells(&grid, &inside);
        let cell = cell_m as f32;
        let mut rising_m: Vec<f32> = width_cells(&grid, &reach, reach_m as f32 / cell)
            .iter()
            .filter(|&&width| width > 0.0)
            .map(|width| ((width - 1.0) * cell).max(0.0))
            .collect();
        rising_m.sort_unstable_by(f32::total_cmp);
        (!rising_m.is_empty()).then_some(Self { rising_m })
    }

    /// The width, m, that this share of the area does not exceed.
    pub fn width_m(&self, share: f64) -> f64 {
        let last = self.rising_m.len() - 1;
        let at = (self.rising_m.len() as f64 * share) as usize;
        f64::from(self.rising_m[at.min(last)])
    }
}

/// The piece without holes too small for heads to stand round: under a quarter of the radius its breadth asks for.
fn without_small_holes(piece: &Polygon<f64>, reach_m: f64) -> Polygon<f64> {
    use geo::{Euclidean, Length};
    let round_m = Euclidean.length(piece.exterior());
    let radius_m = (2.0 * piece.unsigned_area() / round_m.max(1e-9)).min(reach_m);
    let least_m2 = std::f64::consts::PI * (0.3 * radius_m).powi(2);
    let holes = piece
        .interiors()
        .iter()
        .filter(|ring| Polygon::new((*ring).clone(), Vec::new()).unsigned_area() >= least_m2)
        .cloned()
        .collect();
    Polygon::new(piece.exterior().clone(), holes)
}

/// Holes of a piece that are filled in its other shape.
fn small_holes<'a>(
    piece: &'a Polygon<f64>,
    filled: &'a Polygon<f64>,
) -> impl Iterator<Item = Polygon<f64>> + 'a {
    let gone = |ring: &&LineString<f64>| !filled.interiors().contains(ring);
    let holes = piece.interiors().iter().filter(gone);
    holes.map(|ring| Polygon::new(ring.clone(), Vec::new()))
}

/// What water does on every cell that is not wanted: harm, or nothing on other turf.
fn off_turf(scene: &Scene, rules: &Rules, grid: &Grid) -> Vec<f32> {
    let mut want = vec![-(rules.overspray_plain as f32); grid.cells()];
    let mut paint = |shape: &MultiPolygon<f64>, weight: f32| {
        fill(grid, shape, |cell| want[cell] = -weight);
    };
    let soft = |o: &&Obstacle| o.kind != ObstacleKind::Building;
    for obstacle in scene.obstacles.iter().filter(soft) {
        paint(&obstacle.shape, overspray_weight(obstacle.kind, rules));
    }
    for turf in &scene.turf {
        paint(turf, rules.overspray_other_turf as f32);
    }
    paint(&scene.piece.clone().into(), 0.0);
    for obstacle in scene.obstacles.iter().filter(|o| !soft(o)) {
        paint(&obstacle.shape, overspray_weight(obstacle.kind, rules));
    }
    want
}

/// How bad it is to dig at the rim of a root zone, over a place that lies so many metres inside.
const ROOTS_RIM: f64 = 0.1;
const ROOTS_FAR_M: f64 = 4.0;

/// Root zones: a little at the rim, more by the way that must be dug out of them.
fn roots(grid: &Grid, obstacles: &[Obstacle]) -> Vec<f32> {
    let mut roots = vec![0.0f32; grid.cells()];
    for (centre, radius_m) in obstacles.iter().filter_map(|o| o.root_zone) {
        let (column, row) = grid.cell_of(centre);
        let reach = (radius_m / grid.cell_m).ceil() as i64;
        for y in (row - reach).max(0)..=(row + reach).min(grid.rows as i64 - 1) {
            for x in (column - reach).max(0)..=(column + reach).min(grid.columns as i64 - 1) {
                let at = grid.centre(x as usize, y as usize);
                let out_m = radius_m - (at.x - centre.x).hypot(at.y - centre.y);
                if out_m >= 0.0 {
                    let cell = &mut roots[y as usize * grid.columns + x as usize];
                    *cell = cell.max((ROOTS_RIM + out_m / ROOTS_FAR_M) as f32);
                }
            }
        }
    }
    roots
}
