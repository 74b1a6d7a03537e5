//! Networks that are strange or cannot be: an answer that makes sense, or an error that says where.

use super::*;

fn head_at(elevation_m: f64) -> Node {
    Node::junction(elevation_m, 0.0).with_outlet(Outlet {
        elevation_m,
        k: 5e-5,
        exponent: 0.5,
        resistance: 0.0,
    })
}

/// A reservoir of 50 m and one head behind a pipe.
fn one_head(elevation_m: f64) -> Network<'static> {
    let mut network = Network::default();
    network.add_node(Node::reservoir(50.0));
    network.add_node(head_at(elevation_m));
    network.add_link(0, 1, pipe());
    network
}

#[test]
fn what_cannot_be_solved_is_named() {
    let mut network = Network::default();
    network.add_node(Node::reservoir(50.0));
    let alone = network.add_node(Node::junction(10.0, 1e-4));
    assert_eq!(solve(&network), Err(SolveError::NoSupply(alone)));
    network.add_link(0, 7, pipe());
    assert_eq!(solve(&network), Err(SolveError::Link(0)));
    network.links[0].to = alone;
    network.nodes[alone].elevation_m = f64::NAN;
    assert_eq!(solve(&network), Err(SolveError::Node(alone)));
}

#[test]
fn an_empty_network_has_an_empty_answer() {
    let solution = solve(&Network::default()).unwrap();
    assert!(solution.head_m.is_empty() && solution.flow_m3s.is_empty());
}

#[test]
fn links_without_a_source_have_no_supply() {
    let mut network = Network::default();
    let first = network.add_node(Node::junction(0.0, 0.0));
    let second = network.add_node(head_at(0.0));
    network.add_link(first, second, pipe());
    assert_eq!(solve(&network), Err(SolveError::NoSupply(first)));
}

#[test]
fn an_outlet_whose_exponent_is_nothing_is_named() {
    for exponent in [0.0, -0.5, 0.04, 2.5, f64::NAN, f64::INFINITY] {
        let mut network = one_head(3.0);
        network.nodes[1].outlet.as_mut().unwrap().exponent = exponent;
        assert_eq!(solve(&network), Err(SolveError::Node(1)), "{exponent}");
    }
}

#[test]
fn an_outlet_that_lets_nothing_out_is_named() {
    for k in [0.0, -1e-5, f64::NAN] {
        let mut network = one_head(3.0);
        network.nodes[1].outlet.as_mut().unwrap().k = k;
        assert_eq!(solve(&network), Err(SolveError::Node(1)), "{k}");
    }
}

#[test]
fn a_pipe_of_no_length_loses_nothing() {
    let mut network = one_head(3.0);
    network.links[0].element = Element::Pipe {
        length_m: 0.0,
        bore: Bore::hazen_williams(0.0266, 150.0).unwrap(),
        minor_k: 0.0,
    };
    let solution = solve(&network).unwrap();
    assert!((solution.head_m[1] - 50.0).abs() < 1e-5);
    assert!((solution.outflow_m3s[1] - 5e-5 * 47f64.sqrt()).abs() < 1e-9);
}

/// Rings of pipes without length: no law says which way the water goes round, but an answer there is.
#[test]
fn a_ring_of_no_length_is_solved() {
    let mut network = one_head(3.0);
    let bore = Bore::hazen_williams(0.0266, 150.0).unwrap();
    let nothing = Element::Pipe {
        length_m: 0.0,
        bore,
        minor_k: 0.0,
    };
    let far = network.add_node(head_at(2.0));
    for (from, to) in [(1, far), (far, 1), (0, far)] {
        network.add_link(from, to, nothing);
    }
    let solution = solve(&network).unwrap();
    assert!(imbalance(&network, &solution) < 1e-9);
    assert!((solution.head_m[far] - 50.0).abs() < 1e-4);
}

#[test]
fn a_pipe_of_negative_length_is_named() {
    for length_m in [-1.0, f64::NAN, f64::INFINITY] {
        let mut network = one_head(3.0);
        network.links[0].element = Element::Pipe {
            length_m,
            bore: Bore::hazen_williams(0.0266, 150.0).unwrap(),
            minor_k: 0.0,
        };
        assert_eq!(solve(&network), Err(SolveError::Link(0)), "{length_m}");
    }
}

/// The head stands higher than the source's water: it gives none, and none runs.
#[test]
fn a_head_above_its_source_stays_dry() {
    let solution = solve(&one_head(80.0)).unwrap();
    assert_eq!(solution.outflow_m3s[1], 0.0);
    assert!((solution.head_m[1] - 50.0).abs() < 1e-6);
    assert!(solution.flow_m3s[0].abs() < 1e-9);
}

