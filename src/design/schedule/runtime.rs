//! Run time: from millimetres that the turf needs to whole minutes, watering days, cycles and pauses of one station.

use super::soil::Soil;

/// Minutes in a day: no station can run longer.
pub const DAY_MINUTES: u32 = 24 * 60;

/// What grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Season {
    /// Cool-season grass.
    Cool,
    /// Warm-season grass.
    Warm,
}

impl Season {
    /// The word used in files: `cool` or `warm`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Cool => "cool",
            Self::Warm => "warm",
        }
    }

    /// `cool` or `warm`, capitals and spaces aside.
    pub fn by_word(written: &str) -> Option<Self> {
        match written.trim().to_lowercase().as_str() {
            "cool" => Some(Self::Cool),
            "warm" => Some(Self::Warm),
            _ => None,
        }
    }

    /// Crop coefficient of turf: while it greens up, and from then to the end of the season.
    ///
    /// FAO-56 table 12 (Allen et al. 1998): cool 0.90, 0.95, 0.95; warm 0.80, 0.85, 0.85.
    pub fn crop_coefficient(self, greening_up: bool) -> f64 {
        match (self, greening_up) {
            (Self::Cool, true) => 0.90,
            (Self::Cool, false) => 0.95,
            (Self::Warm, true) => 0.80,
            (Self::Warm, false) => 0.85,
        }
    }
}

/// How much longer than the mean a station runs so that its driest quarter gets nearly its need: `1/(0.4 + 0.6 DU)`.
///
/// Scheduling multiplier as taught by the irrigation trade's association (from memory); DU of the low quarter, 0 to 1
/// (clamped).
pub fn scheduling_multiplier(du_low_quarter: f64) -> f64 {
    1.0 / (0.4 + 0.6 * du_low_quarter.clamp(0.0, 1.0))
}

/// Minutes that apply `need_mm` at `rate_mm_h` (above 0), times the multiplier.
pub fn minutes(need_mm: f64, rate_mm_h: f64, multiplier: f64) -> f64 {
    60.0 * need_mm / rate_mm_h * multiplier
}

/// Longest time without a pause, min: `60 ASA/(PR - IR)`; `None` where the ground drinks as fast as the water comes.
pub fn longest_cycle_minutes(rate_mm_h: f64, soil: &Soil, slope: f64) -> Option<f64> {
    let surplus_mm_h = rate_mm_h - soil.intake_mm_h();
    (surplus_mm_h > 1e-9).then(|| 60.0 * soil.surface_mm(slope) / surplus_mm_h)
}

/// A station's run on a watering day: equal cycles with equal pauses, in whole minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cycles {
    /// How many.
    pub count: u32,
    /// Length of each, min.
    pub minutes_each: u32,
    /// Least pause between two, min; 0 for a single cycle.
    pub soak_minutes: u32,
}

impl Cycles {
    /// Minutes with the valve open.
    pub fn total_minutes(&self) -> u32 {
        self.count * self.minutes_each
    }
}

/// Splits `needed_minutes` (rounded up, 1 to a day) so that nothing runs off.
///
/// The pause lets the water that stands on the ground after a cycle, `(PR - IR) t`, go in at the rate IR: continuity.
pub fn cycles(needed_minutes: f64, rate_mm_h: f64, soil: &Soil, slope: f64) -> Cycles {
    let whole = (needed_minutes - 1e-9)
        .ceil()
        .clamp(1.0, f64::from(DAY_MINUTES)) as u32;
    let single = Cycles {
        count: 1,
        minutes_each: whole,
        soak_minutes: 0,
    };
    let Some(longest) = longest_cycle_minutes(rate_mm_h, soil, slope) else {
        return single;
    };
    let longest = longest.floor().clamp(1.0, f64::from(DAY_MINUTES)) as u32;
    if whole <= longest {
        return single;
    }
    let count = whole.div_ceil(longest);
    let minutes_each = whole.div_ceil(count);
    let standing_mm = (rate_mm_h - soil.intake_mm_h()) * f64::from(minutes_each) / 60.0;
    let soak_minutes = (60.0 * standing_mm / soil.intake_mm_h()).ceil() as u32;
    Cycles {
        count,
        minutes_each,
        soak_minutes,
    }
}

