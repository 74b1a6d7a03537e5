//! The water of the soil on one day: what comes, what the turf takes, what sinks away.
//!
//! FAO-56 chapter 8 with a single crop coefficient (Allen, Pereira, Raes and Smith 1998; equation numbers from memory).

use crate::design::model::BalanceDay;

/// A soil store under turf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Store {
    /// Water the roots can reach, mm, above 0.
    pub available_mm: f64,
    /// The part of it that may be used before the turf is short of water, mm, below `available_mm`.
    pub readily_available_mm: f64,
}

/// What a day brings and asks for, depths in mm, none below 0.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demand {
    /// Rain.
    pub rain_mm: f64,
    /// Rain that runs off.
    pub runoff_mm: f64,
    /// Water of heads.
    pub irrigation_mm: f64,
    /// What well-watered turf would use.
    pub turf_et_mm: f64,
}

impl Store {
    /// Share of its well-watered use that the turf keeps up at a depletion, Ks, 0 to 1. FAO-56 equation 84.
    pub fn stress_coefficient(&self, depletion_mm: f64) -> f64 {
        let reserve_mm = (self.available_mm - self.readily_available_mm).max(1e-9);
        ((self.available_mm - depletion_mm) / reserve_mm).clamp(0.0, 1.0)
    }

    /// The day after a depletion (0 to `available_mm`) at the end of the day before. FAO-56 equations 80 (turf's use),
    /// 85 (balance) and 88 (percolation).
    ///
    /// The turf feels the depletion that the day before left: the day's own water helps from the next day on. It never uses
    /// more than is there.
    pub fn day(&self, depletion_mm: f64, demand: &Demand) -> BalanceDay {
        let gained_mm = demand.rain_mm - demand.runoff_mm + demand.irrigation_mm;
        let there_mm = self.available_mm - depletion_mm + gained_mm;
        let wanted_mm = self.stress_coefficient(depletion_mm) * demand.turf_et_mm;
        let actual_et_mm = wanted_mm.min(there_mm).max(0.0);
        let percolation_mm = (gained_mm - actual_et_mm - depletion_mm).max(0.0);
        BalanceDay {
            rain_mm: demand.rain_mm,
            irrigation_mm: demand.irrigation_mm,
            runoff_mm: demand.runoff_mm,
            percolation_mm,
            turf_et_mm: demand.turf_et_mm,
            actual_et_mm,
            depletion_mm: depletion_mm - gained_mm + actual_et_mm + percolation_mm,
        }
    }

    /// The days of a year, from a start depletion, mm.
    pub fn year(&self, start_mm: f64, demands: &[Demand]) -> Vec<BalanceDay> {
        let mut depletion_mm = start_mm;
        demands
            .iter()
            .map(|demand| {
                let day = self.day(depletion_mm, demand);
                depletion_mm = day.depletion_mm;
                day
            })
            .collect()
    }
}

/// Days on which the turf uses less than it would well watered.
pub fn stress_days(days: &[BalanceDay]) -> u32 {
    let short = |day: &&BalanceDay| is_short(day);
    days.iter().filter(short).count() as u32
}

/// Whether the turf uses less on that day than it would well watered.
pub fn is_short(day: &BalanceDay) -> bool {
    day.actual_et_mm < day.turf_et_mm - 1e-9
}

/// What the turf uses over what it would use well watered, 0 to 1; 1 where it would use nothing.
pub fn et_share(days: &[BalanceDay]) -> f64 {
    let wanted_mm = sum_mm(days, |day| day.turf_et_mm);
    if wanted_mm > 0.0 {
        sum_mm(days, |day| day.actual_et_mm) / wanted_mm
    } else {
        1.0
    }
}

/// Sum of a depth over the days, mm.
pub fn sum_mm(days: &[BalanceDay], depth: impl Fn(&BalanceDay) -> f64) -> f64 {
    days.iter().map(depth).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const LOAM: Store = Store {
        available_mm: 31.0,
        readily_available_mm: 15.5,
    };

    /// By hand from equations 84, 85 and 88: 31 mm available, half of them readily.
    #[test]
    fn stress_begins_behind_what_is_readily_available_and_surplus_sinks() {
        assert_eq!(LOAM.stress_coefficient(15.5), 1.0);
        assert!((LOAM.stress_coefficient(23.25) - 0.5).abs() < 1e-12);
        assert_eq!(LOAM.stress_coefficient(31.0), 0.0);
        let dry = Demand {
            turf_et_mm: 4.0,
            ..Demand::default()
        };
        let day = LOAM.day(23.25, &dry);
        assert_eq!((day.actual_et_mm, day.depletion_mm), (2.0, 25.25));
        assert!(is_short(&day));
        let wet = Demand {
            rain_mm: 20.0,
            runoff_mm: 3.0,
            irrigation_mm: 5.0,
            turf_et_mm: 4.0,
        };
        let day = LOAM.day(10.0, &wet);
        assert_eq!(
            (day.actual_et_mm, day.percolation_mm, day.depletion_mm),
            (4.0, 8.0, 0.0)
        );
    }

    #[test]
    fn the_turf_never_uses_what_is_not_there() {
        let tiny = Store {
            available_mm: 4.0,
            readily_available_mm: 2.0,
        };
        let hot = Demand {
            turf_et_mm: 9.0,
            ..Demand::default()
        };
        let day = tiny.day(1.0, &hot);
        assert_eq!((day.actual_et_mm, day.depletion_mm), (3.0, 4.0));
        assert_eq!(tiny.day(4.0, &hot).actual_et_mm, 0.0);
    }

    #[test]
    fn sums_of_a_year() {
        let day = |turf_et_mm, actual_et_mm| BalanceDay {
            turf_et_mm,
            actual_et_mm,
            ..BalanceDay::default()
        };
        let days = [day(4.0, 4.0), day(4.0, 2.0), day(0.0, 0.0)];
        assert_eq!((stress_days(&days), et_share(&days)), (1, 0.75));
        assert_eq!(et_share(&days[2..]), 1.0);
    }

    fn demand() -> impl Strategy<Value = Demand> {
        (0.0..80.0_f64, 0.0..1.0_f64, 0.0..30.0_f64, 0.0..12.0_f64).prop_map(
            |(rain_mm, off, irrigation_mm, turf_et_mm)| Demand {
                rain_mm,
                runoff_mm: rain_mm * off,
                irrigation_mm,
                turf_et_mm,
            },
        )
    }

    proptest! {
        #[test]
        fn every_day_and_the_year_close_and_stay_within_the_store(
            available in 2.0..200.0_f64, share in 0.1..0.8_f64, start in 0.0..1.0_f64,
            demands in proptest::collection::vec(demand(), 365),
        ) {
            let store = Store { available_mm: available, readily_available_mm: share * available };
            let start = start * available;
            let days = store.year(start, &demands);
            let mut before = start;
            let mut left = 0.0;
            for day in &days {
                let net = day.rain_mm + day.irrigation_mm - day.runoff_mm - day.percolation_mm - day.actual_et_mm;
                prop_assert!((before - day.depletion_mm - net).abs() < 1e-6);
                prop_assert!(day.depletion_mm > -1e-9 && day.depletion_mm < available + 1e-9);
                prop_assert!(day.actual_et_mm <= day.turf_et_mm && day.percolation_mm >= 0.0);
                before = day.depletion_mm;
                left += net;
            }
            prop_assert!((start - before - left).abs() < 1e-6);
        }
    }
}
