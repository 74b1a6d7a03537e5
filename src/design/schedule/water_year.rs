//! The year of every soil under its programme: balances, what less water does, and the sensors' settings.

use super::balance::{Demand, Store, et_share, stress_days, sum_mm};
use super::day_series::spread;
use super::ground::Ground;
use super::soil::Soil;
use super::year::{MonthPlan, Watering, Year};
use crate::brief::Rules;
use crate::design::model::{
    BalanceDay, BudgetFigures, MoistureSetting, SensorSettings, SoilBalance,
};
use std::collections::BTreeMap;

/// Hours that a day's rain falls in, while the ground drinks at its basic rate (common practice, no source).
const RAIN_HOURS: f64 = 6.0;

/// Shares of the run times that are looked at.
const SHARES: [f64; 2] = [1.0, 0.9];

/// Times that a year is run at most so that it ends as dry as it began; a wet season makes two enough.
const RUNS_MOST: usize = 6;

/// Depth of a moisture sensor over that of the roots (common practice, no source).
const SENSOR_DEPTH: f64 = 0.5;

/// One soil with one grass, and the stations on it.
#[derive(Debug, Clone)]
struct Patch {
    soil: Soil,
    stations: Vec<(usize, Ground)>,
    store: Store,
}

/// What the controller does on a patch in a month.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Programme {
    days: u32,
    /// Depth of the average place on each watering day, mm.
    depth_mm: f64,
}

/// A year on a patch.
struct Run {
    start_mm: f64,
    days: Vec<BalanceDay>,
    /// Watering days of each month that the rain sensor let pass.
    watered: [u32; 12],
}

/// What the year's water comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WaterYear {
    /// At full run times, by soil, then grass.
    pub balances: Vec<SoilBalance>,
    /// At full, then at cut run times.
    pub budgets: Vec<BudgetFigures>,
    /// Settings.
    pub sensors: SensorSettings,
    /// For each balance, the share of the water of heads that the turf uses beyond what rain alone gives it; `None` without
    /// water of heads.
    pub used: Vec<Option<f64>>,
    /// Watering days that the rain sensor skips at full run times, and all of them, where most are skipped.
    pub skipped: (u32, u32),
}

/// Follows the year of every soil under the plans of its months.
pub fn follow(year: &Year, plans: &[MonthPlan]) -> WaterYear {
    let patches = patches(year.grounds, year.rules);
    let programmes: Vec<[Programme; 12]> = patches
        .iter()
        .map(|patch| programme(patch, plans))
        .collect();
    let run = |share: f64| -> Vec<Run> {
        let both = patches.iter().zip(&programmes);
        both.map(|(patch, programme)| patch.run(year, programme, share))
            .collect()
    };
    let full = run(1.0);
    let rainfed = run(0.0);
    let budgets = SHARES.iter().map(|&share| {
        let runs = if share == 1.0 { &full } else { &run(share) };
        budget(share, &patches, runs, plans)
    });
    let budgets = if patches.is_empty() {
        Vec::new()
    } else {
        budgets.collect()
    };
    let skipped = full.iter().zip(&programmes).map(|(run, programme)| {
        let planned: u32 = programme.iter().map(|month| month.days).sum();
        (planned - run.watered.iter().sum::<u32>(), planned)
    });
    WaterYear {
        budgets,
        sensors: sensors(&patches, year.rules),
        used: full
            .iter()
            .zip(&rainfed)
            .map(|(with, without)| used(&with.days, &without.days))
            .collect(),
        skipped: skipped.max().unwrap_or_default(),
        balances: patches
            .iter()
            .zip(full)
            .map(|(patch, run)| patch.balance(run))
            .collect(),
    }
}

/// Stations by soil and grass.
fn patches(grounds: &[Option<Ground>], rules: &Rules) -> Vec<Patch> {
    let mut patches: BTreeMap<_, Patch> = BTreeMap::new();
    for (station, ground) in grounds.iter().enumerate() {
        let Some(ground) = ground else { continue };
        let soil = ground.soil;
        let patch = patches
            .entry((soil.name, ground.season))
            .or_insert_with(|| Patch {
                soil,
                stations: Vec::new(),
                store: Store {
                    available_mm: soil.available_mm(rules.root_depth_m),
                    readily_available_mm: soil
                        .readily_available_mm(rules.root_depth_m, rules.depletion_share),
                },
            });
        patch.stations.push((station, *ground));
    }
    patches.into_values().collect()
}

/// The plans of the months as they meet a patch; stations count by their ground.
fn programme(patch: &Patch, plans: &[MonthPlan]) -> [Programme; 12] {
    let mut months = [Programme::default(); 12];
    for plan in plans {
        let watering = |station: usize| plan.waterings.iter().find(|w| w.station == station);
        let month = &mut months[plan.month as usize - 1];
        let depth_mm = |(station, ground): &(usize, Ground)| {
            watering(*station).map_or(0.0, |watering| watering.day_depth_mm(ground))
        };
        let days = |(station, _): &(usize, Ground)| watering(*station).map_or(0, |w| w.days);
        month.days = patch.stations.iter().map(days).max().unwrap_or(0);
        month.depth_mm = patch.mean(depth_mm);
    }
    months
}

