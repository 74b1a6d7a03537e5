//! The whole count on a small design made by hand; expected numbers are counted on paper.

mod priced;

use super::fixture::{catalogue, design};
use super::*;
use crate::design::model::{Section, Valve, ValveKind};
use geo::Coord;
use proptest::prelude::*;

fn prices() -> Prices {
    Prices {
        use_catalogue: true,
        trench_per_m: Some(10.0),
        hand_dug_per_m: Some(50.0),
        fitting: Some(2.0),
        ..Prices::default()
    }
}

/// No sand, so that spoil is what the pipe alone asks for.
fn rules() -> Rules {
    Rules {
        bedding_sand_m: 0.0,
        ..Rules::default()
    }
}

fn counted(design: &Design) -> Vec<TakeoffRow> {
    count(design, &catalogue(), &prices(), &rules())
}

/// Quantity of the rows whose item starts so, of that size where one is asked for.
fn quantity(rows: &[TakeoffRow], item: &str, size: Option<&str>) -> f64 {
    rows.iter()
        .filter(|row| row.item.starts_with(item) && (size.is_none() || row.size.as_deref() == size))
        .map(|row| row.quantity)
        .sum()
}

#[test]
fn heads_by_nozzle_and_arc_in_steps_of_five_degrees() {
    let rows = counted(&design());
    let heads: Vec<(&str, f64)> = rows
        .iter()
        .filter(|row| row.group == "heads")
        .map(|row| (row.item.as_str(), row.quantity))
        .collect();
    assert_eq!(
        heads,
        [
            ("rotor-10, nozzle 1, full circle", 1.0),
            ("rotor-10, nozzle 4, arc 90°", 2.0),
            ("rotor-10, nozzle 4, arc 180°", 1.0),
            ("swing joint (in the head's price)", 4.0),
        ]
    );
    assert_eq!(rows[1].cost, Some(40.0));
}

#[test]
fn fittings_are_what_meets_at_each_node() {
    let rows = counted(&design());
    let fittings: Vec<(&str, &str, f64)> = rows
        .iter()
        .filter(|row| row.group == "fittings")
        .map(|row| {
            (
                row.item.as_str(),
                row.size.as_deref().unwrap(),
                row.quantity,
            )
        })
        .collect();
    assert_eq!(
        fittings,
        [
            ("pe tee", "40", 1.0),
            ("pe elbow 90°", "25", 1.0), // the corner inside the second station's line
            ("pe reducer", "25 x 20", 1.0),
            ("pe reducer", "40 x 32", 2.0),
            ("pe saddle with threaded outlet", "20", 1.0), // the drain beside the last head
            ("pe saddle with threaded outlet", "25", 2.0), // the first two heads
            ("pe saddle with threaded outlet", "40", 1.0), // the air valve on the tee
            ("pe end elbow with threaded outlet", "20", 1.0),
            ("pe end elbow with threaded outlet", "25", 1.0),
            ("pe valve connector", "25", 2.0),
            ("pe valve connector", "32", 2.0),
            ("pe supply connector", "40", 1.0),
        ]
    );
}

#[test]
fn a_stiff_bar_needs_an_elbow_where_a_coil_is_bent() {
    let mut design = design();
    let points = [(0.0, 0.0), (20.0, 0.0), (30.0, 2.0), (50.0, 0.0)]; // turns of 11° and 17°
    design.pipes[0].line = points.into_iter().collect();
    assert_eq!(quantity(&counted(&design), "pe elbow", Some("40")), 0.0);
    let mut stiff = catalogue();
    stiff.pipes[3].coil_m = 6.0;
    let rows = count(&design, &stiff, &prices(), &rules());
    assert_eq!(quantity(&rows, "pe elbow 45°", Some("40")), 2.0);
}

#[test]
fn a_bare_end_gets_a_cap_and_four_ways_a_cross() {
    let mut design = design();
    design.nodes[5].head = None;
    design.drains.clear();
    assert_eq!(quantity(&counted(&design), "pe end cap", Some("20")), 1.0);
    let mut extra = design.pipes[2].clone();
    (extra.from, extra.to) = (1, 5);
    design.pipes.push(extra);
    let rows = counted(&design);
    assert_eq!(quantity(&rows, "pe cross", Some("40")), 1.0);
    assert_eq!(quantity(&rows, "pe tee", None), 0.0);
}

