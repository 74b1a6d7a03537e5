//! Supply curves against the fire-flow standard and computed tables.

use geo::Coord;
use swardline::brief::Rules;
use swardline::design::supply::SupplyCurve;
use swardline::site::{SupplyTest, WaterPoint};

fn supply(test: SupplyTest) -> SupplyCurve {
    let point = WaterPoint {
        id: "w".into(),
        position: Coord { x: 0.0, y: 0.0 },
        test,
        meter_loss_kpa: None,
        backflow_loss_kpa: None,
        service: None,
    };
    let rules = Rules {
        supply_margin: 0.0,
        ..Rules::default()
    };
    SupplyCurve::of(&point, &rules).unwrap()
}

fn tested(static_kpa: f64, residual_kpa: f64, residual_lpm: f64) -> SupplyCurve {
    supply(SupplyTest::FlowTest {
        static_kpa,
        residual_kpa,
        residual_lpm,
    })
}

/// NFPA 291, section 4.10 (from memory): static 90, residual 58 psi at 2500 gpm give 3815 gpm at 20 psi; the law knows
/// no units. Second example: 60 to 20 psi at 3000 gpm, at 40 psi.
#[test]
fn the_standards_own_example() {
    assert!((tested(90.0, 58.0, 2500.0).flow_at_lpm(20.0) - 3815.15).abs() < 0.01);
    assert!((tested(60.0, 20.0, 3000.0).flow_at_lpm(40.0) - 2063.31).abs() < 0.01);
}

/// The same law computed apart: static 500, residual 350 kPa at 120 L/min.
#[test]
fn a_flow_test_both_ways() {
    let supply = tested(500.0, 350.0, 120.0);
    assert!((supply.flow_at_lpm(300.0) - 140.168).abs() < 1e-3);
    assert!((supply.flow_most_lpm() - 229.898).abs() < 1e-3);
    assert!((supply.residual_kpa(60.0) - 458.445).abs() < 1e-3);
    assert!((supply.residual_kpa(100.0) - 392.981).abs() < 1e-3);
}

/// Table of `h^0.54` in NFPA 291 (from memory), printed to two places.
#[test]
fn the_standards_table_of_powers() {
    for (drop, power) in [
        (1.0, 1.0),
        (5.0, 2.39),
        (10.0, 3.47),
        (20.0, 5.04),
        (50.0, 8.27),
        (100.0, 12.02),
    ] {
        let flow = tested(200.0, 199.0, 1.0).flow_at_lpm(200.0 - drop);
        assert!((flow - power).abs() < 0.011, "{drop}: {flow}");
    }
}

/// 20 L in 30 s are 40 L/min; with 400 kPa static, by the same law with no residual.
#[test]
fn a_bucket_test() {
    let supply = supply(SupplyTest::Bucket {
        static_kpa: 400.0,
        bucket_l: 20.0,
        bucket_s: 30.0,
    });
    assert!((supply.flow_most_lpm() - 40.0).abs() < 1e-9);
    assert!((supply.flow_at_lpm(250.0) - 23.552).abs() < 1e-3);
    assert!((supply.flow_at_lpm(200.0) - 27.511).abs() < 1e-3);
    assert!((supply.residual_kpa(20.0) - 289.185).abs() < 1e-3);
}

/// Points of the power curve `45 - 2.629493 q^1.584963` (three-point pump of Rossman et al. 2020, EPA/600/R-20/133,
/// chapter 3, as EPANET computes it): the interpolation stays within 0.2 % of the curve it was read from.
#[test]
fn a_pump_read_from_a_power_curve() {
    let law = |q: f64| 45.0 - 2.629_493 * q.powf(1.584_963);
    let points = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0].map(|q| (q, law(q)));
    let supply = supply(SupplyTest::Pump(points.to_vec()));
    assert!((supply.residual_kpa(1.0) - 42.3705).abs() < 1e-3);
    assert!((supply.residual_kpa(2.5) - 33.7645).abs() < 1e-3);
    for q in [0.25, 0.75, 1.75, 2.25, 2.75] {
        let off = (supply.residual_kpa(q) / law(q) - 1.0).abs();
        assert!(off < 2e-3, "{q}: {off}");
    }
}
