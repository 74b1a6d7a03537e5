//! What lies under a line on the ground plan: building, water, paving, bed, root zone, turf or bare ground.
//!
//! Exact: polygon edges and root circles are intersected, never sampled. Costs are in `price.rs`.

use super::columns::Columns;
use super::on_way::{Boxed, OnWay};
use crate::design::model::Surface;
use crate::site::{ObstacleKind, Parcel};
use geo::{Coord, Distance, Euclidean, Line, LinesIter, MultiPolygon, Point};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Root circles are taken this much wider, m, so that a mark made in another frame still holds.
const ROOT_MARGIN_M: f64 = 0.02;
/// An edge at a place is no farther off, m.
const EDGE_M: f64 = 1e-3;
/// Hard ground may be touched over no more than this, m.
const TOUCH_M: f64 = 0.005;

/// What is true of the ground at a place; several can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct GroundState {
    /// Building or water: never dug.
    pub hard: bool,
    /// Paving: crossed in a sleeve.
    pub paving: bool,
    /// A bed.
    pub bed: bool,
    /// A root zone.
    pub roots: bool,
    /// Turf.
    pub turf: bool,
}

impl GroundState {
    /// The one word for it: roots before paving before bed before turf.
    pub fn surface(self) -> Surface {
        match self {
            Self { roots: true, .. } => Surface::Roots,
            Self { paving: true, .. } => Surface::Paving,
            Self { bed: true, .. } => Surface::Bed,
            Self { turf: true, .. } => Surface::Turf,
            _ => Surface::Bare,
        }
    }
}

/// A part of a line with one state, from `from` to `to` as shares of its length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Start, 0 to 1.
    pub from: f64,
    /// End, 0 to 1.
    pub to: f64,
    /// What lies there.
    pub state: GroundState,
}

impl Stretch {
    /// Whether another stretch is dug the same way.
    pub fn is_dug_like(&self, other: &Self) -> bool {
        let paving = |stretch: &Self| stretch.state.paving;
        self.state.surface() == other.state.surface() && paving(self) == paving(other)
    }
}

/// Where a line crosses paving from one side to the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// The middle of it.
    pub middle: Coord<f64>,
    /// Its length along the line, m.
    pub along_m: f64,
    /// Its length square to the edge that is met first, m.
    pub width_m: f64,
    /// The way square to that edge, ahead, of length 1.
    pub square: Coord<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Layer {
    Hard,
    Paving,
    Bed,
    Turf,
}

struct Edge {
    line: Line<f64>,
    shape: usize,
}

/// The ground plan of a parcel, indexed for asking what lies under a line.
pub struct Surfaces {
    layers: Vec<Layer>,
    edges: Vec<Edge>,
    edge_index: RTree<Boxed>,
    roots: Vec<(Coord<f64>, f64)>,
    root_index: RTree<Boxed>,
    columns: Columns,
}

impl Surfaces {
    /// Indexes the parcel's obstacles and turf.
    pub fn of(parcel: &Parcel) -> Self {
        let mut layers = Vec::new();
        let mut edges = Vec::new();
        for obstacle in &parcel.obstacles {
            let layer = match obstacle.kind {
                ObstacleKind::Building | ObstacleKind::Water => Layer::Hard,
                ObstacleKind::Paving => Layer::Paving,
                ObstacleKind::Bed => Layer::Bed,
                ObstacleKind::Tree => continue,
            };
            add_shape(&obstacle.shape, layer, &mut layers, &mut edges);
        }
        for turf in &parcel.turf {
            add_shape(&turf.shape, Layer::Turf, &mut layers, &mut edges);
        }
        let roots: Vec<_> = parcel
            .obstacles
            .iter()
            .filter_map(|o| o.root_zone)
            .map(|(c, r)| (c, r + ROOT_MARGIN_M))
            .collect();
        let root_boxes = roots
            .iter()
            .enumerate()
            .map(|(i, (c, r))| boxed([c.x - r, c.y - r], [c.x + r, c.y + r], i))
            .collect();
        let edge_boxes = edges
            .iter()
            .enumerate()
            .map(|(i, e)| line_box(&e.line, i))
            .collect();
        let of_shapes: Vec<_> = edges.iter().map(|e: &Edge| (e.line, e.shape)).collect();
        Self {
            layers,
            edges,
            edge_index: RTree::bulk_load(edge_boxes),
            roots,
            root_index: RTree::bulk_load(root_boxes),
            columns: Columns::of(&of_shapes),
        }
    }

