//! Time to solve a network: trees of heads, and rings of pipe, alone or to hold against EPANET.
//!
//! `cargo bench --bench network` times them; `python3 benches/network_epanet.py` times EPANET beside in one run. For
//! that, `write FOLDER` writes each network as EPANET's input, with the times and heads of ours in `ours.json`.

use divan::Bencher;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use std::time::Instant;
use swardline::design::hydraulics::friction::Bore;
use swardline::design::hydraulics::{Element, Network, Node, Outlet, solve};

/// Solves of each network, of which the median counts.
const TIMES: usize = 201;
/// Time to solve before it counts, s.
const WARM_S: f64 = 0.3;
const C: f64 = 145.0;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    match arguments.windows(2).find(|pair| pair[0] == "write") {
        Some(pair) => write(Path::new(&pair[1])),
        None => divan::main(),
    }
}

/// A pipe, told so that it can be written for EPANET too.
#[derive(Clone, Copy)]
struct Pipe {
    from: usize,
    to: usize,
    length_m: f64,
    inside_mm: f64,
    minor_k: f64,
}

/// Node 0 is a reservoir.
struct Case {
    name: &'static str,
    source_m: f64,
    /// Height m, outlet L/s per √m, demand L/s.
    nodes: Vec<(f64, f64, f64)>,
    pipes: Vec<Pipe>,
}

impl Case {
    fn network(&self) -> Network<'static> {
        let mut network = Network::default();
        network.add_node(Node::reservoir(self.source_m));
        for &(elevation_m, k, demand_lps) in &self.nodes {
            let mut node = Node::junction(elevation_m, demand_lps / 1e3);
            node.outlet = (k > 0.0).then_some(Outlet {
                elevation_m,
                k: k / 1e3,
                exponent: 0.5,
                resistance: 0.0,
            });
            network.add_node(node);
        }
        for pipe in &self.pipes {
            let element = Element::Pipe {
                length_m: pipe.length_m,
                bore: Bore::hazen_williams(pipe.inside_mm / 1e3, C).expect("a pipe of the trade"),
                minor_k: pipe.minor_k,
            };
            network.add_link(pipe.from, pipe.to, element);
        }
        network
    }

    /// EPANET's input, with its accuracy as it comes.
    fn text(&self) -> String {
        let mut text = format!("[RESERVOIRS]\n0 {}\n[JUNCTIONS]\n", self.source_m);
        for (index, (elevation_m, _, demand_lps)) in self.nodes.iter().enumerate() {
            let _ = writeln!(text, "{} {elevation_m} {demand_lps}", index + 1);
        }
        text.push_str("[EMITTERS]\n");
        for (index, (_, k, _)) in self.nodes.iter().enumerate() {
            if *k > 0.0 {
                let _ = writeln!(text, "{} {k}", index + 1);
            }
        }
        text.push_str("[PIPES]\n");
        for (index, pipe) in self.pipes.iter().enumerate() {
            let Pipe {
                from,
                to,
                length_m,
                inside_mm,
                minor_k,
            } = pipe;
            let _ = writeln!(
                text,
                "p{index} {from} {to} {length_m} {inside_mm} {C} {minor_k}"
            );
        }
        text.push_str("[OPTIONS]\nUNITS LPS\nHEADLOSS H-W\nEMITTER EXPONENT 0.5\n[END]\n");
        text
    }
}

/// A generator of its own; Knuth's constants (The Art of Computer Programming vol. 2, 3.3.4, from memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % count
    }
}

/// Head of 2 L/min to 20 L/min at 30 m.
fn head(dice: &mut Dice) -> f64 {
    (2 + dice.below(18)) as f64 / 60.0 / 30f64.sqrt()
}

/// Sizes for a dozen L/min to each of `nodes` at about 1.5 m/s.
fn size_mm(nodes: usize) -> f64 {
    let wanted_mm =
        (12.0 * nodes as f64 / 60_000.0 / 1.5 * 4.0 / std::f64::consts::PI).sqrt() * 1e3;
    wanted_mm.max(15.8)
}

/// Tree: each node behind one of the few before it.
fn tree(name: &'static str, heads: usize, reach: usize) -> Case {
    let mut dice = Dice(heads as u64);
    let parents: Vec<usize> = (1..=heads)
        .map(|node| node - 1 - dice.below(node.min(reach)))
        .collect();
    let mut behind = vec![1; heads + 1];
    for (index, &parent) in parents.iter().enumerate().rev() {
        behind[parent] += behind[index + 1];
    }
    let pipes = parents.iter().enumerate().map(|(index, &from)| Pipe {
        from,
        to: index + 1,
        length_m: (3 + dice.below(9)) as f64,
        inside_mm: size_mm(behind[index + 1]),
        minor_k: 0.9,
    });
    let pipes = pipes.collect();
    let nodes = (0..heads).map(|_| (dice.below(120) as f64 / 10.0, head(&mut dice), 0.0));
    Case {
        name,
        source_m: 90.0,
        nodes: nodes.collect(),
        pipes,
    }
}

