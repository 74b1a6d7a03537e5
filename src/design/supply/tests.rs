use super::*;
use crate::site::SupplyTest;
use geo::Coord;

fn supply(test: SupplyTest) -> Result<SupplyCurve, SupplyError> {
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
    SupplyCurve::of(&point, &rules)
}

fn hydrant() -> SupplyCurve {
    supply(SupplyTest::FlowTest {
        static_kpa: 500.0,
        residual_kpa: 350.0,
        residual_lpm: 120.0,
    })
    .unwrap()
}

#[test]
fn flow_and_pressure_invert_exactly() {
    let supply = hydrant();
    for kpa in [499.0, 420.0, 350.0, 100.0, 1.0] {
        let back = supply.residual_kpa(supply.flow_at_lpm(kpa));
        assert!((back - kpa).abs() < 1e-9, "{kpa} came back as {back}");
    }
    assert_eq!(supply.static_kpa(), 500.0);
    assert_eq!(supply.flow_at_lpm(500.1), 0.0);
    assert_eq!(supply.residual_kpa(1000.0), 0.0);
}

#[test]
fn losses_grow_with_the_square_and_the_margin_takes_its_share() {
    let point = WaterPoint {
        id: "w".into(),
        position: Coord { x: 0.0, y: 0.0 },
        test: SupplyTest::FlowTest {
            static_kpa: 500.0,
            residual_kpa: 350.0,
            residual_lpm: 120.0,
        },
        meter_loss_kpa: Some(20.0),
        backflow_loss_kpa: Some(60.0),
        service: None,
    };
    let supply = SupplyCurve::of(&point, &Rules::default()).unwrap();
    assert!((supply.meter_loss_kpa(60.0) - 5.0).abs() < 1e-12);
    assert!((supply.backflow_loss_kpa(60.0) - 15.0).abs() < 1e-12);
    assert!((supply.delivered_kpa(120.0) - 270.0).abs() < 1e-9);
    assert!((supply.whole_flow_lpm(270.0) - 120.0).abs() < 1e-9);
    assert!((supply.flow_at_lpm(270.0) - 108.0).abs() < 1e-9);
    assert!(supply.flow_most_lpm() < 0.9 * hydrant().flow_most_lpm());
}

fn behind_service() -> SupplyCurve {
    let point = WaterPoint {
        id: "w".into(),
        position: Coord { x: 0.0, y: 0.0 },
        test: SupplyTest::FlowTest {
            static_kpa: 500.0,
            residual_kpa: 350.0,
            residual_lpm: 120.0,
        },
        meter_loss_kpa: Some(20.0),
        backflow_loss_kpa: None,
        service: Some(ServicePipe {
            length_m: 100.0,
            inside_mm: 40.9,
            roughness_c: 130.0,
        }),
    };
    SupplyCurve::of(&point, &Rules::default()).unwrap()
}

/// EPANET 2.3.5: 2 L/s through 100 m of 40.9 mm, C 130, lose 7.530282 m.
#[test]
fn a_service_pipe_takes_its_friction_from_what_is_delivered() {
    let supply = behind_service();
    let lost_kpa = supply.service_loss_kpa(120.0);
    assert!(
        (lost_kpa / (7.530_282 * 9.806_65) - 1.0).abs() < 1e-4,
        "{lost_kpa}"
    );
    assert!((supply.delivered_kpa(120.0) - (350.0 - 20.0 - lost_kpa)).abs() < 1e-9);
    assert_eq!(supply.static_kpa(), 500.0);
    assert_eq!(supply.service_loss_kpa(0.0), 0.0);
    assert_eq!(hydrant().service_loss_kpa(120.0), 0.0);
    let back = supply.delivered_kpa(supply.whole_flow_lpm(300.0));
    assert!((back - 300.0).abs() < 1e-9, "{back}");
}

#[test]
fn a_service_pipe_that_cannot_be_is_refused() {
    let with = |length_m, inside_mm, roughness_c| {
        let point = WaterPoint {
            id: "w".into(),
            position: Coord { x: 0.0, y: 0.0 },
            test: SupplyTest::DesignPoint {
                design_lpm: 80.0,
                design_kpa: 300.0,
            },
            meter_loss_kpa: None,
            backflow_loss_kpa: None,
            service: Some(ServicePipe {
                length_m,
                inside_mm,
                roughness_c,
            }),
        };
        SupplyCurve::of(&point, &Rules::default())
    };
    assert!(with(10.0, 40.0, 130.0).is_ok());
    assert!(matches!(
        with(0.0, 40.0, 130.0),
        Err(SupplyError::Figure { .. })
    ));
    assert!(matches!(
        with(10.0, -1.0, 130.0),
        Err(SupplyError::Service(_))
    ));
    assert!(matches!(
        with(10.0, 40.0, f64::NAN),
        Err(SupplyError::Service(_))
    ));
}

#[test]
fn a_design_point_holds_its_pressure_and_then_nothing() {
    let supply = supply(SupplyTest::DesignPoint {
        design_lpm: 80.0,
        design_kpa: 300.0,
    })
    .unwrap();
    assert_eq!(supply.residual_kpa(80.0), 300.0);
    assert_eq!(supply.residual_kpa(81.0), 0.0);
    assert!((supply.flow_at_lpm(300.0) - 80.0).abs() < 1e-9);
}

#[test]
fn the_curve_for_the_solver_has_the_slope_it_tells() {
    let pump = supply(SupplyTest::Pump(vec![
        (0.0, 450.0),
        (60.0, 420.0),
        (150.0, 300.0),
    ]))
    .unwrap();
    for supply in [hydrant(), pump, behind_service()] {
        for flow_m3s in [2e-4, 1.3e-3, 2.4e-3, 4e-3] {
            let step = 1e-8;
            let (above, _) = supply.head_and_slope(flow_m3s + step);
            let (below, _) = supply.head_and_slope(flow_m3s - step);
            let measured = (above - below) / (2.0 * step);
            let (_, slope) = supply.head_and_slope(flow_m3s);
            assert!((measured / slope - 1.0).abs() < 1e-5, "{flow_m3s}");
        }
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let test = |static_kpa, residual_kpa, residual_lpm| {
        supply(SupplyTest::FlowTest {
            static_kpa,
            residual_kpa,
            residual_lpm,
        })
    };
    assert!(matches!(
        test(350.0, 350.0, 120.0),
        Err(SupplyError::ResidualNotBelowStatic { .. })
    ));
    for figures in [
        (500.0, 350.0, 0.0),
        (500.0, -1.0, 9.0),
        (f64::NAN, 1.0, 9.0),
    ] {
        let refused = test(figures.0, figures.1, figures.2);
        assert!(
            matches!(refused, Err(SupplyError::Figure { .. })),
            "{figures:?}"
        );
    }
    let bucket = supply(SupplyTest::Bucket {
        static_kpa: 400.0,
        bucket_l: 20.0,
        bucket_s: 0.0,
    });
    assert!(matches!(bucket, Err(SupplyError::Figure { .. })));
}
