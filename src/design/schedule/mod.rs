//! The schedule: how long, how often and in what order the stations run, month by month, and what water that takes.
//!
//! From climate to evapotranspiration (`weather`, days in `record`), from soil and grass to minutes and cycles (`year`), from
//! stations to a watering day (`pack`), asking which of them may be open at once (`together`); at last the water of the
//! soil, day by day, under that programme (`water_year`).

pub mod air;
pub mod balance;
pub mod day_series;
mod ground;
pub mod pack;
mod patch;
pub mod radiation;
pub mod rain;
mod record;
pub mod reference_et;
pub mod runtime;
mod sensors;
pub mod soil;
pub mod together;
mod warnings;
mod water_warnings;
pub mod water_year;
pub mod weather;
pub mod year;

use crate::brief::{Climate, Rules};
use crate::design::model::{Run, Schedule, ScheduleRow};
use crate::finding::Finding;
use ground::Ground;
use std::collections::BTreeSet;
use together::{Refusal, Sets, TogetherCheck};
use year::{MonthPlan, Year};

/// What the schedule must know of one station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationNeed {
    /// The number that people know it by; `None` counts from 1 in the design's order.
    pub number: Option<usize>,
    /// Flow of all its heads, L/min.
    pub flow_lpm: f64,
    /// Mean rate on its ground, mm/h.
    pub rate_mm_h: f64,
    /// Distribution uniformity of the low quarter on its ground, 0 to 1; `None` where unknown.
    pub du_low_quarter: Option<f64>,
    /// Ground it waters, m²: tells when much of its water falls elsewhere; run times do not depend on it.
    pub area_m2: f64,
    /// Soil texture class, where known.
    pub soil: Option<String>,
    /// `cool` or `warm`, where known.
    pub season: Option<String>,
    /// Slope of its ground, m/m.
    pub slope: f64,
}

/// What a schedule is made from.
#[derive(Debug, Clone)]
pub struct ScheduleRequest<'a> {
    /// Monthly means, and days where they are known.
    pub climate: &'a Climate,
    /// Latitude, degrees, north positive.
    pub latitude_deg: f64,
    /// Rules: window, days, season, roots.
    pub rules: &'a Rules,
    /// Stations, in the design's order.
    pub stations: Vec<StationNeed>,
    /// Flow that may be drawn at once, L/min.
    pub design_lpm: f64,
    /// Says which stations may be open at once; without it flow alone decides.
    pub together: Option<&'a dyn TogetherCheck>,
}

/// Pairs of stations that the supply's flow allows, and how many of them may not run together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Pairs {
    within_flow: usize,
    refused_pressure: usize,
    refused_velocity: usize,
}

impl Pairs {
    fn refused(&self) -> usize {
        self.refused_pressure + self.refused_velocity
    }
}

/// The schedule of a mean year, the soil's water under it, and what a person should know of both. Every figure is finite.
pub fn plan(request: &ScheduleRequest) -> (Schedule, Vec<Finding>) {
    let mut findings = Vec::new();
    let weather = weather::of_climate(
        request.climate,
        request.latitude_deg,
        request.rules.rain_event_mm,
        &mut findings,
    );
    let grounds = ground::of_stations(&request.stations, request.rules, &mut findings);
    let year = Year {
        grounds: &grounds,
        weather: &weather,
        rules: request.rules,
        design_lpm: request.design_lpm,
    };
    let mut sets = Sets::new(request.together);
    let mut plans = year.plans(&mut sets);
    let peak = peak(&plans, &grounds);
    if let Some(peak) = peak {
        year.pack_to_the_end(&mut plans[peak], &mut sets);
    }
    let rows: Vec<ScheduleRow> = plans.iter().flat_map(|plan| rows(plan, &grounds)).collect();
    let mut schedule = Schedule {
        eto_mm_day: weather.eto_mm_day,
        effective_rain_mm: weather.effective_rain_mm,
        method: weather.method.word().to_owned(),
        year_m3: rows.iter().map(|row| row.volume_m3).sum(),
        rows,
        peak_minutes: vec![0.0; request.stations.len()],
        fits_window: plans.iter().all(|plan| plan.fits),
        ..Schedule::default()
    };
    let mut pairs = Pairs::default();
    if let Some(peak) = peak.map(|peak| &plans[peak]) {
        fill_peak(&mut schedule, &year, peak, &sets);
        pairs = count_pairs(&year, peak, &mut sets);
    }
    warnings::tell(&year, &plans, &schedule, pairs, &mut findings);
    let water = water_year::follow(&year, &plans);
    water_warnings::tell(&year, &water, &mut findings);
    schedule.balance_year = weather.series.year;
    schedule.balances = water.balances;
    schedule.budgets = water.budgets;
    schedule.sensors = water.sensors;
    (schedule, findings)
}

