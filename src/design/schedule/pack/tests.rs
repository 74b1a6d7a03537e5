//! Packing, by flow alone and with sets that may not run.

use super::super::together::{Refusal, TogetherCheck};
use super::*;
use crate::design::model::Together;
use proptest::prelude::*;

/// Packs by flow alone.
fn pack(tasks: &[Task], design_lpm: f64, enough_minutes: u32) -> Packing {
    super::pack(tasks, design_lpm, enough_minutes, &mut Sets::new(None))
}

/// Stations whose sum of numbers is a multiple of three may not run together.
#[derive(Debug)]
struct NoThirds;

impl TogetherCheck for NoThirds {
    fn open(&self, stations: &[usize]) -> Result<Together, Refusal> {
        let third = stations.len() > 1 && stations.iter().sum::<usize>() % 3 == 0;
        let told = Together::default();
        if third {
            Err(Refusal::Pressure)
        } else {
            Ok(told)
        }
    }
}

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

/// By hand: 1 and 2 may not meet, though their flows would fit; 0 goes with either.
#[test]
fn stations_that_do_not_bear_one_another_run_apart() {
    let tasks: Vec<Task> = (0..3).map(|i| task(i, 30.0, 10)).collect();
    assert_eq!(pack(&tasks, 100.0, 0).length_minutes, 10);
    let packing = super::pack(&tasks, 100.0, 0, &mut Sets::new(Some(&NoThirds)));
    assert_eq!(packing.length_minutes, 20);
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

    #[test]
    fn no_minute_has_a_set_that_may_not_run(seed in 1_u64..100_000, stations in 2_usize..12) {
        let tasks = random_day(seed, stations);
        let mut sets = Sets::new(Some(&NoThirds));
        sets.allow(100);
        let packing = super::pack(&tasks, 150.0, 0, &mut sets);
        prop_assert!(!overdrawn(&packing, &tasks, 150.0));
        prop_assert!(f64::from(packing.length_minutes) >= bound_minutes(&tasks, 150.0));
        for minute in 0..packing.length_minutes {
            let runs = packing.runs.iter();
            let open = runs.filter(|run| (run.start_minute..run.start_minute + run.minutes).contains(&minute));
            let mut open: Vec<usize> = open.map(|run| run.station).collect();
            open.sort_unstable();
            prop_assert!(open.is_empty() || NoThirds.open(&open).is_ok(), "{:?}", open);
        }
    }
}
