//! The best sector and radius for a head at a place, on the water as it is.
//!
//! As in the search for whole layouts: rates are matched, so what a head gains adds up over directions, and the best
//! sector for a radius is the run of directions of greatest sum. The few best are then set as the crew would set them and
//! reckoned exactly.

use super::area::{Area, dislike};
use super::crew::{self, Models, Wish};
use crate::design::coverage::Tilt;
use crate::design::coverage::profile::depth_factor;
use crate::design::coverage::spread::Scratch;
use crate::design::heads::arcs;
use crate::design::heads::field::{BINS, DIRECTIONS, Gains, Sweep, bin_of};
use crate::design::model::{Arc, Head};
use crate::geometry::sight;
use geo::Coord;

/// Sectors that are reckoned exactly.
const EXACT: usize = 3;
/// A full circle is preferred by so much, in shares of the square of the radius: it needs no setting.
const FULL_BONUS: f64 = 0.02;
/// Another radius must gain so much more than the present one, in shares of its square.
const KEPT_BONUS: f64 = 0.01;
/// Gain of a direction in which no water may go, m².
const FORBIDDEN: f32 = -1e4;
/// No throw into a wall nearer than this share of the radius; what is left is kept off walls when heads are set.
const WALL_SHARE: f64 = 0.97;
/// Place of a head's own cell among the gains.
const CENTRE: usize = 255;

/// A head as it would be set, and what J falls by with its water, m².
#[derive(Debug, Clone)]
pub struct Found {
    /// The head.
    pub head: Head,
    /// What J falls by when its water comes, m².
    pub gain: f64,
}

/// What may stand at a place.
pub struct Offer {
    /// The place.
    pub at: Coord<f64>,
    /// Which models.
    pub models: Models,
    /// Radii to be tried, m.
    pub radii_m: Vec<f64>,
    /// The radius it has now, m, which is kept unless another is better.
    pub kept_m: Option<f64>,
    /// Whether it stands in the single row of a strip.
    pub one_row: bool,
}

/// The best head for an offer; `None` where there is no radius to try.
pub fn best(area: &Area, offer: &Offer) -> Option<Found> {
    let longest_m = offer.radii_m.iter().copied().fold(0.0, f64::max);
    if longest_m <= 0.0 {
        return None;
    }
    let reach = Reach::of(area, offer, longest_m);
    let least_deg = crew::sweep_least_deg(area, offer.models);
    let least = ((least_deg * BINS as f64 / 360.0).ceil() as usize).clamp(1, BINS);
    let mut rough: Vec<(f64, f64, Sweep)> = Vec::new();
    for &radius_m in &offer.radii_m {
        let gains = reach.gains(area, radius_m);
        let square = radius_m * radius_m;
        let (sweep, gain) = arcs::best(&gains, least, (FULL_BONUS * square) as f32);
        let kept = offer
            .kept_m
            .is_some_and(|kept| (kept - radius_m).abs() < 1e-9);
        let bonus = if kept { KEPT_BONUS * square } else { 0.0 };
        rough.push((f64::from(gain) + bonus, radius_m, sweep));
    }
    rough.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut scratch = Scratch::default();
    let exact = rough.into_iter().take(EXACT).map(|(_, radius_m, sweep)| {
        let wish = Wish {
            at: offer.at,
            models: offer.models,
            radius_m,
            arc: arc_of(sweep),
            one_row: offer.one_row,
        };
        let head = crew::set(area, &wish);
        let gain = area.gain(&area.rain_of(&head, &mut scratch));
        Found { head, gain }
    });
    exact.max_by(|a, b| a.gain.total_cmp(&b.gain))
}

fn arc_of(sweep: Sweep) -> Arc {
    if sweep.count >= BINS {
        return Arc::FULL;
    }
    let degrees = |bins: usize| bins as f64 * 360.0 / BINS as f64;
    Arc {
        start_deg: degrees(sweep.first),
        sweep_deg: degrees(sweep.count),
    }
}

/// A cell in reach of a place.
struct Near {
    cell: u32,
    far_m: f32,
    bin: u8,
    walled: bool,
}

/// All cells in reach of a place.
struct Reach {
    cells: Vec<Near>,
    /// Free distance to the first wall by bin, m, where a wall is near.
    free_m: Option<Vec<f64>>,
    profile: crate::brief::Profile,
}

impl Reach {
    fn of(area: &Area, offer: &Offer, radius_m: f64) -> Self {
        let (yard, at) = (area.yard, offer.at);
        let job = yard.job;
        let grid = &yard.grid;
        let fall_deg = job.rules.throw_fall_deg;
        let tilt = Tilt::of(&job.parcel.terrain, at, radius_m, fall_deg);
        let reach_m = radius_m * tilt.reach_share_most();
        let walls = yard.walls.near(at, reach_m);
        let free_m =
            (!walls.is_empty()).then(|| sight::horizon_m(&walls, at, &*DIRECTIONS, 2.0 * reach_m));
        let (column, row) = grid.cell_of(at);
        let reach = (reach_m / grid.cell_m).ceil() as i64;
        let mut cells = Vec::new();
        for y in (row - reach).max(0)..=(row + reach).min(grid.rows as i64 - 1) {
            for x in (column - reach).max(0)..=(column + reach).min(grid.columns as i64 - 1) {
                let centre = grid.centre(x as usize, y as usize);
                let (dx, dy) = (centre.x - at.x, centre.y - at.y);
                let far_m = tilt.effective_m(dx, dy);
                if far_m > radius_m {
                    continue;
                }
                let own = x == column && y == row;
                let bin = if own { CENTRE } else { bin_of(dx, dy) };
                let behind = |free: &Vec<f64>| !own && dx.hypot(dy) > free[bin];
                cells.push(Near {
                    cell: (y as usize * grid.columns + x as usize) as u32,
                    far_m: far_m as f32,
                    bin: bin as u8,
                    walled: free_m.as_ref().is_some_and(behind),
                });
            }
        }
        let model = match offer.models {
            Models::Only(model) => model,
            Models::Class(class) => job.classes[class].models[0],
        };
        Self {
            cells,
            free_m,
            profile: job.catalogue.heads[model].profile,
        }
    }

    /// What J falls by in each direction if a head here threw `radius_m` that way, m².
    fn gains(&self, area: &Area, radius_m: f64) -> Gains {
        let yard = area.yard;
        let mut sums = [0.0f64; 256];
        let matched = area.main_mm_h / area.wanted_mm_h / std::f64::consts::PI;
        let building = -(yard.job.rules.overspray_building as f32);
        for near in &self.cells {
            let share = f64::from(near.far_m) / radius_m;
            if share >= 1.0 {
                continue;
            }
            let more = (matched * depth_factor(self.profile, share)) as f32;
            let cell = near.cell as usize;
            let want = if near.walled {
                building
            } else {
                yard.want[cell]
            };
            sums[usize::from(near.bin)] += if want > 0.0 {
                let excess = area.depth(cell) - 1.0;
                f64::from(dislike(excess) - dislike(excess + more))
            } else {
                area.harm * f64::from(want * more)
            };
        }
        let cell_m2 = yard.grid.cell_m * yard.grid.cell_m;
        let mut gains: Gains = sums.map(|sum| (sum * cell_m2) as f32);
        if let Some(free_m) = self
            .free_m
            .as_ref()
            .filter(|_| yard.job.rules.walls_dry >= 0.5)
        {
            for (gain, &free_m) in gains.iter_mut().zip(free_m) {
                if free_m < WALL_SHARE * radius_m {
                    *gain = FORBIDDEN;
                }
            }
        }
        gains
    }
}
