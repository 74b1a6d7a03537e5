//! Weather: reference evapotranspiration and effective rain of the twelve months.

use super::radiation::{MID_MONTH, Sun};
use super::{rain, reference_et};
use crate::brief::{Climate, Month};
use crate::finding::Finding;

/// What the sky takes and gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Reference evapotranspiration, mm/day, finite and not below 0.
    pub eto_mm_day: [f64; 12],
    /// Rain that the turf can use, mm a month.
    pub effective_rain_mm: [f64; 12],
    /// How the first was found.
    pub method: Method,
}

/// The formula of the reference evapotranspiration; one for the whole year, so that months compare.
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

/// The weather of a mean year at a latitude; what had to be assumed goes to `findings`.
pub fn mean_year(climate: &Climate, latitude_deg: f64, findings: &mut Vec<Finding>) -> Weather {
    let latitude_deg = usable_latitude(latitude_deg, findings);
    let method = method(climate);
    note_sources(climate, method, findings);
    let mut eto_mm_day = [0.0; 12];
    let mut unusable = Vec::new();
    for (i, eto) in eto_mm_day.iter_mut().enumerate() {
        let usable = is_usable(&climate.months[i]);
        let found = month_eto_mm(climate, latitude_deg, method, i);
        if !usable {
            unusable.push((i + 1).to_string());
        }
        *eto = if usable && found.is_finite() {
            found
        } else {
            0.0
        };
    }
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
    Weather {
        eto_mm_day,
        effective_rain_mm: climate
            .months
            .map(|month| rain::effective_mm(month.rain_mm)),
        method,
    }
}

/// Whether every value given is a number and the temperatures stand in order.
fn is_usable(month: &Month) -> bool {
    let given = [month.rh_mean_pct, month.wind_m_s, month.sun_h];
    month.tmin_c <= month.tmax_c
        && (month.tmax_c - month.tmin_c).is_finite()
        && month.rain_mm.is_finite()
        && given.iter().flatten().all(|value| value.is_finite())
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

/// Humidity in per cent, wind in m/s and sunshine in h, where a month has all three.
fn complete(month: &Month) -> Option<(f64, f64, f64)> {
    Some((month.rh_mean_pct?, month.wind_m_s?, month.sun_h?))
}

fn method(climate: &Climate) -> Method {
    if climate.months.iter().all(|month| complete(month).is_some()) {
        Method::PenmanMonteith
    } else {
        Method::Hargreaves
    }
}

fn note_sources(climate: &Climate, method: Method, findings: &mut Vec<Finding>) {
    if climate.built_in {
        findings.push(Finding::note(
            "built_in_climate",
            "The schedule uses the built-in climate, which is invented. Give monthly means of a nearby weather station under [climate].",
        ));
    }
    let lacking = climate
        .months
        .iter()
        .filter(|month| complete(month).is_none())
        .count();
    if method == Method::Hargreaves {
        findings.push(Finding::note(
            "hargreaves_used",
            format!(
                "Evapotranspiration is by Hargreaves, from temperatures alone: {lacking} of 12 months lack humidity, wind or sunshine. \
                 Give all three for every month to have Penman-Monteith."
            ),
        ));
    }
}

fn month_eto_mm(climate: &Climate, latitude_deg: f64, method: Method, index: usize) -> f64 {
    let month = &climate.months[index];
    let sun = Sun::over(latitude_deg, MID_MONTH[index]);
    match (method, complete(month)) {
        (Method::PenmanMonteith, Some(measured)) => {
            reference_et::penman_monteith_mm(&sun, &air(climate, &sun, index, measured))
        }
        _ => reference_et::hargreaves_mm(&sun, month.tmin_c, month.tmax_c),
    }
}

fn air(
    climate: &Climate,
    sun: &Sun,
    index: usize,
    (humidity_pct, wind_m_s, sunshine_h): (f64, f64, f64),
) -> reference_et::Air {
    let month = &climate.months[index];
    let mean_c = |i: usize| {
        let month = &climate.months[i % 12];
        f64::midpoint(month.tmin_c, month.tmax_c)
    };
    reference_et::Air {
        tmin_c: month.tmin_c,
        tmax_c: month.tmax_c,
        vapour_kpa: reference_et::vapour_from_mean_humidity_kpa(
            month.tmin_c,
            month.tmax_c,
            humidity_pct,
        ),
        wind_m_s,
        solar_mj: sun.solar_mj(sunshine_h),
        ground_heat_mj: reference_et::ground_heat_mj(mean_c(index + 11), mean_c(index + 1)),
        altitude_m: climate.altitude_m,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
            built_in: false,
        }
    }

    /// FAO-56 example 20: Hargreaves 5.0 mm/day in July near Lyon.
    #[test]
    fn without_humidity_the_year_is_by_hargreaves_and_says_so() {
        let mut findings = Vec::new();
        let weather = mean_year(&lyon_all_year(), 45.0 + 43.0 / 60.0, &mut findings);
        assert_eq!(weather.method.word(), "hargreaves");
        assert!((weather.eto_mm_day[6] - 5.033).abs() < 2e-3);
        assert_eq!(weather.effective_rain_mm, [46.0; 12]);
        assert_eq!(
            findings.iter().map(|f| f.code).collect::<Vec<_>>(),
            ["hargreaves_used"]
        );
    }

    /// FAO-56 example 17, Bangkok in April: 2.85 kPa are 64.4 % of 4.42; March is 1 °C colder, May as April,
    /// so that the ground takes 0.07 MJ here (equation 43) where the book, with April alone, has 0.14.
    #[test]
    fn bangkok_in_april_through_the_monthly_table() {
        let mut climate = lyon_all_year();
        climate.altitude_m = 2.0;
        climate.months = [Month {
            tmin_c: 25.6,
            tmax_c: 34.8,
            rh_mean_pct: Some(2.85 / 4.4225 * 100.0),
            wind_m_s: Some(2.0),
            sun_h: Some(8.5),
            rain_mm: 0.0,
        }; 12];
        climate.months[2].tmin_c -= 1.0;
        climate.months[2].tmax_c -= 1.0;
        let weather = mean_year(&climate, 13.0 + 44.0 / 60.0, &mut Vec::new());
        assert_eq!(weather.method, Method::PenmanMonteith);
        let less_heat_mm = 0.07 * 0.408 * 0.246 / (0.246 + 0.0674 * 1.68);
        assert!((weather.eto_mm_day[3] - less_heat_mm - 5.72).abs() < 0.01);
    }

    #[test]
    fn one_month_without_wind_turns_the_whole_year_to_hargreaves() {
        let mut climate = lyon_all_year();
        for month in &mut climate.months {
            (month.rh_mean_pct, month.wind_m_s, month.sun_h) = (Some(60.0), Some(2.0), Some(6.0));
        }
        assert_eq!(method(&climate), Method::PenmanMonteith);
        climate.months[4].wind_m_s = None;
        assert_eq!(method(&climate), Method::Hargreaves);
    }

    #[test]
    fn what_is_no_number_is_told_and_goes_no_further() {
        let mut climate = lyon_all_year();
        climate.months[5].tmax_c = f64::NAN;
        let mut findings = Vec::new();
        let weather = mean_year(&climate, f64::NAN, &mut findings);
        assert!(weather.eto_mm_day.iter().all(|eto| eto.is_finite()));
        let codes: Vec<_> = findings.iter().map(|f| f.code).collect();
        assert!(codes.contains(&"climate_unusable") && codes.contains(&"latitude_unusable"));
    }
}
