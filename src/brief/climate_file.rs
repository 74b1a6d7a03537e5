//! Reading of `[climate]`: twelve months in the project file, or a CSV of days (`climate_days`) and the months they make.

use crate::brief::climate::{Climate, Date, Day, Month, Sky};
use crate::brief::climate_days::read_days;
use crate::brief::problems::{BriefError, Problems};
use crate::brief::table::TableReader;
use std::ops::RangeInclusive;
use std::path::Path;
use toml::Table;

// Bounds beyond which a value is a slip of the pen, not weather; a judgement, no source.
pub(super) const TEMPERATURE_C: RangeInclusive<f64> = -60.0..=60.0;
const HUMIDITY_PCT: RangeInclusive<f64> = 1.0..=100.0;
const WIND_M_S: RangeInclusive<f64> = 0.0..=40.0;
const SUN_H: RangeInclusive<f64> = 0.0..=24.0;
const SOLAR_MJ: RangeInclusive<f64> = 0.0..=50.0;
pub(super) const RAIN_MM: RangeInclusive<f64> = 0.0..=3000.0;
const ALTITUDE_M: RangeInclusive<f64> = -430.0..=6000.0;

/// A value of the sky that may be given: its name, what it may be, where it goes.
type SkyKey = (
    &'static str,
    RangeInclusive<f64>,
    fn(&mut Sky) -> &mut Option<f64>,
);

/// All of them, the same for months and days.
pub(super) const SKY: [SkyKey; 7] = [
    ("tdew_c", TEMPERATURE_C, |sky| &mut sky.tdew_c),
    ("rh_max_pct", HUMIDITY_PCT, |sky| &mut sky.rh_max_pct),
    ("rh_min_pct", HUMIDITY_PCT, |sky| &mut sky.rh_min_pct),
    ("rh_mean_pct", HUMIDITY_PCT, |sky| &mut sky.rh_mean_pct),
    ("wind_m_s", WIND_M_S, |sky| &mut sky.wind_m_s),
    ("solar_mj", SOLAR_MJ, |sky| &mut sky.solar_mj),
    ("sun_h", SUN_H, |sky| &mut sky.sun_h),
];

/// What cannot be of temperatures and humidity, if anything.
pub(super) fn contradiction(tmin_c: f64, tmax_c: f64, sky: &Sky) -> Option<&'static str> {
    let (rh_min, rh_max) = (
        sky.rh_min_pct.unwrap_or(0.0),
        sky.rh_max_pct.unwrap_or(100.0),
    );
    if tmin_c > tmax_c {
        Some("the least temperature is above the greatest")
    } else if sky.tdew_c.is_some_and(|tdew_c| tdew_c > tmax_c) {
        Some("the dew point is above the greatest temperature")
    } else if rh_min > rh_max {
        Some("the least humidity is above the greatest")
    } else {
        None
    }
}

/// The climate of `[climate]`; `folder` is where the project file lies.
pub(crate) fn read(table: &Table, folder: &Path, problems: &mut Problems) -> Option<Climate> {
    let mut reader = TableReader::new(table, "climate");
    let altitude_m = reader.needed_number("altitude_m", ALTITUDE_M, problems);
    let daily = reader.text("daily", problems);
    let monthly = reader.value("months").is_some();
    if reader.value("latitude_deg").is_some() {
        let message =
            "is not asked for: each parcel is reckoned at its own latitude; take the line out";
        problems.tell("climate.latitude_deg", message);
    }
    let read = match (daily, monthly) {
        (Some(_), true) => {
            problems.tell("climate", "give either `months` or `daily`, not both");
            None
        }
        (Some(written), false) => match read_daily(&written, &folder.join(&written)) {
            Ok(read) => Some(read),
            Err(error) => {
                problems.take_over(error);
                None
            }
        },
        (None, true) => read_months(&mut reader, problems).map(|months| (months, Vec::new())),
        (None, false) => {
            let message = "needs `months` (twelve tables) or `daily` (a CSV file)";
            problems.tell("climate", message);
            None
        }
    };
    reader.finish(problems);
    let (months, days) = read?;
    Some(Climate {
        altitude_m,
        months,
        days,
        built_in: false,
    })
}

fn read_months(reader: &mut TableReader<'_>, problems: &mut Problems) -> Option<[Month; 12]> {
    let tables = reader.tables("months", problems);
    if tables.len() != 12 {
        let message = format!(
            "must hold twelve tables, January first, not {}",
            tables.len()
        );
        problems.tell("climate.months", message);
        return None;
    }
    let mut months = [Month::default(); 12];
    for (month, (table, place)) in months.iter_mut().zip(tables) {
        *month = read_month(TableReader::new(table, place), problems);
    }
    Some(months)
}

fn read_month(mut reader: TableReader<'_>, problems: &mut Problems) -> Month {
    let mut month = Month {
        tmin_c: reader.needed_number("tmin_c", TEMPERATURE_C, problems),
        tmax_c: reader.needed_number("tmax_c", TEMPERATURE_C, problems),
        rain_mm: reader.needed_number("rain_mm", RAIN_MM, problems),
        sky: Sky::default(),
    };
    for (key, range, slot) in SKY {
        *slot(&mut month.sky) = reader.number(key, range, problems);
    }
    if let Some(wrong) = contradiction(month.tmin_c, month.tmax_c, &month.sky) {
        problems.tell(reader.place_of("tmin_c"), wrong);
    }
    reader.finish(problems);
    month
}

type MonthsAndDays = ([Month; 12], Vec<Day>);

fn read_daily(written: &str, path: &Path) -> Result<MonthsAndDays, BriefError> {
    let mut problems = Problems::of(written);
    let days = read_days(path, &mut problems);
    let read = days.and_then(|days| Some((means(&days, &mut problems)?, days)));
    problems.settle(read)
}

fn means(days: &[Day], problems: &mut Problems) -> Option<[Month; 12]> {
    let mut months = [Month::default(); 12];
    let mut complete = true;
    for (number, month) in (1..).zip(&mut months) {
        let of_month = || days.iter().filter(|day| day.date.month() == number);
        let temperatures = (
            mean(of_month().map(|day| day.tmin_c)),
            mean(of_month().map(|day| day.tmax_c)),
            mean(of_month().map(|day| day.rain_mm)),
        );
        let (Some(tmin_c), Some(tmax_c), Some(rain_mm)) = temperatures else {
            let message = format!("month {number} has no day with temperatures and rain");
            problems.tell("", message);
            complete = false;
            continue;
        };
        (month.tmin_c, month.tmax_c) = (tmin_c, tmax_c);
        month.rain_mm = rain_mm * average_days(number);
        for (_, _, slot) in SKY {
            *slot(&mut month.sky) = mean(of_month().map(|day| *slot(&mut { day.sky })));
        }
    }
    complete.then_some(months)
}

fn mean(values: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    let (sum, count) = values
        .flatten()
        .fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// Days of a month of the average year, February with its leap day shared out.
fn average_days(month: u32) -> f64 {
    let leap_share = if month == 2 { 0.25 } else { 0.0 };
    f64::from(Date::days_in(2023, month)) + leap_share
}

#[cfg(test)]
#[path = "climate_tests.rs"]
mod tests;
