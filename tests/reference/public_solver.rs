//! Random stations, trees and loops, solved here and by EPANET, where Python and `owa-epanet` are installed.

use super::python;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use swardline::design::hydraulics::friction::Bore;
use swardline::design::hydraulics::{Element, Network, Node, Outlet, solve};

/// Prints the head at every node, one line a file; no water is drawn in.
const SCRIPT: &str = "
import sys
from epanet import toolkit as en
for path in sys.argv[1:]:
    project = en.createproject()
    en.open(project, path, path + '.rpt', '')
    en.setoption(project, en.EMITBACKFLOW, 0)
    en.solveH(project)
    count = en.getcount(project, en.NODECOUNT)
    heads = {en.getnodeid(project, i): en.getnodevalue(project, i, en.HEAD) for i in range(1, count + 1)}
    print(' '.join(repr(heads[str(i)]) for i in range(count)))
    en.close(project)
    en.deleteproject(project)
";

/// Knuth's constants (The Art of Computer Programming vol. 2, 3.3.4, from memory).
struct Dice(u64);

impl Dice {
    fn between(&mut self, least: f64, most: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        least + (most - least) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.between(0.0, count as f64) as usize).min(count - 1)
    }
}

/// What both solvers are told.
struct Drawn {
    source_head_m: f64,
    /// Height m, L/s per √m.
    nodes: Vec<(f64, f64)>,
    /// From, to, length m, inside mm, minor K.
    pipes: Vec<(usize, usize, f64, f64, f64)>,
}

fn draw(seed: u64) -> Drawn {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let nodes = 3 + dice.below(40);
    let loops = if seed.is_multiple_of(2) {
        0
    } else {
        1 + dice.below(5)
    };
    let mut drawn = Drawn {
        source_head_m: dice.between(50.0, 80.0),
        nodes: (1..nodes)
            .map(|_| {
                let head = dice.below(3) > 0;
                let k = if head { dice.between(0.01, 0.06) } else { 0.0 };
                (dice.between(0.0, 12.0), k)
            })
            .collect(),
        pipes: Vec::new(),
    };
    for to in 1..nodes {
        let from = dice.below(to);
        drawn.add_pipe(&mut dice, from, to);
    }
    for _ in 0..loops {
        let (from, to) = (dice.below(nodes), dice.below(nodes));
        if from != to {
            drawn.add_pipe(&mut dice, from, to);
        }
    }
    drawn
}

impl Drawn {
    fn add_pipe(&mut self, dice: &mut Dice, from: usize, to: usize) {
        let inside_mm = [26.6, 35.1, 40.9, 52.5][dice.below(4)];
        let (length_m, minor_k) = (dice.between(1.0, 20.0), dice.between(0.0, 2.0));
        self.pipes.push((from, to, length_m, inside_mm, minor_k));
    }

    fn network(&self) -> Network<'static> {
        let mut network = Network::default();
        network.add_node(Node::reservoir(self.source_head_m));
        for &(elevation_m, k) in &self.nodes {
            let mut node = Node::junction(elevation_m, 0.0);
            node.outlet = (k > 0.0).then_some(Outlet {
                elevation_m,
                k: k / 1e3,
                exponent: 0.5,
                resistance: 0.0,
            });
            network.add_node(node);
        }
        for &(from, to, length_m, inside_mm, minor_k) in &self.pipes {
            let bore = Bore::hazen_williams(inside_mm / 1e3, 145.0).unwrap();
            let element = Element::Pipe {
                length_m,
                bore,
                minor_k,
            };
            network.add_link(from, to, element);
        }
        network
    }

    /// The same as text for EPANET.
    fn text(&self) -> String {
        let mut text = format!("[RESERVOIRS]\n0 {}\n[JUNCTIONS]\n", self.source_head_m);
        for (index, (elevation_m, _)) in self.nodes.iter().enumerate() {
            writeln!(text, "{} {elevation_m} 0", index + 1).unwrap();
        }
        text.push_str("[EMITTERS]\n");
        for (index, (_, k)) in self.nodes.iter().enumerate().filter(|(_, n)| n.1 > 0.0) {
            writeln!(text, "{} {k}", index + 1).unwrap();
        }
        text.push_str("[PIPES]\n");
        for (index, (from, to, length_m, inside_mm, minor_k)) in self.pipes.iter().enumerate() {
            writeln!(
                text,
                "p{index} {from} {to} {length_m} {inside_mm} 145 {minor_k}"
            )
            .unwrap();
        }
        text.push_str("[OPTIONS]\nUNITS LPS\nHEADLOSS H-W\nTRIALS 500\nACCURACY 0.00001\n");
        text.push_str("HEADERROR 0.0000001\nFLOWCHANGE 0.0000001\nEMITTER EXPONENT 0.5\n[END]\n");
        text
    }
}

/// Heads by EPANET, a line a network; `None` where Python or the library is missing.
fn public_heads(folder: &Path, drawn: &[Drawn]) -> Option<Vec<Vec<f64>>> {
    let paths: Vec<_> = (0..drawn.len())
        .map(|index| folder.join(format!("{index}.inp")))
        .collect();
    for (path, drawn) in paths.iter().zip(drawn) {
        std::fs::write(path, drawn.text()).unwrap();
    }
    let python = python::with("epanet.toolkit")?;
    let mut arguments = vec![PathBuf::from("-c"), PathBuf::from(SCRIPT)];
    arguments.extend(paths);
    let lines = python::told(&python, &arguments);
    let numbers = |line: &str| line.split(' ').map(|n| n.parse().unwrap()).collect();
    Some(lines.lines().map(numbers).collect())
}

/// Within 0.1 kPa; EPANET rounds its cubic foot and gravity, which costs up to 1e-3 of a fitting's loss. Networks that
/// leave less than 5 m somewhere are no design, and are left out.
#[test]
fn random_networks_agree_with_the_public_solver() {
    let drawn: Vec<Drawn> = (0..120).map(draw).collect();
    let folder = tempfile::tempdir().unwrap();
    let Some(theirs) = public_heads(folder.path(), &drawn) else {
        eprintln!("no python3 with owa-epanet here, not checked");
        return;
    };
    assert_eq!(theirs.len(), drawn.len());
    let (mut worst_m, mut compared) = (0.0_f64, 0);
    for (seed, (drawn, theirs)) in drawn.iter().zip(theirs).enumerate() {
        let network = drawn.network();
        let solution = solve(&network).unwrap();
        let least_m = (1..network.nodes.len())
            .map(|node| solution.pressure_m(&network, node))
            .fold(f64::INFINITY, f64::min);
        if least_m < 5.0 {
            continue;
        }
        for (ours, theirs) in solution.head_m.iter().zip(theirs) {
            let off = (ours - theirs).abs();
            assert!(
                off < 0.1 / 9.806_65,
                "network {seed}: {ours} m, EPANET {theirs} m"
            );
            worst_m = worst_m.max(off);
            compared += 1;
        }
    }
    eprintln!("{compared} heads, worst {:.5} kPa", worst_m * 9.806_65);
    assert!(compared > 500, "only {compared} heads compared");
}
