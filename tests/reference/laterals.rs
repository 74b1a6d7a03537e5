//! Laterals with equal outlets: Christiansen's factor, and a worked lateral of ten heads.

use swardline::design::hydraulics::friction::Bore;
use swardline::design::hydraulics::{Element, Network, Node, Outlet, solve};

fn pipe(length_m: f64, inside_mm: f64, c: f64) -> Element<'static> {
    Element::Pipe {
        length_m,
        bore: Bore::hazen_williams(inside_mm / 1e3, c).unwrap(),
        minor_k: 0.0,
    }
}

/// Loss of a lateral with `outlets` equal outflows over that of the whole flow to its end.
fn factor(outlets: usize) -> f64 {
    let mut network = Network::default();
    let mut at = network.add_node(Node::reservoir(100.0));
    for _ in 0..outlets {
        let next = network.add_node(Node::junction(0.0, 2e-4));
        network.add_link(at, next, pipe(10.0, 52.5, 150.0));
        at = next;
    }
    let lost_m = 100.0 - solve(&network).unwrap().head_m[at];
    let bore = Bore::hazen_williams(0.0525, 150.0).unwrap();
    lost_m / bore.loss_m(10.0 * outlets as f64, 2e-4 * outlets as f64)
}

/// `F = Σ i^m / N^(m+1)`, exact, m 1.852; Christiansen 1942, Univ. California Agr. Exp. Sta. Bull. 670 (from memory)
/// gives it as `1/(m+1) + 1/2N + √(m-1)/6N²`, within 0.5 % from one outlet on.
#[test]
fn solved_laterals_have_christiansens_factor() {
    let exact = [
        (1, 1.0),
        (2, 0.6385),
        (3, 0.5342),
        (5, 0.4568),
        (10, 0.4022),
        (20, 0.3760),
        (50, 0.3607),
    ];
    for (outlets, expected) in exact {
        let found = factor(outlets);
        assert!((found - expected).abs() < 6e-5, "{outlets}: {found}");
        let n = outlets as f64;
        let formula = 1.0 / 2.852 + 1.0 / (2.0 * n) + 0.852f64.sqrt() / (6.0 * n * n);
        assert!(
            (found / formula - 1.0).abs() < 5e-3,
            "{outlets}: {found} {formula}"
        );
    }
}

/// Ten heads of 10 L/min at 30 m, 9 m apart, 35.1 mm, C 150. Pressures at first and last head, m, and the total,
/// L/min, computed apart (scipy): level with 32.357 m at the inlet, and rising 3 m with 33.857 m.
#[test]
fn ten_heads_on_one_lateral() {
    let k = 10.0 / 60_000.0 / 30f64.sqrt();
    for (rise_m, inlet_m, first_m, last_m, total_lpm) in [
        (0.0, 32.357, 31.577, 29.249, 99.895),
        (3.0, 33.857, 32.780, 27.794, 99.666),
    ] {
        let mut network = Network::default();
        let mut at = network.add_node(Node::reservoir(inlet_m));
        for head in 1..=10 {
            let elevation_m = rise_m * f64::from(head) / 10.0;
            let outlet = Outlet {
                elevation_m,
                k,
                exponent: 0.5,
                resistance: 0.0,
            };
            let next = network.add_node(Node::junction(elevation_m, 0.0).with_outlet(outlet));
            network.add_link(at, next, pipe(9.0, 35.1, 150.0));
            at = next;
        }
        let solution = solve(&network).unwrap();
        let total = solution.flow_m3s[0] * 60_000.0;
        assert!((solution.pressure_m(&network, 1) - first_m).abs() < 1e-3);
        assert!((solution.pressure_m(&network, at) - last_m).abs() < 1e-3);
        assert!((total - total_lpm).abs() < 1e-3, "{total}");
    }
}
