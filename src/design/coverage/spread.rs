//! One head's water on a grid: by profile and sector, stopped by walls, and never a drop more or less than its flow.

use super::profile::depth_factor;
use super::slope::Tilt;
use crate::brief::{Catalogue, Profile};
use crate::design::model::{Arc, Head, Working};
use crate::geometry::{Grid, sight};
use geo::Coord;

/// Steps of the profile table over the radius.
const PROFILE_STEPS: usize = 256;
/// Directions in which the distance to the walls is known, one a degree.
const DIRECTIONS: usize = 360;

/// What one head throws.
pub struct Throw {
    /// Where it stands.
    pub at: Coord<f64>,
    /// Turf it belongs to.
    pub turf: usize,
    /// How far it throws on level ground, m.
    pub radius_m: f64,
    /// How far it throws at most, downhill, m.
    pub reach_m: f64,
    tilt: Tilt,
    flow_lpm: f64,
    arc: Arc,
    profile: [f32; PROFILE_STEPS + 2],
    /// Distance to the first wall by direction, where a wall is in reach.
    free_m: Option<Vec<f32>>,
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
        let shape = catalogue.heads.get(head.model).filter(|_| wet)?.profile;
        let reach_m = work.radius_m * head.tilt.reach_share_most();
        let near = walls.near(head.position, reach_m);
        let free_m = (!near.is_empty()).then(|| {
            (0..DIRECTIONS)
                .map(|degree| degree as f64 + 0.5)
                .map(|b| sight::free_m(&near, head.position, b, reach_m) as f32)
                .collect()
        });
        Some(Self {
            at: head.position,
            turf: head.turf,
            radius_m: work.radius_m,
            reach_m,
            tilt: head.tilt,
            flow_lpm: work.flow_lpm,
            arc: head.arc,
            profile: profile_table(shape),
            free_m,
        })
    }

    /// Adds the rate (mm/h) to the cells of `grid` it reaches, and tells each of them and its litres per minute.
    ///
    /// Cells outside the grid take their share too: what is told falls short of the flow by what flies off the grid.
    pub fn rain(&self, grid: &Grid, scratch: &mut Vec<f32>, mut wet: impl FnMut(usize, f32, f64)) {
        let (column, row) = grid.cell_of(self.at);
        let reach = (self.reach_m / grid.cell_m).ceil() as i64 + 1;
        let side = (2 * reach + 1) as usize;
        scratch.clear();
        scratch.resize(side * side, 0.0);
        self.weigh(grid, (column - reach, row - reach), side, scratch);
        let mut sum: f64 = scratch.iter().map(|&w| f64::from(w)).sum();
        if sum <= 0.0 {
            scratch[(side * side) / 2] = 1.0;
            sum = 1.0;
        }
        let lpm_per_weight = self.flow_lpm / sum;
        let mm_h_per_lpm = 60.0 / (grid.cell_m * grid.cell_m);
        for (j, weights) in scratch.chunks_exact(side).enumerate() {
            let y = row - reach + j as i64;
            if !(0..grid.rows as i64).contains(&y) {
                continue;
            }
            for (i, &weight) in weights.iter().enumerate() {
                let x = column - reach + i as i64;
                if weight > 0.0 && (0..grid.columns as i64).contains(&x) {
                    let lpm = f64::from(weight) * lpm_per_weight;
                    let cell = y as usize * grid.columns + x as usize;
                    wet(cell, (lpm * mm_h_per_lpm) as f32, lpm);
                }
            }
        }
    }

    /// Weights of the cells of a square of `side` cells whose first cell is `corner`.
    fn weigh(&self, grid: &Grid, corner: (i64, i64), side: usize, weights: &mut [f32]) {
        let sector = Sector::new(&self.arc);
        let offset = |cell: i64, origin: f64, at: f64| {
            (origin + (cell as f64 + 0.5) * grid.cell_m - at) as f32
        };
        let per_metre = PROFILE_STEPS as f32 / self.radius_m as f32;
        for j in 0..side {
            let dy = offset(corner.1 + j as i64, grid.origin.y, self.at.y);
            for i in 0..side {
                let dx = offset(corner.0 + i as i64, grid.origin.x, self.at.x);
                let far = (dx * dx + dy * dy).sqrt();
                let effective = far + self.tilt.east as f32 * dx + self.tilt.north as f32 * dy;
                let step = effective * per_metre;
                if step >= PROFILE_STEPS as f32 || !sector.holds(dx, dy) {
                    continue;
                }
                let gathered = if far > 0.0 { effective / far } else { 1.0 };
                let weight = self.profile_at(step) * gathered * gathered;
                let cell = j * side + i;
                let cell = match &self.free_m {
                    Some(free) => self
                        .stopped(free, dx, dy, grid, corner, side)
                        .unwrap_or(cell),
                    None => cell,
                };
                weights[cell] += weight;
            }
        }
    }

    fn profile_at(&self, step: f32) -> f32 {
        let whole = step as usize;
        let share = step - whole as f32;
        self.profile[whole] * (1.0 - share) + self.profile[whole + 1] * share
    }

    /// The cell at the foot of the wall that stops the water bound for (dx, dy); `None` when nothing stops it.
    fn stopped(
        &self,
        free_m: &[f32],
        dx: f32,
        dy: f32,
        grid: &Grid,
        corner: (i64, i64),
        side: usize,
    ) -> Option<usize> {
        let bearing = dx.atan2(dy).to_degrees().rem_euclid(360.0);
        let free = *free_m.get(bearing as usize % DIRECTIONS)?;
        let far = dx.hypot(dy);
        if far <= free {
            return None;
        }
        let share = f64::from((free - 0.5 * grid.cell_m as f32).max(0.0) / far);
        let foot = Coord {
            x: self.at.x + f64::from(dx) * share,
            y: self.at.y + f64::from(dy) * share,
        };
        let (column, row) = grid.cell_of(foot);
        Some((row - corner.1) as usize * side + (column - corner.0) as usize)
    }
}