impl Patch {
    /// Mean over its ground.
    fn mean(&self, value: impl Fn(&(usize, Ground)) -> f64) -> f64 {
        let ground_m2: f64 = self.stations.iter().map(|(_, ground)| ground.area_m2).sum();
        let weighed = self
            .stations
            .iter()
            .map(|station| station.1.area_m2 * value(station));
        weighed.sum::<f64>() / ground_m2
    }

    /// Rain of a day that the ground takes in at most, mm: at its basic intake, and what may stand on it.
    fn rain_most_mm(&self) -> f64 {
        let surface_mm = self.mean(|(_, ground)| ground.soil.surface_mm(ground.slope));
        self.soil.intake_mm_h() * RAIN_HOURS + surface_mm
    }

    /// Runs the year again until it ends as it began.
    fn run(&self, year: &Year, programme: &[Programme; 12], share: f64) -> Run {
        let (demands, watered) = self.demands(year, programme, share);
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
    fn demands(
        &self,
        year: &Year,
        programme: &[Programme; 12],
        share: f64,
    ) -> (Vec<Demand>, [u32; 12]) {
        let series = &year.weather.series;
        let season = self.stations[0].1.season;
        let rain_most_mm = self.rain_most_mm();
        let water_on: Vec<Vec<u32>> = (1..)
            .zip(programme)
            .map(|(month, programme)| spread(programme.days, series.days_in(month)))
            .collect();
        let mut watered = [0; 12];
        let mut rain_before_mm = series.days.last().map_or(0.0, |day| day.rain_mm);
        let demands = series.days.iter().map(|day| {
            let month = day.month as usize - 1;
            let rainy = is_rainy(year.rules, day.rain_mm.max(rain_before_mm));
            let waters = water_on[month].contains(&(day.day - 1)) && !rainy;
            watered[month] += u32::from(waters);
            rain_before_mm = day.rain_mm;
            Demand {
                rain_mm: day.rain_mm,
                runoff_mm: (day.rain_mm - rain_most_mm).max(0.0),
                irrigation_mm: if waters {
                    share * programme[month].depth_mm
                } else {
                    0.0
                },
                turf_et_mm: day.eto_mm * year.crop_coefficient(day.month, season),
            }
        });
        (demands.collect(), watered)
    }

    fn balance(&self, run: Run) -> SoilBalance {
        SoilBalance {
            soil: self.soil.name.to_owned(),
            grass: self.stations[0].1.season.word().to_owned(),
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

/// A year's water at a share of the run times: what the programme draws, less what the rain sensor skips.
fn budget(share: f64, patches: &[Patch], runs: &[Run], plans: &[MonthPlan]) -> BudgetFigures {
    let mut year_m3 = 0.0;
    for (patch, run) in patches.iter().zip(runs) {
        for plan in plans {
            let watered = run.watered[plan.month as usize - 1];
            let drawn_m3 = |watering: &Watering| {
                let (_, ground) = patch
                    .stations
                    .iter()
                    .find(|(s, _)| *s == watering.station)?;
                Some(watering.day_volume_m3(ground) * f64::from(watered))
            };
            year_m3 += share * plan.waterings.iter().filter_map(drawn_m3).sum::<f64>();
        }
    }
    BudgetFigures {
        share,
        year_m3,
        stress_days: runs
            .iter()
            .map(|run| stress_days(&run.days))
            .max()
            .unwrap_or(0),
        et_share: runs
            .iter()
            .map(|run| et_share(&run.days))
            .fold(1.0, f64::min),
    }
}

/// Share of the irrigation that the turf uses beyond what it does with rain alone.
fn used(with: &[BalanceDay], without: &[BalanceDay]) -> Option<f64> {
    let irrigation_mm = sum_mm(with, |day| day.irrigation_mm);
    let et_mm = |days| sum_mm(days, |day| day.actual_et_mm);
    (irrigation_mm > 0.0).then(|| (et_mm(with) - et_mm(without)) / irrigation_mm)
}

fn sensors(patches: &[Patch], rules: &Rules) -> SensorSettings {
    let mut moisture: Vec<MoistureSetting> = patches
        .iter()
        .map(|patch| MoistureSetting {
            soil: patch.soil.name.to_owned(),
            depth_m: SENSOR_DEPTH * rules.root_depth_m,
            start_below: patch.soil.field_capacity
                - rules.depletion_share * patch.soil.available_share,
            stop_at: patch.soil.field_capacity,
        })
        .collect();
    moisture.dedup_by(|one, other| one.soil == other.soil);
    let rained = rules.rain_sensor_mm > 0.0 && !patches.is_empty();
    SensorSettings {
        rain_off_mm: rained.then_some(rules.rain_sensor_mm),
        moisture,
    }
}

#[cfg(test)]
#[path = "water_year_tests.rs"]
mod tests;
