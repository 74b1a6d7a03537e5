//! The year: for each month the watering days, minutes and cycles of every station, and the packed watering day.

use super::ground::Ground;
use super::pack::{Packing, Task, bound_minutes, pack};
use super::runtime::{
    Cycles, DAY_MINUTES, Season, allowed_days, cycles, days_in_month, fewest_days, minutes,
};
use super::together::Sets;
use super::weather::Weather;
use crate::brief::Rules;

/// New sets of three and more stations that the plan of a month may ask for, over all its numbers of days.
const SETS_A_MONTH: usize = 150;

/// The same for the peak day, once more.
const SETS_PEAK: usize = 600;

/// Needs smaller than this are none, mm a month.
const NO_NEED_MM: f64 = 1e-6;

/// One station in one month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watering {
    /// Station.
    pub station: usize,
    /// Watering days in the month.
    pub days: u32,
    /// Its run on each.
    pub cycles: Cycles,
    /// Minutes a day it would take: more than `cycles` where a day is too short.
    pub wanted_minutes: f64,
    /// Days that the soil asks for: more than `days` where the rules allow fewer.
    pub days_wanted: u32,
}

/// One month with need.
#[derive(Debug, Clone, PartialEq)]
pub struct MonthPlan {
    /// 1 to 12.
    pub month: u32,
    /// Stations with need, in order.
    pub waterings: Vec<Watering>,
    /// A day on which all of them water.
    pub packing: Packing,
    /// Whether that day fits the window.
    pub fits: bool,
    /// Days on which watering may run.
    pub allowed_days: u32,
}

impl MonthPlan {
    /// Water drawn in the month, m³.
    pub fn volume_m3(&self, grounds: &[Option<Ground>]) -> f64 {
        self.waterings.iter().map(|w| w.volume_m3(grounds)).sum()
    }
}

impl Watering {
    /// Water drawn in the month, m³, from the flow of its valve.
    pub fn volume_m3(&self, grounds: &[Option<Ground>]) -> f64 {
        let flow_lpm = grounds[self.station].map_or(0.0, |ground| ground.flow_lpm);
        flow_lpm * self.month_minutes() / 1000.0
    }

    /// Water drawn on one watering day, m³.
    pub fn day_volume_m3(&self, ground: &Ground) -> f64 {
        ground.flow_lpm * f64::from(self.cycles.total_minutes()) / 1000.0
    }

    /// Depth applied in the month, mm.
    pub fn depth_mm(&self, grounds: &[Option<Ground>]) -> f64 {
        let rate_mm_h = grounds[self.station].map_or(0.0, |ground| ground.rate_mm_h);
        rate_mm_h * self.month_minutes() / 60.0
    }

    /// Depth applied on one watering day, mm.
    pub fn day_depth_mm(&self, ground: &Ground) -> f64 {
        ground.rate_mm_h * f64::from(self.cycles.total_minutes()) / 60.0
    }

    fn month_minutes(&self) -> f64 {
        f64::from(self.cycles.total_minutes() * self.days)
    }

    fn task(&self, grounds: &[Option<Ground>]) -> Task {
        Task {
            station: self.station,
            flow_lpm: grounds[self.station].map_or(0.0, |ground| ground.flow_lpm),
            cycles: self.cycles.count,
            minutes_each: self.cycles.minutes_each,
            soak_minutes: self.cycles.soak_minutes,
        }
    }
}

/// What stays the same from month to month.
#[derive(Debug, Clone, Copy)]
pub struct Year<'a> {
    /// Stations; `None` cannot water.
    pub grounds: &'a [Option<Ground>],
    /// The sky.
    pub weather: &'a Weather,
    /// The rules.
    pub rules: &'a Rules,
    /// Flow that the supply gives, L/min.
    pub design_lpm: f64,
}

