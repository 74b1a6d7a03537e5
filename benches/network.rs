//! Time to solve a network: a lateral tree of heads, and a ring main.

use divan::Bencher;
use swardline::design::hydraulics::friction::Bore;
use swardline::design::hydraulics::{Element, Network, Node, Outlet, solve};

fn main() {
    divan::main();
}

fn pipe(inside_m: f64) -> Element<'static> {
    Element::Pipe {
        length_m: 9.0,
        bore: Bore::hazen_williams(inside_m, 145.0).expect("a pipe of the trade"),
        minor_k: 0.9,
    }
}

/// A binary tree of heads behind one reservoir.
fn tree(heads: usize) -> Network<'static> {
    let mut network = Network::default();
    network.add_node(Node::reservoir(60.0));
    for number in 1..=heads {
        let outlet = Outlet {
            elevation_m: 0.3,
            k: 3e-5,
            exponent: 0.5,
            resistance: 1e6,
        };
        let place = network.add_node(Node::junction(0.0, 0.0).with_outlet(outlet));
        network.add_link(number / 2, place, pipe(0.0525));
    }
    network
}

#[divan::bench(args = [10, 40, 400, 4000])]
fn heads_on_a_tree(bencher: Bencher, heads: usize) {
    let network = tree(heads);
    bencher.bench_local(|| solve(&network));
}

#[divan::bench(args = [10, 40, 400, 4000])]
fn heads_on_a_tree_with_a_loop(bencher: Bencher, heads: usize) {
    let mut network = tree(heads);
    network.add_link(heads - 1, heads, pipe(0.0351));
    bencher.bench_local(|| solve(&network));
}
