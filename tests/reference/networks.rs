//! Whole networks against published designs and independent solutions.

pub mod case;

use case::{Case, case, number, word};
use swardline::design::hydraulics::friction::Bore;
use swardline::design::hydraulics::solve::{Method, solve_by};
use swardline::design::hydraulics::{Element, Network, Node, Solution, SourceCurve, solve};

/// Alperovits and Shamir 1977, Water Resour. Res. 13(6):885: two loops, all pipes 1000 m, C 130, source 210 m.
/// Node 2 to 7: height m, demand m³/h, and pressure m with the least-cost sizes of Savic and Walters 1997,
/// J. Water Resour. Plann. Manage. 123(2):67, as solved by an independent code (scipy).
const TWO_LOOPS: [(f64, f64, f64); 6] = [
    (150.0, 100.0, 53.2467),
    (160.0, 100.0, 30.4625),
    (155.0, 120.0, 43.4492),
    (150.0, 270.0, 33.8034),
    (165.0, 330.0, 30.4450),
    (160.0, 200.0, 30.5523),
];

/// From, to (nodes 1 to 7), inches.
const TWO_LOOPS_PIPES: [(usize, usize, f64); 8] = [
    (1, 2, 18.0),
    (2, 3, 10.0),
    (2, 4, 16.0),
    (4, 5, 4.0),
    (4, 6, 16.0),
    (6, 7, 10.0),
    (3, 5, 10.0),
    (7, 5, 1.0),
];

#[test]
fn the_two_loop_network_has_its_printed_pressures() {
    let mut network = Network::default();
    network.add_node(Node::reservoir(210.0));
    for (elevation_m, demand_m3h, _) in TWO_LOOPS {
        network.add_node(Node::junction(elevation_m, demand_m3h / 3600.0));
    }
    for (from, to, inches) in TWO_LOOPS_PIPES {
        let element = Element::Pipe {
            length_m: 1000.0,
            bore: Bore::hazen_williams(inches * 0.0254, 130.0).unwrap(),
            minor_k: 0.0,
        };
        network.add_link(from - 1, to - 1, element);
    }
    let solution = solve(&network).unwrap();
    for (index, (_, _, expected_m)) in TWO_LOOPS.iter().enumerate() {
        let found_m = solution.pressure_m(&network, index + 1);
        assert!((found_m - expected_m).abs() < 1e-4, "{index}: {found_m}");
    }
}

/// Greatest difference from the expected heads, m.
fn worst_head_m(case: &Case, solution: &Solution) -> f64 {
    let expected = case.file["expected"]["nodes"].as_object().unwrap();
    assert!(!expected.is_empty());
    expected.iter().fold(0.0, |worst, (id, node)| {
        let off = solution.head_m[case.places[id]] - number(node, "head_m");
        worst.max(off.abs())
    })
}

/// Independent SI solutions (scipy, residual below 1e-12), printed to a tenth of a millimetre.
#[test]
fn the_case_files_are_solved_to_the_last_printed_digit() {
    for name in [
        "two_loop",
        "hanoi",
        "slope_lateral_5_heads",
        "branched_station_downhill",
        "looped_main_two_stations",
        "supply_curve_station",
        "tree_sizing",
    ] {
        let Some(case) = case(name) else { continue };
        let network = case.told.network();
        for method in [Method::Fitting, Method::Factorised] {
            let solution = solve_by(&network, method).unwrap();
            let worst_m = worst_head_m(&case, &solution);
            eprintln!("{name}: {worst_m:.6} m in {} steps", solution.iterations);
            assert!(worst_m < 1.1e-4, "{name} {method:?}: {worst_m}");
            assert!(solution.mass_residual_m3s < 1e-9, "{name}");
        }
    }
}

/// Reca and Martínez 2006, Water Resour. Res. 42, W05416: 443 nodes, four sources, Darcy–Weisbach; heads by EPANET
/// 2.3.5. Its gravity (32.2 ft/s²) is 0.08 % more than ours, its heads lose as much less; losses reach 60 m.
#[test]
fn the_irrigation_district_agrees_with_the_public_solver() {
    let Some(case) = case("balerma") else { return };
    let network = case.told.network();
    let solution = solve(&network).unwrap();
    let worst_m = worst_head_m(&case, &solution);
    eprintln!("balerma: {worst_m:.6} m in {} steps", solution.iterations);
    assert!(worst_m < 0.05, "{worst_m}");
    let supplied: f64 = case.file["sources"]
        .as_array()
        .unwrap()
        .iter()
        .map(|source| outflow(&network, &solution, case.places[word(source, "id")]))
        .sum();
    assert!((supplied * 1e3 - 1103.895).abs() < 1e-3, "{supplied}");
}

fn outflow(network: &Network, solution: &Solution, node: usize) -> f64 {
    let links = network.links.iter().zip(&solution.flow_m3s);
    links.fold(0.0, |sum, (link, flow)| match node {
        n if n == link.from => sum + flow,
        n if n == link.to => sum - flow,
        _ => sum,
    })
}

/// `residual(q) = static - drop (q/Q)^(1/0.54)`, NFPA 291 section 4.10 turned round.
#[derive(Debug)]
pub struct Tested {
    static_m: f64,
    drop_m: f64,
    flow_m3s: f64,
}

impl Tested {
    /// The supply of the case `supply_curve_station`.
    pub const CASE: Self = Self {
        static_m: 45.0,
        drop_m: 15.0,
        flow_m3s: 3e-3,
    };
}

impl SourceCurve for Tested {
    fn head_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        let order = 1.0 / 0.54;
        let share = (flow_m3s.max(0.0) / self.flow_m3s).powf(order - 1.0);
        let lost = self.drop_m * share * flow_m3s / self.flow_m3s;
        let slope = -self.drop_m * order * share / self.flow_m3s;
        (self.static_m - lost, slope)
    }
}

/// The working point of a station on a tested supply is part of the answer: 1.679449 L/s at 39.87718 m
/// (scipy, bisection on the source's head; EPANET with a pump curve agrees).
#[test]
fn the_working_point_is_found_with_the_network() {
    let Some(case) = case("supply_curve_station") else {
        return;
    };
    let curve = Tested::CASE;
    let mut network = case.told.network();
    let supply = case.places["poc"];
    network.nodes[supply] = Node::junction(11.5, 0.0);
    let main = network.add_node(Node::reservoir(11.5));
    let link = network.add_link(main, supply, Element::Curve(&curve));
    let solution = solve(&network).unwrap();
    let flow_lps = solution.flow_m3s[link] * 1e3;
    assert!((flow_lps - 1.679_449).abs() < 1e-6, "{flow_lps}");
    let residual_m = solution.pressure_m(&network, supply);
    assert!((residual_m - 39.877_18).abs() < 1e-5, "{residual_m}");
    assert!(worst_head_m(&case, &solution) < 1.1e-4);
}
