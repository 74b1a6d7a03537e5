use super::levels::{Chosen, choose};
use super::*;
use proptest::prelude::*;

/// A generator of our own, so that every run sees the same ground.
struct Dice(u64);

impl Dice {
    fn share(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) as f64 / f64::from(1_u32 << 31)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.share() * count as f64) as usize % count
    }

    /// Normal, by the sum of twelve.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
}

fn line(ground_m: &[f64], spacing_m: f64) -> (Vec<LevelNode>, Vec<LevelPipe>) {
    let nodes = ground_m.iter().map(|&ground_m| node(ground_m)).collect();
    let pipes = (1..ground_m.len())
        .map(|to| pipe(to - 1, to, spacing_m))
        .collect();
    (nodes, pipes)
}

fn node(ground_m: f64) -> LevelNode {
    LevelNode {
        ground_m,
        cover_min_m: 0.25,
        cover_max_m: 0.60,
        fixed_invert_m: None,
    }
}

fn pipe(from: usize, to: usize, length_m: f64) -> LevelPipe {
    LevelPipe {
        from,
        to,
        length_m,
        bore_area_m2: 0.001,
    }
}

fn drain_count(ground_m: &[f64], spacing_m: f64) -> usize {
    let (nodes, pipes) = line(ground_m, spacing_m);
    let grading = grade(&nodes, &pipes, &GradeRules::default());
    assert_eq!(grading.relaxed, 0);
    grading.drains.len()
}

#[test]
fn flat_ground_drains_at_one_point_and_a_slope_at_its_foot() {
    assert_eq!(drain_count(&[50.0; 100], 3.0), 1);
    // Pieces shorter than a step of the grid at the grade must not breed drains.
    assert_eq!(drain_count(&[50.0; 100], 0.3), 1);
    let slope: Vec<f64> = (0..60).map(|i| 80.0 - 0.05 * f64::from(i)).collect();
    let (nodes, pipes) = line(&slope, 2.0);
    let grading = grade(&nodes, &pipes, &GradeRules::default());
    assert_eq!(grading.drains.len(), 1);
    assert_eq!(grading.drains[0].node, 59);
    // 118 m of 1 L/m, gravel with 35 % voids.
    assert!((grading.drains[0].drained_l - 118.0).abs() < 1e-9);
    assert!((grading.drains[0].gravel_l - 118.0 / 0.35).abs() < 1e-9);
}

#[test]
fn a_wave_has_a_drain_in_each_trough_and_a_vent_on_each_crest_between() {
    let wave: Vec<f64> = (0..121)
        .map(|i| 20.0 + 1.5 * (f64::from(i) / 120.0 * 3.0 * std::f64::consts::TAU).cos())
        .collect();
    let (nodes, pipes) = line(&wave, 2.5);
    let grading = grade(&nodes, &pipes, &GradeRules::default());
    assert_eq!(grading.drains.len(), 3);
    assert_eq!(grading.highs, vec![40, 80]);
    let litres: f64 = grading.drains.iter().map(|drain| drain.drained_l).sum();
    assert!(
        (litres - 300.0).abs() < 1e-9,
        "all the water leaves: {litres}"
    );
}

/// Survey noise of 0.08 m on 300 m, every 5 m: 4 drains on flat ground and 2 on a slope of 2 %, where the pipe parallel
/// to the ground would have some 21 (orders of magnitude of one prototype, other noise).
#[test]
fn noise_does_not_breed_drains() {
    for seed in 1..6 {
        let mut dice = Dice(seed);
        let flat: Vec<f64> = (0..61).map(|_| 0.08 * dice.normal()).collect();
        assert!(drain_count(&flat, 5.0) <= 7);
        let slope: Vec<f64> = (0..61)
            .map(|i| 0.1 * f64::from(i) + 0.08 * dice.normal())
            .collect();
        assert!(drain_count(&slope, 5.0) <= 3);
    }
}

#[test]
fn a_pipe_that_cannot_keep_the_grade_is_counted_and_the_fixed_invert_stands() {
    let (mut nodes, pipes) = line(&[10.0, 10.0, 10.0], 20.0);
    nodes[0].fixed_invert_m = Some(9.70);
    nodes[1].fixed_invert_m = Some(9.70);
    let grading = grade(&nodes, &pipes, &GradeRules::default());
    assert_eq!(grading.relaxed, 1);
    assert_eq!(&grading.invert_m[..2], &[9.70, 9.70]);
    assert_eq!(grading.drains.len(), 1);
}

