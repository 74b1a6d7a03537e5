//! Two published networks with loops, as they are told to the sizing; units as printed there.

use swardline::brief::{Friction, PipeSize};
use swardline::design::sizing::{LoopedNode, LoopedPipe, LoopedProblem};

/// A network and the sizes on offer.
pub struct Published {
    /// Nodes and pipes.
    pub problem: LoopedProblem,
    /// Sizes.
    pub sizes: Vec<PipeSize>,
}

fn size(inches: f64, price_per_m: f64) -> PipeSize {
    PipeSize {
        nominal: format!("{inches} in"),
        material: "iron".into(),
        outside_mm: 25.4 * inches,
        inside_mm: 25.4 * inches,
        roughness_c: 130.0,
        roughness_mm: 0.0015,
        friction: Friction::HazenWilliams,
        rating_kpa: 1000.0,
        coil_m: 6.0,
        price_per_m,
        only_laid: false,
    }
}

/// The first node is the source; each other needs 30 m.
fn published(
    head_m: f64,
    nodes: &[(f64, f64)],
    pipes: &[(usize, usize, f64)],
    sizes: Vec<PipeSize>,
) -> Published {
    let node = |elevation_m: f64, demand_m3h: f64, fixed_head_m: Option<f64>| LoopedNode {
        elevation_m,
        demand_m3s: demand_m3h / 3600.0,
        least_pressure_m: 30.0,
        fixed_head_m,
    };
    let source = node(head_m, 0.0, Some(head_m));
    let others = nodes
        .iter()
        .map(|&(elevation_m, demand_m3h)| node(elevation_m, demand_m3h, None));
    let pipe = |&(from, to, length_m): &(usize, usize, f64)| LoopedPipe {
        from: from - 1,
        to: to - 1,
        length_m,
        offered: (0..sizes.len()).collect(),
    };
    let problem = LoopedProblem {
        nodes: std::iter::once(source).chain(others).collect(),
        pipes: pipes.iter().map(pipe).collect(),
    };
    Published { problem, sizes }
}

/// Nodes 2 and on: height m, demand m³/h.
const TWO_LOOPS_NODES: [(f64, f64); 6] = [
    (150.0, 100.0),
    (160.0, 100.0),
    (155.0, 120.0),
    (150.0, 270.0),
    (165.0, 330.0),
    (160.0, 200.0),
];

/// From, to, length m.
const TWO_LOOPS_PIPES: [(usize, usize, f64); 8] = [
    (1, 2, 1000.0),
    (2, 3, 1000.0),
    (2, 4, 1000.0),
    (4, 5, 1000.0),
    (4, 6, 1000.0),
    (6, 7, 1000.0),
    (3, 5, 1000.0),
    (7, 5, 1000.0),
];

/// Inches, price per metre.
const TWO_LOOPS_SIZES: [(f64, f64); 14] = [
    (1.0, 2.0),
    (2.0, 5.0),
    (3.0, 8.0),
    (4.0, 11.0),
    (6.0, 16.0),
    (8.0, 23.0),
    (10.0, 32.0),
    (12.0, 50.0),
    (14.0, 60.0),
    (16.0, 90.0),
    (18.0, 130.0),
    (20.0, 170.0),
    (22.0, 300.0),
    (24.0, 550.0),
];

/// Alperovits and Shamir 1977, Water Resour. Res. 13(6):885: eight pipes of 1000 m, 14 sizes, two loops, source 210 m.
pub fn two_loops() -> Published {
    let sizes = TWO_LOOPS_SIZES
        .map(|(inches, price)| size(inches, price))
        .to_vec();
    published(210.0, &TWO_LOOPS_NODES, &TWO_LOOPS_PIPES, sizes)
}

/// Nodes 2 and on: height m, demand m³/h.
const HANOI_NODES: [(f64, f64); 31] = [
    (0.0, 890.0),
    (0.0, 850.0),
    (0.0, 130.0),
    (0.0, 725.0),
    (0.0, 1005.0),
    (0.0, 1350.0),
    (0.0, 550.0),
    (0.0, 525.0),
    (0.0, 525.0),
    (0.0, 500.0),
    (0.0, 560.0),
    (0.0, 940.0),
    (0.0, 615.0),
    (0.0, 280.0),
    (0.0, 310.0),
    (0.0, 865.0),
    (0.0, 1345.0),
    (0.0, 60.0),
    (0.0, 1275.0),
    (0.0, 930.0),
    (0.0, 485.0),
    (0.0, 1045.0),
    (0.0, 820.0),
    (0.0, 170.0),
    (0.0, 900.0),
    (0.0, 370.0),
    (0.0, 290.0),
    (0.0, 360.0),
    (0.0, 360.0),
    (0.0, 105.0),
    (0.0, 805.0),
];

/// From, to, length m.
const HANOI_PIPES: [(usize, usize, f64); 34] = [
    (1, 2, 100.0),
    (2, 3, 1350.0),
    (3, 4, 900.0),
    (4, 5, 1150.0),
    (5, 6, 1450.0),
    (6, 7, 450.0),
    (7, 8, 850.0),
    (8, 9, 850.0),
    (9, 10, 800.0),
    (10, 11, 950.0),
    (11, 12, 1200.0),
    (12, 13, 3500.0),
    (10, 14, 800.0),
    (14, 15, 500.0),
    (15, 16, 550.0),
    (17, 16, 2730.0),
    (18, 17, 1750.0),
    (19, 18, 800.0),
    (3, 19, 400.0),
    (3, 20, 2200.0),
    (20, 21, 1500.0),
    (21, 22, 500.0),
    (20, 23, 2650.0),
    (23, 24, 1230.0),
    (24, 25, 1300.0),
    (26, 25, 850.0),
    (27, 26, 300.0),
    (16, 27, 750.0),
    (23, 28, 1500.0),
    (28, 29, 2000.0),
    (29, 30, 1600.0),
    (30, 31, 150.0),
    (32, 31, 860.0),
    (25, 32, 950.0),
];

/// Fujiwara and Khang 1990, Water Resour. Res. 26(4):539: 34 pipes, six sizes at 1.1 D^1.5 a metre (D in inches), three
/// loops, source 100 m.
pub fn hanoi() -> Published {
    let sizes = [12.0, 16.0, 20.0, 24.0, 30.0, 40.0_f64]
        .map(|inches| size(inches, 1.1 * inches.powf(1.5)))
        .to_vec();
    published(100.0, &HANOI_NODES, &HANOI_PIPES, sizes)
}
