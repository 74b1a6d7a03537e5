//! One head's water on a grid: by profile and sector, stopped by walls, and never a drop more or less than its flow.
//!
//! Row by row: the rim and the two edges of the sector cut a row in at most two runs of cells, which are filled without
//! a test; cells that an edge cuts take their share by area. A head with walls near has its cells moved one by one.

use super::matched::class_rate_mm_h;
use super::rim::Shape;
use super::slope::Tilt;
use super::wedge::{Row, Wedge};
use crate::brief::{Catalogue, Profile};
use crate::design::model::{Arc, Head, Working};
use crate::geometry::{Grid, sight};
use geo::Coord;
use std::ops::Range;

/// Directions in which the distance to the walls is known, one a degree.
const DIRECTIONS: usize = 360;
/// Sums kept side by side, so that their order is the same on every machine.
const LANES: usize = 8;

/// What one head throws.
pub struct Throw {
    /// Where it stands.
    pub at: Coord<f64>,
    /// Turf it belongs to.
    pub turf: usize,
    /// Rate its precipitation class is matched to, mm/h.
    pub class_mm_h: f64,
    /// How far it throws on level ground, m.
    pub radius_m: f64,
    /// How far it throws at most, downhill, m.
    pub reach_m: f64,
    /// Its sector.
    pub arc: Arc,
    tilt: Tilt,
    flow_lpm: f64,
    profile: Profile,
    /// Distance to the first wall by direction, where a wall is in reach.
    free_m: Option<Vec<f32>>,
}

/// Room to work in, kept from head to head.
#[derive(Default)]
pub struct Scratch {
    runs: Vec<Run>,
    /// Weights of the cells of all runs, one run after the other.
    weights: Vec<f32>,
    /// Distance of the columns' centres east of the head, m.
    east_m: Vec<f32>,
    /// Cells that an edge cuts and whose centres lie outside the sector: column, row, weight.
    pub slivers: Vec<(i64, i64, f32)>,
    /// The square about a head with walls near.
    square: Vec<f32>,
}

/// Cells side by side in a row; their weights start at `first`.
#[derive(Clone, Copy)]
struct Run {
    row: i64,
    column: i64,
    first: usize,
    count: usize,
}

/// What a weight of 1 stands for.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// Rate on a cell, mm/h.
    pub mm_h: f32,
    /// Flow onto a cell, L/min.
    pub lpm: f64,
}

impl Throw {
    /// The throw of a head as it works; `None` where it gives no water.
    pub fn new(
        head: &Head,
        work: &Working,
        catalogue: &Catalogue,
        walls: &sight::Walls,
    ) -> Option<Self> {
        let wet = work.flow_lpm > 0.0 && work.radius_m > 0.0 && work.flow_lpm.is_finite();
        let profile = catalogue.heads.get(head.model).filter(|_| wet)?.profile;
        let reach_m = work.radius_m * head.tilt.reach_share_most();
        let near = walls.near(head.position, reach_m);
        let free_m = (!near.is_empty()).then(|| {
            (0..DIRECTIONS)
                .map(|degree| degree as f64 + 0.5)
                .map(|b| sight::free_m(&near, head.position, b, f64::INFINITY) as f32)
                .collect()
        });
        Some(Self {
            at: head.position,
            turf: head.turf,
            class_mm_h: class_rate_mm_h(catalogue, head.model)?,
            radius_m: work.radius_m,
            reach_m,
            arc: head.arc,
            tilt: head.tilt,
            flow_lpm: work.flow_lpm,
            profile,
            free_m,
        })
    }

    /// Adds the rate (mm/h) to the cells of `grid` it reaches. Returns how many cells, on the grid or off it, it wets.
    pub fn rain(&self, grid: &Grid, scratch: &mut Scratch, rate: &mut [f32]) -> usize {
        self.runs(grid, scratch, 1.0, |first, weights, measure| {
            add(&mut rate[first..], weights, measure.mm_h);
        });
        scratch.weights.len()
    }

    /// Tells the runs of cells of `grid` it wets: index of the first cell, weights, and what a weight is worth.
    ///
    /// Its flow counts `matched` times. Cells outside the grid take their share too: what is told falls short of the flow
    /// by what flies off the grid. Slivers stand in `scratch` afterwards. Returns what a weight is worth.
    pub fn runs(
        &self,
        grid: &Grid,
        scratch: &mut Scratch,
        matched: f64,
        mut wet: impl FnMut(usize, &[f32], Measure),
    ) -> Measure {
        self.weigh(grid, scratch);
        if let Some(free_m) = &self.free_m {
            self.hold_back(free_m, grid, scratch);
        }
        let mut sum = sum(&scratch.weights);
        if sum <= 0.0 {
            scratch.own_cell(grid.cell_of(self.at));
            sum = 1.0;
        }
        let lpm = matched * self.flow_lpm / sum;
        let measure = Measure {
            mm_h: (lpm * 60.0 / (grid.cell_m * grid.cell_m)) as f32,
            lpm,
        };
        for run in &scratch.runs {
            if let Some((first, inside)) = run.on(grid) {
                wet(first, &scratch.weights[inside], measure);
            }
        }
        measure
    }