#[test]
fn ground_that_never_freezes_gets_least_cover_and_one_flushing_point() {
    let (nodes, pipes) = line(&[10.0, 11.0, 9.0, 12.0], 5.0);
    let rules = GradeRules {
        must_drain: false,
        ..GradeRules::default()
    };
    let grading = grade(&nodes, &pipes, &rules);
    assert_eq!(grading.invert_m, vec![9.75, 10.75, 8.75, 11.75]);
    assert_eq!(grading.drains.len(), 1);
    assert_eq!(
        (grading.drains[0].node, grading.drains[0].gravel_l),
        (2, 0.0)
    );
    assert!(
        (grading.drains[0].drained_l - 10.0).abs() < 1e-9,
        "two pieces of 5 L run there"
    );
    assert_eq!(grading.highs, vec![1]);
}

#[test]
fn nonsense_is_no_trouble() {
    assert_eq!(grade(&[], &[], &GradeRules::default()), Grading::default());
    let mut nodes = vec![node(f64::NAN), node(3.0)];
    nodes[1].cover_max_m = f64::NEG_INFINITY;
    let pipes = [pipe(0, 7, 1.0), pipe(1, 1, 1.0), pipe(0, 1, f64::NAN)];
    let rules = GradeRules {
        grade: f64::NAN,
        step_m: f64::NAN,
        tolerance_m: f64::NAN,
        gravel_voids: 0.0,
        must_drain: true,
    };
    let grading = grade(&nodes, &pipes, &rules);
    assert!(grading.invert_m.iter().all(|level_m| level_m.is_finite()));
    assert_eq!(grading.drains.len(), 1);
    nodes[0].ground_m = -1e300;
    nodes[1].fixed_invert_m = Some(1e300);
    let endless = [pipe(0, 1, 1e300)];
    let rules = GradeRules {
        grade: 1e300,
        ..GradeRules::default()
    };
    assert_eq!(grade(&nodes, &endless, &rules).drains.len(), 1);
}

#[test]
fn a_shallow_low_is_levelled_and_its_water_runs_on() {
    let level_m = [1.0, 0.50, 0.515, 0.40, 1.0];
    let edges = [(0, 1), (1, 2), (2, 3), (3, 4)];
    let found = basins(&level_m, &edges, 0.02);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].low, 3);
    assert_eq!(basins(&level_m, &edges, 0.015).len(), 2);
    let pipes: Vec<LevelPipe> = edges.iter().map(|&(a, b)| pipe(a, b, 1.0)).collect();
    let drains = lows::drains(&level_m, &pipes, &GradeRules::default());
    assert!((drains[0].drained_l - 4.0).abs() < 1e-9);
}

/// Each part of the graph on its own: local minima of levels, plateaus counted once.
fn minima(level: &[i64], pipes: &[LevelPipe]) -> usize {
    (0..level.len())
        .filter(|&start| {
            let mut flat = vec![start];
            let mut next = 0;
            while next < flat.len() {
                for pipe in pipes {
                    for (a, b) in [(pipe.from, pipe.to), (pipe.to, pipe.from)] {
                        if a == flat[next] && level[b] < level[a] {
                            return false;
                        }
                        if a == flat[next] && level[b] == level[a] && !flat.contains(&b) {
                            flat.push(b);
                        }
                    }
                }
                next += 1;
            }
            flat.iter().all(|&node| node >= start)
        })
        .count()
}

/// Pipes without grade, drains, digging in mm·m.
fn worth(
    level: &[i64],
    bands: &[Band],
    pipes: &[LevelPipe],
    chosen: &Chosen,
) -> (usize, usize, i64) {
    let relaxed = pipes
        .iter()
        .zip(&chosen.fall)
        .filter(|(pipe, fall)| (level[pipe.from] - level[pipe.to]).abs() < fall.unwrap())
        .count();
    let dug = pipes.iter().map(|pipe| {
        let depth_m = |node: usize| bands[node].top_m - level[node] as f64 * chosen.step_m;
        (depth_m(pipe.from) + depth_m(pipe.to)) / 2.0 * pipe.length_m
    });
    let dug = (dug.sum::<f64>() * 1000.0).round() as i64;
    (relaxed, minima(level, pipes), dug)
}

