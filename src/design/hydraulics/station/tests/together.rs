//! Stations open at the same time.

use super::*;

/// Source 0 – shared main 0 – tee 1; from there main 1 to valve 2 of the one station with heads at 4 and 5, and main 2,
/// drawn against the water, to valve 3 of the other with heads at 6 and 7, which lies higher.
fn garden(exponent: f64) -> Yard {
    let (one, other) = (Section::Station(0), Section::Station(1));
    let mut yard = yard(exponent);
    yard.nodes = vec![
        node(NodeKind::Source, Section::Main, None, 10.0),
        node(NodeKind::Junction, Section::Main, None, 10.4),
        node(NodeKind::Valve, one, None, 10.5),
        node(NodeKind::Valve, other, None, 11.0),
        node(NodeKind::Head, one, Some(0), 11.0),
        node(NodeKind::Head, one, Some(1), 11.5),
        node(NodeKind::Head, other, Some(2), 12.0),
        node(NodeKind::Head, other, Some(3), 12.5),
    ];
    yard.pipes = vec![
        pipe(Section::Main, 0, 1, 40.0, 1),
        pipe(Section::Main, 1, 2, 10.0, 0),
        pipe(Section::Main, 3, 1, 25.0, 0),
        pipe(one, 2, 4, 9.0, 0),
        pipe(one, 4, 5, 9.0, 0),
        pipe(other, 3, 6, 9.0, 0),
        pipe(other, 6, 7, 9.0, 0),
    ];
    yard.heads = [4, 5, 6, 7]
        .map(|at: usize| Head {
            ground_m: yard.nodes[at].ground_m,
            ..yard.heads[0].clone()
        })
        .to_vec();
    yard
}

fn both(garden: &Yard) -> [StationInput<'_>; 2] {
    let one = StationInput {
        main_path: &[0, 1],
        laterals: &[3, 4],
        valve_node: 2,
        station_heads: &[0, 1],
        ..garden.input()
    };
    let other = StationInput {
        main_path: &[0, 2],
        laterals: &[5, 6],
        valve_node: 3,
        station_heads: &[2, 3],
        ..garden.input()
    };
    [one, other]
}

fn least_kpa(solution: &StationSolution) -> f64 {
    let heads = solution.head_pressure_kpa.iter();
    heads.map(|head| head.1).fold(f64::INFINITY, f64::min)
}

/// Loss of a pipe of the garden by hand, kPa: Hazen–Williams and fittings, with the figures of the reference manual of
/// EPANET 2.2 (Rossman et al. 2020, table 3.1 made SI, section 3.1).
fn loss_kpa(garden: &Yard, pipe: usize, flow_lpm: f64) -> f64 {
    let pipe = &garden.pipes[pipe];
    let size = &garden.catalogue.pipes[pipe.size];
    let (q, d) = (flow_lpm / 60_000.0, size.inside_mm / 1000.0);
    let friction_m =
        10.6668 * pipe.length_m * q.powf(1.852) / (size.roughness_c.powf(1.852) * d.powf(4.871));
    let v = q / (std::f64::consts::PI * d * d / 4.0);
    9.80665 * (friction_m + pipe.minor_k * v * v / (2.0 * 9.80665))
}

