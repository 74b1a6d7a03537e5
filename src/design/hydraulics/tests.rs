//! The solver as a whole: mass balance, both ways of solving, valves that move.

mod refused;

use super::friction::Bore;
use super::solve::solve_by;
use super::*;
use proptest::prelude::*;

/// A generator of its own, so that a failure can be told by its seed.
struct Dice(u64);

impl Dice {
    fn share(&mut self) -> f64 {
        // Knuth's constants (The Art of Computer Programming vol. 2, 3.3.4, from memory).
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }

    fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count - 1)
    }
}

/// A tree on hilly ground with heads at some nodes, and `loops` links more.
fn random(seed: u64, nodes: usize, loops: usize) -> Network<'static> {
    let mut dice = Dice(seed);
    let mut network = Network::default();
    network.add_node(Node::reservoir(dice.between(45.0, 90.0)));
    for number in 1..nodes {
        let elevation_m = dice.between(0.0, 20.0);
        let node = if dice.share() < 0.6 {
            let exponent = if dice.share() < 0.7 { 0.5 } else { 0.45 };
            Node::junction(elevation_m, 0.0).with_outlet(Outlet {
                elevation_m: elevation_m + 0.3,
                k: dice.between(1e-5, 8e-5),
                exponent,
                resistance: dice.between(0.0, 1e7),
            })
        } else {
            Node::junction(elevation_m, dice.between(0.0, 1e-5))
        };
        let place = network.add_node(node);
        let from = dice.below(number);
        network.add_link(from, place, random_pipe(&mut dice));
    }
    for _ in 0..loops {
        let (a, b) = (dice.below(nodes), dice.below(nodes));
        if a != b {
            network.add_link(a, b, random_pipe(&mut dice));
        }
    }
    network
}

fn random_pipe(dice: &mut Dice) -> Element<'static> {
    let inside_m = [0.0158, 0.0209, 0.0266, 0.0351, 0.0409, 0.0525][dice.below(6)];
    Element::Pipe {
        length_m: dice.between(0.5, 30.0),
        bore: Bore::hazen_williams(inside_m, 145.0).unwrap(),
        minor_k: dice.between(0.0, 3.0),
    }
}

fn imbalance(network: &Network, solution: &Solution) -> f64 {
    let mut missing: Vec<f64> = network.nodes.iter().map(|n| n.demand_m3s).collect();
    for (node, outflow) in solution.outflow_m3s.iter().enumerate() {
        missing[node] += outflow;
    }
    for (link, flow) in network.links.iter().zip(&solution.flow_m3s) {
        missing[link.from] += flow;
        missing[link.to] -= flow;
    }
    missing[1..].iter().fold(0.0, |worst, m| worst.max(m.abs()))
}

/// `static - fall q²`.
#[derive(Debug)]
struct Falling {
    static_m: f64,
    fall: f64,
}

impl SourceCurve for Falling {
    fn head_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        let per_flow = self.fall * flow_m3s.max(0.0);
        (self.static_m - per_flow * flow_m3s, -2.0 * per_flow)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_water_is_made_or_lost(seed: u64, nodes in 2usize..60, loops in 0usize..8) {
        let network = random(seed, nodes, loops);
        let solution = solve(&network).unwrap();
        prop_assert!(imbalance(&network, &solution) < 1e-9);
        prop_assert!(solution.outflow_m3s.iter().all(|&outflow| outflow >= 0.0));
    }

