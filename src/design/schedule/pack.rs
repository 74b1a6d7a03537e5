//! Packing: which stations run together on a watering day, so that the day is short and the supply never overdrawn.
//!
//! List scheduling over whole minutes: in some order each station starts as early as it fits; several orders, then seeded
//! swaps. What pressure is left while several stations run is not judged here.

use crate::design::model::Run;

/// Swaps tried after the plain orders.
const SWAPS: u32 = 60;

/// Share by which a sum of flows may pass the supply's, for rounding in the sums.
const TOLERANCE: f64 = 1e-9;

/// One station on a watering day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task {
    /// Station.
    pub station: usize,
    /// Flow, L/min, above 0.
    pub flow_lpm: f64,
    /// Cycles, at least 1.
    pub cycles: u32,
    /// Minutes of each cycle.
    pub minutes_each: u32,
    /// Least pause between cycles, min.
    pub soak_minutes: u32,
}

impl Task {
    fn open_minutes(&self) -> u32 {
        self.cycles * self.minutes_each
    }

    fn span_minutes(&self) -> u32 {
        self.open_minutes() + self.cycles.saturating_sub(1) * self.soak_minutes
    }
}

/// A packed watering day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Packing {
    /// Every cycle, by start, then station.
    pub runs: Vec<Run>,
    /// From the first start to the last end, min.
    pub length_minutes: u32,
}

/// Packs the tasks; stops searching when the day is no longer than `enough_minutes` or no shorter one can exist.
///
/// A station with more flow than `design_lpm` runs alone; so do all when `design_lpm` is not above 0.
pub fn pack(tasks: &[Task], design_lpm: f64, enough_minutes: u32) -> Packing {
    let shares = shares(tasks, design_lpm);
    let enough = enough_minutes.max(bound_minutes(tasks, design_lpm).ceil() as u32);
    let mut best_order = Vec::new();
    let mut best = Packing {
        runs: Vec::new(),
        length_minutes: u32::MAX,
    };
    for order in orders(tasks, &shares) {
        let packing = in_order(tasks, &shares, &order);
        if packing.length_minutes < best.length_minutes {
            (best, best_order) = (packing, order);
        }
    }
    improve(tasks, &shares, &mut best_order, &mut best, enough);
    best.runs.sort_by_key(|run| (run.start_minute, run.station));
    best
}

/// No packing can be shorter than this, min.
///
/// The largest of: the longest station with its pauses, water over supply, and the sums with flows rounded by a
/// dual-feasible function (Fekete and Schepers 2001, from memory), of which the sum of stations above half the supply is one.
pub fn bound_minutes(tasks: &[Task], design_lpm: f64) -> f64 {
    let shares = shares(tasks, design_lpm);
    let longest = tasks.iter().map(Task::span_minutes).max().unwrap_or(0);
    let mut limits: Vec<f64> = shares
        .iter()
        .copied()
        .filter(|share| *share <= 0.5)
        .collect();
    limits.push(0.5);
    limits
        .iter()
        .map(|limit| rounded_sum(tasks, &shares, *limit))
        .chain([rounded_sum(tasks, &shares, 0.0)])
        .fold(f64::from(longest), f64::max)
}

fn rounded_sum(tasks: &[Task], shares: &[f64], limit: f64) -> f64 {
    tasks
        .iter()
        .zip(shares)
        .map(|(task, share)| {
            let rounded = match *share {
                share if share > 1.0 - limit + TOLERANCE => 1.0,
                share if share < limit - TOLERANCE => 0.0,
                share => share,
            };
            rounded * f64::from(task.open_minutes())
        })
        .sum::<f64>()
        * (1.0 - 1e-6) // the sums are rounded, the bound must not be
}

/// Share of the supply that each task draws, above 0 to 1.
fn shares(tasks: &[Task], design_lpm: f64) -> Vec<f64> {
    tasks
        .iter()
        .map(|task| {
            let share = task.flow_lpm / design_lpm;
            if design_lpm > 0.0 && share.is_finite() {
                share.clamp(0.0, 1.0)
            } else {
                1.0
            }
        })
        .collect()
}

fn orders(tasks: &[Task], shares: &[f64]) -> Vec<Vec<usize>> {
    let by = |key: &dyn Fn(usize) -> f64| {
        let mut order: Vec<usize> = (0..tasks.len()).collect();
        order.sort_by(|a, b| key(*b).total_cmp(&key(*a)).then(a.cmp(b)));
        order
    };
    let open = |i: usize| f64::from(tasks[i].open_minutes());
    vec![
        by(&|i| f64::from(tasks[i].span_minutes())),
        by(&open),
        by(&|i| shares[i]),
        by(&|i| shares[i] * open(i)),
    ]
}

fn improve(
    tasks: &[Task],
    shares: &[f64],
    order: &mut [usize],
    best: &mut Packing,
    enough_minutes: u32,
) {
    let mut generator = 0x2545_F491_4F6C_DD1D_u64;
    for _ in 0..SWAPS {
        if best.length_minutes <= enough_minutes || order.len() < 2 {
            return;
        }
        let (a, b) = (
            draw(&mut generator, order.len()),
            draw(&mut generator, order.len()),
        );
        order.swap(a, b);
        let packing = in_order(tasks, shares, order);
        if packing.length_minutes <= best.length_minutes {
            *best = packing;
        } else {
            order.swap(a, b);
        }
    }
}