    /// Weights of all cells within rim and sector.
    fn weigh(&self, grid: &Grid, scratch: &mut Scratch) {
        let shape = Shape::new(self.profile, self.radius_m, self.tilt, grid.cell_m);
        let rim = shape.rim();
        let wedge = Wedge::of(&self.arc, grid.cell_m);
        let (column, row) = grid.cell_of(self.at);
        let reach = (self.reach_m / grid.cell_m).ceil() as i64 + 2;
        let line = |row: i64| Row {
            first_m: grid.origin.x + 0.5 * grid.cell_m - self.at.x,
            north_m: grid.origin.y + (row as f64 + 0.5) * grid.cell_m - self.at.y,
            cell_m: grid.cell_m,
            cells_per_m: 1.0 / grid.cell_m,
        };
        let west = column - reach;
        scratch.start(west..column + reach + 1, &line(row));
        for row in row - reach..=row + reach {
            let line = line(row);
            let within = rim.columns(&line);
            if within.is_empty() {
                continue;
            }
            let depth = |east_m: &[f32], weights: &mut Vec<f32>| {
                shape.row(line.north_m as f32, east_m, weights);
            };
            let Some(wedge) = &wedge else {
                scratch.run(row, within, west, depth);
                continue;
            };
            let cut = wedge.cut(&line, &within);
            for run in cut.wet {
                let first = scratch.run(row, run.clone(), west, depth);
                for column in cut.edges.iter().flat_map(|edge| common(edge, &run)) {
                    let (share, centre) =
                        wedge.share(line.east_m(column), line.north_m, grid.cell_m);
                    let weight = &mut scratch.weights[first + (column - run.start) as usize];
                    *weight *= share as f32;
                    if !centre {
                        scratch.slivers.push((column, row, *weight));
                    }
                }
            }
        }
    }

    /// Moves what a wall holds back to the wall's foot.
    fn hold_back(&self, free_m: &[f32], grid: &Grid, scratch: &mut Scratch) {
        let (column, row) = grid.cell_of(self.at);
        let reach = (self.reach_m / grid.cell_m).ceil() as i64 + 2;
        let (corner, side) = ((column - reach, row - reach), (2 * reach + 1) as usize);
        let mut square = std::mem::take(&mut scratch.square);
        square.clear();
        square.resize(side * side, 0.0);
        for run in &scratch.runs {
            for (i, &weight) in scratch.weights[run.first..][..run.count].iter().enumerate() {
                let cell = (run.column + i as i64, run.row);
                let (x, y) = self.stopped(free_m, cell, grid).unwrap_or(cell);
                square[(y - corner.1) as usize * side + (x - corner.0) as usize] += weight;
            }
        }
        scratch
            .slivers
            .retain(|&(column, row, _)| self.stopped(free_m, (column, row), grid).is_none());
        scratch.runs.clear();
        scratch.runs.extend((0..side).map(|j| Run {
            row: corner.1 + j as i64,
            column: corner.0,
            first: j * side,
            count: side,
        }));
        scratch.square = std::mem::replace(&mut scratch.weights, square);
    }

    /// The cell at the foot of the wall that stops the water bound for a cell; `None` when nothing stops it.
    fn stopped(&self, free_m: &[f32], cell: (i64, i64), grid: &Grid) -> Option<(i64, i64)> {
        let centre =
            |cell: i64, origin: f64, at: f64| origin + (cell as f64 + 0.5) * grid.cell_m - at;
        let (dx, dy) = (
            centre(cell.0, grid.origin.x, self.at.x),
            centre(cell.1, grid.origin.y, self.at.y),
        );
        let far = dx.hypot(dy);
        let bearing = self.nearest_bearing(dx.atan2(dy).to_degrees());
        let free = f64::from(*free_m.get(bearing as usize % DIRECTIONS)?);
        if far <= free {
            return None;
        }
        let foot_m = (free - 0.5 * grid.cell_m).max(0.0);
        let (sin, cos) = bearing.to_radians().sin_cos();
        let foot = Coord {
            x: self.at.x + foot_m * sin,
            y: self.at.y + foot_m * cos,
        };
        Some(grid.cell_of(foot))
    }

