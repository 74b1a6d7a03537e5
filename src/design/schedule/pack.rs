//! Packing: which stations run together on a watering day, so that the day is short and the supply never overdrawn.
//!
//! List scheduling over whole minutes: in some order each station starts as early as it fits; several orders, then seeded
//! swaps. Which stations bear one another's pressure is asked of [`Sets`].

use super::together::Sets;
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
/// A station with more flow than `design_lpm` runs alone; so do all when `design_lpm` is not above 0. Only stations whose
/// flows fit and whose set may run are open at once.
pub fn pack(tasks: &[Task], design_lpm: f64, enough_minutes: u32, sets: &mut Sets) -> Packing {
    let shares = shares(tasks, design_lpm);
    let enough = enough_minutes.max(bound_minutes(tasks, design_lpm).ceil() as u32);
    let mut best_order = Vec::new();
    let mut best = Packing {
        runs: Vec::new(),
        length_minutes: u32::MAX,
    };
    for order in orders(tasks, &shares) {
        let packing = in_order(tasks, &shares, &order, sets);
        if packing.length_minutes < best.length_minutes {
            (best, best_order) = (packing, order);
        }
    }
    improve(tasks, &shares, &mut best_order, &mut best, enough, sets);
    best.runs.sort_by_key(|run| (run.start_minute, run.station));
    best
}

/// Whether two stations' flows fit the supply together.
pub fn flows_fit(a_lpm: f64, b_lpm: f64, design_lpm: f64) -> bool {
    a_lpm + b_lpm <= design_lpm * (1.0 + TOLERANCE)
}

/// No packing can be shorter than this, min, even where every set of stations may run.
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
    sets: &mut Sets,
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
        let packing = in_order(tasks, shares, order, sets);
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

/// What is open in one minute.
#[derive(Debug, Clone, Copy)]
struct Minute {
    /// Share of the supply that is drawn.
    drawn: f64,
    /// The stations, as numbered by [`Sets`].
    open: usize,
}

fn in_order(tasks: &[Task], shares: &[f64], order: &[usize], sets: &mut Sets) -> Packing {
    let mut day: Vec<Minute> = Vec::new();
    let mut packing = Packing::default();
    for &i in order {
        let mut ready = 0;
        for _ in 0..tasks[i].cycles {
            let length = tasks[i].minutes_each as usize;
            let start = earliest(&day, ready, length, shares[i], &mut |open| {
                sets.join(open, tasks[i].station).is_some()
            });
            take(&mut day, start, length, shares[i], &mut |open| {
                sets.join(open, tasks[i].station).unwrap_or(open)
            });
            ready = start + length + tasks[i].soak_minutes as usize;
            packing.runs.push(Run {
                station: tasks[i].station,
                start_minute: start as u32,
                minutes: tasks[i].minutes_each,
            });
        }
    }
    packing.length_minutes = day.len() as u32;
    packing
}

/// First minute from `ready` on from which `share` is free for `length` minutes beside stations that `bear` one more.
fn earliest(
    day: &[Minute],
    ready: usize,
    length: usize,
    share: f64,
    bear: &mut impl FnMut(usize) -> bool,
) -> usize {
    let mut start = ready;
    let mut last = (Sets::NONE, true); // neighbouring minutes mostly have the same stations
    let mut fits = |minute: &Minute| {
        if minute.drawn + share > 1.0 + TOLERANCE {
            return false;
        }
        if minute.open != last.0 {
            last = (minute.open, bear(minute.open));
        }
        last.1
    };
    loop {
        let end = (start + length).min(day.len());
        let blocked = day
            .get(start..end)
            .and_then(|minutes| minutes.iter().rposition(|minute| !fits(minute)));
        match blocked {
            Some(offset) => start += offset + 1,
            None => return start,
        }
    }
}

fn take(
    day: &mut Vec<Minute>,
    start: usize,
    length: usize,
    share: f64,
    join: &mut impl FnMut(usize) -> usize,
) {
    if day.len() < start + length {
        let idle = Minute {
            drawn: 0.0,
            open: Sets::NONE,
        };
        day.resize(start + length, idle);
    }
    for minute in &mut day[start..start + length] {
        minute.drawn += share;
        minute.open = join(minute.open);
    }
}

#[cfg(test)]
mod tests;
