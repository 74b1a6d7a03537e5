//! Weather of monthly and daily climates, held against the worked examples of FAO-56 (Allen et al. 1998).

use super::*;
use crate::brief::{Date, Day, Sky};
use proptest::prelude::*;

const LYON_DEG: f64 = 45.0 + 43.0 / 60.0;

fn weather(climate: &Climate, latitude_deg: f64) -> (Weather, Vec<Finding>) {
    let mut findings = Vec::new();
    let weather = of_climate(climate, latitude_deg, 8.0, &mut findings);
    (weather, findings)
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|finding| finding.code).collect()
}

fn lyon_all_year() -> Climate {
    let month = Month {
        tmin_c: 14.8,
        tmax_c: 26.6,
        rain_mm: 50.0,
        ..Month::default()
    };
    Climate {
        altitude_m: 200.0,
        months: [month; 12],
        days: Vec::new(),
        built_in: false,
    }
}

fn complete_sky() -> Sky {
    Sky {
        rh_mean_pct: Some(60.0),
        wind_m_s: Some(2.0),
        sun_h: Some(6.0),
        ..Sky::default()
    }
}

/// Example 20: Hargreaves 5.0 mm/day in July near Lyon.
#[test]
fn without_humidity_the_year_is_by_hargreaves_and_says_so() {
    let (weather, findings) = weather(&lyon_all_year(), LYON_DEG);
    assert_eq!(weather.method.word(), "hargreaves");
    assert_eq!(format!("{:.1}", weather.eto_mm_day[6]), "5.0");
    assert_eq!(weather.effective_rain_mm, [46.0; 12]);
    assert_eq!(codes(&findings), ["hargreaves_used"]);
}

/// Example 17, Bangkok in April: 5.72 mm/day as printed. The vapour pressure of 2.85 kPa is given as its dew point; the
/// neighbours are 1 °C colder and warmer, so that equation 43 has the ground take the book's 0.14 MJ.
#[test]
fn bangkok_in_april_through_the_monthly_table() {
    let mut climate = lyon_all_year();
    climate.altitude_m = 2.0;
    let logarithm = (2.85_f64 / 0.6108).ln();
    let sky = Sky {
        tdew_c: Some(237.3 * logarithm / (17.27 - logarithm)),
        wind_m_s: Some(2.0),
        sun_h: Some(8.5),
        ..Sky::default()
    };
    climate.months = [-1.0, 0.0, 1.0]
        .map(|warmer_c| Month {
            tmin_c: 25.6 + warmer_c,
            tmax_c: 34.8 + warmer_c,
            rain_mm: 0.0,
            sky,
        })
        .repeat(4)
        .try_into()
        .unwrap();
    climate.months.rotate_right(2); // April is the fourth
    let (weather, _) = weather(&climate, 13.0 + 44.0 / 60.0);
    assert_eq!(weather.method, Method::PenmanMonteith);
    assert_eq!(format!("{:.2}", weather.eto_mm_day[3]), "5.72");
}

fn every_day_of(years: std::ops::RangeInclusive<i32>, day: Day) -> Vec<Day> {
    let dates = years.flat_map(Date::all_of);
    dates.map(|date| Day { date, ..day }).collect()
}

fn uccle_day() -> Day {
    Day {
        date: Date::new(2023, 7, 6).unwrap(),
        tmin_c: Some(12.3),
        tmax_c: Some(21.5),
        rain_mm: Some(1.0),
        sky: Sky {
            rh_max_pct: Some(84.0),
            rh_min_pct: Some(63.0),
            wind_m_s: Some(2.078), // 10 km/h at 10 m
            sun_h: Some(9.25),
            ..Sky::default()
        },
    }
}

fn record(days: Vec<Day>) -> Climate {
    Climate {
        altitude_m: 100.0,
        days,
        ..lyon_all_year()
    }
}

/// Example 18, Uccle on 6 July, day 187 of a common year: 3.9 mm as printed, 3.88 in its last step.
#[test]
fn uccle_on_a_july_day_through_the_daily_record() {
    let (weather, findings) = weather(&record(every_day_of(2022..=2023, uccle_day())), 50.8);
    assert_eq!(codes(&findings), [""; 0]);
    assert_eq!(weather.series.year, Some(2023));
    let day = weather.series.days[187 - 1];
    assert_eq!((day.month, day.day), (7, 6));
    assert_eq!(format!("{:.2}", day.eto_mm), "3.88");
    let july = weather.series.days.iter().filter(|day| day.month == 7);
    let mean = july.map(|day| day.eto_mm).sum::<f64>() / 31.0;
    assert!((weather.eto_mm_day[6] - mean).abs() < 1e-12);
}

