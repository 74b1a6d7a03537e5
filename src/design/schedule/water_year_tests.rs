//! The soil's year through the whole schedule.

use crate::brief::{Climate, Date, Day, Rules, Sky};
use crate::design::model::{BalanceDay, Schedule};
use crate::design::schedule::balance::sum_mm;
use crate::design::schedule::fixture::dry_summer;
use crate::design::schedule::{ScheduleRequest, StationNeed, plan};
use crate::finding::Finding;
use proptest::prelude::*;

/// The same, day by day in 2023; `rain` may change the days.
pub(in crate::design::schedule) fn daily(rain: impl Fn(Date) -> Option<f64>) -> Climate {
    let months = dry_summer();
    let day = |date: Date| Day {
        date,
        tmin_c: Some(14.8),
        tmax_c: Some(26.6),
        rain_mm: rain(date).or(Some(
            months.months[date.month() as usize - 1].rain_mm / 30.0,
        )),
        sky: Sky::default(),
    };
    Climate {
        days: Date::all_of(2023).map(day).collect(),
        ..months
    }
}

pub(in crate::design::schedule) fn station(soil: &str, season: &str) -> StationNeed {
    StationNeed {
        number: None,
        flow_lpm: 40.0,
        rate_mm_h: 12.0,
        du_low_quarter: Some(0.7),
        area_m2: 200.0,
        soil: Some(soil.to_owned()),
        season: Some(season.to_owned()),
        slope: 0.02,
    }
}

pub(in crate::design::schedule) fn planned(
    climate: &Climate,
    rules: &Rules,
    stations: Vec<StationNeed>,
) -> (Schedule, Vec<Finding>) {
    plan(&ScheduleRequest {
        climate,
        latitude_deg: 45.0 + 43.0 / 60.0,
        rules,
        stations,
        design_lpm: 60.0,
        together: None,
    })
}

fn watered(days: &[BalanceDay]) -> usize {
    days.iter().filter(|day| day.irrigation_mm > 0.0).count()
}

/// July of `schedule::tests`: 12 days of 76 min at 12 mm/h are 15.2 mm each; the mean of two stations counts their ground.
#[test]
fn the_programme_reaches_the_soil_day_by_day() {
    let mut faster = station("sandy loam", "cool");
    (faster.rate_mm_h, faster.area_m2) = (24.0, 600.0);
    let alone = vec![station("sandy loam", "cool")];
    let (one, _) = planned(&dry_summer(), &Rules::default(), alone);
    let july = |schedule: &Schedule| schedule.balances[0].days[181..212].to_vec();
    assert_eq!(watered(&july(&one)), 12);
    assert!((sum_mm(&july(&one), |day| day.irrigation_mm) - 12.0 * 15.2).abs() < 1e-9);
    let (two, _) = planned(
        &dry_summer(),
        &Rules::default(),
        vec![station("sandy loam", "cool"), faster],
    );
    let depth = |station: usize| {
        let row = two
            .rows
            .iter()
            .find(|row| row.month == 7 && row.station == station);
        row.unwrap().depth_mm
    };
    let mean_mm = (depth(0) + 3.0 * depth(1)) / 4.0;
    assert!((sum_mm(&july(&two), |day| day.irrigation_mm) - mean_mm).abs() < 1e-9);
}