#[test]
fn heads_above_a_supply_curve_stay_dry() {
    let supply = Falling {
        static_m: 40.0,
        fall: 1e6,
    };
    let mut network = one_head(80.0);
    network.nodes[0] = Node::junction(0.0, 0.0);
    let ground = network.add_node(Node::reservoir(0.0));
    network.add_link(ground, 0, Element::Curve(&supply));
    let solution = solve(&network).unwrap();
    assert_eq!(solution.outflow_m3s[1], 0.0);
    assert!((solution.head_m[1] - 40.0).abs() < 1e-6, "{solution:?}");
}

#[test]
fn ground_below_the_datum_is_ground_too() {
    let shifted = |by: f64| {
        let mut network = one_head(3.0 - by);
        network.nodes[0].fixed_head_m = Some(50.0 - by);
        solve(&network).unwrap()
    };
    let (here, below) = (shifted(0.0), shifted(430.0)); // the shore of the Dead Sea
    assert!((here.head_m[1] - below.head_m[1] - 430.0).abs() < 1e-9);
    assert!((here.outflow_m3s[1] - below.outflow_m3s[1]).abs() < 1e-12);
}

/// Water is asked of a part that only a valve against the flow leads to.
#[test]
fn demand_behind_a_shut_valve_is_named() {
    let mut network = one_head(3.0);
    let behind = network.add_node(Node::junction(0.0, 1e-4));
    network.add_link(behind, 1, Element::Check { resistance: 1e5 });
    let error = solve(&network);
    assert_eq!(error, Err(SolveError::ShutOff(behind)));
}

/// No water is asked there: it stands still.
#[test]
fn a_part_behind_a_shut_valve_stands_still() {
    let mut network = one_head(3.0);
    let behind = network.add_node(head_at(60.0));
    let end = network.add_node(Node::junction(1.0, 0.0));
    network.add_link(behind, 1, Element::Check { resistance: 1e5 });
    network.add_link(behind, end, pipe());
    let solution = solve(&network).unwrap();
    assert_eq!(solution.outflow_m3s[behind], 0.0);
    assert!(solution.flow_m3s[1..].iter().all(|flow| flow.abs() < 1e-9));
    assert!(solution.outflow_m3s[1] > 1e-4);
}

/// A curve that breaks its promise to fall.
#[derive(Debug)]
struct Broken(fn(f64) -> (f64, f64));

impl SourceCurve for Broken {
    fn head_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        self.0(flow_m3s)
    }
}

#[test]
fn a_curve_that_cannot_be_ends_in_an_error_that_names_it() {
    let no_number = Broken(|flow| (if flow > 0.0 { f64::NAN } else { 40.0 }, -1.0));
    // The head draws 0.3 L/s at 40 m and 0.13 at 10 m: never what there is.
    let jumping = Broken(|flow| (if flow > 2e-4 { 10.0 } else { 40.0 }, -1.0));
    for curve in [no_number, jumping] {
        let mut network = one_head(3.0);
        network.nodes[0] = Node::junction(0.0, 0.0);
        let ground = network.add_node(Node::reservoir(0.0));
        let supply = network.add_link(ground, 0, Element::Curve(&curve));
        let Err(SolveError::NotConverged {
            iterations,
            head_worst,
            ..
        }) = solve(&network)
        else {
            panic!("there is no answer")
        };
        assert_eq!(head_worst, Place::Link(supply));
        assert!(iterations <= 100 * 200, "{iterations}");
    }
}

#[test]
fn what_did_not_arrive_is_told_in_words() {
    let error = SolveError::NotConverged {
        iterations: 200,
        mass_residual_m3s: 1e-5,
        mass_worst: Place::Node(4),
        head_residual_m: 0.5,
        head_worst: Place::Outlet(7),
    };
    let told = error.to_string();
    assert!(
        told.contains("node 4, 0.5 m at the outlet of node 7"),
        "{told}"
    );
}

/// Three pipes side by side to a node that draws nothing: they carry next to nothing, and still a state is found.
#[test]
fn idle_pipes_side_by_side_come_to_rest() {
    let mut network = Network::default();
    network.add_node(Node::reservoir(33.632));
    for demand_lps in [0.963_648, 1.231_608, 0.0] {
        network.add_node(Node::junction(0.0, demand_lps / 1e3));
    }
    for (from, to, length_m, inside_mm) in [
        (1, 0, 88.7623, 15.8),
        (2, 1, 90.3153, 40.9),
        (3, 2, 88.7746, 35.1),
        (3, 2, 38.2434, 52.5),
        (2, 3, 49.6767, 52.5),
    ] {
        let bore = Bore::hazen_williams(inside_mm / 1e3, 150.0).unwrap();
        let element = Element::Pipe {
            length_m,
            bore,
            minor_k: 0.0,
        };
        network.add_link(from, to, element);
    }
    let solution = solve(&network).unwrap();
    assert!((solution.head_m[3] - solution.head_m[2]).abs() < 1e-9);
}