/// Xorshift (Marsaglia 2003, from memory), own so that every machine draws the same.
fn draw(state: &mut u64, below: usize) -> usize {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    ((*state >> 33) % below as u64) as usize
}

fn in_order(tasks: &[Task], shares: &[f64], order: &[usize]) -> Packing {
    let mut drawn: Vec<f64> = Vec::new();
    let mut packing = Packing::default();
    for &i in order {
        let mut ready = 0;
        for _ in 0..tasks[i].cycles {
            let length = tasks[i].minutes_each as usize;
            let start = earliest(&drawn, ready, length, shares[i]);
            take(&mut drawn, start, length, shares[i]);
            ready = start + length + tasks[i].soak_minutes as usize;
            packing.runs.push(Run {
                station: tasks[i].station,
                start_minute: start as u32,
                minutes: tasks[i].minutes_each,
            });
        }
    }
    packing.length_minutes = drawn.len() as u32;
    packing
}

/// First minute from `ready` on from which `share` is free for `length` minutes.
fn earliest(drawn: &[f64], ready: usize, length: usize, share: f64) -> usize {
    let mut start = ready;
    loop {
        let end = (start + length).min(drawn.len());
        let blocked = drawn.get(start..end).and_then(|minutes| {
            minutes
                .iter()
                .rposition(|used| used + share > 1.0 + TOLERANCE)
        });
        match blocked {
            Some(offset) => start += offset + 1,
            None => return start,
        }
    }
}

fn take(drawn: &mut Vec<f64>, start: usize, length: usize, share: f64) {
    if drawn.len() < start + length {
        drawn.resize(start + length, 0.0);
    }
    for used in &mut drawn[start..start + length] {
        *used += share;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn task(station: usize, flow_lpm: f64, minutes: u32) -> Task {
        Task {
            station,
            flow_lpm,
            cycles: 1,
            minutes_each: minutes,
            soak_minutes: 0,
        }
    }

    fn random_day(seed: u64, stations: usize) -> Vec<Task> {
        let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
        (0..stations)
            .map(|i| {
                let flow = 15.0 + draw(&mut state, 56) as f64;
                task(i, flow, 8 + draw(&mut state, 23) as u32)
            })
            .collect()
    }

    fn overdrawn(packing: &Packing, tasks: &[Task], design_lpm: f64) -> bool {
        (0..packing.length_minutes).any(|minute| {
            let open = packing
                .runs
                .iter()
                .filter(|run| (run.start_minute..run.start_minute + run.minutes).contains(&minute));
            let flows: Vec<f64> = open.map(|run| tasks[run.station].flow_lpm).collect();
            flows.len() > 1 && flows.iter().sum::<f64>() > design_lpm * (1.0 + 1e-6)
        })
    }

    #[test]
    fn halves_run_in_pairs() {
        let tasks: Vec<Task> = (0..4).map(|i| task(i, 50.0, 10)).collect();
        assert_eq!(pack(&tasks, 100.0, 0).length_minutes, 20);
    }

    #[test]
    fn a_station_beyond_the_supply_and_all_without_one_run_alone() {
        assert_eq!(
            pack(&[task(0, 150.0, 10), task(1, 1.0, 5)], 100.0, 0).length_minutes,
            15
        );
        assert_eq!(
            pack(&[task(0, 1.0, 10), task(1, 1.0, 5)], 0.0, 0).length_minutes,
            15
        );
        assert_eq!(pack(&[], 100.0, 0).length_minutes, 0);
    }

    #[test]
    fn another_station_runs_in_the_pause() {
        let pausing = Task {
            cycles: 2,
            soak_minutes: 20,
            ..task(0, 100.0, 10)
        };
        let packing = pack(&[pausing, task(1, 100.0, 20)], 100.0, 0);
        assert_eq!(packing.length_minutes, 40);
    }

    #[test]
    fn near_the_bound_on_forty_days_of_each_size() {
        for stations in [8, 16, 32] {
            for seed in 1..=40 {
                let tasks = random_day(seed, stations);
                let length = f64::from(pack(&tasks, 100.0, 0).length_minutes);
                let bound = bound_minutes(&tasks, 100.0);
                assert!(
                    length <= 1.25 * bound,
                    "{stations} {seed}: {length} over {bound}"
                );
            }
        }
    }

    proptest! {
        #[test]
        fn never_overdrawn_and_never_below_the_bound(seed in 1_u64..100_000, stations in 1_usize..12, cycles in 1_u32..4, soak in 0_u32..40) {
            let mut tasks = random_day(seed, stations);
            for task in tasks.iter_mut().step_by(2) {
                (task.cycles, task.soak_minutes) = (cycles, soak);
            }
            let packing = pack(&tasks, 100.0, 0);
            prop_assert!(!overdrawn(&packing, &tasks, 100.0));
            prop_assert!(f64::from(packing.length_minutes) >= bound_minutes(&tasks, 100.0));
            for task in &tasks {
                let runs: Vec<&Run> = packing.runs.iter().filter(|run| run.station == task.station).collect();
                prop_assert_eq!(runs.len(), task.cycles as usize);
                for pair in runs.windows(2) {
                    prop_assert!(pair[1].start_minute >= pair[0].start_minute + pair[0].minutes + task.soak_minutes);
                }
            }
        }
    }
}
