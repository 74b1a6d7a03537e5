//! The year of every soil under its programme: balances, what less water does, and the sensors' settings.

use super::balance::{et_share, stress_days, sum_mm};
use super::patch::{Patch, Place, Run, patches};
use super::sensors;
use super::year::{MonthPlan, Watering, Year};
use crate::design::model::{BalanceDay, BudgetFigures, SensorSettings, SoilBalance};

/// Shares of the run times that are looked at.
const SHARES: [f64; 2] = [1.0, 0.9];

/// What the year's water comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WaterYear {
    /// At full run times, by soil, then grass.
    pub balances: Vec<SoilBalance>,
    /// At full, then at cut run times; none without stations.
    pub budgets: Vec<BudgetFigures>,
    /// Settings.
    pub sensors: SensorSettings,
    /// For each balance, the share of the water of heads that the turf uses beyond what rain alone gives it; `None` without
    /// water of heads.
    pub used: Vec<Option<f64>>,
    /// For each balance, watering days that the rain sensor skips, and all of them.
    pub skipped: Vec<(u32, u32)>,
}

/// Follows the year of every soil under the plans of its months.
pub fn follow(year: &Year, plans: &[MonthPlan]) -> WaterYear {
    let patches = patches(year.grounds, plans, year.rules);
    let run = |place: Place, share: f64| -> Vec<Run> {
        let runs = patches.iter().map(|patch| patch.run(year, place, share));
        runs.collect()
    };
    let budget = |share: f64| {
        let (average, dry) = (run(Place::Average, share), run(Place::DryQuarter, share));
        BudgetFigures {
            share,
            year_m3: share * drawn_m3(&patches, &average, plans),
            stress_days: most_stress_days(&average),
            et_share: least_et_share(&average),
            dry_quarter_stress_days: most_stress_days(&dry),
            dry_quarter_et_share: least_et_share(&dry),
        }
    };
    let shares = SHARES.iter().filter(|_| !patches.is_empty());
    let budgets = shares.map(|share| budget(*share)).collect();
    let (full, rainfed) = (run(Place::Average, 1.0), run(Place::Average, 0.0));
    let skipped = |(patch, run): (&Patch, &Run)| {
        let planned = patch.planned_days();
        (planned - run.watered.iter().sum::<u32>(), planned)
    };
    let both = full.iter().zip(&rainfed);
    WaterYear {
        budgets,
        sensors: sensors::settings(patches.iter().map(|patch| &patch.soil), year.rules),
        used: both
            .map(|(with, without)| used(&with.days, &without.days))
            .collect(),
        skipped: patches.iter().zip(&full).map(skipped).collect(),
        balances: patches
            .iter()
            .zip(full)
            .map(|(patch, run)| patch.balance(run))
            .collect(),
    }
}

/// Water that the programme draws in the year, m³, less what the rain sensor skips.
fn drawn_m3(patches: &[Patch], runs: &[Run], plans: &[MonthPlan]) -> f64 {
    let mut year_m3 = 0.0;
    for (patch, run) in patches.iter().zip(runs) {
        for plan in plans {
            let watered = f64::from(run.watered[plan.month as usize - 1]);
            let of_station = |watering: &Watering| {
                let on = |(station, _): &&_| *station == watering.station;
                let (_, ground) = patch.stations.iter().find(on)?;
                Some(watering.day_volume_m3(ground) * watered)
            };
            year_m3 += plan.waterings.iter().filter_map(of_station).sum::<f64>();
        }
    }
    year_m3
}

fn most_stress_days(runs: &[Run]) -> u32 {
    let days = runs.iter().map(|run| stress_days(&run.days));
    days.max().unwrap_or(0)
}

fn least_et_share(runs: &[Run]) -> f64 {
    let shares = runs.iter().map(|run| et_share(&run.days));
    shares.fold(1.0, f64::min)
}

/// Share of the irrigation that the turf uses beyond what it does with rain alone.
fn used(with: &[BalanceDay], without: &[BalanceDay]) -> Option<f64> {
    let irrigation_mm = sum_mm(with, |day| day.irrigation_mm);
    let et_mm = |days| sum_mm(days, |day| day.actual_et_mm);
    (irrigation_mm > 0.0).then(|| (et_mm(with) - et_mm(without)) / irrigation_mm)
}

#[cfg(test)]
#[path = "water_year_tests.rs"]
pub(super) mod tests;
