//! Weather: reference evapotranspiration and effective rain of the twelve months, and a year of days.

use super::air::{air, is_complete};
use super::day_series::DaySeries;
use super::radiation::{MID_MONTH, Sun};
use super::record::Record;
use super::{rain, reference_et};
use crate::brief::{Climate, Month};
use crate::finding::Finding;

/// What the sky takes and gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    /// Reference evapotranspiration, mm/day, finite and not below 0.
    pub eto_mm_day: [f64; 12],
    /// Rain that the turf can use, mm a month.
    pub effective_rain_mm: [f64; 12],
    /// How the first was found.
    pub method: Method,
    /// The days of a year: of the record's last complete year, else of a mean year.
    pub series: DaySeries,
}

/// The formula of the reference evapotranspiration; one for the whole climate, so that months and days compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// FAO-56 equation 6.
    PenmanMonteith,
    /// FAO-56 equation 52.
    Hargreaves,
}

impl Method {
    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::PenmanMonteith => "penman-monteith",
            Self::Hargreaves => "hargreaves",
        }
    }
}

/// The weather of a climate at a latitude, rain of a mean month in events of `event_mm`; what had to be assumed goes to
/// `findings`.
pub fn of_climate(
    climate: &Climate,
    latitude_deg: f64,
    event_mm: f64,
    findings: &mut Vec<Finding>,
) -> Weather {
    let latitude_deg = usable_latitude(latitude_deg, findings);
    let record = (!climate.days.is_empty()).then(|| Record::of(climate, latitude_deg));
    let (method, found) = match &record {
        Some(record) => (record.method, record.month_eto_mm()),
        None => by_months(climate, latitude_deg),
    };
    note_sources(climate, method, record.as_ref(), findings);
    tell_unusable(&found, findings);
    let eto_mm_day = found.map(|eto| eto.unwrap_or(0.0));
    let complete_year = record.as_ref().and_then(Record::last_complete_year);
    if let Some(record) = &record {
        let year = complete_year.as_ref();
        let year = year.and_then(|(series, filled)| Some((series.year?, *filled)));
        record.tell_gaps(year, findings);
    }
    let rain_mm = climate.months.map(|month| month.rain_mm);
    Weather {
        eto_mm_day,
        effective_rain_mm: rain_mm.map(rain::effective_mm),
        method,
        series: complete_year.map_or_else(
            || DaySeries::of_months(&eto_mm_day, &rain_mm, event_mm),
            |(series, _)| series,
        ),
    }
}

/// Whether every value given is a number and the temperatures stand in order.
fn is_usable(month: &Month) -> bool {
    month.tmin_c <= month.tmax_c
        && (month.tmax_c - month.tmin_c).is_finite()
        && month.rain_mm.is_finite()
        && month.sky.is_sound()
}

fn usable_latitude(latitude_deg: f64, findings: &mut Vec<Finding>) -> f64 {
    if latitude_deg.is_finite() {
        return latitude_deg.clamp(-90.0, 90.0);
    }
    findings.push(Finding::error(
        "latitude_unusable",
        "The parcel's latitude is no number; the schedule is that of the equator. Look at the parcel's coordinates.",
    ));
    0.0
}

fn tell_unusable(found: &[Option<f64>; 12], findings: &mut Vec<Finding>) {
    let numbers = (1..).zip(found).filter(|(_, eto)| eto.is_none());
    let unusable: Vec<String> = numbers
        .map(|(month, _): (u32, _)| month.to_string())
        .collect();
    if !unusable.is_empty() {
        findings.push(Finding::error(
            "climate_unusable",
            format!(
                "The climate of month {} is no climate (a value that is no number, or the least temperature above the greatest); \
                 its evapotranspiration counts as nought. Mend the climate table.",
                unusable.join(", ")
            ),
        ));
    }
}

fn note_sources(
    climate: &Climate,
    method: Method,
    record: Option<&Record>,
    findings: &mut Vec<Finding>,
) {
    if climate.built_in {
        findings.push(Finding::note(
            "built_in_climate",
            "The schedule uses the built-in climate, which is invented. Give monthly means of a nearby weather station under [climate].",
        ));
    }
    if method == Method::PenmanMonteith {
        return;
    }
    let (lack, wanted) = if let Some(record) = record {
        let lack = format!("{} of {} days", record.lacking, record.with_temperatures);
        (lack, "nine days in ten of every month")
    } else {
        let months = climate.months.iter();
        let lacking = months.filter(|month| !is_complete(&month.sky)).count();
        (format!("{lacking} of 12 months"), "every month")
    };
    findings.push(Finding::note(
        "hargreaves_used",
        format!(
            "Evapotranspiration is by Hargreaves, from temperatures alone: {lack} lack humidity, wind or sunshine. \
             Give all three for {wanted} to have Penman-Monteith."
        ),
    ));
}

fn by_months(climate: &Climate, latitude_deg: f64) -> (Method, [Option<f64>; 12]) {
    let complete = |month: &Month| is_complete(&month.sky) || !is_usable(month);
    let method = if climate.months.iter().all(complete) {
        Method::PenmanMonteith
    } else {
        Method::Hargreaves
    };
    let mut found = [None; 12];
    for (index, eto) in found.iter_mut().enumerate() {
        *eto = month_eto_mm(climate, latitude_deg, method, index);
    }
    (method, found)
}

/// Mean evapotranspiration of the month at `index`, mm/day; `None` where its climate is none.
fn month_eto_mm(climate: &Climate, latitude_deg: f64, method: Method, index: usize) -> Option<f64> {
    let month = &climate.months[index];
    if !is_usable(month) {
        return None;
    }
    let sun = Sun::over(latitude_deg, MID_MONTH[index]);
    let found = match method {
        Method::PenmanMonteith => {
            let temperatures = (month.tmin_c, month.tmax_c);
            let air = air(&month.sky, temperatures, &sun, climate.altitude_m)?;
            let mean_c = |index: usize| {
                let month = &climate.months[index % 12];
                f64::midpoint(month.tmin_c, month.tmax_c)
            };
            let heat_mj = reference_et::ground_heat_mj(mean_c(index + 11), mean_c(index + 1));
            let air = reference_et::Air {
                ground_heat_mj: Some(heat_mj).filter(|heat| heat.is_finite()).unwrap_or(0.0),
                ..air
            };
            reference_et::penman_monteith_mm(&sun, &air)
        }
        Method::Hargreaves => reference_et::hargreaves_mm(&sun, month.tmin_c, month.tmax_c),
    };
    Some(found).filter(|eto| eto.is_finite())
}

#[cfg(test)]
#[path = "weather_tests.rs"]
mod tests;