    /// The bearing, or the nearer edge of the sector where it lies outside: a cell that the edge cuts may have its centre
    /// behind a wall along which the edge runs. 0 to below 360.
    fn nearest_bearing(&self, bearing_deg: f64) -> f64 {
        let after = (bearing_deg - self.arc.start_deg).rem_euclid(360.0);
        let sweep = self.arc.sweep_deg;
        let within = if self.arc.is_full() || after <= sweep {
            after
        } else if after - sweep < 360.0 - after {
            sweep - 1e-6
        } else {
            1e-6
        };
        (self.arc.start_deg + within).rem_euclid(360.0)
    }
}

impl Scratch {
    /// Empties it and notes where the columns lie.
    fn start(&mut self, columns: Range<i64>, row: &Row) {
        self.runs.clear();
        self.weights.clear();
        self.slivers.clear();
        self.east_m.clear();
        self.east_m
            .extend(columns.map(|column| row.east_m(column) as f32));
    }

    /// Fills a run of cells; `west` is the column of the first noted place. Returns where its weights start.
    fn run(
        &mut self,
        row: i64,
        columns: Range<i64>,
        west: i64,
        depth: impl Fn(&[f32], &mut Vec<f32>),
    ) -> usize {
        let first = self.weights.len();
        if columns.is_empty() {
            return first;
        }
        let count = (columns.end - columns.start) as usize;
        let east_m = &self.east_m[(columns.start - west) as usize..][..count];
        depth(east_m, &mut self.weights);
        self.runs.push(Run {
            row,
            column: columns.start,
            first,
            count,
        });
        first
    }

    /// All water on one cell.
    fn own_cell(&mut self, (column, row): (i64, i64)) {
        self.slivers.clear();
        self.weights.clear();
        self.weights.push(1.0);
        self.runs.clear();
        self.runs.push(Run {
            row,
            column,
            first: 0,
            count: 1,
        });
    }
}

impl Run {
    /// Index of its first cell on the grid, and its weights there.
    fn on(&self, grid: &Grid) -> Option<(usize, Range<usize>)> {
        let columns = common(
            &(self.column..self.column + self.count as i64),
            &(0..grid.columns as i64),
        );
        if columns.is_empty() || !(0..grid.rows as i64).contains(&self.row) {
            return None;
        }
        let from = self.first + (columns.start - self.column) as usize;
        let first = self.row as usize * grid.columns + columns.start as usize;
        Some((first, from..from + (columns.end - columns.start) as usize))
    }
}

fn common(a: &Range<i64>, b: &Range<i64>) -> Range<i64> {
    a.start.max(b.start)..a.end.min(b.end)
}

/// Adds the weights times `mm_h` to the rates of as many cells.
pub fn add(rate: &mut [f32], weights: &[f32], mm_h: f32) {
    for (rate, &weight) in rate.iter_mut().zip(weights) {
        *rate += weight * mm_h;
    }
}

/// The sum, in lanes: each in double precision, so that nothing of the flow is lost.
pub fn sum(weights: &[f32]) -> f64 {
    let mut lanes = [0.0f64; LANES];
    let chunks = weights.chunks_exact(LANES);
    let rest: f64 = chunks.remainder().iter().map(|&w| f64::from(w)).sum();
    for chunk in chunks {
        for (lane, &weight) in lanes.iter_mut().zip(chunk) {
            *lane += f64::from(weight);
        }
    }
    lanes.iter().sum::<f64>() + rest
}

