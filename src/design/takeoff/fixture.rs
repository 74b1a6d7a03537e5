//! A small design made by hand: one main with a tee to two valves, two stations of heads, a paving crossing.
//!
//! ```text
//!                         V1 ── H0 ── H1 ── H2     station 0: 25, 25, 20
//!                         │
//! S ──40── J ──(paving)── ┘            main 40 to J, 32 beyond
//!          └── 32 ── V2 ── H3 (turns 90° at a corner of its own line)   station 1
//! ```

use crate::brief::{Catalogue, HeadModel, Nozzle, PipeSize, Profile, ValveSize};
use crate::design::coverage::Tilt;
use crate::design::model::*;
use geo::{Coord, LineString};

pub fn pipe_size(nominal: &str, inside_mm: f64, coil_m: f64, price: f64) -> PipeSize {
    let outside_mm = nominal.parse().unwrap();
    PipeSize {
        nominal: nominal.to_owned(),
        material: "pe".to_owned(),
        outside_mm,
        inside_mm,
        roughness_c: 140.0,
        roughness_mm: PipeSize::PLASTIC_ROUGHNESS_MM,
        friction: crate::brief::Friction::default(),
        rating_kpa: 1000.0,
        coil_m,
        price_per_m: price,
        only_laid: false,
    }
}

pub fn catalogue() -> Catalogue {
    let nozzle = |name: &str| Nozzle {
        name: name.to_owned(),
        sweep_min_deg: 40.0,
        sweep_max_deg: 360.0,
        flow_lpm: 10.0,
        flow_follows_arc: false,
    };
    let model = HeadModel {
        name: "rotor-10".to_owned(),
        family: "rotor".to_owned(),
        rate_class: "rotor".to_owned(),
        rate_mm_h: 12.0,
        radius_min_m: 7.0,
        radius_max_m: 10.0,
        pressure_min_kpa: 200.0,
        pressure_ref_kpa: 300.0,
        pressure_max_kpa: 400.0,
        flow_exponent: 0.5,
        radius_exponent: 0.3,
        profile: Profile::Cone,
        popup_mm: 100.0,
        joint_loss_kpa: 5.0,
        joint_flow_lpm: 10.0,
        nozzles: vec![nozzle("1"), nozzle("4")],
        price: 20.0,
    };
    Catalogue {
        origin: "invented".to_owned(),
        heads: vec![model],
        pipes: vec![
            pipe_size("20", 16.0, 100.0, 0.5),
            pipe_size("25", 20.4, 100.0, 0.8),
            pipe_size("32", 26.2, 100.0, 1.2),
            pipe_size("40", 32.6, 100.0, 2.0),
        ],
        valves: vec![ValveSize {
            size: "DN25".to_owned(),
            flow_max_lpm: 80.0,
            loss_kpa: 20.0,
            price: 30.0,
        }],
    }
}

fn at(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

fn node(x: f64, y: f64, kind: NodeKind, section: Section, head: Option<usize>) -> Node {
    Node {
        position: at(x, y),
        kind,
        section,
        head,
        ground_m: 0.0,
        invert_m: -0.4,
        pressure_kpa: None,
        static_kpa: None,
    }
}

/// A pipe along its nodes and, between, the points of `bends`.
fn pipe(
    nodes: &[Node],
    section: Section,
    ends: [usize; 2],
    bends: &[(f64, f64)],
    size: usize,
    trenches: &[usize],
) -> Pipe {
    let mut points = vec![nodes[ends[0]].position];
    points.extend(bends.iter().map(|(x, y)| at(*x, *y)));
    points.push(nodes[ends[1]].position);
    let length_m = points
        .windows(2)
        .map(|p| (p[1].x - p[0].x).hypot(p[1].y - p[0].y))
        .sum();
    Pipe {
        section,
        from: ends[0],
        to: ends[1],
        trenches: trenches.to_vec(),
        line: LineString(points),
        length_m,
        size,
        minor_k: 0.0,
        flow_lpm: 10.0,
        velocity_m_s: 0.5,
        loss_kpa: 1.0,
    }
}

fn trench(points: [(f64, f64); 2], surface: Surface, covers: (f64, f64)) -> Trench {
    let [(x0, y0), (x1, y1)] = points;
    Trench {
        line: LineString(vec![at(x0, y0), at(x1, y1)]),
        surface,
        sleeve: surface == Surface::Paving,
        length_m: (x1 - x0).hypot(y1 - y0),
        cover_min_m: covers.0,
        cover_max_m: covers.1,
        pipes: 1,
    }
}

fn head(x: f64, y: f64, nozzle: usize, sweep_deg: f64) -> Head {
    Head {
        position: at(x, y),
        turf: 0,
        model: 0,
        nozzle,
        arc: Arc {
            start_deg: 0.0,
            sweep_deg,
        },
        radius_m: 10.0,
        tilt: Tilt::LEVEL,
        ground_m: 0.0,
        flow_ref_lpm: 10.0,
        one_row: false,
    }
}

pub fn design() -> Design {
    let (main, first, second) = (Section::Main, Section::Station(0), Section::Station(1));
    let nodes = vec![
        node(0.0, 0.0, NodeKind::Source, main, None),
        node(50.0, 0.0, NodeKind::Junction, main, None),
        node(60.0, 0.0, NodeKind::Valve, first, None),
        node(70.0, 0.0, NodeKind::Head, first, Some(0)),
        node(80.0, 0.0, NodeKind::Head, first, Some(1)),
        node(90.0, 0.0, NodeKind::Head, first, Some(2)),
        node(50.0, -10.0, NodeKind::Valve, second, None),
        node(60.0, -20.0, NodeKind::Head, second, Some(3)),
    ];
    let pipes = vec![
        pipe(&nodes, main, [0, 1], &[], 3, &[0, 1]),
        pipe(&nodes, main, [1, 2], &[], 2, &[2]),
        pipe(&nodes, main, [1, 6], &[], 2, &[3]),
        pipe(&nodes, first, [2, 3], &[], 1, &[]),
        pipe(&nodes, first, [3, 4], &[], 1, &[]),
        pipe(&nodes, first, [4, 5], &[], 0, &[]),
        pipe(&nodes, second, [6, 7], &[(50.0, -20.0)], 1, &[]),
    ];
    let valve = |kind, station, node| Valve {
        kind,
        station,
        node,
        flow_lpm: 30.0,
        size: "DN25".to_owned(),
    };
    Design {
        heads: vec![
            head(70.0, 0.0, 1, 90.0),
            head(80.0, 0.0, 1, 91.4),
            head(90.0, 0.0, 1, 180.0),
            head(60.0, -20.0, 0, 360.0),
        ],
        nodes,
        pipes,
        trenches: vec![
            trench([(0.0, 0.0), (45.0, 0.0)], Surface::Turf, (0.45, 0.55)),
            trench([(45.0, 0.0), (50.0, 0.0)], Surface::Paving, (0.5, 0.5)),
            trench([(50.0, 0.0), (60.0, 0.0)], Surface::Roots, (0.3, 0.4)),
            trench([(50.0, 0.0), (50.0, -10.0)], Surface::Turf, (0.6, 0.7)),
        ],
        valves: vec![
            valve(ValveKind::Control, Some(0), 2),
            valve(ValveKind::Control, Some(1), 6),
            valve(ValveKind::Isolation, None, 0),
        ],
        drains: vec![Drain {
            kind: DrainKind::Automatic,
            section: first,
            node: 5,
            drained_l: 7.0,
            gravel_l: 20.0,
        }],
        air_valves: vec![1],
        ..Design::default()
    }
}