/// Streets: a grid of `columns` × `rows` junctions, of whose pipes a spanning tree and `loops` others are kept.
fn streets(name: &'static str, columns: usize, rows: usize, loops: usize, outlets: bool) -> Case {
    let mut dice = Dice(7);
    let count = columns * rows;
    let at = |column: usize, row: usize| 1 + row * columns + column;
    let mut all = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            if column + 1 < columns {
                all.push((at(column, row), at(column + 1, row)));
            }
            if row + 1 < rows {
                all.push((at(column, row), at(column, row + 1)));
            }
        }
    }
    for place in (1..all.len()).rev() {
        all.swap(place, dice.below(place + 1));
    }
    let mut group: Vec<usize> = (0..=count).collect();
    let (mut kept, mut spare) = (vec![(0, at(columns / 2, rows / 2))], Vec::new());
    for (a, b) in all {
        if group[a] == group[b] {
            spare.push((a, b));
        } else {
            let (old, new) = (group[a], group[b]);
            group
                .iter_mut()
                .filter(|g| **g == old)
                .for_each(|g| *g = new);
            kept.push((a, b));
        }
    }
    kept.extend(spare.into_iter().take(loops));
    let pipes = kept
        .into_iter()
        .enumerate()
        .map(|(index, (from, to))| Pipe {
            from,
            to,
            length_m: (20 + dice.below(60)) as f64,
            inside_mm: if index == 0 {
                400.0
            } else {
                [102.3, 154.0, 202.7, 254.5][dice.below(4)]
            },
            minor_k: 0.9,
        });
    let pipes = pipes.collect();
    let nodes = (0..count).map(|_| {
        let elevation_m = dice.below(120) as f64 / 10.0;
        if outlets {
            (elevation_m, head(&mut dice), 0.0)
        } else {
            (elevation_m, 0.0, (2 + dice.below(18)) as f64 / 60.0)
        }
    });
    Case {
        name,
        source_m: 90.0,
        nodes: nodes.collect(),
        pipes,
    }
}

fn cases() -> [Case; 5] {
    [
        tree("tree of 40 heads", 40, 5),
        tree("tree of 1000 heads", 1000, 20),
        tree("tree of 1000 heads, long lines", 1000, 3),
        streets("1000 junctions, 1200 pipes, demands", 40, 25, 200, false),
        streets("1000 heads, 1200 pipes", 40, 25, 200, true),
    ]
}

fn write(folder: &Path) {
    // As in any program that has read a file: the allocator then keeps memory between solves (glibc, dynamic threshold).
    drop(std::hint::black_box(vec![0u8; 4 << 20]));
    let told: Vec<Value> = cases()
        .iter()
        .enumerate()
        .map(|(number, case)| {
            save(&folder.join(format!("{number}.inp")), &case.text());
            timed(case)
        })
        .collect();
    save(&folder.join("ours.json"), &json!(told).to_string());
}

fn timed(case: &Case) -> Value {
    let network = case.network();
    let solution = solve(&network).expect("a network that can be");
    // A machine that has idled runs slowly at first.
    let start = Instant::now();
    while start.elapsed().as_secs_f64() < WARM_S {
        let _ = std::hint::black_box(solve(std::hint::black_box(&network)));
    }
    let seconds = (0..TIMES).map(|_| {
        let start = Instant::now();
        let _ = std::hint::black_box(solve(std::hint::black_box(&network)));
        start.elapsed().as_secs_f64()
    });
    let mut seconds: Vec<f64> = seconds.collect();
    seconds.sort_by(f64::total_cmp);
    json!({
        "name": case.name,
        "seconds": seconds[TIMES / 2],
        "steps": solution.iterations,
        "head_residual_m": solution.head_residual_m,
        "mass_residual_m3s": solution.mass_residual_m3s,
        "heads_m": solution.head_m,
    })
}

fn save(path: &Path, text: &str) {
    std::fs::write(path, text).expect("the folder can be written to");
}

#[divan::bench(args = [10, 40, 400, 1000, 4000])]
fn heads_on_a_tree(bencher: Bencher, heads: usize) {
    let network = tree("", heads, 20).network();
    bencher.bench_local(|| solve(&network));
}

#[divan::bench(args = [10, 40, 400, 1000, 4000])]
fn heads_on_a_tree_with_a_loop(bencher: Bencher, heads: usize) {
    let mut case = tree("", heads, 20);
    case.pipes.push(Pipe {
        from: heads / 2,
        to: heads,
        ..case.pipes[0]
    });
    let network = case.network();
    bencher.bench_local(|| solve(&network));
}

#[divan::bench(args = [10, 20, 32, 64])]
fn heads_on_streets(bencher: Bencher, side: usize) {
    let network = streets("", side, side, side * side / 5, true).network();
    bencher.bench_local(|| solve(&network));
}