    /// What lies at a place.
    pub fn at(&self, place: Coord<f64>) -> GroundState {
        let (east_m, shapes) = self.columns.east_of(place.x, place.y);
        let mut crossed: Vec<usize> = shapes.to_vec();
        let way = AABB::from_corners([place.x, place.y], [east_m, place.y]);
        for hit in self.edge_index.locate_in_envelope_intersecting(&way) {
            let edge = &self.edges[hit.data];
            if crosses_eastward(&edge.line, place, east_m) {
                crossed.push(edge.shape);
            }
        }
        crossed.sort_unstable();
        let mut state = GroundState {
            roots: self.in_roots(place),
            ..GroundState::default()
        };
        for run in crossed
            .chunk_by(|a, b| a == b)
            .filter(|run| run.len() % 2 == 1)
        {
            match self.layers[run[0]] {
                Layer::Hard => state.hard = true,
                Layer::Paving => state.paving = true,
                Layer::Bed => state.bed = true,
                Layer::Turf => state.turf = true,
            }
        }
        state
    }

    fn in_roots(&self, place: Coord<f64>) -> bool {
        let here = AABB::from_point([place.x, place.y]);
        self.root_index
            .locate_in_envelope_intersecting(&here)
            .any(|hit| {
                let (centre, radius) = self.roots[hit.data];
                (place.x - centre.x).hypot(place.y - centre.y) < radius
            })
    }

    /// The stretches of a straight line, in order, covering it from 0 to 1.
    pub fn along(&self, line: Line<f64>) -> Vec<Stretch> {
        let mut cuts = self.cuts(&line);
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let mut out: Vec<Stretch> = Vec::with_capacity(cuts.len() - 1);
        for pair in cuts.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            let state = self.at(line.start + (line.end - line.start) * middle);
            match out.last_mut() {
                Some(last) if last.state == state => last.to = pair[1],
                _ => out.push(Stretch {
                    from: pair[0],
                    to: pair[1],
                    state,
                }),
            }
        }
        out
    }

    fn cuts(&self, line: &Line<f64>) -> Vec<f64> {
        let mut cuts = vec![0.0, 1.0];
        let on_way = || OnWay::of(line);
        for hit in self.edge_index.locate_with_selection_function(on_way()) {
            cuts.extend(crossing(line, &self.edges[hit.data].line));
        }
        for hit in self.root_index.locate_with_selection_function(on_way()) {
            let (centre, radius) = self.roots[hit.data];
            cuts.extend(circle_crossings(line, centre, radius));
        }
        cuts
    }

    /// Where a line crosses paving, in order; what ends on paving is none.
    pub fn crossings(&self, line: Line<f64>) -> Vec<Crossing> {
        self.crossings_among(line, &self.along(line))
    }

    /// The same where the stretches of the line are known.
    pub fn crossings_among(&self, line: Line<f64>, stretches: &[Stretch]) -> Vec<Crossing> {
        let way = line.end - line.start;
        let length_m = way.x.hypot(way.y);
        let mut found = Vec::new();
        for run in stretches.chunk_by(|a, b| a.state.paving == b.state.paving) {
            let (from, to) = (run[0].from, run[run.len() - 1].to);
            if !run[0].state.paving || from == 0.0 || to == 1.0 {
                continue;
            }
            let Some(edge) = self.paving_at(line.start + way * from) else {
                continue;
            };
            let along = edge.end - edge.start;
            let square = Coord {
                x: -along.y,
                y: along.x,
            } / along.x.hypot(along.y);
            let ahead = (square.x * way.x + square.y * way.y) / length_m;
            let along_m = (to - from) * length_m;
            found.push(Crossing {
                middle: line.start + way * (0.5 * (from + to)),
                along_m,
                width_m: along_m * ahead.abs(),
                square: square * ahead.signum(),
            });
        }
        found
    }

    /// The edge of paving at a place.
    fn paving_at(&self, place: Coord<f64>) -> Option<Line<f64>> {
        self.paving_within(place, EDGE_M)
    }

    /// The edge of paving nearest to a place, if it is less than so far off.
    pub fn paving_within(&self, place: Coord<f64>, reach_m: f64) -> Option<Line<f64>> {
        self.edges_within(place, reach_m, Layer::Paving)
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(line, _)| line)
    }

    /// Whether the edge of a building or water is less than so far off a place.
    pub fn hard_within(&self, place: Coord<f64>, reach_m: f64) -> bool {
        self.edges_within(place, reach_m, Layer::Hard)
            .next()
            .is_some()
    }

    /// Edges of a layer nearer than so far, and how far off each is, m.
    fn edges_within(
        &self,
        place: Coord<f64>,
        reach_m: f64,
        layer: Layer,
    ) -> impl Iterator<Item = (Line<f64>, f64)> {
        let near = AABB::from_corners(
            [place.x - reach_m, place.y - reach_m],
            [place.x + reach_m, place.y + reach_m],
        );
        self.edge_index
            .locate_in_envelope_intersecting(&near)
            .map(|hit| &self.edges[hit.data])
            .filter(move |edge| self.layers[edge.shape] == layer)
            .map(move |edge| {
                (
                    edge.line,
                    Euclidean.distance(&Point::from(place), &edge.line),
                )
            })
            .filter(move |(line, far_m)| line.start != line.end && *far_m < reach_m)
    }

    /// Whether a line runs through a building or water.
    pub fn is_blocked(&self, line: Line<f64>) -> bool {
        let length_m = (line.end.x - line.start.x).hypot(line.end.y - line.start.y);
        blocked(&self.along(line), length_m)
    }

    /// Root zones, centre and radius (with its small margin).
    pub fn root_zones(&self) -> &[(Coord<f64>, f64)] {
        &self.roots
    }
}

