//! Trench by surface and depth, and the spoil it gives.

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
        count_trench(job, trench, trench.cover_max_m + widest_m, ledger);
        let spoil = Line::new(
            Group::Earth,
            [0, 0, 0],
            "spoil, as it lay in the ground",
            "m3",
        );
        ledger.add(spoil, spoil_m3(job, trench, outside_m), None);
    }
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
    let cover_m = if outside_m.len() <= 1 {
        f64::midpoint(trench.cover_min_m, trench.cover_max_m)
    } else {
        trench.cover_max_m
    };
    let depth_m = cover_m + outside_m.iter().copied().fold(0.0, f64::max);
    let abreast_m = outside_m.iter().sum::<f64>() + GAP_M * (outside_m.len() as f64 + 1.0);
    trench.length_m * job.rules.trench_width_m.max(abreast_m) * depth_m
}
