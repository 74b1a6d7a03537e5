//! What is refused, and what is said of it.

use super::*;

/// Source 30 m; two nodes at 0 m in a ring of three pipes of 100 m, each drawing 0.5 L/s and needing 20 m.
fn ring() -> LoopedProblem {
    let node = |fixed_head_m: Option<f64>| LoopedNode {
        elevation_m: 0.0,
        demand_m3s: 0.0005,
        least_pressure_m: 20.0,
        fixed_head_m,
    };
    let pipe = |from: usize, to: usize| LoopedPipe {
        from,
        to,
        length_m: 100.0,
        offered: (0..6).collect(),
    };
    LoopedProblem {
        nodes: vec![node(Some(30.0)), node(None), node(None)],
        pipes: vec![pipe(0, 1), pipe(1, 2), pipe(2, 0)],
    }
}

fn refused(change: impl FnOnce(&mut LoopedProblem, &mut Vec<PipeSize>)) -> LoopedError {
    let (mut problem, mut sizes) = (ring(), six());
    change(&mut problem, &mut sizes);
    size_looped(&problem, &sizes, &LoopedLimits::default()).unwrap_err()
}

#[test]
fn the_ring_itself_has_sizes() {
    let found = size_looped(&ring(), &six(), &LoopedLimits::default()).unwrap();
    assert!(found.proven);
}

#[test]
fn what_means_nothing_is_refused_with_its_place() {
    assert_eq!(
        refused(|p, _| p.nodes[0].fixed_head_m = None),
        LoopedError::NoSource
    );
    assert_eq!(refused(|p, _| p.nodes.clear()), LoopedError::NoSource);
    assert_eq!(
        refused(|p, _| p.nodes[1].demand_m3s = -1e-4),
        LoopedError::Node(1)
    );
    assert_eq!(
        refused(|p, _| p.nodes[2].elevation_m = f64::NAN),
        LoopedError::Node(2)
    );
    assert_eq!(
        refused(|p, _| p.nodes[0].fixed_head_m = Some(f64::INFINITY)),
        LoopedError::Node(0)
    );
    assert_eq!(refused(|p, _| p.pipes[1].to = 9), LoopedError::Pipe(1));
    assert_eq!(refused(|p, _| p.pipes[1].to = 1), LoopedError::Pipe(1));
    assert_eq!(
        refused(|p, _| p.pipes[2].length_m = 0.0),
        LoopedError::Pipe(2)
    );
    assert_eq!(
        refused(|p, _| p.pipes[0].offered.clear()),
        LoopedError::Offered(0)
    );
    assert_eq!(
        refused(|p, _| p.pipes[0].offered.push(6)),
        LoopedError::Offered(0)
    );
    assert_eq!(
        refused(|p, _| p.pipes[2].offered = vec![1; 65]),
        LoopedError::Offered(2)
    );
    assert_eq!(refused(|_, s| s.clear()), LoopedError::Offered(0));
    assert_eq!(refused(|_, s| s[3].inside_mm = 0.0), LoopedError::Size(3));
    assert_eq!(
        refused(|_, s| s[3].price_per_m = f64::NAN),
        LoopedError::Size(3)
    );
    assert_eq!(
        refused(|p, _| {
            p.pipes.truncate(1);
        }),
        LoopedError::NoSupply(2)
    );
}

#[test]
fn a_velocity_that_is_none_is_refused() {
    for velocity_most_m_s in [0.0, -1.0, f64::NAN] {
        let limits = LoopedLimits {
            velocity_most_m_s,
            ..LoopedLimits::default()
        };
        let refused = size_looped(&ring(), &six(), &limits);
        assert_eq!(refused, Err(LoopedError::Velocity));
    }
}

#[test]
fn what_even_the_widest_cannot_give_is_told_with_place_and_amount() {
    // Node 2 stands 20 m up: it asks for 40 m where the source has 30.
    let LoopedError::Short {
        node,
        short_m,
        proven,
    } = refused(|p, _| p.nodes[2].elevation_m = 20.0)
    else {
        panic!("short");
    };
    let widest = solved(&ring(), &six(), &[5, 5, 5]).unwrap();
    assert!(node == 2 && proven, "{node} {proven}");
    assert!(
        (short_m - (40.0 - widest.head_m[2])).abs() < 1e-6,
        "{short_m}"
    );
}

#[test]
fn what_runs_too_fast_even_in_the_widest_is_told() {
    let limits = LoopedLimits {
        velocity_most_m_s: 0.1,
        ..LoopedLimits::default()
    };
    let refused = size_looped(&ring(), &six(), &limits);
    // 1 L/s through two pipes of 52.5 mm: each runs at 0.231 m/s, by hand.
    let Err(LoopedError::Fast {
        over_m_s, proven, ..
    }) = refused
    else {
        panic!("{refused:?}");
    };
    assert!(proven && (over_m_s - 0.131).abs() < 1e-3, "{over_m_s}");
}

#[test]
fn sources_alone_and_pipes_between_them_are_sized() {
    let mut problem = ring();
    for node in &mut problem.nodes {
        node.fixed_head_m = Some(30.0);
    }
    problem.nodes[1].fixed_head_m = Some(25.0);
    let found = size_looped(&problem, &six(), &LoopedLimits::default()).unwrap();
    // Nothing is asked, so the narrowest do: 3 × 100 m at 1.10.
    assert!(
        found.proven && (found.cost - 330.0).abs() < 1e-9,
        "{found:?}"
    );
    problem.pipes.clear();
    let none = size_looped(&problem, &six(), &LoopedLimits::default()).unwrap();
    assert_eq!((none.cost, none.proven), (0.0, true));
}
