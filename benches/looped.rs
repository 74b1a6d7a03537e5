//! Time to size mains with loops, and how far the proof comes: two published networks and grids of invented ones.
//!
//! `cargo bench --bench looped` prints the table of `docs/methods/sizing.md`, section "Looped mains".

#[path = "../tests/reference/looped/published.rs"]
mod published;

use published::{Published, hanoi, two_loops};
use std::time::Instant;
use swardline::brief::{Friction, PipeSize};
use swardline::design::sizing::{LoopedLimits, LoopedNode, LoopedPipe, LoopedProblem, size_looped};

fn size(inside_mm: f64, price_per_m: f64) -> PipeSize {
    PipeSize {
        nominal: format!("{inside_mm}"),
        material: "pe".into(),
        outside_mm: inside_mm + 8.0,
        inside_mm,
        roughness_c: 145.0,
        roughness_mm: 0.0015,
        friction: Friction::HazenWilliams,
        rating_kpa: 1000.0,
        coil_m: 50.0,
        price_per_m,
        only_laid: false,
    }
}

/// Squares of 60 m, `across` by `down`, fed at a corner with 45 m; each crossing draws 0.2 to 0.6 L/s and needs 30 m.
fn grid(across: usize, down: usize) -> Published {
    let mut nodes = Vec::new();
    let mut pipes = Vec::new();
    for row in 0..=down {
        for column in 0..=across {
            let place = nodes.len();
            nodes.push(LoopedNode {
                elevation_m: 0.5 * ((3 * row + 5 * column) % 7) as f64,
                demand_m3s: 0.0002 + 0.0001 * ((7 * row + 3 * column) % 5) as f64,
                least_pressure_m: 30.0,
                fixed_head_m: (place == 0).then_some(45.0),
            });
            let mut lay = |from: usize| {
                pipes.push(LoopedPipe {
                    from,
                    to: place,
                    length_m: 60.0 + ((place * 13) % 11) as f64,
                    offered: (0..6).collect(),
                });
            };
            if column > 0 {
                lay(place - 1);
            }
            if row > 0 {
                lay(place - across - 1);
            }
        }
    }
    let table = [
        (26.0, 2.2),
        (32.6, 3.1),
        (40.8, 4.6),
        (51.4, 7.0),
        (61.4, 9.8),
        (73.6, 13.9),
    ];
    Published {
        problem: LoopedProblem { nodes, pipes },
        sizes: table
            .map(|(inside_mm, price)| size(inside_mm, price))
            .to_vec(),
    }
}

fn main() {
    println!("| network | pipes, loops | found | designs solved | s | bound | gap | boxes | s |");
    let networks = [
        ("two loops", two_loops()),
        ("Hanoi", hanoi()),
        ("grid 1 by 1", grid(1, 1)),
        ("grid 2 by 1", grid(2, 1)),
        ("grid 2 by 2", grid(2, 2)),
        ("grid 3 by 2", grid(3, 2)),
        ("grid 3 by 3", grid(3, 3)),
        ("grid 4 by 4", grid(4, 4)),
    ];
    for (name, network) in networks {
        line(name, &network);
    }
}

fn line(name: &str, network: &Published) {
    let timed = |boxes_most: usize| {
        let limits = LoopedLimits {
            boxes_most,
            ..LoopedLimits::default()
        };
        let begun = Instant::now();
        let sizing = size_looped(&network.problem, &network.sizes, &limits);
        (
            sizing.expect("these networks have sizes"),
            begun.elapsed().as_secs_f64(),
        )
    };
    let (_, found_s) = timed(0);
    let (sizing, all_s) = timed(LoopedLimits::default().boxes_most);
    let (pipes, nodes) = (network.problem.pipes.len(), network.problem.nodes.len());
    println!(
        "| {name} | {pipes}, {} | {:.2} | {} | {found_s:.2} | {:.2} | {:.2} % | {} | {:.2} |",
        pipes + 1 - nodes,
        sizing.cost,
        sizing.work.searched,
        sizing.bound,
        100.0 * sizing.gap(),
        sizing.work.boxes,
        all_s - found_s,
    );
}