impl Year<'_> {
    /// The months with need inside the season, in order.
    pub fn plans(&self, sets: &mut Sets) -> Vec<MonthPlan> {
        (1..=12)
            .filter(|month| self.in_season(*month))
            .filter_map(|month| self.plan(month, sets))
            .collect()
    }

    /// Minutes of the watering window.
    pub fn window_minutes(&self) -> u32 {
        (self.rules.watering_window_h * 60.0 + 1e-9)
            .floor()
            .clamp(0.0, f64::from(DAY_MINUTES)) as u32
    }

    /// Packs the day of a month as short as the search finds.
    pub fn pack_to_the_end(&self, plan: &mut MonthPlan, sets: &mut Sets) {
        sets.allow(SETS_PEAK);
        let packing = pack(&self.tasks(&plan.waterings), self.design_lpm, 0, sets);
        if packing.length_minutes <= plan.packing.length_minutes {
            plan.packing = packing;
        }
        plan.fits = plan.packing.length_minutes <= self.window_minutes();
    }

    /// No day of that month can be shorter, min.
    pub fn bound_minutes(&self, plan: &MonthPlan) -> f64 {
        bound_minutes(&self.tasks(&plan.waterings), self.design_lpm)
    }

    fn tasks(&self, waterings: &[Watering]) -> Vec<Task> {
        waterings.iter().map(|w| w.task(self.grounds)).collect()
    }

    fn season(&self) -> (u32, u32) {
        let month = |rule: f64| rule.round().clamp(1.0, 12.0) as u32;
        (
            month(self.rules.season_first_month),
            month(self.rules.season_last_month),
        )
    }

    /// A season whose first month comes after its last runs over the turn of the year.
    pub fn in_season(&self, month: u32) -> bool {
        let (first, last) = self.season();
        if first <= last {
            (first..=last).contains(&month)
        } else {
            month >= first || month <= last
        }
    }

    /// The first month of a season shorter than the year; grass that grows all year does not green up.
    fn greening_up(&self, month: u32) -> bool {
        let (first, last) = self.season();
        month == first && first != last % 12 + 1
    }

    /// What well-watered grass uses over the reference, in a month (1 to 12).
    pub fn crop_coefficient(&self, month: u32, season: Season) -> f64 {
        season.crop_coefficient(self.greening_up(month))
    }

    /// Need of the grass in a month, before the multiplier, mm.
    fn need_mm(&self, month: u32, ground: &Ground) -> f64 {
        let index = month as usize - 1;
        let coefficient = self.crop_coefficient(month, ground.season);
        let grass_mm =
            self.weather.eto_mm_day[index] * coefficient * f64::from(days_in_month(month));
        (grass_mm - self.weather.effective_rain_mm[index]).max(0.0)
    }

    /// Water as seldom as the soil allows; on more days where the watering day is else too long for the window.
    fn plan(&self, month: u32, sets: &mut Sets) -> Option<MonthPlan> {
        let allowed = allowed_days(month, self.rules.watering_days_per_week);
        let first = self.waterings(month, 1, allowed);
        let fewest = first.iter().map(|w| w.days).min()?;
        let mut plan = None;
        sets.allow(SETS_A_MONTH);
        for days in fewest..=allowed {
            let waterings = self.waterings(month, days, allowed);
            let tasks = self.tasks(&waterings);
            let window = self.window_minutes();
            let hopeless = bound_minutes(&tasks, self.design_lpm) > f64::from(window);
            if hopeless && days < allowed {
                continue;
            }
            let packing = pack(&tasks, self.design_lpm, window, sets);
            let fits = packing.length_minutes <= window;
            plan = Some(MonthPlan {
                month,
                waterings,
                packing,
                fits,
                allowed_days: allowed,
            });
            if fits {
                break;
            }
        }
        plan
    }

    fn waterings(&self, month: u32, days_least: u32, allowed: u32) -> Vec<Watering> {
        self.grounds
            .iter()
            .enumerate()
            .filter_map(|(station, ground)| {
                self.watering(month, station, ground.as_ref()?, days_least, allowed)
            })
            .collect()
    }

    fn watering(
        &self,
        month: u32,
        station: usize,
        ground: &Ground,
        days_least: u32,
        allowed: u32,
    ) -> Option<Watering> {
        let need_mm = self.need_mm(month, ground);
        if need_mm < NO_NEED_MM {
            return None;
        }
        let readily_mm = ground
            .soil
            .readily_available_mm(self.rules.root_depth_m, self.rules.depletion_share);
        let days_wanted = fewest_days(need_mm, readily_mm);
        let days = days_wanted.max(days_least).min(allowed);
        let wanted_minutes = minutes(
            need_mm / f64::from(days),
            ground.rate_mm_h,
            ground.multiplier,
        );
        Some(Watering {
            station,
            days,
            cycles: cycles(wanted_minutes, ground.rate_mm_h, &ground.soil, ground.slope),
            wanted_minutes,
            days_wanted,
        })
    }
}
