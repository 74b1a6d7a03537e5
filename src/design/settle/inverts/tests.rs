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
            let mut surveyed = noise::noisy(HALF_M, ground, 0.05, seed);
            let told = noise::level(&mut surveyed, &Rules::default());
            assert!(told.is_some());
            let noisy = drains(&surveyed);
            assert!(
                noisy <= quiet,
                "ground {number}, seed {seed}: {noisy} for {quiet}"
            );
        }
    }
}