fn profile_table(shape: Profile) -> [f32; PROFILE_STEPS + 2] {
    std::array::from_fn(|i| depth_factor(shape, i as f64 / PROFILE_STEPS as f64) as f32)
}

/// A sector by its two bounding directions: no angle is computed for a cell.
struct Sector {
    full: bool,
    wide: bool,
    start: (f32, f32),
    end: (f32, f32),
}

impl Sector {
    fn new(arc: &Arc) -> Self {
        let direction = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            (sin as f32, cos as f32)
        };
        Self {
            full: arc.is_full(),
            wide: arc.sweep_deg > 180.0,
            start: direction(arc.start_deg),
            end: direction(arc.start_deg + arc.sweep_deg),
        }
    }

    fn holds(&self, dx: f32, dy: f32) -> bool {
        let after_start = self.start.0 * dy - self.start.1 * dx <= 0.0;
        let before_end = self.end.0 * dy - self.end.1 * dx >= 0.0;
        self.full
            || if self.wide {
                after_start || before_end
            } else {
                after_start && before_end
            }
    }
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
        let mut scratch = Vec::new();
        for walls in [sight::Walls::default(), sight::Walls::new([&house])] {
            for (start, sweep) in [(0.0, 360.0), (10.0, 90.0), (200.0, 270.0), (350.0, 40.0)] {
                for radius in [0.05, 1.3, 9.0] {
                    let water = throw((0.3, 0.1), arc(start, sweep), radius, Profile::Cone, &walls);
                    let mut lpm = 0.0;
                    water.rain(&grid, &mut scratch, |_, _, part| lpm += part);
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
        let mut scratch = Vec::new();
        water.rain(&grid, &mut scratch, |cell, rate, _| {
            let at = grid.centre(cell % grid.columns, cell / grid.columns);
            assert!(at.x < 3.13 || at.y.abs() > 8.0 || rate == 0.0, "{at:?}");
        });
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
            let mut scratch = Vec::new();
            for i in -2..=3 {
                for j in -2..=3 {
                    let at = (f64::from(i) * pitch, f64::from(j) * pitch);
                    throw(at, Arc::FULL, radius, profile, &sight::Walls::default()).rain(
                        &grid,
                        &mut scratch,
                        |cell, rate, _| depth[cell] += rate,
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
