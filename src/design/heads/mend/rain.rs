//! The water of one head on the grid of a turf area, exactly as coverage spreads it.

use super::yard::Yard;
use crate::brief::Profile;
use crate::design::coverage::spread::{Scratch, Throw, sum, sum_where};
use crate::design::coverage::{matched_factor, rated_working};
use crate::design::model::Head;
use crate::geometry::sight;

/// Bearings at which it is asked what a wall holds back, degrees apart.
const STEP_DEG: f64 = 1.0;
/// Walls this much nearer than the end of the throw are hit, m.
const GRACE_M: f64 = 0.02;
/// 1 L/min is so many mm/h on a square metre.
const MM_H_M2: f64 = 60.0;

/// Cells side by side that a head wets.
#[derive(Debug, Clone, Copy)]
struct Run {
    first: u32,
    from: u32,
    count: u32,
}

/// The water of a head.
#[derive(Debug, Clone, Default)]
pub struct Rain {
    runs: Vec<Run>,
    mm_h: Vec<f32>,
    /// All of it, L/min.
    pub own_lpm: f64,
    /// What falls on no turf, L/min.
    pub lost_lpm: f64,
    /// Share that a wall holds back.
    pub held_share: f64,
    /// Sum over the cells of weight of harm times rate times area, mm/h · m².
    pub harm: f64,
}

impl Rain {
    /// The water of a head of the area or beside it; nothing for one that gives none.
    pub fn of(yard: &Yard, head: &Head, main_mm_h: f64, scratch: &mut Scratch) -> Self {
        let job = yard.job;
        let working = rated_working(head, job.catalogue);
        let Some(throw) = Throw::new(head, &working, job.catalogue, &yard.walls) else {
            return Self::default();
        };
        let matched = matched_factor(throw.class_mm_h, main_mm_h);
        let mut rain = Self {
            held_share: held_share(yard, head),
            ..Self::default()
        };
        let cell_m2 = yard.grid.cell_m * yard.grid.cell_m;
        let measure = throw.runs(&yard.grid, scratch, matched, |first, weights, measure| {
            let from = rain.mm_h.len() as u32;
            rain.mm_h.extend(weights.iter().map(|w| w * measure.mm_h));
            rain.runs.push(Run {
                first: first as u32,
                from,
                count: weights.len() as u32,
            });
            rain.own_lpm += sum(weights) * measure.lpm;
            rain.lost_lpm += sum_where(weights, &yard.off_turf[first..]) * measure.lpm;
            let harm = weights.iter().zip(&yard.want[first..]);
            let harm: f64 = harm.map(|(&w, &want)| f64::from(w * -want.min(0.0))).sum();
            rain.harm += harm * f64::from(measure.mm_h) * cell_m2;
        });
        let (columns, rows) = (yard.grid.columns as i64, yard.grid.rows as i64);
        for &(column, row, weight) in &scratch.slivers {
            if (0..columns).contains(&column) && (0..rows).contains(&row) {
                let cell = (row * columns + column) as usize;
                let weight = f64::from(weight);
                rain.lost_lpm -= f64::from(yard.off_turf[cell]) * weight * measure.lpm;
                let harm = f64::from(-yard.want[cell].min(0.0)) * weight;
                rain.harm -= harm * f64::from(measure.mm_h) * cell_m2;
            }
        }
        let walls = rain.held_share * rain.own_lpm * job.rules.overspray_building;
        rain.harm += walls * MM_H_M2;
        rain
    }

    /// Tells each cell and its rate, mm/h.
    pub fn each(&self, mut tell: impl FnMut(usize, f32)) {
        for run in &self.runs {
            let rates = &self.mm_h[run.from as usize..(run.from + run.count) as usize];
            for (i, &rate) in rates.iter().enumerate() {
                tell(run.first as usize + i, rate);
            }
        }
    }

    /// Share of it that falls on no turf.
    pub fn lost_share(&self) -> f64 {
        if self.own_lpm > 0.0 {
            self.lost_lpm / self.own_lpm
        } else {
            0.0
        }
    }
}

/// Share of a head's water that walls hold back.
pub fn held_share(yard: &Yard, head: &Head) -> f64 {
    let Some(model) = yard.job.catalogue.heads.get(head.model) else {
        return 0.0;
    };
    let radius_m = head.radius_m.min(model.radius_max_m);
    let near = (yard.walls).near(head.position, radius_m * head.tilt.reach_share_most());
    if near.is_empty() {
        return 0.0;
    }
    let steps = (head.arc.sweep_deg / STEP_DEG).ceil().max(1.0);
    let held = (0..steps as usize).map(|i| {
        let bearing_deg = head.arc.start_deg + head.arc.sweep_deg * (i as f64 + 0.5) / steps;
        let reach_m = radius_m * head.tilt.reach_share(bearing_deg);
        let free_m = sight::free_m(&near, head.position, bearing_deg, reach_m);
        if free_m >= reach_m - GRACE_M {
            return 0.0;
        }
        1.0 - within(model.profile, free_m / reach_m)
    });
    held.sum::<f64>() / steps
}

/// Share of a sector's water within `share` of its radius: the integral of the profile over the disc.
fn within(profile: Profile, share: f64) -> f64 {
    let square = share * share;
    match profile {
        Profile::Cone => square * (3.0 - 2.0 * share),
        Profile::Parabola => square * (2.0 - square),
        Profile::Ellipse => 1.0 - (1.0 - square).max(0.0).powf(1.5),
        Profile::Uniform => square,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::coverage::profile::depth_factor;

    #[test]
    fn the_share_within_a_radius_is_the_integral_of_the_profile() {
        let shapes = [
            Profile::Cone,
            Profile::Parabola,
            Profile::Ellipse,
            Profile::Uniform,
        ];
        for profile in shapes {
            for share in [0.2, 0.5, 0.9, 1.0] {
                let n = 20_000;
                let sum: f64 = (0..n)
                    .map(|i| share * (f64::from(i) + 0.5) / f64::from(n))
                    .map(|t| depth_factor(profile, t) * 2.0 * t * share / f64::from(n))
                    .sum();
                assert!(
                    (within(profile, share) - sum).abs() < 1e-4,
                    "{profile:?} {share}"
                );
            }
        }
    }
}
