//! The example's soil over a year: a plain season of rain, watered when the readily available water is used.

use crate::design::model::{
    BalanceDay, BudgetFigures, MoistureSetting, SensorSettings, SoilBalance,
};

const READY_MM: f64 = 24.0;

/// One soil under both stations.
pub(super) fn balance() -> SoilBalance {
    let mut depletion_mm = 5.0;
    let days = (0..365).map(|day| {
        let next = one_day(day, depletion_mm);
        depletion_mm = next.depletion_mm;
        next
    });
    SoilBalance {
        soil: "loam".into(),
        grass: "cool".into(),
        stations: vec![0, 1],
        available_mm: 48.0,
        readily_available_mm: READY_MM,
        start_depletion_mm: 5.0,
        days: days.collect(),
    }
}

fn one_day(day: u32, before_mm: f64) -> BalanceDay {
    let season = (1.0 - (f64::from(day) * std::f64::consts::TAU / 365.0).cos()) / 2.0;
    let et_mm = 0.5 + 3.5 * season;
    let rain_mm = if day.is_multiple_of(9) { 11.0 } else { 0.0 };
    let irrigation_mm = match before_mm + et_mm > READY_MM && rain_mm == 0.0 {
        true => 18.0,
        false => 0.0,
    };
    let after_mm = before_mm + et_mm - rain_mm - irrigation_mm;
    BalanceDay {
        rain_mm,
        irrigation_mm,
        runoff_mm: 0.0,
        percolation_mm: (-after_mm).max(0.0),
        turf_et_mm: et_mm,
        actual_et_mm: et_mm,
        depletion_mm: after_mm.max(0.0),
    }
}

/// The year in full and with a tenth less.
pub(super) fn budgets() -> Vec<BudgetFigures> {
    let figures = |share, year_m3, stress_days, et_share| BudgetFigures {
        share,
        year_m3,
        stress_days,
        et_share,
        dry_quarter_stress_days: 2 * stress_days,
        dry_quarter_et_share: et_share - 0.02,
    };
    vec![figures(1.0, 294.0, 0, 1.0), figures(0.9, 264.6, 12, 0.97)]
}

/// A rain sensor and a moisture sensor.
pub(super) fn sensors() -> SensorSettings {
    SensorSettings {
        rain_off_mm: Some(6.0),
        moisture: vec![MoistureSetting {
            soil: "loam".into(),
            depth_m: 0.1,
            start_below: 0.21,
            stop_at: 0.29,
        }],
    }
}
