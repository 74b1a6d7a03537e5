//! A comb of laterals on a main, over ground with and without a survey's noise.

use super::*;
use crate::design::model::{Node, NodeKind, Pipe};
use crate::site::noise;
use geo::{Coord, LineString};

/// Half of the ground, m.
const HALF_M: f64 = 60.0;

/// Lays pipe and says which node it ends at.
struct Layer(Pipework);

impl Layer {
    fn node(
        &mut self,
        x: f64,
        y: f64,
        kind: NodeKind,
        section: Section,
        terrain: &Terrain,
    ) -> usize {
        let position = Coord { x, y };
        self.0.nodes.push(Node {
            position,
            kind,
            section,
            head: None,
            ground_m: terrain.height_m(position).unwrap(),
            invert_m: 0.0,
            pressure_kpa: None,
            static_kpa: None,
        });
        self.0.nodes.len() - 1
    }

    fn pipe(&mut self, from: usize, to: usize, section: Section) {
        let ends = [from, to].map(|node| self.0.nodes[node].position);
        self.0.pipes.push(Pipe {
            section,
            from,
            to,
            trenches: Vec::new(),
            line: LineString::from(ends.to_vec()),
            length_m: 0.0,
            size: 0,
            minor_k: 0.0,
            flow_lpm: 0.0,
            velocity_m_s: 0.0,
            loss_kpa: 0.0,
        });
    }
}

/// A main along the middle, with six stations of two arms each.
fn comb(terrain: &Terrain) -> Pipework {
    let mut laid = Layer(Pipework::default());
    let mut at = laid.node(-50.0, 0.0, NodeKind::Source, Section::Main, terrain);
    for station in 0..6 {
        let (x, section) = (
            -45.0 + 18.0 * f64::from(station as u32),
            Section::Station(station),
        );
        let valve = laid.node(x, 0.0, NodeKind::Valve, section, terrain);
        laid.pipe(at, valve, Section::Main);
        at = valve;
        for side in [-1.0, 1.0] {
            let mut from = valve;
            for step in 1..=9 {
                let y = side * 5.5 * f64::from(step);
                let to = laid.node(x, y, NodeKind::Junction, section, terrain);
                laid.pipe(from, to, section);
                from = to;
            }
        }
    }
    laid.0
}

fn drains(terrain: &Terrain) -> usize {
    let rules = Rules::default();
    grade_sections(
        &mut comb(terrain),
        6,
        terrain,
        &Catalogue::built_in(),
        &rules,
    )
    .drains
    .len()
}

fn hills(x: f64, y: f64) -> f64 {
    100.0 + 0.01 * x + 1.4 * (x / 15.0).sin() * (y / 11.0).cos()
}

/// The ground with noise that is normal, by the sum of twelve, of a generator of our own.
fn surveyed(height_m: fn(f64, f64) -> f64, noise_m: f64, seed: u64) -> Terrain {
    let mut terrain = Terrain::of_function(HALF_M, height_m);
    let mut state = seed;
    let mut share = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 31)
    };
    for height in &mut terrain.heights_m {
        let normal = (0..12).map(|_| share()).sum::<f64>() - 6.0;
        *height += (noise_m * normal) as f32;
    }
    let _ = noise::level(&mut terrain, &Rules::default());
    terrain
}

#[test]
fn five_centimetres_of_noise_add_no_drain() {
    let grounds: [fn(f64, f64) -> f64; 3] = [
        hills,
        |x, y| 90.0 + 0.02 * x + 0.03 * y,
        |x, _| 80.0 + 0.004 * x,
    ];
    for (number, ground) in grounds.into_iter().enumerate() {
        let quiet = drains(&Terrain::of_function(HALF_M, ground));
        for seed in 1..=5 {
            let noisy = drains(&surveyed(ground, 0.05, seed));
            assert!(
                noisy <= quiet,
                "ground {number}, seed {seed}: {noisy} for {quiet}"
            );
        }
    }
}
