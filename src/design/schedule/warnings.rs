//! What a person should know of a finished schedule: days too short, soil run too dry, stations together.

use super::Pairs;
use super::ground::named;
use super::year::{MonthPlan, Watering, Year};
use crate::design::model::{Run, Schedule, Together};
use crate::finding::Finding;

/// Tells what the finished schedule breaks or silently relies on.
pub fn tell(
    year: &Year,
    plans: &[MonthPlan],
    schedule: &Schedule,
    pairs: Pairs,
    findings: &mut Vec<Finding>,
) {
    findings.extend(window(year, plans, pairs));
    findings.extend(day_too_short(year, plans));
    findings.extend(soil_too_dry(year, plans));
    findings.extend(together(schedule, pairs));
}

/// The month whose watering day passes the window most.
fn window(year: &Year, plans: &[MonthPlan], pairs: Pairs) -> Option<Finding> {
    let worst = plans
        .iter()
        .filter(|plan| !plan.fits)
        .max_by_key(|plan| (plan.packing.length_minutes, 13 - plan.month))?;
    let needed_h = f64::from(worst.packing.length_minutes) / 60.0;
    let window_h = f64::from(year.window_minutes()) / 60.0;
    Some(Finding::warning(
        "window_exceeded",
        format!(
            "In month {} a watering day lasts {needed_h:.1} h, {:.1} h more than the window of {window_h:.1} h. {}",
            worst.month,
            needed_h - window_h,
            remedy(year, worst, pairs),
        ),
    ))
}

fn remedy(year: &Year, worst: &MonthPlan, pairs: Pairs) -> String {
    let longest = worst.waterings.iter().map(span_minutes).max().unwrap_or(0);
    if longest > year.window_minutes() {
        return "One station alone is longer, its pauses included: allow more hours or more days, or split the station.".to_owned();
    }
    let litres: f64 = worst
        .waterings
        .iter()
        .filter_map(|w| {
            Some(year.grounds[w.station].as_ref()?.flow_lpm * f64::from(w.cycles.total_minutes()))
        })
        .sum();
    let least_lpm = litres / f64::from(year.window_minutes().max(1));
    let days = if worst.allowed_days < super::runtime::days_in_month(worst.month) {
        "allow more days a week, "
    } else {
        ""
    };
    if least_lpm <= year.design_lpm {
        let kept_apart = if pairs.refused() > 0 {
            format!(
                ": {} of the {} pairs that its flow allows are kept apart, {} for pressure and {} for velocity",
                pairs.refused(),
                pairs.within_flow,
                pairs.refused_pressure,
                pairs.refused_velocity,
            )
        } else {
            String::new()
        };
        return format!(
            "Allow more hours, {days}raise the uniformity, or find a supply that bears more stations at once{kept_apart}."
        );
    }
    format!(
        "Allow more hours, {days}find a supply of at least {least_lpm:.0} L/min (now {:.0}), or raise the uniformity.",
        year.design_lpm.max(0.0)
    )
}

fn span_minutes(watering: &Watering) -> u32 {
    let cycles = watering.cycles;
    cycles.total_minutes() + cycles.count.saturating_sub(1) * cycles.soak_minutes
}

/// Numbers of the stations one of whose waterings is of a kind.
fn stations_where(
    year: &Year,
    plans: &[MonthPlan],
    holds: impl Fn(&Watering) -> bool,
) -> Vec<usize> {
    let mut stations: Vec<usize> = plans
        .iter()
        .flat_map(|plan| &plan.waterings)
        .filter(|watering| holds(watering))
        .map(|watering| {
            let ground = year.grounds.get(watering.station).and_then(Option::as_ref);
            ground.map_or(watering.station + 1, |ground| ground.number)
        })
        .collect();
    stations.sort_unstable();
    stations.dedup();
    stations
}

fn day_too_short(year: &Year, plans: &[MonthPlan]) -> Option<Finding> {
    let day = f64::from(super::runtime::DAY_MINUTES);
    let stations = stations_where(year, plans, |watering| watering.wanted_minutes > day);
    (!stations.is_empty()).then(|| {
        Finding::warning(
            "day_too_short",
            format!(
                "Even 24 h a day do not give {} the water its turf needs; its time is cut to a day. Its rate is too low: look at its heads.",
                named(&stations)
            ),
        )
    })
}

fn soil_too_dry(year: &Year, plans: &[MonthPlan]) -> Option<Finding> {
    let stations = stations_where(year, plans, |watering| watering.days_wanted > watering.days);
    (!stations.is_empty()).then(|| {
        Finding::warning(
            "watering_days_too_few",
            format!(
                "On the days a week that the rules allow, the soil of {} dries below what grass should bear between waterings. \
                 Allow more days a week, or accept paler turf.",
                named(&stations)
            ),
        )
    })
}

/// What was checked of stations that the peak day runs together.
fn together(schedule: &Schedule, pairs: Pairs) -> Option<Finding> {
    let runs = &schedule.peak_runs;
    let most = runs
        .iter()
        .map(|run| open_at(runs, run.start_minute))
        .max()?;
    let minutes = runs.iter().map(|run| f64::from(run.minutes));
    let one_by_one_h = minutes.sum::<f64>() / 60.0;
    (most > 1).then(|| {
        Finding::note(
            "stations_together",
            format!(
                "The peak day of {:.1} h runs up to {most} stations at once, within the supply's flow; one after another they take {one_by_one_h:.1} h. {}",
                schedule.peak_window_h,
                checked(&schedule.together, pairs),
            ),
        )
    })
}

fn checked(sets: &[Together], pairs: Pairs) -> String {
    if sets.is_empty() {
        return "Their pressure while they run together was not looked at.".to_owned();
    }
    let least = |figure: &dyn Fn(&Together) -> f64| {
        let figures = sets.iter().map(figure);
        figures.fold(f64::INFINITY, f64::min)
    };
    format!(
        "Solved together, set by set, they leave every head at least {:.1} kPa over its least working pressure and the source {:.0} kPa; \
         water runs up to {:.2} m/s in the mains. Of the {} pairs that the flow allows, {} are kept apart for pressure and {} for velocity.",
        least(&|set| set.pressure_least_margin_kpa),
        least(&|set| set.source_kpa),
        -least(&|set| -set.velocity_most_m_s),
        pairs.within_flow,
        pairs.refused_pressure,
        pairs.refused_velocity,
    )
}

fn open_at(runs: &[Run], minute: u32) -> usize {
    runs.iter()
        .filter(|run| (run.start_minute..run.start_minute + run.minutes).contains(&minute))
        .count()
}