    #[test]
    fn heads_fall_by_what_the_laws_say(seed: u64, nodes in 2usize..60, loops in 0usize..8) {
        let network = random(seed, nodes, loops);
        let solution = solve(&network).unwrap();
        for (link, &flow) in network.links.iter().zip(&solution.flow_m3s) {
            let Element::Pipe { length_m, bore, minor_k } = link.element else { continue };
            let resistance = minor::resistance_of_fitting(minor_k, bore.inside_m());
            let law = bore.loss_m(length_m, flow) + resistance * flow * flow.abs();
            let fall = solution.head_m[link.from] - solution.head_m[link.to];
            prop_assert!((law - fall).abs() < 2e-6, "{law} {fall}");
            // So pressure falls along the flow by the loss, and by the rise of the ground.
            prop_assert!(fall * flow >= -1e-9 * flow.abs());
        }
        for (node, spec) in network.nodes.iter().enumerate() {
            let (Some(outlet), outflow) = (spec.outlet, solution.outflow_m3s[node]) else { continue };
            let pressure = solution.head_m[node] - outlet.elevation_m;
            let law = outlet.nozzle_pressure_m(outflow) + outlet.resistance * outflow * outflow;
            prop_assert!((law - pressure.max(0.0)).abs() < 2e-6, "{law} {pressure}");
        }
    }

    #[test]
    fn a_higher_source_lowers_no_pressure(
        seed: u64, nodes in 2usize..60, loops in 0usize..8, more_m in 0.1f64..30.0,
    ) {
        let mut network = random(seed, nodes, loops);
        let before = solve(&network).unwrap();
        network.nodes[0].fixed_head_m = network.nodes[0].fixed_head_m.map(|head| head + more_m);
        let after = solve(&network).unwrap();
        for (before, after) in before.head_m.iter().zip(&after.head_m) {
            prop_assert!(*after > before - 1e-6, "{before} {after}");
        }
    }

    #[test]
    fn a_stronger_supply_lowers_no_pressure(
        seed: u64, nodes in 2usize..60, loops in 0usize..8,
        static_m in 20f64..80.0, less_fall in 0.1f64..1.0, more_m in 0f64..20.0,
    ) {
        let weak = Falling { static_m, fall: 2e6 };
        let strong = Falling { static_m: static_m + more_m, fall: 2e6 * less_fall };
        let [before, after] = [&weak, &strong].map(|supply| {
            let mut network = random(seed, nodes, loops);
            network.nodes[0] = Node::junction(0.0, 0.0);
            let ground = network.add_node(Node::reservoir(0.0));
            network.add_link(ground, 0, Element::Curve(supply));
            solve(&network).unwrap()
        });
        for (before, after) in before.head_m.iter().zip(&after.head_m) {
            prop_assert!(*after > before - 1e-6, "{before} {after}");
        }
    }

    /// A wider pipe brings more pressure to everything behind it. Before it pressure may fall: more water is drawn.
    #[test]
    fn behind_a_wider_pipe_of_a_tree_no_pressure_falls(
        seed: u64, nodes in 2usize..60, which: prop::sample::Index, wider in 1.05f64..3.0,
    ) {
        let mut network = random(seed, nodes, 0);
        let before = solve(&network).unwrap();
        let link = which.index(network.links.len());
        if let Element::Pipe { bore, .. } = &mut network.links[link].element {
            *bore = Bore::hazen_williams(wider * bore.inside_m(), 145.0).unwrap();
        }
        let after = solve(&network).unwrap();
        // Links of a tree come by rising node, each node after the one before it.
        let mut behind = vec![false; nodes];
        behind[network.links[link].to] = true;
        for link in &network.links {
            behind[link.to] = behind[link.to] || behind[link.from];
        }
        for node in (0..nodes).filter(|&node| behind[node]) {
            let (before, after) = (before.head_m[node], after.head_m[node]);
            prop_assert!(after > before - 1e-6, "{node}: {before} {after}");
        }
    }