#[test]
fn a_record_is_by_one_method_and_a_few_days_without_wind_do_not_change_it() {
    let mut days = every_day_of(2023..=2023, uccle_day());
    for day in &mut days[..3] {
        day.sky.wind_m_s = None;
    }
    let (some, findings) = weather(&record(days.clone()), 50.8);
    assert_eq!(some.method, Method::PenmanMonteith);
    assert_eq!(codes(&findings), ["climate_gaps"]);
    assert_eq!(some.series.days[0].eto_mm, some.eto_mm_day[0]);
    days[3].sky.wind_m_s = None;
    let (more, findings) = weather(&record(days), 50.8);
    assert_eq!(more.method, Method::Hargreaves);
    assert_eq!(codes(&findings), ["hargreaves_used"]);
    assert!(findings[0].message.contains("4 of 365 days lack"));
}

#[test]
fn gaps_are_filled_with_mean_days_and_told_and_the_last_complete_year_is_followed() {
    let mut days = every_day_of(2022..=2024, uccle_day());
    days.retain(|day| day.date < Date::new(2024, 10, 1).unwrap());
    days.retain(|day| day.date.year() != 2023 || day.date.month() != 5 || day.date.day() > 3);
    let blind = days
        .iter_mut()
        .find(|day| day.date == Date::new(2023, 8, 1).unwrap());
    blind.unwrap().rain_mm = None;
    let (found, findings) = weather(&record(days.clone()), 50.8);
    assert_eq!(found.series.year, Some(2023));
    assert_eq!(found.series.days.len(), 365);
    assert_eq!(
        found.series.days[31 + 28 + 31 + 30].eto_mm,
        found.eto_mm_day[4]
    );
    assert_eq!(codes(&findings), ["climate_gaps"]);
    let told = &findings[0].message;
    assert!(
        told.contains("2022-01-01 to 2024-09-30, has 4 days"),
        "{told}"
    );
    assert!(
        told.contains("through 2023, in which 4 such days"),
        "{told}"
    );
    days.retain(|day| day.date.month() != 5 || day.date.day() > 4);
    let (found, findings) = weather(&record(days), 50.8);
    assert_eq!(found.series.year, None);
    assert!(findings[0].message.contains("followed through a mean year"));
}

#[test]
fn one_month_without_wind_turns_the_whole_year_to_hargreaves() {
    let mut climate = lyon_all_year();
    for month in &mut climate.months {
        month.sky = complete_sky();
    }
    assert_eq!(weather(&climate, 45.0).0.method, Method::PenmanMonteith);
    climate.months[4].sky.wind_m_s = None;
    assert_eq!(weather(&climate, 45.0).0.method, Method::Hargreaves);
}

#[test]
fn what_is_no_number_is_told_and_goes_no_further() {
    let mut climate = lyon_all_year();
    climate.months[5].tmax_c = f64::NAN;
    let (found, findings) = weather(&climate, f64::NAN);
    assert!(found.eto_mm_day.iter().all(|eto| eto.is_finite()));
    assert!(codes(&findings).contains(&"climate_unusable"));
    assert!(codes(&findings).contains(&"latitude_unusable"));
    let mut days = every_day_of(2023..=2023, uccle_day());
    for day in days.iter_mut().filter(|day| day.date.month() == 6) {
        day.tmin_c = Some(f64::NAN);
    }
    let (found, findings) = weather(&record(days), 50.8);
    assert!(found.series.days.iter().all(|day| day.eto_mm.is_finite()));
    assert!(codes(&findings).contains(&"climate_unusable"));
}

proptest! {
    #[test]
    fn a_mean_year_of_days_keeps_what_the_months_have(latitude in -90.0..90.0_f64, rain in 0.0..400.0_f64) {
        let mut climate = lyon_all_year();
        climate.months[7].rain_mm = rain;
        let (found, _) = weather(&climate, latitude);
        for month in 1..=12 {
            let days = || found.series.days.iter().filter(|day| day.month == month);
            let index = month as usize - 1;
            prop_assert!((days().map(|day| day.rain_mm).sum::<f64>() - climate.months[index].rain_mm).abs() < 1e-9);
            prop_assert!(days().all(|day| day.eto_mm == found.eto_mm_day[index]));
        }
    }
}