fn rows<'a>(
    plan: &'a MonthPlan,
    grounds: &'a [Option<Ground>],
) -> impl Iterator<Item = ScheduleRow> + 'a {
    plan.waterings.iter().map(move |watering| ScheduleRow {
        month: plan.month,
        station: watering.station,
        minutes: f64::from(watering.cycles.total_minutes()),
        cycles: watering.cycles.count,
        soak_minutes: f64::from(watering.cycles.soak_minutes),
        days: watering.days,
        depth_mm: watering.depth_mm(grounds),
        volume_m3: watering.volume_m3(grounds),
    })
}

/// The month that draws most water a day; of equals the first.
fn peak(plans: &[MonthPlan], grounds: &[Option<Ground>]) -> Option<usize> {
    let daily =
        |plan: &MonthPlan| plan.volume_m3(grounds) / f64::from(runtime::days_in_month(plan.month));
    (0..plans.len()).reduce(|best, plan| {
        if daily(&plans[plan]) > daily(&plans[best]) {
            plan
        } else {
            best
        }
    })
}

fn fill_peak(schedule: &mut Schedule, year: &Year, peak: &MonthPlan, sets: &Sets) {
    for watering in &peak.waterings {
        schedule.peak_minutes[watering.station] = f64::from(watering.cycles.total_minutes());
    }
    let packed = &peak.packing;
    schedule.peak_month = Some(peak.month);
    schedule.peak_window_h = f64::from(packed.length_minutes) / 60.0;
    schedule.together = open_at_once(&packed.runs)
        .iter()
        .filter_map(|stations| sets.figures(stations))
        .collect();
    schedule.peak_runs = packed.runs.clone();
    schedule.peak_bound_h = year.bound_minutes(peak) / 60.0;
}

/// The sets of two or more stations that runs open at once, by their stations.
fn open_at_once(runs: &[Run]) -> BTreeSet<Vec<usize>> {
    let ends = |run: &Run| [run.start_minute, run.start_minute + run.minutes];
    let changes: BTreeSet<u32> = runs.iter().flat_map(ends).collect();
    let open = |minute: u32| {
        let mut stations: Vec<usize> = runs
            .iter()
            .filter(|run| (run.start_minute..run.start_minute + run.minutes).contains(&minute))
            .map(|run| run.station)
            .collect();
        stations.sort_unstable();
        stations
    };
    let sets = changes.into_iter().map(open);
    sets.filter(|stations| stations.len() > 1).collect()
}

fn count_pairs(year: &Year, peak: &MonthPlan, sets: &mut Sets) -> Pairs {
    let flow_lpm = |station: usize| year.grounds[station].map_or(0.0, |ground| ground.flow_lpm);
    let mut pairs = Pairs::default();
    for (i, a) in peak.waterings.iter().enumerate() {
        for b in &peak.waterings[i + 1..] {
            let (a, b) = (a.station, b.station);
            if !pack::flows_fit(flow_lpm(a), flow_lpm(b), year.design_lpm) {
                continue;
            }
            pairs.within_flow += 1;
            match sets.refusal_of_pair(a, b) {
                Some(Refusal::Pressure) => pairs.refused_pressure += 1,
                Some(Refusal::Velocity) => pairs.refused_velocity += 1,
                None => {}
            }
        }
    }
    pairs
}

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;