    #[test]
    fn elimination_and_factorisation_agree(seed: u64, nodes in 2usize..60, loops in 0usize..20) {
        let network = random(seed, nodes, loops);
        let by_leaves = solve_by(&network, Method::Fitting).unwrap();
        let by_factor = solve_by(&network, Method::Factorised).unwrap();
        for (a, b) in by_leaves.flow_m3s.iter().zip(&by_factor.flow_m3s) {
            prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
        for (a, b) in by_leaves.head_m.iter().zip(&by_factor.head_m) {
            prop_assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }
}

#[test]
fn without_flow_every_node_has_the_head_of_the_source() {
    let mut network = random(7, 30, 4);
    for node in &mut network.nodes {
        node.outlet = None;
        node.demand_m3s = 0.0;
    }
    let solution = solve(&network).unwrap();
    for head_m in &solution.head_m {
        assert!((head_m - solution.head_m[0]).abs() < 1e-9);
    }
}

fn pipe() -> Element<'static> {
    Element::Pipe {
        length_m: 50.0,
        bore: Bore::hazen_williams(0.0266, 150.0).unwrap(),
        minor_k: 0.0,
    }
}

/// Two tanks with a check valve between them: water runs from the high one only if that is the way of the valve.
#[test]
fn a_check_valve_lets_water_through_one_way() {
    for (first_m, second_m, runs) in [(60.0, 50.0, true), (50.0, 60.0, false)] {
        let mut network = Network::default();
        let first = network.add_node(Node::reservoir(first_m));
        let between = network.add_node(Node::junction(10.0, 0.0));
        let second = network.add_node(Node::reservoir(second_m));
        network.add_link(first, between, pipe());
        let check = Element::Check { resistance: 1e5 };
        let check = network.add_link(between, second, check);
        let solution = solve(&network).unwrap();
        assert_eq!(solution.flow_m3s[check] > 1e-4, runs, "{first_m}");
        assert_eq!(solution.flow_m3s[check] == 0.0, !runs, "{first_m}");
    }
}

/// A higher tank behind the regulator pushes back: the regulator shuts, its own side stands still.
#[test]
fn a_regulator_shuts_against_reverse_flow() {
    let mut network = Network::default();
    let low = network.add_node(Node::reservoir(40.0));
    let before = network.add_node(Node::junction(0.0, 0.0));
    let behind = network.add_node(Node::junction(0.0, 1e-4));
    let high = network.add_node(Node::reservoir(70.0));
    network.add_link(low, before, pipe());
    let regulator = Element::Regulator {
        pressure_m: 30.0,
        resistance: 1e5,
    };
    let regulator = network.add_link(before, behind, regulator);
    network.add_link(behind, high, pipe());
    let solution = solve(&network).unwrap();
    assert_eq!(solution.flow_m3s[regulator], 0.0);
    assert!((solution.head_m[before] - 40.0).abs() < 1e-6);
    assert!(solution.head_m[behind] > 65.0);
}

/// Two regulators in series in front of an outlet; the pressures are as set, whatever the order of the links.
#[test]
fn regulators_in_series_hold_what_they_are_set_to() {
    let mut network = Network::default();
    let tank = network.add_node(Node::reservoir(90.0));
    let outlet = Outlet {
        elevation_m: 2.0,
        k: 1e-4,
        exponent: 0.5,
        resistance: 0.0,
    };
    let ends = [0, 1, 2, 3].map(|i| network.add_node(Node::junction(f64::from(i), 0.0)));
    network.nodes[ends[3]].outlet = Some(outlet);
    let hold = |pressure_m| Element::Regulator {
        pressure_m,
        resistance: 1e5,
    };
    network.add_link(ends[2], ends[3], hold(30.0));
    network.add_link(ends[1], ends[2], pipe());
    network.add_link(ends[0], ends[1], hold(50.0));
    network.add_link(tank, ends[0], pipe());
    let solution = solve(&network).unwrap();
    assert!((solution.pressure_m(&network, ends[1]) - 50.0).abs() < 1e-9);
    assert!((solution.pressure_m(&network, ends[3]) - 30.0).abs() < 1e-9);
    let expected = 1e-4 * 31f64.sqrt(); // held at 3 + 30 m, opening at 2 m
    assert!((solution.outflow_m3s[ends[3]] - expected).abs() < 1e-9);
}
