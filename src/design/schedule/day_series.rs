//! A year of days: what the sky takes and gives on each of them, from 1 January to 31 December.

use crate::brief::Date;

/// One day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkyDay {
    /// 1 to 12.
    pub month: u32,
    /// 1 to 31.
    pub day: u32,
    /// Reference evapotranspiration, mm.
    pub eto_mm: f64,
    /// Rain, mm.
    pub rain_mm: f64,
}

/// A year's days.
#[derive(Debug, Clone, PartialEq)]
pub struct DaySeries {
    /// The year of the record that they are of; `None` for a mean year.
    pub year: Option<i32>,
    /// 365 or 366 days.
    pub days: Vec<SkyDay>,
}

/// A common year for what has none: its days are numbered by it.
const COMMON_YEAR: i32 = 2023;

impl DaySeries {
    /// Days of a mean year: each has the evapotranspiration of its month, and the month's rain falls in equal events of at
    /// most `event_mm` (above 0), at most one a day, spread evenly.
    ///
    /// Common practice, no source: a mean month says nothing of its days.
    pub fn of_months(eto_mm_day: &[f64; 12], rain_mm: &[f64; 12], event_mm: f64) -> Self {
        let mut days = Vec::with_capacity(366);
        for (index, month) in (0..12).zip(1..) {
            let length = Date::days_in(COMMON_YEAR, month);
            let rain_mm = Some(rain_mm[index]).filter(|rain| rain.is_finite() && *rain > 0.0);
            let rain_mm = rain_mm.unwrap_or(0.0);
            let events = (rain_mm / event_mm - 1e-9)
                .ceil()
                .clamp(0.0, f64::from(length)) as u32;
            let wet = spread(events, length, RAIN_AT);
            days.extend((0..length).map(|at| SkyDay {
                month,
                day: at + 1,
                eto_mm: eto_mm_day[index],
                rain_mm: if wet.contains(&at) {
                    rain_mm / f64::from(events)
                } else {
                    0.0
                },
            }));
        }
        Self { year: None, days }
    }

    /// Days of a month (1 to 12) of this year.
    pub fn days_in(&self, month: u32) -> u32 {
        Date::days_in(self.year.unwrap_or(COMMON_YEAR), month)
    }
}

/// Where in its share of the month an event of rain falls, in quarters.
const RAIN_AT: u32 = 2;

/// Where in its share of the month a watering day lies. A quarter before the rain, so that as many waterings as events
/// neither always meet nor always take turns (common practice, no source).
pub const WATERING_AT: u32 = 1;

/// `count` of `length` days, from 0, one in each equal share of them, so many `quarters` (0 to 3) into it; all days where
/// there are more.
pub fn spread(count: u32, length: u32, quarters: u32) -> Vec<u32> {
    let count = count.min(length);
    let at = |k: u32| (4 * k + quarters) * length / (4 * count);
    (0..count).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn events_lie_even() {
        assert_eq!(spread(1, 31, RAIN_AT), [15]);
        assert_eq!(spread(3, 30, RAIN_AT), [5, 15, 25]);
        assert_eq!(spread(3, 30, WATERING_AT), [2, 12, 22]);
        assert_eq!(spread(40, 28, RAIN_AT).len(), 28);
        assert!(spread(0, 31, RAIN_AT).is_empty());
    }

    /// By hand: 20 mm are three events of 6.67 mm, on the 6th, 16th and 26th of a month of 31 days.
    #[test]
    fn a_mean_month_rains_in_equal_events() {
        let series = DaySeries::of_months(&[3.0; 12], &[20.0; 12], 8.0);
        let wet: Vec<u32> = series.days[..31]
            .iter()
            .filter(|day| day.rain_mm > 0.0)
            .map(|day| day.day)
            .collect();
        assert_eq!(wet, [6, 16, 26]);
        assert!((series.days[5].rain_mm - 20.0 / 3.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn months_keep_their_rain_and_no_day_has_two_events(rain in 0.0..900.0_f64, event in 1.0..30.0_f64) {
            let series = DaySeries::of_months(&[3.0; 12], &[rain; 12], event);
            prop_assert_eq!(series.days.len(), 365);
            for month in 1..=12 {
                let days = || series.days.iter().filter(|day| day.month == month);
                let sum: f64 = days().map(|day| day.rain_mm).sum();
                prop_assert!((sum - rain).abs() < 1e-9);
                let most = event.max(rain / days().count() as f64);
                prop_assert!(days().all(|day| day.rain_mm <= most + 1e-9));
            }
        }

        #[test]
        fn spread_days_are_distinct_and_no_gap_is_two_longer_than_another(count in 2..31_u32, length in 28..32_u32, quarters in 0..4_u32) {
            let days = spread(count, length, quarters);
            prop_assert!(days.len() == count.min(length) as usize && days.iter().all(|day| *day < length));
            let gaps: Vec<u32> = days.windows(2).map(|two| two[1] - two[0]).collect();
            let (least, most) = (gaps.iter().min().unwrap(), gaps.iter().max().unwrap());
            prop_assert!(*least >= 1 && most - least <= 1);
        }
    }
}
