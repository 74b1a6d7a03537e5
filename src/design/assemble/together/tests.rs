//! Two stations behind one main: bounds never say other than the solved network.

use super::*;
use crate::deliver::example;
use crate::site::{SupplyTest, WaterPoint};
use geo::Coord;
use proptest::prelude::*;

/// The example's stations with a supply, a limit on velocity and a setting of the first valve; what was found of them.
fn told<T>(
    static_kpa: f64,
    velocity_most_m_s: f64,
    regulated_kpa: Option<f64>,
    look: impl Fn(&OpenStations) -> T,
) -> T {
    let (mut design, project) = (example::design(), example::project());
    design.stations[0].regulated_kpa = regulated_kpa;
    let laterals = |station| {
        let pipes = design.pipes_of(Section::Station(station));
        pipes.map(|(pipe, _)| pipe).collect()
    };
    let ways = Ways {
        main: vec![vec![0, 1], vec![0, 2]],
        laterals: vec![laterals(0), laterals(1)],
    };
    let test = SupplyTest::FlowTest {
        static_kpa,
        residual_kpa: 0.7 * static_kpa,
        residual_lpm: 150.0,
    };
    let point = WaterPoint {
        id: "w".into(),
        position: Coord { x: 0.0, y: 0.0 },
        test,
        meter_loss_kpa: Some(10.0),
        backflow_loss_kpa: Some(30.0),
        service: None,
    };
    let rules = Rules {
        velocity_most_m_s,
        ..Rules::default()
    };
    let supply = SupplyCurve::of(&point, &rules).unwrap();
    let catalogue = &project.catalogue;
    look(&OpenStations::of(
        &design, &ways, &supply, catalogue, &rules,
    ))
}

fn bounds(open: &OpenStations) -> Option<Result<(), Refusal>> {
    open.bounded(&[0, 1], &open.inputs(&[0, 1]))
}

#[test]
fn a_strong_supply_and_wide_mains_need_no_solving() {
    let (bounded, both, alone) = told(560.0, 1.6, None, |open| {
        (
            bounds(open),
            open.open(&[0, 1]).unwrap(),
            open.open(&[1]).unwrap(),
        )
    });
    assert_eq!(bounded, Some(Ok(())));
    assert_eq!(both.stations, [0, 1]);
    assert!(both.flow_lpm > alone.flow_lpm + 20.0);
    assert!(both.source_kpa < alone.source_kpa - 20.0);
    assert!(both.pressure_least_margin_kpa < alone.pressure_least_margin_kpa);
    // 51.4 mm carry all of it.
    let velocity = both.flow_lpm / 60_000.0 / (std::f64::consts::PI / 4.0 * 0.0514_f64.powi(2));
    assert!((both.velocity_most_m_s - velocity).abs() < 1e-6);
}

#[test]
fn what_runs_too_fast_at_least_pressure_needs_no_solving_either() {
    let (bounded, solved) = told(560.0, 0.9, None, |open| (bounds(open), open.open(&[0, 1])));
    assert_eq!(bounded, Some(Err(Refusal::Velocity)));
    assert_eq!(solved, Err(Refusal::Velocity));
}

/// The weakest supply, to 5 kPa, that feeds each station alone does not feed both.
#[test]
fn a_weak_supply_is_solved_and_refused_for_pressure() {
    let each = |open: &OpenStations| (0..2).all(|station| open.may_run(&[station]).is_ok());
    let weakest_kpa = (30..140)
        .map(|step| 5.0 * f64::from(step))
        .find(|static_kpa| told(*static_kpa, 1.6, None, each))
        .unwrap();
    let (bounded, solved) = told(weakest_kpa, 1.6, None, |open| {
        (bounds(open), open.may_run(&[0, 1]))
    });
    assert_eq!(bounded, None);
    assert_eq!(solved, Err(Refusal::Pressure));
}

proptest! {
    #[test]
    fn bounds_say_what_solving_says(
        static_kpa in 250.0..700.0_f64,
        velocity in 0.5..2.0_f64,
        regulated_kpa in proptest::option::of(180.0..500.0_f64),
    ) {
        let (alone, bounded, solved) = told(static_kpa, velocity, regulated_kpa, |open| {
            let alone = open.may_run(&[0]).is_ok() && open.may_run(&[1]).is_ok();
            (alone, bounds(open), open.open(&[0, 1]).is_ok())
        });
        if let (true, Some(bounded)) = (alone, bounded) {
            prop_assert_eq!(bounded.is_ok(), solved);
        }
    }
}
