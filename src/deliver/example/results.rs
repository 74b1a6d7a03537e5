//! The example's figures that rest on no computation here: uniformity, supply, bounds, schedule, take-off, findings.

use super::{rectangle, water_year};
use crate::brief::Profile;
use crate::design::model::*;
use crate::finding::Finding;
use geo::coord;

/// Adds what is judged and counted once the network is solved.
pub(super) fn add(design: &mut Design) {
    design.turf = vec![TurfResult {
        area_m2: 800.0,
        heads: 15,
        heads_bound: 11,
        heads_lp_estimate: Some(12.6),
        du_low_quarter: Some(0.81),
        du_rated: Some(0.82),
        cu_christiansen: Some(0.88),
        dry_fraction: Some(0.004),
        overspray_fraction: None,
        mean_rate_mm_h: Some(12.1),
        class_rate_mm_h: Some(12.0),
        reached_fraction: Some(1.0),
        one_row: false,
        grade: None,
    }];
    let band = |from: f64, to: Option<f64>, x0: f64, x1: f64| CoverageBand {
        rate_from_mm_h: from,
        rate_to_mm_h: to,
        shape: rectangle(x0, 0.0, x1, 20.0).into(),
    };
    design.coverage = vec![
        band(0.0, Some(9.0), 0.0, 8.0),
        band(9.0, Some(15.0), 8.0, 30.0),
        band(15.0, None, 30.0, 40.0),
    ];
    design.profiles = vec![("stream 10".into(), Profile::Cone)];
    design.supply = Some(SupplyResult {
        water_point: "W1".into(),
        node: 0,
        static_kpa: 430.0,
        design_lpm: 108.0,
        design_kpa: 352.0,
        curve: vec![(0.0, 430.0), (60.0, 390.0), (120.0, 330.0), (180.0, 250.0)],
    });
    design.bounds = Bounds {
        heads: 11,
        heads_lp_estimate: Some(12.6),
        stations: vec![StationClass {
            name: "slow".into(),
            stations: 2,
            bound: 2,
        }],
        trench_m: 121.0,
        pipe_cost: Some(500.0),
    };
    design.schedule = schedule();
    design.takeoff = vec![
        row("heads", "stream 10, arc", None, 15.0, "each", Some(20.0)),
        row("pipe", "pe", Some("63"), 160.0, "m", None),
    ];
    design.findings = vec![
        Finding::warning(
            "uniformity_low",
            "Turf <T1> is watered less evenly than asked for.",
        )
        .of("T1"),
        Finding::note("sleeve", "The main passes under paving in a sleeve.")
            .at(coord! { x: -7.0, y: -3.0 }),
    ];
}

fn schedule() -> Schedule {
    let row = |month: u32, station: usize| ScheduleRow {
        month,
        station,
        minutes: f64::from(month * 3) + station as f64,
        cycles: 2,
        soak_minutes: 30.0,
        days: 12,
        depth_mm: 60.0,
        volume_m3: 24.5,
    };
    Schedule {
        rows: (4..=9)
            .flat_map(|month| [row(month, 0), row(month, 1)])
            .collect(),
        eto_mm_day: [0.5, 0.9, 1.7, 2.8, 3.9, 4.5, 4.7, 4.0, 2.6, 1.4, 0.7, 0.4],
        effective_rain_mm: [30.0; 12],
        method: "hargreaves".into(),
        peak_minutes: vec![27.0, 28.0],
        peak_month: Some(7),
        peak_runs: vec![
            run(0, 0, 14),
            run(1, 14, 14),
            run(0, 44, 13),
            run(1, 58, 14),
        ],
        peak_window_h: 1.5,
        fits_window: true,
        year_m3: 294.0,
        balances: vec![water_year::balance()],
        budgets: water_year::budgets(),
        sensors: water_year::sensors(),
        ..Schedule::default()
    }
}

fn run(station: usize, start_minute: u32, minutes: u32) -> Run {
    Run {
        station,
        start_minute,
        minutes,
    }
}

fn row(
    group: &str,
    item: &str,
    size: Option<&str>,
    quantity: f64,
    unit: &str,
    unit_price: Option<f64>,
) -> TakeoffRow {
    TakeoffRow {
        group: group.into(),
        item: item.into(),
        size: size.map(str::to_string),
        quantity,
        unit: unit.into(),
        unit_price,
        cost: unit_price.map(|price| price * quantity),
    }
}
