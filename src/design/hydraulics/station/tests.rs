use super::*;
use crate::brief::{HeadModel, Nozzle, PipeSize, Profile, Rules};
use crate::design::coverage::Tilt;
use crate::design::model::{Arc, NodeKind, Section};
use crate::site::{SupplyTest, WaterPoint};
use geo::{Coord, LineString};

mod together;

const PLACE: Coord<f64> = Coord { x: 0.0, y: 0.0 };

/// Source 0 – main – valve 1 – laterals to 2, 3, 4, a head at each; climbing, inverts 0.3 m under ground.
struct Yard {
    nodes: Vec<Node>,
    pipes: Vec<Pipe>,
    heads: Vec<Head>,
    catalogue: Catalogue,
    supply: SupplyCurve,
}

fn node(kind: NodeKind, section: Section, head: Option<usize>, ground_m: f64) -> Node {
    Node {
        position: PLACE,
        kind,
        section,
        head,
        ground_m,
        invert_m: ground_m - 0.3,
        pressure_kpa: None,
        static_kpa: None,
    }
}

fn pipe(section: Section, from: usize, to: usize, length_m: f64, size: usize) -> Pipe {
    Pipe {
        section,
        from,
        to,
        trenches: Vec::new(),
        line: LineString::new(vec![PLACE, PLACE]),
        length_m,
        size,
        minor_k: 0.9,
        flow_lpm: 0.0,
        velocity_m_s: 0.0,
        loss_kpa: 0.0,
    }
}

fn size(inside_mm: f64) -> PipeSize {
    PipeSize {
        nominal: format!("{inside_mm}"),
        material: "pe".into(),
        outside_mm: inside_mm + 4.0,
        inside_mm,
        roughness_c: 145.0,
        roughness_mm: PipeSize::PLASTIC_ROUGHNESS_MM,
        friction: crate::brief::Friction::default(),
        rating_kpa: 1000.0,
        coil_m: 100.0,
        price_per_m: 1.0,
        only_laid: false,
    }
}

fn model(flow_exponent: f64) -> HeadModel {
    HeadModel {
        name: "h".into(),
        family: "rotor".into(),
        rate_class: "r".into(),
        rate_mm_h: 12.0,
        radius_min_m: 6.0,
        radius_max_m: 9.0,
        pressure_min_kpa: 200.0,
        pressure_ref_kpa: 300.0,
        pressure_max_kpa: 450.0,
        flow_exponent,
        radius_exponent: 0.3,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 8.0,
        joint_flow_lpm: 20.0,
        nozzles: vec![Nozzle {
            name: "n".into(),
            sweep_min_deg: 1.0,
            sweep_max_deg: 360.0,
            flow_lpm: 20.0,
            flow_follows_arc: true,
        }],
        price: 1.0,
    }
}

fn yard(flow_exponent: f64) -> Yard {
    let lateral = Section::Station(0);
    let heads = [11.0, 12.0, 12.5].map(|ground_m| Head {
        position: PLACE,
        turf: 0,
        model: 0,
        nozzle: 0,
        arc: Arc::FULL,
        radius_m: 9.0,
        tilt: Tilt::LEVEL,
        ground_m,
        flow_ref_lpm: 20.0,
        one_row: false,
    });
    let test = SupplyTest::FlowTest {
        static_kpa: 550.0,
        residual_kpa: 400.0,
        residual_lpm: 100.0,
    };
    let point = WaterPoint {
        id: "w".into(),
        position: PLACE,
        test,
        meter_loss_kpa: Some(15.0),
        backflow_loss_kpa: Some(40.0),
        service: None,
    };
    Yard {
        nodes: vec![
            node(NodeKind::Source, Section::Main, None, 10.0),
            node(NodeKind::Valve, lateral, None, 10.5),
            node(NodeKind::Head, lateral, Some(0), 11.0),
            node(NodeKind::Head, lateral, Some(1), 12.0),
            node(NodeKind::Head, lateral, Some(2), 12.5),
        ],
        pipes: vec![
            pipe(Section::Main, 0, 1, 40.0, 1),
            pipe(lateral, 1, 2, 9.0, 1),
            pipe(lateral, 2, 3, 9.0, 0),
            pipe(lateral, 4, 3, 9.0, 0), // against the flow
        ],
        heads: heads.to_vec(),
        catalogue: Catalogue {
            origin: "invented".into(),
            heads: vec![model(flow_exponent)],
            pipes: vec![size(26.6), size(35.1)],
            valves: vec![ValveSize {
                size: "DN25".into(),
                flow_max_lpm: 100.0,
                loss_kpa: 30.0,
                price: 1.0,
            }],
        },
        supply: SupplyCurve::of(&point, &Rules::default()).unwrap(),
    }
}

