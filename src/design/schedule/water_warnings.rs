//! What a person should know of the soil's water under the finished programme.

use super::balance::{et_share, is_short, stress_days};
use super::water_year::WaterYear;
use super::year::Year;
use crate::design::model::SoilBalance;
use crate::finding::Finding;

/// Share of its well-watered use below which the turf of a soil is told to be short: turf bears a fifth less for a while, paler
/// (common practice, no source).
const ET_SHARE_LEAST: f64 = 0.85;

/// Share of the water of heads that the turf must use; less is told (common practice, no source).
const USED_LEAST: f64 = 0.55;

/// Tells of turf short of water and of water that sinks away: one finding a kind, for the worst soil.
pub fn tell(year: &Year, water: &WaterYear, findings: &mut Vec<Finding>) {
    findings.extend(short(year, water));
    findings.extend(sinks(water));
}

fn place(balance: &SoilBalance) -> String {
    format!("{} under {}-season grass", balance.soil, balance.grass)
}

/// The year looked at.
fn followed(year: &Year) -> String {
    match year.weather.series.year {
        Some(year) => format!("the weather of {year}"),
        None => "a mean year".to_owned(),
    }
}

fn short(year: &Year, water: &WaterYear) -> Option<Finding> {
    let told = water.balances.iter().zip(&water.skipped);
    let told = told.map(|(balance, skipped)| (et_share(&balance.days), balance, skipped));
    let (share, worst, (skipped, planned)) = told.min_by(|a, b| a.0.total_cmp(&b.0))?;
    if share >= ET_SHARE_LEAST {
        return None;
    }
    let days = worst.days.iter().zip(&year.weather.series.days);
    let out = days.filter(|(day, sky)| is_short(day) && !year.in_season(sky.month));
    let out_of_season = out.count();
    let mut causes = String::new();
    if out_of_season > 0 {
        causes += &format!(
            " {out_of_season} of these days lie outside the season in which watering may run."
        );
    }
    if *skipped > 0 {
        causes += &format!(
            " The rain sensor skips {skipped} of {planned} watering days; run times leave out a mean month's rain already."
        );
    }
    Some(Finding::warning(
        "turf_short_of_water",
        format!(
            "In {} the turf on {} is short of water on {} days at full run times and uses {:.0} % of what it would well watered.{causes} \
             Where the rules cut days or season, allow more; otherwise let moisture sensors start watering, or water longer in dry spells.",
            followed(year),
            place(worst),
            stress_days(&worst.days),
            100.0 * share,
        ),
    ))
}

fn sinks(water: &WaterYear) -> Option<Finding> {
    let known = water.balances.iter().zip(&water.used);
    let known = known.filter_map(|(balance, used)| Some((balance, (*used)?)));
    let (worst, used) = known.min_by(|a, b| a.1.total_cmp(&b.1))?;
    (used < USED_LEAST).then(|| {
        Finding::note(
            "water_sinks",
            format!(
                "Of the water of heads on {}, the turf uses {:.0} %; the rest sinks below the roots, because the water is uneven or \
                 rain falls on soil just watered. Raise the uniformity, or let moisture sensors hold the programme.",
                place(worst),
                100.0 * used,
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::{Date, Rules};
    use crate::design::schedule::StationNeed;
    use crate::design::schedule::fixture::dry_summer;
    use crate::design::schedule::water_year::tests::{daily, planned, station};

    fn told<'a>(findings: &'a [Finding], code: &str) -> Option<&'a str> {
        let found = findings.iter().find(|finding| finding.code == code);
        found.map(|finding| finding.message.as_str())
    }

    /// One watering a week on sand in a summer without rain.
    #[test]
    fn turf_that_stays_dry_at_full_run_times_is_told_once_for_the_worst_soil() {
        let rules = Rules {
            watering_days_per_week: 1.0,
            ..Rules::default()
        };
        let stations = vec![station("loam", "cool"), station("sand", "cool")];
        let (schedule, findings) = planned(&dry_summer(), &rules, stations.clone());
        let message = told(&findings, "turf_short_of_water").unwrap();
        assert!(
            message.contains("the turf on sand under cool-season grass"),
            "{message}"
        );
        let sand = schedule
            .balances
            .iter()
            .find(|balance| balance.soil == "sand")
            .unwrap();
        let short = sand.days.iter().filter(|day| is_short(day)).count();
        assert!(
            message.contains(&format!("short of water on {short} days")),
            "{message}"
        );
        assert_eq!(
            findings
                .iter()
                .filter(|f| f.code == "turf_short_of_water")
                .count(),
            1
        );
        let (_, findings) = planned(&dry_summer(), &Rules::default(), stations[..1].to_vec());
        assert_eq!(told(&findings, "turf_short_of_water"), None);
    }

    #[test]
    fn uneven_water_that_sinks_away_is_told() {
        let uneven = StationNeed {
            du_low_quarter: Some(0.0),
            ..station("loam", "cool")
        };
        let (_, findings) = planned(&dry_summer(), &Rules::default(), vec![uneven]);
        assert!(told(&findings, "water_sinks").unwrap().contains("loam"));
        let (_, findings) = planned(
            &dry_summer(),
            &Rules::default(),
            vec![station("loam", "cool")],
        );
        assert_eq!(told(&findings, "water_sinks"), None);
    }

    /// Showers every day of the summer are too little, but stop every watering.
    #[test]
    fn turf_that_the_rain_sensor_keeps_dry_is_told_with_what_it_skips() {
        let rules = Rules {
            rain_sensor_mm: 2.0,
            ..Rules::default()
        };
        let showers = |date: Date| (4..=9).contains(&date.month()).then_some(2.1);
        let (schedule, findings) = planned(&daily(showers), &rules, vec![station("sand", "cool")]);
        let message = told(&findings, "turf_short_of_water").unwrap();
        let days: u32 = schedule.rows.iter().map(|row| row.days).sum();
        assert!(message.contains("In the weather of 2023"), "{message}");
        let skips = format!("of {days} watering days; run times leave out");
        assert!(message.contains(&skips), "{message}");
    }
}