#[test]
fn the_supply_and_the_shared_main_carry_the_sum_and_every_law_is_kept() {
    for exponent in [0.5, 0.44, 0.1] {
        let garden = garden(exponent);
        let told = solve_together(&both(&garden)).unwrap();
        let heads_lpm = |station: usize| -> f64 {
            let flows = told.stations[station].head_flow_lpm.iter();
            flows.map(|head| head.1).sum()
        };
        let (one, other) = (heads_lpm(0), heads_lpm(1));
        assert!(one > 20.0 && other > 20.0);
        for (flow_lpm, expected_lpm) in [
            (told.flow_lpm, one + other),
            (told.stations[0].flow_lpm, one),
            (told.stations[1].flow_lpm, other),
            (told.main_flow_lpm[0].1, one + other),
            (told.main_flow_lpm[1].1, one),
            (told.main_flow_lpm[2].1, -other),
        ] {
            assert!(
                (flow_lpm - expected_lpm).abs() < 1e-3,
                "{flow_lpm} of {expected_lpm}"
            );
        }
        let source_kpa = garden.supply.delivered_kpa(one + other);
        assert!((told.source_kpa - source_kpa).abs() < 1e-4);
        let tee_kpa = source_kpa - loss_kpa(&garden, 0, one + other) - 0.4 * 9.80665;
        for (station, flow_lpm, rise_m) in [(0, one, 0.1), (1, other, 0.6)] {
            let solved = &told.stations[station];
            assert!((solved.main_pressure_kpa[1].1 - tee_kpa).abs() < 0.01);
            let before_kpa = tee_kpa - loss_kpa(&garden, station + 1, flow_lpm) - rise_m * 9.80665;
            assert!((solved.valve_in_kpa - before_kpa).abs() < 0.01);
            assert!((solved.valve_loss_kpa - 30.0 * (flow_lpm / 100.0).powi(2)).abs() < 1e-4);
            for ((_, kpa), (_, lpm)) in solved.head_pressure_kpa.iter().zip(&solved.head_flow_lpm) {
                assert!((lpm - 20.0 * (kpa / 300.0).powf(exponent)).abs() < 1e-6);
            }
        }
    }
}

/// A station out of reach of all water leaves the other as it is alone, to the solver's own exactness.
#[test]
fn a_station_that_draws_nothing_changes_nothing() {
    let mut garden = garden(0.5);
    garden.heads[2].ground_m = 500.0;
    garden.heads[3].ground_m = 500.0;
    let inputs = both(&garden);
    let told = solve_together(&inputs).unwrap();
    let alone = solve_station(&inputs[0]).unwrap();
    assert_eq!(told.stations[1].head_flow_lpm, [(2, 0.0), (3, 0.0)]);
    for (together, alone) in told.stations[0]
        .head_pressure_kpa
        .iter()
        .zip(&alone.head_pressure_kpa)
    {
        assert!(
            (together.1 - alone.1).abs() < 1e-4,
            "{together:?} {alone:?}"
        );
    }
}

#[test]
fn one_station_is_a_set_of_one() {
    let garden = garden(0.5);
    for input in both(&garden) {
        let told = solve_together(&[input]).unwrap();
        let alone = solve_station(&input).unwrap();
        let pairs = told.stations[0]
            .node_pressure_kpa
            .iter()
            .zip(&alone.node_pressure_kpa);
        assert!(told.stations.len() == 1 && alone.node_pressure_kpa.len() == 3);
        for (together, alone) in pairs {
            assert!(together.0 == alone.0 && (together.1 - alone.1).abs() < 1e-9);
        }
        assert!((told.flow_lpm - alone.flow_lpm).abs() < 1e-4); // mass is kept to 1e-9 m³/s
    }
}

#[test]
fn regulators_hold_beside_one_another_and_stand_open_when_the_other_takes_too_much() {
    let garden = garden(0.5);
    let mut inputs = both(&garden);
    let behind_kpa = |solution: &StationSolution| solution.node_pressure_kpa[0].1;
    let free = solve_together(&inputs).unwrap();
    let open_kpa = behind_kpa(&free.stations[0]);
    let alone_kpa = behind_kpa(&solve_station(&inputs[0]).unwrap());
    assert!(alone_kpa > open_kpa + 20.0, "{alone_kpa} {open_kpa}");
    let low_kpa = open_kpa - 40.0;
    (inputs[0].regulated_kpa, inputs[1].regulated_kpa) = (Some(low_kpa), Some(low_kpa - 30.0));
    let held = solve_together(&inputs).unwrap();
    assert!((behind_kpa(&held.stations[0]) - low_kpa).abs() < 1e-5);
    assert!((behind_kpa(&held.stations[1]) - low_kpa + 30.0).abs() < 1e-5);
    // Between what it gets alone and together: it holds alone and falls short together.
    let between_kpa = (alone_kpa + open_kpa) / 2.0;
    (inputs[0].regulated_kpa, inputs[1].regulated_kpa) = (Some(between_kpa), None);
    let alone = solve_station(&inputs[0]).unwrap();
    assert!((behind_kpa(&alone) - between_kpa).abs() < 1e-5);
    let short = solve_together(&inputs).unwrap();
    assert!((behind_kpa(&short.stations[0]) - open_kpa).abs() < 1e-4);
}