#[test]
fn no_other_choice_of_levels_is_better_on_small_trees() {
    let mut dice = Dice(99);
    for _ in 0..150 {
        let count = 3 + dice.below(4);
        let bands: Vec<Band> = (0..count)
            .map(|_| {
                let top = dice.below(9) as f64;
                let high = dice.below(4) as f64;
                Band {
                    bottom_m: (top - high) / 100.0,
                    top_m: top / 100.0,
                    fixed: false,
                }
            })
            .collect();
        let pipes: Vec<LevelPipe> = (1..count)
            .map(|to| pipe(dice.below(to), to, 1.0 + dice.below(5) as f64))
            .collect();
        let rules = GradeRules {
            grade: 0.005,
            step_m: 0.01,
            ..GradeRules::default()
        };
        let chosen = choose(&bands, &pipes, &rules, rules.step_m, &[]);
        let found = worth(&chosen.level, &bands, &pipes, &chosen);
        assert_eq!(found.0, chosen.relaxed);
        let first: Vec<i64> = bands
            .iter()
            .map(|b| (b.bottom_m * 100.0).round() as i64)
            .collect();
        let last: Vec<i64> = bands
            .iter()
            .map(|b| (b.top_m * 100.0).round() as i64)
            .collect();
        let mut level = first.clone();
        loop {
            let other = worth(&level, &bands, &pipes, &chosen);
            assert!(found <= other, "{found:?} found, {other:?} by {level:?}");
            let Some(turn) = (0..count).find(|&i| level[i] < last[i]) else {
                break;
            };
            level[turn] += 1;
            level[..turn].copy_from_slice(&first[..turn]);
        }
    }
}

fn any_tree() -> impl Strategy<Value = (Vec<LevelNode>, Vec<LevelPipe>)> {
    prop::collection::vec(
        (0.0..3.0, 0.05..1.2, 0.0..8.0, 0.0..1.0, any::<bool>()),
        1..40,
    )
    .prop_map(|rows| {
        let nodes = rows
            .iter()
            .map(|&(ground_m, cover_m, length_m, share, fixed)| LevelNode {
                ground_m,
                cover_min_m: cover_m,
                cover_max_m: cover_m + 0.01 + share / 2.0,
                fixed_invert_m: (fixed && length_m < 0.8).then_some(ground_m - cover_m),
            })
            .collect();
        let pipes = (1..rows.len())
            .map(|to| pipe((rows[to].3 * to as f64) as usize % to, to, rows[to].2))
            .collect();
        (nodes, pipes)
    })
}

proptest! {
    #[test]
    fn cover_is_kept_and_every_low_has_its_drain((nodes, pipes) in any_tree()) {
        let rules = GradeRules::default();
        let grading = grade(&nodes, &pipes, &rules);
        for (node, invert_m) in nodes.iter().zip(&grading.invert_m) {
            prop_assert!((invert_m * 1000.0 - (invert_m * 1000.0).round()).abs() < 1e-6);
            let cover_m = node.ground_m - invert_m;
            match node.fixed_invert_m {
                Some(fixed_m) => prop_assert!((invert_m - fixed_m).abs() <= 0.000_501),
                None => prop_assert!(cover_m > node.cover_min_m - 1e-6 && cover_m < node.cover_max_m + 1e-6),
            }
        }
        let edges: Vec<_> = pipes.iter().map(|pipe| (pipe.from, pipe.to)).collect();
        let lows: Vec<_> = basins(&grading.invert_m, &edges, 0.02).iter().map(|basin| basin.low).collect();
        let drains: Vec<_> = grading.drains.iter().map(|drain| drain.node).collect();
        prop_assert_eq!(lows, drains);
        let litres: f64 = grading.drains.iter().map(|drain| drain.drained_l).sum();
        prop_assert!((litres - pipes.iter().map(|pipe| pipe.length_m).sum::<f64>()).abs() < 1e-6);
    }

    #[test]
    fn the_grade_is_lost_on_no_pipe_by_more_than_a_step((nodes, pipes) in any_tree()) {
        let rules = GradeRules::default();
        let grading = grade(&nodes, &pipes, &rules);
        let short = pipes.iter().filter(|pipe| {
            let fall_m = (grading.invert_m[pipe.from] - grading.invert_m[pipe.to]).abs();
            fall_m < pipe.length_m * rules.grade - rules.step_m - 0.0011
        });
        prop_assert!(short.count() <= grading.relaxed);
    }
}