#[test]
fn each_soil_with_each_grass_has_its_own_year_and_each_soil_its_sensor() {
    let mut idle = station("clay", "cool");
    idle.flow_lpm = 0.0;
    let stations = vec![
        station("sandy loam", "warm"),
        station("loam", "cool"),
        station("sandy loam", "cool"),
        station("loam", "cool"),
        idle,
    ];
    let (schedule, _) = planned(&dry_summer(), &Rules::default(), stations);
    let told: Vec<_> = schedule
        .balances
        .iter()
        .map(|balance| {
            (
                balance.soil.as_str(),
                balance.grass.as_str(),
                balance.stations.clone(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            ("loam", "cool", vec![1, 3]),
            ("sandy loam", "cool", vec![2]),
            ("sandy loam", "warm", vec![0])
        ]
    );
    // FAO-56 table 19, loam: 0.155 of 0.20 m are 31 mm, half of them readily; capacity 0.25.
    let loam = &schedule.balances[0];
    assert!((loam.available_mm - 31.0).abs() < 1e-9);
    assert!((loam.readily_available_mm - 15.5).abs() < 1e-9);
    let sensors = &schedule.sensors;
    assert_eq!(sensors.rain_off_mm, Some(12.0));
    let soils: Vec<&str> = sensors
        .moisture
        .iter()
        .map(|setting| setting.soil.as_str())
        .collect();
    assert_eq!(soils, ["loam", "sandy loam"]);
    let setting = &sensors.moisture[0];
    assert!((setting.depth_m - 0.10).abs() < 1e-12);
    assert!((setting.start_below - (0.25 - 0.5 * 0.155)).abs() < 1e-12);
    assert!((setting.stop_at - 0.25).abs() < 1e-12);
}

#[test]
fn without_a_rain_sensor_the_full_budget_is_the_programme_and_nine_tenths_are_nine_tenths() {
    let rules = Rules {
        rain_sensor_mm: 0.0,
        ..Rules::default()
    };
    let stations = vec![station("loam", "cool"), station("clay", "warm")];
    let (schedule, _) = planned(&dry_summer(), &rules, stations);
    let [full, cut] = schedule.budgets[..] else {
        panic!("two budgets");
    };
    assert_eq!((full.share, cut.share), (1.0, 0.9));
    assert!(schedule.year_m3 > 0.0);
    assert!((full.year_m3 - schedule.year_m3).abs() < 1e-9);
    assert!((cut.year_m3 - 0.9 * schedule.year_m3).abs() < 1e-9);
    assert!(cut.et_share <= full.et_share && cut.stress_days >= full.stress_days);
    for budget in [full, cut] {
        assert!(budget.dry_quarter_et_share < budget.et_share);
        assert!(budget.dry_quarter_stress_days > budget.stress_days);
    }
    assert!(cut.dry_quarter_et_share < full.dry_quarter_et_share - 0.01);
    assert_eq!(schedule.sensors.rain_off_mm, None);
}

/// By hand: in July the programme waters sandy loam on 12 of 31 days, the 1st, 4th, 6th, 9th and so on; a storm on the 3rd
/// stops the 4th, another its own day, the 6th.
#[test]
fn the_rain_sensor_skips_the_day_of_the_storm_and_the_day_after_and_the_water_is_not_drawn() {
    let storms = |date: Date| (date.month() == 7 && [3, 6].contains(&date.day())).then_some(12.5);
    let drizzle = |date: Date| (date.month() == 7 && [3, 6].contains(&date.day())).then_some(11.5);
    let july = |climate: &Climate, sensor_mm: f64| {
        let rules = Rules {
            rain_sensor_mm: sensor_mm,
            ..Rules::default()
        };
        let (schedule, _) = planned(climate, &rules, vec![station("sandy loam", "cool")]);
        let watered = watered(&schedule.balances[0].days[181..212]);
        let row = schedule.rows.iter().find(|row| row.month == 7).unwrap();
        let of_day_m3 = row.volume_m3 / f64::from(row.days);
        (
            watered,
            row.days as usize,
            schedule.year_m3 - schedule.budgets[0].year_m3,
            of_day_m3,
        )
    };
    let (ran, planned_days, left_m3, of_day_m3) = july(&daily(storms), 12.0);
    assert_eq!(ran, planned_days - 2);
    assert!((left_m3 - 2.0 * of_day_m3).abs() < 1e-9, "{left_m3}");
    for (climate, sensor_mm) in [(daily(drizzle), 12.0), (daily(storms), 0.0)] {
        let (ran, planned_days, left_m3, _) = july(&climate, sensor_mm);
        assert_eq!(ran, planned_days);
        assert!(left_m3.abs() < 1e-9);
    }
}

#[test]
fn the_balance_follows_the_record_and_says_which_year() {
    let (schedule, _) = planned(
        &daily(|_| None),
        &Rules::default(),
        vec![station("loam", "cool")],
    );
    assert_eq!(schedule.balance_year, Some(2023));
    let (schedule, _) = planned(
        &dry_summer(),
        &Rules::default(),
        vec![station("loam", "cool")],
    );
    assert_eq!(schedule.balance_year, None);
}

#[test]
fn what_a_storm_brings_beyond_the_intake_runs_off() {
    let storm = |date: Date| (date.month() == 7 && date.day() == 3).then_some(90.0);
    let (schedule, _) = planned(
        &daily(storm),
        &Rules::default(),
        vec![station("clay", "cool")],
    );
    let day = schedule.balances[0].days[31 + 28 + 31 + 30 + 31 + 30 + 2];
    // clay: 0.10 in/h for six hours and 0.20 in on the ground
    assert!(
        (day.runoff_mm - (90.0 - 25.4 * (0.6 + 0.2))).abs() < 1e-9,
        "{}",
        day.runoff_mm
    );
}

#[test]
fn without_stations_there_is_nothing_to_follow() {
    let (schedule, _) = planned(&dry_summer(), &Rules::default(), Vec::new());
    assert!(schedule.balances.is_empty() && schedule.budgets.is_empty());
    assert!(schedule.sensors.moisture.is_empty() && schedule.sensors.rain_off_mm.is_none());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn every_day_closes_and_the_year_ends_as_it_began(
        latitude in -90.0..90.0_f64, rate in 2.0..60.0_f64, summer_rain in 0.0..150.0_f64, depth in 0.05..1.0_f64,
        soil in proptest::sample::select(vec!["sand", "loam", "clay"]),
    ) {
        let mut climate = dry_summer();
        climate.months[6].rain_mm = summer_rain;
        let rules = Rules { root_depth_m: depth, ..Rules::default() };
        let request = ScheduleRequest {
            climate: &climate,
            latitude_deg: latitude,
            rules: &rules,
            stations: vec![StationNeed { rate_mm_h: rate, ..station(soil, "warm") }],
            design_lpm: 60.0,
            together: None,
        };
        let (schedule, _) = plan(&request);
        let balance = &schedule.balances[0];
        prop_assert_eq!(balance.days.len(), 365);
        let mut before = balance.start_depletion_mm;
        for day in &balance.days {
            let net = day.rain_mm + day.irrigation_mm - day.runoff_mm - day.percolation_mm - day.actual_et_mm;
            prop_assert!((before - day.depletion_mm - net).abs() < 1e-6);
            prop_assert!((-1e-9..=balance.available_mm + 1e-9).contains(&day.depletion_mm));
            before = day.depletion_mm;
        }
        prop_assert!((before - balance.start_depletion_mm).abs() < 1e-6);
        prop_assert!(schedule.budgets.iter().all(|budget| (0.0..=1.0).contains(&budget.et_share) && budget.year_m3.is_finite()));
    }
}
