//! A patch: one soil with one grass, what the controller does on it, and a year of its water.

use super::balance::{Demand, Store};
use super::day_series::{WATERING_AT, spread};
use super::ground::Ground;
use super::soil::Soil;
use super::year::{MonthPlan, Year};
use crate::brief::Rules;
use crate::design::model::{BalanceDay, SoilBalance};
use std::collections::BTreeMap;

/// Hours that a day's rain falls in, while the ground drinks at its basic rate (common practice, no source).
const RAIN_HOURS: f64 = 6.0;

/// Times that a year is run at most so that it ends as dry as it began; a wet season makes two enough.
const RUNS_MOST: usize = 6;

/// One soil with one grass, and the stations on it.
#[derive(Debug, Clone)]
pub struct Patch {
    /// Soil.
    pub soil: Soil,
    /// At least one, by rising index.
    pub stations: Vec<(usize, Ground)>,
    store: Store,
    programme: [Programme; 12],
}

/// What the controller does on a patch in a month.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Programme {
    days: u32,
    average_mm: f64,
    dry_quarter_mm: f64,
}

/// Where on the ground the water is followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A place that gets the mean of the station's water.
    Average,
    /// The mean of the quarter that gets least.
    DryQuarter,
}

/// A year on a patch.
#[derive(Debug, Clone)]
pub struct Run {
    /// Depletion before the first day, mm.
    pub start_mm: f64,
    /// The days.
    pub days: Vec<BalanceDay>,
    /// Watering days of each month that the rain sensor let pass.
    pub watered: [u32; 12],
}

/// The patches of the stations under the plans of the months, by soil, then grass.
pub fn patches(grounds: &[Option<Ground>], plans: &[MonthPlan], rules: &Rules) -> Vec<Patch> {
    let mut patches: BTreeMap<_, Patch> = BTreeMap::new();
    for (station, ground) in grounds.iter().enumerate() {
        let Some(ground) = ground else { continue };
        let patch = patches.entry((ground.soil.name, ground.season));
        let patch = patch.or_insert_with(|| Patch::bare(ground.soil, rules));
        patch.stations.push((station, *ground));
    }
    let mut patches: Vec<Patch> = patches.into_values().collect();
    for patch in &mut patches {
        patch.programme = patch.programme(plans);
    }
    patches
}

impl Patch {
    fn bare(soil: Soil, rules: &Rules) -> Self {
        let readily_available_mm =
            soil.readily_available_mm(rules.root_depth_m, rules.depletion_share);
        Self {
            soil,
            stations: Vec::new(),
            store: Store {
                available_mm: soil.available_mm(rules.root_depth_m),
                readily_available_mm,
            },
            programme: [Programme::default(); 12],
        }
    }

    /// Mean over its ground.
    fn mean(&self, value: impl Fn(usize, &Ground) -> f64) -> f64 {
        let (mut sum, mut ground_m2) = (0.0, 0.0);
        for (station, ground) in &self.stations {
            sum += ground.area_m2 * value(*station, ground);
            ground_m2 += ground.area_m2;
        }
        sum / ground_m2
    }

    /// The plans of the months as they meet the patch; stations count by their ground.
    fn programme(&self, plans: &[MonthPlan]) -> [Programme; 12] {
        let mut months = [Programme::default(); 12];
        for plan in plans {
            let of = |station: usize| plan.waterings.iter().find(|w| w.station == station);
            let depth_mm = |station: usize, ground: &Ground| {
                of(station).map_or(0.0, |watering| watering.day_depth_mm(ground))
            };
            let days = |(station, _): &(usize, Ground)| of(*station).map_or(0, |w| w.days);
            months[plan.month as usize - 1] = Programme {
                days: self.stations.iter().map(days).max().unwrap_or(0),
                average_mm: self.mean(depth_mm),
                dry_quarter_mm: self
                    .mean(|station, ground| ground.du_low_quarter * depth_mm(station, ground)),
            };
        }
        months
    }

    /// Watering days of the programme in the year.
    pub fn planned_days(&self) -> u32 {
        self.programme.iter().map(|month| month.days).sum()
    }

    /// Rain of a day that the ground takes in at most, mm: at its basic intake, and what may stand on it.
    fn rain_most_mm(&self) -> f64 {
        let surface_mm = self.mean(|_, ground| ground.soil.surface_mm(ground.slope));
        self.soil.intake_mm_h() * RAIN_HOURS + surface_mm
    }

    /// The year at a share of the run times, run again until it ends as it began.
    pub fn run(&self, year: &Year, place: Place, share: f64) -> Run {
        let (demands, watered) = self.demands(year, place, share);
        let mut start_mm = 0.0;
        let mut days = self.store.year(start_mm, &demands);
        for _ in 1..RUNS_MOST {
            let end_mm = days.last().map_or(0.0, |day| day.depletion_mm);
            if (end_mm - start_mm).abs() < 1e-9 {
                break;
            }
            start_mm = end_mm;
            days = self.store.year(start_mm, &demands);
        }
        Run {
            start_mm,
            days,
            watered,
        }
    }

    /// What each day brings, and on how many days of each month water is let run.
    fn demands(&self, year: &Year, place: Place, share: f64) -> (Vec<Demand>, [u32; 12]) {
        let series = &year.weather.series;
        let season = self.season();
        let rain_most_mm = self.rain_most_mm();
        let water_on: Vec<Vec<u32>> = (1..)
            .zip(&self.programme)
            .map(|(month, programme)| spread(programme.days, series.days_in(month), WATERING_AT))
            .collect();
        let mut watered = [0; 12];
        let mut rain_before_mm = series.days.last().map_or(0.0, |day| day.rain_mm);
        let demands = series.days.iter().map(|day| {
            let month = day.month as usize - 1;
            let depth_mm = match place {
                Place::Average => self.programme[month].average_mm,
                Place::DryQuarter => self.programme[month].dry_quarter_mm,
            };
            let rainy = is_rainy(year.rules, day.rain_mm.max(rain_before_mm));
            let waters = water_on[month].contains(&(day.day - 1)) && !rainy;
            watered[month] += u32::from(waters);
            rain_before_mm = day.rain_mm;
            Demand {
                rain_mm: day.rain_mm,
                runoff_mm: (day.rain_mm - rain_most_mm).max(0.0),
                irrigation_mm: if waters { share * depth_mm } else { 0.0 },
                turf_et_mm: day.eto_mm * year.crop_coefficient(day.month, season),
            }
        });
        (demands.collect(), watered)
    }

    fn season(&self) -> super::runtime::Season {
        self.stations[0].1.season
    }

    /// The figures of a run.
    pub fn balance(&self, run: Run) -> SoilBalance {
        SoilBalance {
            soil: self.soil.name.to_owned(),
            grass: self.season().word().to_owned(),
            stations: self.stations.iter().map(|(station, _)| *station).collect(),
            available_mm: self.store.available_mm,
            readily_available_mm: self.store.readily_available_mm,
            start_depletion_mm: run.start_mm,
            days: run.days,
        }
    }
}

/// Whether the rain sensor stops watering; a rule of 0 is no sensor.
fn is_rainy(rules: &Rules, rain_mm: f64) -> bool {
    rules.rain_sensor_mm > 0.0 && rain_mm > rules.rain_sensor_mm
}