#[test]
fn what_is_no_set_of_stations_is_named() {
    let garden = garden(0.5);
    let [one, other] = both(&garden);
    assert_eq!(solve_together(&[]), Err(StationError::NoStation));
    let (what, index) = ("valve node", 2);
    assert_eq!(
        solve_together(&[one, one]),
        Err(StationError::Twice { what, index })
    );
    let grasping = StationInput {
        laterals: &[4, 5, 6],
        ..other
    };
    let (what, index) = ("lateral", 4);
    assert_eq!(
        solve_together(&[one, grasping]),
        Err(StationError::Twice { what, index })
    );
    let elsewhere = StationInput {
        source_node: 1,
        ..other
    };
    assert_eq!(
        solve_together(&[one, elsewhere]),
        Err(StationError::OfAnotherDesign(1))
    );
}

proptest! {
    /// Whatever the supply, heights and settings: no water is lost, and no head gets more than when its station runs alone.
    #[test]
    fn no_head_gets_more_than_alone(
        test in any_supply(),
        exponent in 0.05f64..1.2,
        regulated in proptest::array::uniform2(proptest::option::of(50.0f64..500.0)),
        rise_m in -20.0f64..60.0,
    ) {
        let mut garden = garden(exponent);
        garden.heads[3].ground_m += rise_m;
        let point = WaterPoint {
            id: "w".into(),
            position: PLACE,
            test,
            meter_loss_kpa: Some(15.0),
            backflow_loss_kpa: None,
service: None,
        };
        garden.supply = SupplyCurve::of(&point, &Rules::default()).unwrap();
        let mut inputs = both(&garden);
        (inputs[0].regulated_kpa, inputs[1].regulated_kpa) = (regulated[0], regulated[1]);
        let told = solve_together(&inputs).unwrap();
        let sum: f64 = told.stations.iter().flat_map(|s| &s.head_flow_lpm).map(|head| head.1).sum();
        prop_assert!((told.flow_lpm - sum).abs() < 1e-3, "{} {sum}", told.flow_lpm);
        let alone = inputs.each_ref().map(|input| solve_station(input).unwrap());
        // A hair more: a sheer curve turns a millionth of flow into much pressure.
        let flows = alone.each_ref().map(|alone| alone.flow_lpm + 1e-4);
        let least = least_valve_in_kpa(&inputs, &flows).unwrap();
        for ((alone, together), least_kpa_there) in alone.iter().zip(&told.stations).zip(least) {
            prop_assert!(least_kpa_there <= together.valve_in_kpa + 1e-3 || told.source_kpa < 0.0);
            // No head loses more than its valve does.
            let fall_kpa = alone.valve_in_kpa - together.valve_in_kpa;
            prop_assert!(least_kpa(together) <= least_kpa(alone) + 1e-3);
            for (a, b) in together.head_pressure_kpa.iter().zip(&alone.head_pressure_kpa) {
                prop_assert!(a.1 <= b.1 + 1e-3, "{a:?} {b:?}");
                prop_assert!(a.1 >= b.1 - fall_kpa - 1e-3, "{a:?} {b:?} {fall_kpa}");
            }
        }
    }
}