/// Days in a month (1 to 12) of a common year; other numbers count as 30.
pub fn days_in_month(month: u32) -> u32 {
    match month {
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        _ => 30,
    }
}

/// Days of a month on which watering may run, at least 1, from the days a week.
pub fn allowed_days(month: u32, days_per_week: f64) -> u32 {
    let days = days_in_month(month);
    let allowed = (f64::from(days) * days_per_week / 7.0 + 1e-9).floor();
    (allowed.max(1.0) as u32).min(days)
}

/// Fewest watering days so that no watering replaces more than `readily_mm` (above 0).
pub fn fewest_days(need_mm: f64, readily_mm: f64) -> u32 {
    (need_mm / readily_mm - 1e-9).ceil().clamp(1.0, 1e6) as u32
}

#[cfg(test)]
mod tests {
    use super::super::soil::{LOAM, by_texture};
    use super::*;
    use proptest::prelude::*;

    /// Worked by hand from the formula: 12 mm/h on clay and clay loam, 40 mm/h on loam, level.
    #[test]
    fn longest_cycles_of_the_table() {
        let of = |rate, soil: &str| {
            longest_cycle_minutes(rate, &by_texture(soil).unwrap(), 0.02).unwrap()
        };
        assert!((of(12.0, "clay") - 32.22).abs() < 0.005);
        assert!((of(12.0, "clay loam") - 57.26).abs() < 0.005);
        assert!((of(40.0, "loam") - 14.70).abs() < 0.005);
        assert_eq!(longest_cycle_minutes(8.0, &LOAM, 0.02), None);
    }

    /// Worked by hand: ETo 5 mm, Kc 0.95, 12 mm/h: 23.75 min; DU 0.70: 28.963 min.
    #[test]
    fn minutes_and_multiplier() {
        assert!((minutes(5.0 * 0.95, 12.0, 1.0) - 23.75).abs() < 1e-9);
        assert!((minutes(4.75, 12.0, scheduling_multiplier(0.70)) - 28.963).abs() < 5e-4);
        for (du, multiplier) in [(1.0, 1.0), (0.85, 1.0989), (0.5, 1.4286), (0.0, 2.5)] {
            assert!((scheduling_multiplier(du) - multiplier).abs() < 5e-5);
        }
    }

    #[test]
    fn a_spray_on_loam_pauses_until_the_water_is_in() {
        let run = cycles(30.0, 40.0, &LOAM, 0.0);
        // at most 14 min; 40 mm/h on 8.89 mm/h: 10 min leave 5.185 mm, which go in within 35 min
        assert_eq!((run.count, run.minutes_each, run.soak_minutes), (3, 10, 35));
    }

    /// FAO-56 chapter 8: 18.6 mm at 5 mm a day last 3.72 days, so a month of 31 days takes 9 waterings.
    #[test]
    fn days_follow_from_what_the_soil_holds() {
        assert_eq!(fewest_days(31.0 * 5.0, 18.6), 9);
        assert_eq!(allowed_days(7, 7.0), 31);
        assert_eq!(allowed_days(2, 3.0), 12);
        assert_eq!(allowed_days(2, 0.0), 1);
    }

    proptest! {
        #[test]
        fn cycles_give_the_need_and_never_run_off(needed in 0.1..1200.0_f64, rate in 3.0..80.0_f64, slope in 0.0..0.3_f64) {
            let soil = by_texture("clay").unwrap();
            let run = cycles(needed, rate, &soil, slope);
            prop_assert!(f64::from(run.total_minutes()) + 1e-6 >= needed);
            prop_assert!(run.total_minutes() < needed.ceil() as u32 + run.count);
            if let Some(longest) = longest_cycle_minutes(rate, &soil, slope) {
                prop_assert!(f64::from(run.minutes_each) <= longest.max(1.0));
            }
        }
    }
}