/// Whether stretches of a line `length_m` long hold more than a touch of hard ground.
pub fn blocked(stretches: &[Stretch], length_m: f64) -> bool {
    stretches
        .iter()
        .filter(|s| s.state.hard)
        .map(|s| (s.to - s.from) * length_m)
        .sum::<f64>()
        > TOUCH_M
}

fn add_shape(
    shape: &MultiPolygon<f64>,
    layer: Layer,
    layers: &mut Vec<Layer>,
    edges: &mut Vec<Edge>,
) {
    let index = layers.len();
    layers.push(layer);
    edges.extend(shape.lines_iter().map(|line| Edge { line, shape: index }));
}

fn boxed(low: [f64; 2], high: [f64; 2], index: usize) -> Boxed {
    GeomWithData::new(Rectangle::from_corners(low, high), index)
}

fn corners(line: &Line<f64>) -> ([f64; 2], [f64; 2]) {
    let (a, b) = (line.start, line.end);
    ([a.x.min(b.x), a.y.min(b.y)], [a.x.max(b.x), a.y.max(b.y)])
}

fn line_box(line: &Line<f64>, index: usize) -> Boxed {
    let (low, high) = corners(line);
    boxed(low, high, index)
}

/// Whether the way from a place straight east, up to `east_m`, crosses an edge.
fn crosses_eastward(edge: &Line<f64>, place: Coord<f64>, east_m: f64) -> bool {
    let (a, b) = (edge.start, edge.end);
    if (a.y > place.y) == (b.y > place.y) {
        return false;
    }
    let x = a.x + (place.y - a.y) / (b.y - a.y) * (b.x - a.x);
    place.x < x && x <= east_m
}

/// Where `line` crosses `edge`, as a share of `line`.
fn crossing(line: &Line<f64>, edge: &Line<f64>) -> Option<f64> {
    let (d, e) = (line.end - line.start, edge.end - edge.start);
    let cross = d.x * e.y - d.y * e.x;
    if cross.abs() < 1e-12 {
        return None;
    }
    let gap = edge.start - line.start;
    let on_line = (gap.x * e.y - gap.y * e.x) / cross;
    let on_edge = (gap.x * d.y - gap.y * d.x) / cross;
    (on_line > 0.0 && on_line < 1.0 && (-1e-9..=1.0 + 1e-9).contains(&on_edge)).then_some(on_line)
}

fn circle_crossings(
    line: &Line<f64>,
    centre: Coord<f64>,
    radius: f64,
) -> impl Iterator<Item = f64> {
    let (d, f) = (line.end - line.start, line.start - centre);
    let (a, b, c) = (
        d.x * d.x + d.y * d.y,
        2.0 * (f.x * d.x + f.y * d.y),
        f.x * f.x + f.y * f.y - radius * radius,
    );
    let inside = b * b - 4.0 * a * c;
    let roots = if inside > 0.0 && a > 0.0 {
        Some(inside.sqrt())
    } else {
        None
    };
    roots
        .into_iter()
        .flat_map(move |root| [(-b - root) / (2.0 * a), (-b + root) / (2.0 * a)])
        .filter(|t| *t > 0.0 && *t < 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::trenches::fixture;

    #[test]
    fn a_line_over_a_path_and_a_root_zone_is_cut_where_it_enters_and_leaves() {
        let surfaces = Surfaces::of(&fixture::parcel());
        let line = Line::new(Coord { x: -20.0, y: 0.0 }, Coord { x: 20.0, y: 0.0 });
        let words: Vec<_> = surfaces
            .along(line)
            .iter()
            .map(|s| s.state.surface())
            .collect();
        assert_eq!(words, [Surface::Turf, Surface::Paving, Surface::Turf]);
        let path = surfaces.along(line)[1];
        assert!(
            ((path.from * 40.0 - 20.0) - -1.0).abs() < 1e-9
                && ((path.to - path.from) * 40.0 - 2.0).abs() < 1e-9
        );
    }

    #[test]
    fn a_line_through_the_building_is_blocked_and_one_beside_it_is_not() {
        let surfaces = Surfaces::of(&fixture::parcel());
        let at = |x: f64, y: f64| Coord { x, y };
        assert!(surfaces.is_blocked(Line::new(at(5.0, 5.0), at(20.0, 5.0))));
        assert!(!surfaces.is_blocked(Line::new(at(5.0, 9.0), at(20.0, 9.0))));
    }
}