/// The sum of the weights where `marked` is 1, in lanes.
pub fn sum_where(weights: &[f32], marked: &[f32]) -> f64 {
    let mut lanes = [0.0f64; LANES];
    let (chunks, marks) = (
        weights.chunks_exact(LANES),
        marked[..weights.len()].chunks_exact(LANES),
    );
    let rest = chunks.remainder().iter().zip(marks.remainder());
    let rest: f64 = rest.map(|(&w, &mark)| f64::from(w * mark)).sum();
    for (chunk, marks) in chunks.zip(marks) {
        for ((lane, &weight), &mark) in lanes.iter_mut().zip(chunk).zip(marks) {
            *lane += f64::from(weight * mark);
        }
    }
    lanes.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::builtin_heads;
    use geo::{MultiPolygon, Rect};

    fn catalogue(profile: Profile) -> Catalogue {
        let mut heads = builtin_heads::heads();
        for model in &mut heads {
            model.profile = profile;
        }
        Catalogue {
            origin: "test".to_owned(),
            heads,
            pipes: Vec::new(),
            valves: Vec::new(),
        }
    }

    fn throw(
        at: (f64, f64),
        arc: Arc,
        radius_m: f64,
        profile: Profile,
        walls: &sight::Walls,
    ) -> Throw {
        let head = Head {
            position: at.into(),
            turf: 0,
            model: 0,
            nozzle: 0,
            arc,
            radius_m,
            tilt: Tilt::LEVEL,
            ground_m: 0.0,
            flow_ref_lpm: 10.0,
            one_row: false,
        };
        let work = Working {
            pressure_kpa: 300.0,
            flow_lpm: 10.0,
            radius_m,
            rate_mm_h: 0.0,
        };
        Throw::new(&head, &work, &catalogue(profile), walls).unwrap()
    }

    fn arc(start_deg: f64, sweep_deg: f64) -> Arc {
        Arc {
            start_deg,
            sweep_deg,
        }
    }

    #[test]
    fn every_drop_falls_somewhere() {
        let grid = Grid::over(Rect::new((-20.0, -20.0), (20.0, 20.0)), 0.0, 0.25);
        let house: MultiPolygon<f64> = Rect::new((3.0, -4.0), (9.0, 5.0)).to_polygon().into();
        let mut scratch = Scratch::default();
        for walls in [sight::Walls::default(), sight::Walls::new([&house])] {
            for (start, sweep) in [(0.0, 360.0), (10.0, 90.0), (200.0, 270.0), (350.0, 40.0)] {
                for radius in [0.05, 1.3, 9.0] {
                    let water = throw((0.3, 0.1), arc(start, sweep), radius, Profile::Cone, &walls);
                    let mut lpm = 0.0;
                    water.runs(&grid, &mut scratch, 1.0, |_, weights, measure| {
                        lpm += sum(weights) * measure.lpm;
                    });
                    assert!((lpm - 10.0).abs() < 1e-6, "{radius} {start} {sweep}: {lpm}");
                }
            }
        }
    }

    #[test]
    fn nothing_falls_inside_the_house_or_behind_it() {
        let grid = Grid::over(Rect::new((-20.0, -20.0), (20.0, 20.0)), 0.0, 0.25);
        let house: MultiPolygon<f64> = Rect::new((3.0, -9.0), (6.0, 9.0)).to_polygon().into();
        let water = throw(
            (0.0, 0.0),
            Arc::FULL,
            9.0,
            Profile::Cone,
            &sight::Walls::new([&house]),
        );
        let mut scratch = Scratch::default();
        let mut rates = vec![0.0; grid.cells()];
        water.rain(&grid, &mut scratch, &mut rates);
        for (cell, rate) in rates.into_iter().enumerate() {
            let at = grid.centre(cell % grid.columns, cell / grid.columns);
            assert!(at.x < 3.13 || at.y.abs() > 8.0 || rate == 0.0, "{at:?}");
        }
    }

    /// Overlapped full circles on an endless grid without wind, computed independently on 400 × 400 cells (numpy).
    #[test]
    fn endless_lattices_agree_with_an_independent_computation() {
        let cases = [
            (Profile::Cone, 1.0, 0.9636, 0.9498),
            (Profile::Cone, 1.2, 0.9055, 0.8474),
            (Profile::Cone, 1.4, 0.7599, 0.5814),
            (Profile::Parabola, 1.0, 0.9031, 0.8588),
            (Profile::Uniform, 1.0, 0.8278, 0.7340),
        ];
        let radius = 10.0;
        for (profile, ratio, cu, du) in cases {
            let pitch = ratio * radius;
            let grid = Grid::over(Rect::new((0.0, 0.0), (pitch, pitch)), 0.0, pitch / 200.0);
            let mut depth = vec![0.0f32; grid.cells()];
            let mut scratch = Scratch::default();
            for i in -2..=3 {
                for j in -2..=3 {
                    let at = (f64::from(i) * pitch, f64::from(j) * pitch);
                    throw(at, Arc::FULL, radius, profile, &sight::Walls::default()).rain(
                        &grid,
                        &mut scratch,
                        &mut depth,
                    );
                }
            }
            let repeat: Vec<f32> = (0..200 * 200)
                .map(|i| depth[(i / 200) * grid.columns + i % 200])
                .collect();
            let found = (
                super::super::cu_christiansen(&repeat).unwrap(),
                super::super::du_low_quarter(&repeat).unwrap(),
            );
            assert!(
                (found.0 - cu).abs() < 2e-3,
                "{profile:?} {ratio}: {found:?}"
            );
            assert!(
                (found.1 - du).abs() < 2e-3,
                "{profile:?} {ratio}: {found:?}"
            );
        }
    }
}
