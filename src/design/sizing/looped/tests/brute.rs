//! Against every design there is, each solved by the solver of networks.

use super::*;
use crate::design::sizing::velocity_m_s;

/// Cost of the cheapest of all designs that keep the limits, and how many cost that; `None` where one was not solved.
fn cheapest(
    problem: &LoopedProblem,
    sizes: &[PipeSize],
    velocity_most_m_s: f64,
) -> Option<Option<(f64, usize)>> {
    let mut place = vec![0; problem.pipes.len()];
    let mut best: Option<(f64, usize)> = None;
    loop {
        let pipes = problem.pipes.iter().zip(&place);
        let chosen: Vec<usize> = pipes.map(|(pipe, &at)| pipe.offered[at]).collect();
        let pipes = problem.pipes.iter().zip(&chosen);
        let cost: f64 = pipes
            .map(|(pipe, &size)| sizes[size].price_per_m * pipe.length_m)
            .sum();
        if kept(problem, sizes, &chosen, velocity_most_m_s)? {
            best = match best {
                Some((least, count)) if (cost / least - 1.0).abs() < 1e-9 => {
                    Some((least, count + 1))
                }
                Some((least, count)) if least < cost => Some((least, count)),
                _ => Some((cost, 1)),
            };
        }
        let next =
            (0..place.len()).find(|&pipe| place[pipe] + 1 < problem.pipes[pipe].offered.len());
        let Some(pipe) = next else {
            return Some(best);
        };
        place[pipe] += 1;
        place[..pipe].fill(0);
    }
}

fn kept(
    problem: &LoopedProblem,
    sizes: &[PipeSize],
    chosen: &[usize],
    velocity_most_m_s: f64,
) -> Option<bool> {
    let solution = solved(problem, sizes, chosen)?;
    let mut nodes = problem.nodes.iter().zip(&solution.head_m);
    let mut pipes = chosen.iter().zip(&solution.flow_m3s);
    let high = nodes.all(|(node, head_m)| {
        node.fixed_head_m.is_some() || head_m - node.elevation_m >= node.least_pressure_m - 1e-6
    });
    let slow = pipes
        .all(|(&size, &flow)| velocity_m_s(&sizes[size], flow) <= velocity_most_m_s * (1.0 + 1e-9));
    Some(high && slow)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn every_design_tried_gives_the_same(
        seed: u64, nodes in 2_usize..6, sources in 1_usize..3, fast in prop::bool::ANY, blind in prop::bool::ANY,
    ) {
        // At most five pipes, two loops, three or four sizes.
        let loops = (6 - nodes).min(2);
        let problem = random(seed, nodes, loops, 3 + (seed % 2) as usize, sources);
        let sizes = six();
        let velocity_most_m_s = if fast { f64::INFINITY } else { 1.2 };
        let limits = LoopedLimits {
            velocity_most_m_s,
            // Without a search the proof has to find the design by itself.
            designs_most: if blind { 1 } else { 100_000 },
            count_ties: true,
            ..LoopedLimits::default()
        };
        let found = size_looped(&problem, &sizes, &limits);
        let all = cheapest(&problem, &sizes, velocity_most_m_s);
        prop_assume!(all.is_some());
        match (all.unwrap(), found) {
            (Some((cost, ties)), Ok(found)) => {
                prop_assert!(found.proven, "{found:?}");
                prop_assert!((found.cost / cost - 1.0).abs() < 1e-9, "{cost} {found:?}");
                prop_assert_eq!(kept(&problem, &sizes, &found.sizes, velocity_most_m_s), Some(true));
                prop_assert_eq!(found.ties, Some(ties));
            }
            (None, Err(LoopedError::Short { proven, .. } | LoopedError::Fast { proven, .. })) => {
                prop_assert!(proven);
            }
            (all, found) => prop_assert!(false, "{all:?} {found:?}"),
        }
    }

    /// Cut by sizes alone, or by flows as long as heads are open at all, boxes lead to the same.
    #[test]
    fn however_boxes_are_cut_the_proof_ends_at_the_same(
        seed: u64, nodes in 3_usize..6, by_size: bool,
    ) {
        let problem = random(seed, nodes, 6 - nodes, 4, 1);
        let sizes = six();
        let all = cheapest(&problem, &sizes, f64::INFINITY);
        prop_assume!(all.is_some());
        let all = all.unwrap();
        let laws = Laws::of(&problem, &sizes, f64::INFINITY).unwrap();
        let frame = frame(&problem);
        let mut solver = Solver::new(&problem, &laws, &frame);
        let limits = LoopedLimits { count_ties: true, boxes_most: 200_000, ..LoopedLimits::default() };
        let loose = if by_size { f64::INFINITY } else { 0.01 };
        let proof = prove_by(&mut solver, None, &limits, loose);
        prop_assert!(proof.closed);
        prop_assert_eq!(proof.best.is_some(), all.is_some());
        if let Some((cost, ties)) = all {
            prop_assert!((proof.bound / cost - 1.0).abs() < 1e-9, "{} {cost}", proof.bound);
            prop_assert_eq!(proof.ties, Some(ties));
        }
    }
}