impl Yard {
    fn input(&self) -> StationInput<'_> {
        StationInput {
            nodes: &self.nodes,
            pipes: &self.pipes,
            main_path: &[0],
            laterals: &[1, 2, 3],
            valve_node: 1,
            source_node: 0,
            supply: &self.supply,
            valve: &self.catalogue.valves[0],
            regulated_kpa: None,
            heads: &self.heads,
            station_heads: &[2, 0, 1],
            catalogue: &self.catalogue,
        }
    }
}

/// Every law is checked by hand on the solved figures: supply, valve, lateral, rise and joint, nozzle.
#[test]
fn the_solved_figures_keep_every_law() {
    for exponent in [0.5, 0.44, 0.1] {
        let yard = yard(exponent);
        let told = solve_station(&yard.input()).unwrap();
        let flow = told.flow_lpm;
        let all: f64 = told.head_flow_lpm.iter().map(|(_, flow)| flow).sum();
        assert!((flow - all).abs() < 1e-4, "{flow} of {all}");
        assert!((told.source_kpa - yard.supply.delivered_kpa(flow)).abs() < 1e-5);
        assert!((told.valve_loss_kpa - 30.0 * (flow / 100.0).powi(2)).abs() < 1e-5);
        let pressure = |node| {
            told.node_pressure_kpa
                .iter()
                .find(|p| p.0 == node)
                .unwrap()
                .1
        };
        assert!((told.valve_in_kpa - told.valve_loss_kpa - pressure(1)).abs() < 1e-9);
        for (head, kpa) in &told.head_pressure_kpa {
            let (_, flow) = *told.head_flow_lpm.iter().find(|f| f.0 == *head).unwrap();
            let nozzle = 20.0 * (kpa / 300.0).powf(exponent);
            assert!((flow - nozzle).abs() < 1e-6, "{head}: {flow} {nozzle}");
            let below = pressure(head + 2) - 0.3 * 9.80665 - 8.0 * (flow / 20.0).powi(2);
            assert!((below - kpa).abs() < 1e-4, "{head}: {below} {kpa}");
        }
        let last = told.pipe_flow_lpm.iter().find(|f| f.0 == 3).unwrap().1;
        assert!(
            (last + told.head_flow_lpm[0].1).abs() < 1e-4,
            "runs against its pipe"
        );
    }
}

#[test]
fn pipes_lose_by_the_law_that_their_size_has() {
    use crate::brief::Friction;
    use crate::design::hydraulics::pipe_friction::bore;
    use crate::units::m3s_from_lpm;
    let mut yard = yard(0.5);
    let by_hazen = solve_station(&yard.input()).unwrap();
    for size in &mut yard.catalogue.pipes {
        size.friction = Friction::DarcyWeisbach {
            viscosity_m2_s: 1.52e-6,
        };
    }
    let told = solve_station(&yard.input()).unwrap();
    let losses = told.pipe_flow_lpm.iter().zip(&told.pipe_loss_kpa);
    for (&(pipe, flow_lpm), &(_, loss_kpa)) in losses {
        let pipe = &yard.pipes[pipe];
        let bore = bore(&yard.catalogue.pipes[pipe.size]).unwrap();
        let velocity = bore.velocity_m_s(m3s_from_lpm(flow_lpm));
        let fittings_m = (pipe.minor_k * velocity * velocity / 19.6133).copysign(flow_lpm);
        let expected_m = bore.loss_m(pipe.length_m, m3s_from_lpm(flow_lpm)) + fittings_m;
        let off_kpa = loss_kpa - kpa_from_head_m(expected_m);
        assert!(off_kpa.abs() < 1e-4, "{off_kpa}");
    }
    let differs = (told.source_kpa - by_hazen.source_kpa).abs();
    assert!(differs > 1e-3, "{differs}");
}

#[test]
fn a_regulator_holds_its_pressure_and_stands_open_when_short() {
    let yard = yard(0.5);
    let free = solve_station(&yard.input()).unwrap();
    let open_kpa = free.node_pressure_kpa[0].1;
    for (set_kpa, expected_kpa) in [(300.0, 300.0), (open_kpa + 40.0, open_kpa)] {
        let regulated_kpa = Some(set_kpa);
        let told = solve_station(&StationInput {
            regulated_kpa,
            ..yard.input()
        })
        .unwrap();
        let (node, kpa) = told.node_pressure_kpa[0];
        assert_eq!(node, 1);
        assert!(
            (kpa - expected_kpa).abs() < 1e-5,
            "{kpa} for {expected_kpa}"
        );
        assert!((told.valve_in_kpa - told.valve_loss_kpa - kpa).abs() < 1e-9);
        assert!(told.residual_m3s < 1e-9);
    }
}