#[test]
fn pipe_is_laid_through_heads_in_one_run_and_cut_at_elbows() {
    let design = design();
    let runs = pipes::runs(&design.pipes, &joints::of(&design), &catalogue().pipes);
    assert_eq!(runs[&1], [20.0, 10.0, 10.0]); // through the first head; to and from the corner
    assert_eq!(runs[&2], [10.0, 10.0]);
    let rows = counted(&design);
    assert_eq!(quantity(&rows, "pe pipe, coils", Some("25")), 1.0);
    assert_eq!(quantity(&rows, "pe pipe, waste", Some("25")), 60.0);
}

#[test]
fn wire_goes_along_the_mains() {
    let rows = counted(&design());
    assert_eq!(quantity(&rows, "controller output", None), 2.0);
    assert_eq!(quantity(&rows, "wire, one conductor", None), 120.0);
    assert_eq!(quantity(&rows, "wire, common", None), 70.0);
    assert_eq!(quantity(&rows, "wire, spare", None), 70.0);
}

#[test]
fn a_valve_that_no_main_reaches_is_told() {
    let mut design = design();
    design.pipes.remove(2);
    let rows = counted(&design);
    assert_eq!(quantity(&rows, "valve that no main reaches", None), 1.0);
    assert_eq!(quantity(&rows, "wire, one conductor", None), 60.0);
}

#[test]
fn valves_share_boxes_when_near_and_while_there_is_room() {
    assert_eq!(quantity(&counted(&design()), "valve box", None), 2.0);
    let mut design = design();
    design.valves = (0..6)
        .map(|station| Valve {
            kind: ValveKind::Control,
            station: Some(station),
            node: 2,
            flow_lpm: 30.0,
            size: "DN25".to_owned(),
        })
        .collect();
    assert_eq!(quantity(&counted(&design), "valve box", None), 2.0);
    assert_eq!(
        quantity(&counted(&design), "control valve", Some("DN25")),
        6.0
    );
}

#[test]
fn trench_by_surface_and_depth_with_sleeves_and_spoil() {
    let rows = counted(&design());
    assert_eq!(
        quantity(&rows, "trench in turf", Some("0.45-0.60 m deep")),
        45.0
    ); // 0.55 + 0.04
    assert_eq!(
        quantity(&rows, "trench in turf", Some("0.60-0.90 m deep")),
        10.0
    );
    assert_eq!(
        quantity(
            &rows,
            "trench in roots, dug by hand",
            Some("0.30-0.45 m deep")
        ),
        10.0
    );
    assert_eq!(
        quantity(&rows, "sleeve", Some("inside at least 80 mm")),
        5.0 + 1.0
    ); // metres and piece
    assert_eq!(quantity(&rows, "sleeve for wire", None), 5.0 + 1.0);
    let spoil = 0.2 * (45.0 * 0.54 + 5.0 * 0.54 + 10.0 * (0.35 + 0.032) + 10.0 * (0.65 + 0.032));
    assert!((quantity(&rows, "spoil, as it lay", None) - spoil).abs() < 1e-9);
}

/// 5 cm under and over pipe of 40, 32 and 32 mm, none in the sleeve; what sand, pipe and gravel take up is left over.
#[test]
fn sand_goes_round_the_pipe_and_is_dug_for() {
    let with_sand = count(&design(), &catalogue(), &prices(), &Rules::default());
    let pipe_m3 =
        |metres: f64, outside_m: f64| metres * std::f64::consts::PI * outside_m.powi(2) / 4.0;
    let bedded = pipe_m3(45.0, 0.04) + 2.0 * pipe_m3(10.0, 0.032);
    let sand = 0.2 * (45.0 * 0.14 + 20.0 * 0.132) - bedded;
    assert!((quantity(&with_sand, "sand for bedding", None) - sand).abs() < 1e-9);
    let left = sand + bedded + pipe_m3(5.0, 0.04) + 0.020;
    assert!((quantity(&with_sand, "spoil, left over", None) - left).abs() < 1e-9);
    let deeper = quantity(&with_sand, "spoil, as it lay", None)
        - quantity(&counted(&design()), "spoil, as it lay", None);
    assert!((deeper - 0.2 * 65.0 * 0.05).abs() < 1e-9);
}

