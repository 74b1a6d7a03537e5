//! Random stations: trees and rings of pipe on hilly ground, sized about as a designer would.

use super::super::told::{Friction, Kind, Pipe, Told};
use swardline::design::hydraulics::{Node, Outlet};

/// Inside diameters of small plastic pipe, mm.
const SIZES_MM: [f64; 8] = [15.8, 20.9, 26.6, 35.1, 40.9, 52.5, 77.9, 102.3];

/// A generator of its own, so that a network can be told by its seed. Knuth's constants (The Art of Computer
/// Programming vol. 2, 3.3.4, from memory).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        dice.share();
        dice
    }

    pub fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }

    pub fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count - 1)
    }
}

/// What kind of network is wanted.
#[derive(Debug, Clone, Copy)]
pub struct Wish {
    /// Pipes more than a tree has.
    pub loops: usize,
    pub friction: Friction,
    /// Exponent of all outlets.
    pub exponent: f64,
    /// Head of the source, from and to, m. Ground lies between 0 and 25 m.
    pub source_m: (f64, f64),
}

/// A looped or branched pipe network behind one reservoir (node 0), with heads, some behind joints, and a few fixed
/// demands. Link `i` leads to node `i + 1`; loops come after.
pub fn draw(dice: &mut Dice, wish: &Wish) -> Told {
    let nodes = 3 + dice.below(58);
    let mut told = Told::new(wish.friction, wish.exponent);
    told.add_node(Node::reservoir(
        dice.between(wish.source_m.0, wish.source_m.1),
    ));
    for _ in 1..nodes {
        let node = node(dice, wish.exponent);
        told.add_node(node);
    }
    // Near relatives: long branches, as laterals are.
    let parents: Vec<usize> = (1..nodes)
        .map(|node| node - 1 - dice.below(node.min(5)))
        .collect();
    let behind = behind(&parents);
    for (index, &parent) in parents.iter().enumerate() {
        let pipe = pipe(dice, wish.friction, behind[index + 1]);
        told.add_link(parent, index + 1, Kind::Pipe(pipe));
    }
    for _ in 0..wish.loops {
        let (from, to) = (dice.below(nodes), dice.below(nodes));
        if from != to {
            let behind = 1 + dice.below(nodes);
            let pipe = pipe(dice, wish.friction, behind);
            told.add_link(from, to, Kind::Pipe(pipe));
        }
    }
    told
}

fn node(dice: &mut Dice, exponent: f64) -> Node {
    let elevation_m = dice.between(0.0, 25.0);
    match dice.below(10) {
        0 => Node::junction(elevation_m, dice.between(0.0, 1e-4)),
        1..4 => Node::junction(elevation_m, 0.0),
        _ => {
            let joint = dice.below(2) == 0;
            // 4 to 25 L/min at 30 m, whatever the exponent.
            let flow_m3s = dice.between(4.0, 25.0) / 60_000.0;
            Node::junction(elevation_m, 0.0).with_outlet(Outlet {
                elevation_m: elevation_m + if joint { 0.3 } else { 0.0 },
                k: flow_m3s / 30f64.powf(exponent),
                exponent,
                // Up to 3 m at that flow.
                resistance: if joint {
                    dice.between(0.1, 3.0) / (flow_m3s * flow_m3s)
                } else {
                    0.0
                },
            })
        }
    }
}

/// Nodes behind each node, itself with them.
fn behind(parents: &[usize]) -> Vec<usize> {
    let mut behind = vec![1; parents.len() + 1];
    for (index, &parent) in parents.iter().enumerate().rev() {
        behind[parent] += behind[index + 1];
    }
    behind
}

/// A pipe for a dozen L/min to each of `nodes` at about 1.5 m/s, now and then a size off.
fn pipe(dice: &mut Dice, friction: Friction, nodes: usize) -> Pipe {
    let wanted_mm =
        (12.0 * nodes as f64 / 60_000.0 / 1.5 * 4.0 / std::f64::consts::PI).sqrt() * 1e3;
    let fitting = SIZES_MM.partition_point(|&size| size < wanted_mm);
    let size = (fitting + dice.below(3)).saturating_sub(1);
    Pipe {
        length_m: dice.between(0.5, 25.0),
        inside_mm: SIZES_MM[size.min(SIZES_MM.len() - 1)],
        roughness: match friction {
            Friction::HazenWilliams => dice.between(100.0, 150.0),
            Friction::DarcyWeisbach { .. } => dice.between(0.0, 0.15),
        },
        minor_k: dice.between(0.0, 4.0),
    }
}
