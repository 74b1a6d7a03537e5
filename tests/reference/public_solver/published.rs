//! Published networks, and worked ones whose files say how they were made, solved by both.

use super::super::networks::Tested;
use super::super::networks::case::case;
use super::super::told::Supply;
use super::compare::compare;
use super::{behind, whole};
use swardline::design::hydraulics::SourceCurve;

/// File and where the network comes from.
const SOURCES: [(&str, &str); 8] = [
    (
        "two_loop",
        "Alperovits and Shamir 1977, Water Resour. Res. 13(6):885",
    ),
    (
        "hanoi",
        "Fujiwara and Khang 1990, Water Resour. Res. 26(4):539",
    ),
    (
        "balerma",
        "Reca and Martínez 2006, Water Resour. Res. 42, W05416",
    ),
    ("slope_lateral_5_heads", "worked for comparison with scipy"),
    (
        "branched_station_downhill",
        "worked for comparison with scipy",
    ),
    (
        "looped_main_two_stations",
        "worked for comparison with scipy",
    ),
    ("supply_curve_station", "worked for comparison with scipy"),
    ("tree_sizing", "worked for comparison with scipy"),
];

#[test]
fn published_networks_agree() {
    for (name, source) in SOURCES {
        if let Some(case) = case(name) {
            whole(compare(&format!("{name} ({source})"), &[case.told]), 1);
        }
    }
}

/// The station on a tested supply again, its working point sought by both: EPANET has the curve as a three-point pump.
#[test]
fn the_working_point_agrees() {
    let Some(case) = case("supply_curve_station") else {
        return;
    };
    let curve = Tested::CASE;
    let point = |flow_m3s: f64| (flow_m3s, curve.head_and_slope(flow_m3s).0);
    let points = vec![point(0.0), point(2e-3), point(4e-3)];
    let curve = Box::new(curve);
    let told = behind(case.told, 11.5, Supply { curve, points });
    whole(compare("supply_curve_station, supply unknown", &[told]), 1);
}
