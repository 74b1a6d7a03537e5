//! Pressure-reducing valves and check valves beside EPANET's.

use super::super::told::{Kind, Pipe, Told};
use super::compare::compare;
use super::draw::{Dice, Wish, draw};
use super::{PLAIN, family, whole};
use swardline::design::hydraulics::Node;

/// Turns up to three pipes of the tree into regulators; EPANET wants none at a reservoir and no two at one node.
fn regulate(dice: &mut Dice, told: &mut Told) {
    let pipes = told.nodes.len() - 1;
    let mut taken = vec![false; told.nodes.len()];
    taken[0] = true;
    for _ in 0..3 {
        let link = dice.below(pipes);
        let (from, to) = (told.links[link].from, told.links[link].to);
        if taken[from] || taken[to] {
            continue;
        }
        (taken[from], taken[to]) = (true, true);
        told.links[link].kind = Kind::Regulator {
            pressure_m: dice.between(5.0, 45.0),
            resistance: dice.between(1e4, 1e6),
        };
    }
}

#[test]
fn regulators_in_trees_agree() {
    let told = family(100, 7, |dice| {
        let mut told = draw(dice, &PLAIN);
        regulate(dice, &mut told);
        told
    });
    whole(compare("pressure-reducing valves in trees", &told), 100);
}

#[test]
fn regulators_in_loops_agree() {
    let told = family(100, 8, |dice| {
        let loops = 1 + dice.below(3);
        let mut told = draw(dice, &Wish { loops, ..PLAIN });
        regulate(dice, &mut told);
        told
    });
    whole(compare("pressure-reducing valves in loops", &told), 100);
}

/// Pipes of loops get a check valve, which stands one way or the other.
#[test]
fn check_valves_in_loops_agree() {
    let told = family(100, 9, |dice| {
        let loops = 1 + dice.below(6);
        let mut told = draw(dice, &Wish { loops, ..PLAIN });
        let tree = told.nodes.len() - 1;
        for link in &mut told.links[tree..] {
            if let Kind::Pipe(pipe) = link.kind {
                link.kind = Kind::Check(pipe);
            }
        }
        told
    });
    whole(compare("check valves in loops", &told), 100);
}

/// A second source, lower or higher, each behind a check valve: the low one may not be filled by the high one.
#[test]
fn check_valves_at_two_sources_agree() {
    let told = family(100, 10, |dice| {
        let mut told = draw(dice, &PLAIN);
        let first_m = told.nodes[0].fixed_head_m.unwrap_or(0.0);
        told.nodes[0] = Node::junction(2.0, 0.0);
        let last = told.nodes.len() - 1;
        for (at, head_m) in [(0, first_m), (last, first_m + dice.between(-15.0, 15.0))] {
            let source = told.add_node(Node::reservoir(head_m));
            let pipe = Pipe {
                length_m: dice.between(1.0, 20.0),
                inside_mm: 52.5,
                roughness: 140.0,
                minor_k: dice.between(0.5, 10.0),
            };
            told.add_link(source, at, Kind::Check(pipe));
        }
        told
    });
    whole(compare("check valves at two sources", &told), 100);
}

/// Plain valves in the way of the water.
#[test]
fn valves_that_only_lose_agree() {
    let told = family(40, 11, |dice| {
        let loops = dice.below(3);
        let mut told = draw(dice, &Wish { loops, ..PLAIN });
        let links = told.links.len();
        for _ in 0..4 {
            let link = dice.below(links);
            told.links[link].kind = Kind::Loss(dice.between(1e4, 3e6));
        }
        told
    });
    whole(compare("plain valves", &told), 40);
}
