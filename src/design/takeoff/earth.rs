//! Trench by surface and depth, the spoil it gives, the sand the pipe is bedded in, and what is left over.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::design::model::{Surface, Trench};

/// Upper limits of the depth classes, m (common practice, no source).
const DEPTH_LIMITS_M: [f64; 6] = [0.30, 0.45, 0.60, 0.90, 1.20, 1.50];

/// Gap left between pipes side by side and to the walls of the trench, m (common practice, no source).
const GAP_M: f64 = 0.05;

/// Counts trench and spoil.
pub fn count(job: &Job, ledger: &mut Ledger) {
    let outside_m = outside_diameters_m(job);
    for (trench, outside_m) in job.design.trenches.iter().zip(&outside_m) {
        let widest_m = outside_m.iter().copied().fold(0.0, f64::max);
        let depth_m = trench.cover_max_m + widest_m + bedding_m(job, trench);
        count_trench(job, trench, depth_m, ledger);
        let spoil = Line::new(
            Group::Earth,
            [0, 0, 0],
            "spoil, as it lay in the ground",
            "m3",
        );
        ledger.add(spoil, spoil_m3(job, trench, outside_m), None);
        let sand = Line::new(Group::Earth, [1, 0, 0], "sand for bedding", "m3");
        let sand_m3 = sand_m3(job, trench, outside_m);
        ledger.add(sand, sand_m3, job.prices.sand_per_m3);
        let left = Line::new(Group::Earth, [2, 0, 0], "spoil, left over", "m3");
        let left_m3 = sand_m3 + pipe_m3(trench, outside_m);
        ledger.add(left, left_m3, job.prices.spoil_per_m3);
    }
    let gravel_l: f64 = job.design.drains.iter().map(|drain| drain.gravel_l).sum();
    let left = Line::new(Group::Earth, [2, 0, 0], "spoil, left over", "m3");
    ledger.add(left, gravel_l / 1000.0, job.prices.spoil_per_m3);
}

/// Outside diameters of the pipes in each trench, m.
fn outside_diameters_m(job: &Job) -> Vec<Vec<f64>> {
    let mut outside = vec![Vec::new(); job.design.trenches.len()];
    for pipe in &job.design.pipes {
        let diameter_mm = job
            .catalogue
            .pipes
            .get(pipe.size)
            .map_or(0.0, |size| size.outside_mm);
        let mut trenches = pipe.trenches.clone();
        trenches.sort_unstable();
        trenches.dedup();
        for trench in trenches {
            if let Some(of_trench) = outside.get_mut(trench) {
                of_trench.push(diameter_mm / 1000.0);
            }
        }
    }
    outside
}

fn count_trench(job: &Job, trench: &Trench, depth_m: f64, ledger: &mut Ledger) {
    let (class, depths) = depth_class(depth_m);
    let (item, price) = match trench.surface {
        Surface::Roots => (
            "trench in roots, dug by hand".to_owned(),
            job.prices.hand_dug_per_m,
        ),
        Surface::Paving => (
            "trench under paving (paid with the sleeve)".to_owned(),
            None,
        ),
        other => (
            format!("trench in {}", words(other)),
            job.prices.trench_per_m,
        ),
    };
    let line = Line::new(
        Group::Trench,
        [trench.surface as usize, class, 0],
        item,
        "m",
    );
    ledger.add(line.sized(depths), trench.length_m, price);
}

/// How a surface is said after "in".
fn words(surface: Surface) -> &'static str {
    match surface {
        Surface::Bare => "bare ground",
        Surface::Bed => "beds",
        other => other.word(),
    }
}

/// The class of a depth and its words.
fn depth_class(depth_m: f64) -> (usize, String) {
    let class = DEPTH_LIMITS_M
        .iter()
        .position(|limit| depth_m <= limit + 1e-9);
    match class {
        Some(0) => (0, format!("to {:.2} m deep", DEPTH_LIMITS_M[0])),
        Some(i) => (
            i,
            format!(
                "{:.2}-{:.2} m deep",
                DEPTH_LIMITS_M[i - 1],
                DEPTH_LIMITS_M[i]
            ),
        ),
        None => (
            DEPTH_LIMITS_M.len(),
            format!(
                "over {:.2} m deep",
                DEPTH_LIMITS_M[DEPTH_LIMITS_M.len() - 1]
            ),
        ),
    }
}

/// Length × width × depth. With one pipe the depth is the mean of its least and greatest; with several, whose covers
/// cannot be told apart, it is the greatest. A trench too narrow for its pipes side by side is widened.
fn spoil_m3(job: &Job, trench: &Trench, outside_m: &[f64]) -> f64 {
    let cover_m = cover_m(trench, outside_m);
    let depth_m = cover_m + outside_m.iter().copied().fold(0.0, f64::max);
    trench.length_m * width_m(job, outside_m) * (depth_m + bedding_m(job, trench))
}

/// Sand fills the trench from `bedding_sand_m` under the pipe to as much above it, round the pipe.
fn sand_m3(job: &Job, trench: &Trench, outside_m: &[f64]) -> f64 {
    let widest_m = outside_m.iter().copied().fold(0.0, f64::max);
    let thick_m = match bedding_m(job, trench) {
        0.0 => return 0.0,
        bedding_m => 2.0 * bedding_m + widest_m,
    };
    (trench.length_m * width_m(job, outside_m) * thick_m - pipe_m3(trench, outside_m)).max(0.0)
}

/// In a sleeve pipe needs no sand.
fn bedding_m(job: &Job, trench: &Trench) -> f64 {
    if trench.sleeve || trench.pipes == 0 {
        0.0
    } else {
        job.rules.bedding_sand_m
    }
}

fn pipe_m3(trench: &Trench, outside_m: &[f64]) -> f64 {
    let area_m2 = |outside_m: &f64| std::f64::consts::PI * outside_m.powi(2) / 4.0;
    trench.length_m * outside_m.iter().map(area_m2).sum::<f64>()
}

/// The rule's, or what the pipes need side by side.
fn width_m(job: &Job, outside_m: &[f64]) -> f64 {
    let abreast_m = outside_m.iter().sum::<f64>() + GAP_M * (outside_m.len() as f64 + 1.0);
    job.rules.trench_width_m.max(abreast_m)
}

/// Depth of the pipe's top, m.
fn cover_m(trench: &Trench, outside_m: &[f64]) -> f64 {
    if outside_m.len() <= 1 {
        f64::midpoint(trench.cover_min_m, trench.cover_max_m)
    } else {
        trench.cover_max_m
    }
}
