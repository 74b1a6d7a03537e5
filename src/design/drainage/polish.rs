//! From levels on the grid to inverts in whole millimetres, as shallow as the directions of fall allow.
//!
//! With the direction of every pipe given, the inverts that keep `upper - lower >= grade * length` within their bands
//! form a lattice, so the highest ones are found node by node, downhill. Where that would leave a band, the grid's own
//! answer, which is in the bands, lifts it again, pipe by pipe, by as little as need be.

use super::levels::Chosen;
use super::lows::Sets;
use super::{Band, GradeRules, LevelPipe, millimetre};

/// A pipe as it falls: the groups it joins, and by how much, m.
struct Fall {
    upper: usize,
    lower: usize,
    wanted_m: f64,
    least_m: f64,
}

/// Inverts of all nodes, m, inside their bands.
pub(super) fn to_millimetres(
    bands: &[Band],
    pipes: &[LevelPipe],
    rules: &GradeRules,
    chosen: &Chosen,
) -> Vec<f64> {
    let mut sets = level_stretches(bands.len(), pipes, chosen);
    let group: Vec<usize> = (0..bands.len()).map(|node| sets.root(node)).collect();
    let (top_m, bottom_m) = group_bands(bands, &group);
    let falls = falls(pipes, rules, chosen, &group);
    let mut order: Vec<usize> = (0..bands.len())
        .filter(|&node| group[node] == node)
        .collect();
    order.sort_by_key(|&node| (std::cmp::Reverse(chosen.level[node]), node));
    let mut invert_m = sink(&order, &falls, &top_m);
    lift(&order, &falls, &bottom_m, &mut invert_m);
    bands
        .iter()
        .zip(group)
        .map(|(band, group)| millimetre(invert_m[group] * 1000.0).clamp(band.bottom_m, band.top_m))
        .collect()
}

/// Nodes joined by pipe that lies level are moved together.
fn level_stretches(nodes: usize, pipes: &[LevelPipe], chosen: &Chosen) -> Sets {
    let mut sets = Sets::new(nodes);
    for (pipe, fall) in pipes.iter().zip(&chosen.fall) {
        if fall.is_some() && chosen.level[pipe.from] == chosen.level[pipe.to] {
            sets.join(pipe.from, pipe.to);
        }
    }
    sets
}

fn group_bands(bands: &[Band], group: &[usize]) -> (Vec<f64>, Vec<f64>) {
    let mut top_m = vec![f64::INFINITY; bands.len()];
    let mut bottom_m = vec![f64::NEG_INFINITY; bands.len()];
    for (band, &group) in bands.iter().zip(group) {
        top_m[group] = top_m[group].min(band.top_m);
        bottom_m[group] = bottom_m[group].max(band.bottom_m);
    }
    (top_m, bottom_m)
}

fn falls(pipes: &[LevelPipe], rules: &GradeRules, chosen: &Chosen, group: &[usize]) -> Vec<Fall> {
    let mut falls = Vec::new();
    for (pipe, fall) in pipes.iter().zip(&chosen.fall) {
        let Some(steps) = *fall else { continue };
        let (from, to) = (group[pipe.from], group[pipe.to]);
        if from == to {
            continue;
        }
        let difference = chosen.level[pipe.from] - chosen.level[pipe.to];
        let (upper, lower) = if difference > 0 {
            (from, to)
        } else {
            (to, from)
        };
        let relaxed = difference.abs() < steps;
        // Up to the next millimetre; less than one is not asked of a short piece.
        let exact_mm = (pipe.length_m * rules.grade * 1000.0 - 1e-6).ceil();
        let wanted_m = if relaxed || exact_mm <= 1.0 {
            0.0
        } else {
            exact_mm / 1000.0
        };
        let kept_m = if relaxed {
            0.0
        } else {
            steps as f64 * chosen.step_m
        };
        falls.push(Fall {
            upper,
            lower,
            wanted_m,
            least_m: wanted_m.min(kept_m),
        });
    }
    falls
}

/// The highest inverts that fall by all that is wanted, not looking at the bottom of the bands.
fn sink(order: &[usize], falls: &[Fall], top_m: &[f64]) -> Vec<f64> {
    let mut below = vec![Vec::new(); top_m.len()];
    for fall in falls {
        below[fall.upper].push(fall);
    }
    let mut invert_m = top_m.to_vec();
    for &node in order {
        for fall in &below[node] {
            let most_m = invert_m[node] - fall.wanted_m;
            invert_m[fall.lower] = invert_m[fall.lower].min(most_m);
        }
    }
    invert_m
}

/// Lifts what lies under the bottom of its band, and what lies above it by as much as the grid's fall asks.
fn lift(order: &[usize], falls: &[Fall], bottom_m: &[f64], invert_m: &mut [f64]) {
    let mut above = vec![Vec::new(); bottom_m.len()];
    for fall in falls {
        above[fall.lower].push(fall);
    }
    for &node in order.iter().rev() {
        invert_m[node] = invert_m[node].max(bottom_m[node]);
        for fall in &above[node] {
            let least_m = invert_m[node] + fall.least_m;
            invert_m[fall.upper] = invert_m[fall.upper].max(least_m);
        }
    }
}
