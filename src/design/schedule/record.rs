//! The daily record: evapotranspiration day by day, and the year of it that the soil's water is followed through.

use super::air::{air, is_complete};
use super::day_series::{DaySeries, SkyDay};
use super::radiation::Sun;
use super::reference_et::{hargreaves_mm, penman_monteith_mm};
use super::weather::Method;
use crate::brief::{Climate, Date, Day};
use crate::finding::Finding;

/// Share of a month's days that must be there for the month to count as observed (common practice, no source).
const ENOUGH: f64 = 0.9;

/// What is known of one day of the record.
#[derive(Debug, Clone, Copy)]
struct Known {
    date: Date,
    eto_mm: Option<f64>,
    rain_mm: Option<f64>,
}

/// The record, worked out.
pub struct Record {
    days: Vec<Known>,
    /// The formula for all of it.
    pub method: Method,
    /// Days with temperatures that lack humidity, wind or sunshine.
    pub lacking: usize,
    /// Days with temperatures.
    pub with_temperatures: usize,
}

/// Least and greatest temperature, where they can be.
fn temperatures(day: &Day) -> Option<(f64, f64)> {
    let pair = (day.tmin_c?, day.tmax_c?);
    (pair.0 <= pair.1 && (pair.1 - pair.0).is_finite()).then_some(pair)
}

/// Penman–Monteith where nine days in ten of every calendar month with temperatures have humidity, wind and sunshine.
fn method(days: &[Day]) -> Method {
    let month_allows = |month: u32| {
        let days = || {
            days.iter()
                .filter(|day| day.date.month() == month && temperatures(day).is_some())
        };
        let complete = days().filter(|day| is_complete(&day.sky)).count();
        complete as f64 >= ENOUGH * days().count() as f64
    };
    if (1..=12).all(month_allows) {
        Method::PenmanMonteith
    } else {
        Method::Hargreaves
    }
}

/// Evapotranspiration of a day, mm; by Penman–Monteith no heat stays in the ground over a day (FAO-56 equation 42).
fn eto_mm(day: &Day, method: Method, latitude_deg: f64, altitude_m: f64) -> Option<f64> {
    let (tmin_c, tmax_c) = temperatures(day)?;
    let sun = Sun::over(latitude_deg, day.date.day_of_year());
    let found = match method {
        Method::PenmanMonteith => {
            penman_monteith_mm(&sun, &air(&day.sky, (tmin_c, tmax_c), &sun, altitude_m)?)
        }
        Method::Hargreaves => hargreaves_mm(&sun, tmin_c, tmax_c),
    };
    Some(found).filter(|eto| eto.is_finite())
}

impl Record {
    /// Works out the record of a climate that has one, at a latitude.
    pub fn of(climate: &Climate, latitude_deg: f64) -> Self {
        let method = method(&climate.days);
        let known = |day: &Day| Known {
            date: day.date,
            eto_mm: eto_mm(day, method, latitude_deg, climate.altitude_m),
            rain_mm: day.rain_mm.filter(|rain| rain.is_finite() && *rain >= 0.0),
        };
        let with = || {
            climate
                .days
                .iter()
                .filter(|day| temperatures(day).is_some())
        };
        Self {
            days: climate.days.iter().map(known).collect(),
            method,
            lacking: with().filter(|day| !is_complete(&day.sky)).count(),
            with_temperatures: with().count(),
        }
    }

    /// Mean evapotranspiration of each calendar month, mm/day; `None` without a day.
    pub fn month_eto_mm(&self) -> [Option<f64>; 12] {
        self.month_means(|day| day.eto_mm)
    }

    fn month_means(&self, value: impl Fn(&Known) -> Option<f64>) -> [Option<f64>; 12] {
        let mut sums = [(0.0, 0_u32); 12];
        for day in &self.days {
            if let Some(value) = value(day) {
                let (sum, count) = &mut sums[day.date.month() as usize - 1];
                *sum += value;
                *count += 1;
            }
        }
        sums.map(|(sum, count)| (count > 0).then(|| sum / f64::from(count)))
    }

    /// The last year with nine in ten days of every month, what lacks in it filled with the mean day of its calendar month,
    /// and how many days were filled; `None` where no year is so complete.
    pub fn last_complete_year(&self) -> Option<(DaySeries, usize)> {
        let (first, last) = (
            self.days.first()?.date.year(),
            self.days.last()?.date.year(),
        );
        (first..=last)
            .rev()
            .find_map(|year| self.complete_year(year))
    }

    fn complete_year(&self, year: i32) -> Option<(DaySeries, usize)> {
        let begin = self.days.partition_point(|day| day.date.year() < year);
        let end = self.days.partition_point(|day| day.date.year() <= year);
        let of_year = &self.days[begin..end];
        let whole = |day: &&Known| day.eto_mm.is_some() && day.rain_mm.is_some();
        let month_is_whole = |month: u32| {
            let days = of_year
                .iter()
                .filter(|day| day.date.month() == month)
                .filter(whole);
            days.count() as f64 >= ENOUGH * f64::from(Date::days_in(year, month))
        };
        if !(1..=12).all(month_is_whole) {
            return None;
        }
        let eto = self.month_means(|day| day.eto_mm);
        let rain = self.month_means(|day| day.rain_mm);
        let day = |date: Date| {
            let at = of_year.binary_search_by_key(&date, |day| day.date).ok();
            let known = at.map(|at| &of_year[at]);
            let month = date.month() as usize - 1;
            let mean = |means: &[Option<f64>; 12]| means[month].unwrap_or(0.0);
            SkyDay {
                month: date.month(),
                day: date.day(),
                eto_mm: known.and_then(|day| day.eto_mm).unwrap_or(mean(&eto)),
                rain_mm: known.and_then(|day| day.rain_mm).unwrap_or(mean(&rain)),
            }
        };
        let days: Vec<SkyDay> = Date::all_of(year).map(day).collect();
        let filled = days.len() - of_year.iter().filter(whole).count();
        let series = DaySeries {
            year: Some(year),
            days,
        };
        Some((series, filled))
    }

    /// Days between the first and the last that are not there or lack evapotranspiration or rain.
    fn gaps(&self) -> usize {
        let (Some(first), Some(last)) = (self.days.first(), self.days.last()) else {
            return 0;
        };
        let all = (first.date.year()..=last.date.year()).flat_map(Date::all_of);
        let all = all
            .filter(|date| (first.date..=last.date).contains(date))
            .count();
        let whole = |day: &&Known| day.eto_mm.is_some() && day.rain_mm.is_some();
        all - self.days.iter().filter(whole).count()
    }

    /// What a person should know of holes in the record; `filled` as [`Record::last_complete_year`] has it.
    pub fn tell_gaps(&self, year: Option<(i32, usize)>, findings: &mut Vec<Finding>) {
        let gaps = self.gaps();
        let (Some(first), Some(last)) = (self.days.first(), self.days.last()) else {
            return;
        };
        if gaps == 0 && year.is_some() {
            return;
        }
        let followed = match year {
            Some((year, filled)) => format!(
                "The soil's water is followed through {year}, in which {filled} such days count as mean days of their month."
            ),
            None => "No year has nine in ten days of every month, so the soil's water is followed through a mean year.".to_owned(),
        };
        findings.push(Finding::note(
            "climate_gaps",
            format!(
                "The daily record, {} to {}, has {gaps} days that are not there or lack temperatures, rain or what their \
                 evapotranspiration needs; months are means of the others. {followed}",
                first.date, last.date
            ),
        ));
    }
}