/// A head far above the hydraulic grade gives nothing and draws nothing in; the others do as if it were not there.
#[test]
fn a_head_out_of_reach_gives_nothing() {
    let mut high = yard(0.5);
    high.heads[2].ground_m = 500.0;
    let told = solve_station(&high.input()).unwrap();
    assert_eq!(told.head_flow_lpm[0], (2, 0.0));
    assert_eq!(told.head_pressure_kpa[0], (2, 0.0));
    let mut without = yard(0.5);
    without.nodes[4].head = None;
    let input = StationInput {
        station_heads: &[0, 1],
        ..without.input()
    };
    let alone = solve_station(&input).unwrap();
    assert!((told.flow_lpm - alone.flow_lpm).abs() < 1e-5);
}

#[test]
fn pieces_that_do_not_fit_are_named() {
    let yard = yard(0.5);
    let broken = StationInput {
        main_path: &[0, 3],
        ..yard.input()
    };
    assert_eq!(solve_station(&broken), Err(StationError::MainBroken(3)));
    let homeless = StationInput {
        laterals: &[1, 2],
        ..yard.input()
    };
    assert_eq!(
        solve_station(&homeless),
        Err(StationError::HeadWithoutNode(2))
    );
    let strange = StationInput {
        laterals: &[1, 2, 3, 9],
        ..yard.input()
    };
    let missing = StationError::Missing {
        what: "pipe",
        index: 9,
    };
    assert_eq!(solve_station(&strange), Err(missing));
}

#[test]
fn static_pressure_is_height_alone() {
    let yard = yard(0.5);
    let kpa = static_pressures(&yard.nodes, 50.0);
    assert!((kpa[0] - (50.0 - 9.7) * 9.80665).abs() < 1e-9);
    assert!((kpa[4] - (50.0 - 12.2) * 9.80665).abs() < 1e-9);
}

use proptest::prelude::*;

fn any_supply() -> impl Strategy<Value = SupplyTest> {
    prop_oneof![
        (20.0..900.0, 1.0..200.0).prop_map(|(static_kpa, residual_lpm)| SupplyTest::FlowTest {
            static_kpa,
            residual_kpa: static_kpa * 0.6,
            residual_lpm,
        }),
        (50.0..900.0, 5.0..120.0).prop_map(|(static_kpa, bucket_s)| SupplyTest::Bucket {
            static_kpa,
            bucket_l: 20.0,
            bucket_s,
        }),
        (50.0..900.0, 1.0..200.0).prop_map(|(design_kpa, design_lpm)| SupplyTest::DesignPoint {
            design_lpm,
            design_kpa,
        }),
        (100.0..900.0, 5.0..200.0).prop_map(|(kpa, lpm)| SupplyTest::Pump(vec![
            (0.0, kpa),
            (0.4 * lpm, kpa),
            (0.8 * lpm, 0.8 * kpa),
            (lpm, 0.5 * kpa),
        ])),
    ]
}

proptest! {
    /// Whatever the supply, however weak, level or sheer, a station has a steady state that keeps its law.
    #[test]
    fn every_supply_finds_its_working_point(
        test in any_supply(),
        exponent in 0.05f64..1.2,
        regulated_kpa in proptest::option::of(50.0f64..500.0),
        rise_m in -20.0f64..60.0,
    ) {
        let mut yard = yard(exponent);
        yard.heads[2].ground_m += rise_m;
        let point = WaterPoint {
            id: "w".into(),
            position: PLACE,
            test,
            meter_loss_kpa: Some(15.0),
            backflow_loss_kpa: None, service: None,
        };
        yard.supply = SupplyCurve::of(&point, &Rules::default()).unwrap();
        let told = solve_station(&StationInput { regulated_kpa, ..yard.input() }).unwrap();
        prop_assert!(told.residual_m3s < 1e-9);
        if told.source_kpa > 0.0 {
            // As flow, since a sheer curve turns a millionth of flow into much pressure.
            let flow = yard.supply.whole_flow_lpm(told.source_kpa + 1e-4);
            let level = yard.supply.whole_flow_lpm((told.source_kpa - 1e-4).max(0.0));
            prop_assert!(told.flow_lpm >= flow - 1e-4 || told.source_kpa >= yard.supply.static_kpa() - 1e-3);
            prop_assert!(told.flow_lpm <= level + 1e-4, "{} {}", told.flow_lpm, level);
        }
    }
}