/// 120 V and metres by hand: 600 m there and back at 0.4 A lose 8.3 V in 1 mm2, so 4 V ask for 2.06 mm2.
#[test]
fn far_valves_get_thicker_wire() {
    let mut far = design();
    for pipe in &mut far.pipes {
        pipe.length_m *= 10.0;
    }
    let rows = counted(&far);
    assert_eq!(
        quantity(&rows, "wire, one conductor", Some("2.5 mm2")),
        1200.0
    );
    assert_eq!(
        quantity(&counted(&design()), "wire, one conductor", Some("0.75 mm2")),
        120.0
    );
}

#[test]
fn check_valves_flushing_points_and_the_compressor_are_counted() {
    let mut design = design();
    design.check_valves = vec![1, 3];
    design.drains[0].kind = crate::design::model::DrainKind::Flush;
    let blown = Rules {
        blow_out: 1.0,
        ..rules()
    };
    let rows = count(&design, &catalogue(), &prices(), &blown);
    assert_eq!(quantity(&rows, "check valve in the head", None), 2.0);
    assert_eq!(quantity(&rows, "flushing point", None), 1.0);
    assert_eq!(quantity(&rows, "drain valve", None), 0.0);
    assert_eq!(quantity(&rows, "connection for a compressor", None), 1.0);
}

/// A second pipe of 40 mm: 0.04 + 0.04 and three gaps of 0.05 m make 0.23 m; the greatest depth counts.
#[test]
fn a_second_pipe_widens_the_trench_and_takes_its_depth_whole() {
    let mut design = design();
    let before = quantity(&counted(&design), "spoil, as it lay", None);
    design.pipes.push(design.pipes[0].clone());
    design.pipes[7].trenches = vec![0];
    let more = 45.0 * (0.23 * (0.55 + 0.04) - 0.20 * (0.50 + 0.04));
    let after = quantity(&counted(&design), "spoil, as it lay", None);
    assert!((after - before - more).abs() < 1e-9);
}

#[test]
fn drains_air_valves_and_gravel() {
    let rows = counted(&design());
    assert_eq!(quantity(&rows, "drain valve, automatic", None), 1.0);
    assert_eq!(quantity(&rows, "air valve", None), 1.0);
    assert_eq!(quantity(&rows, "gravel", None), 20.0);
}

#[test]
fn costs_only_where_prices_are_given() {
    let rows = count(
        &design(),
        &catalogue(),
        &Prices::default(),
        &Rules::default(),
    );
    assert!(
        rows.iter()
            .all(|row| row.cost.is_none() && row.unit_price.is_none())
    );
    let rows = counted(&design());
    let roots = rows.iter().find(|row| row.item.contains("roots")).unwrap();
    assert_eq!(roots.cost, Some(500.0));
    for row in &rows {
        assert_eq!(row.cost, row.unit_price.map(|price| price * row.quantity));
    }
}

#[test]
fn a_year_of_water_is_costed_apart() {
    let schedule = Schedule {
        year_m3: 100.0,
        ..Schedule::default()
    };
    let priced = Prices {
        water_per_m3: Some(2.5),
        ..Prices::default()
    };
    assert_eq!(water_cost_a_year(&schedule, &priced), Some(250.0));
    assert_eq!(water_cost_a_year(&schedule, &Prices::default()), None);
}

#[test]
fn nothing_is_an_empty_list() {
    assert!(counted(&Design::default()).is_empty());
}

proptest! {
    /// Whatever the network looks like, and even where it points nowhere, the metres counted are the metres designed.
    #[test]
    fn metres_of_pipe_are_those_of_the_design(
        changes in proptest::collection::vec((0_usize..12, 0_usize..12, 0_usize..6, -50.0..50.0_f64, -50.0..50.0_f64), 1..40)
    ) {
        let mut design = design();
        for (from, to, size, x, y) in changes {
            let mut pipe = design.pipes[from % 7].clone();
            (pipe.from, pipe.to, pipe.size) = (from, to, size);
            pipe.section = if x > 0.0 { Section::Main } else { Section::Station(to) };
            pipe.line.0.insert(1, Coord { x, y });
            pipe.length_m = x.hypot(y);
            design.pipes.push(pipe);
        }
        let rows = counted(&design);
        let designed: f64 = design.pipes.iter().map(|pipe| pipe.length_m).sum();
        let metres: f64 = rows.iter().filter(|row| row.group == "pipe" && row.unit == "m" && !row.item.contains("waste")).map(|row| row.quantity).sum();
        prop_assert!((metres - designed).abs() < 1e-6 * designed);
        prop_assert_eq!(counted(&design), rows);
    }
}
