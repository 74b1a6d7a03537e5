//! What a person should know of the soil's water under the finished programme.

use super::balance::{et_share, is_short, stress_days};
use super::water_year::WaterYear;
use super::year::Year;
use crate::design::model::SoilBalance;
use crate::finding::Finding;

/// Share of its well-watered use below which the turf of a soil is told to be short (common practice, no source).
const ET_SHARE_LEAST: f64 = 0.95;

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
    let by_share = |balance: &&SoilBalance| et_share(&balance.days);
    let worst = water
        .balances
        .iter()
        .min_by(|a, b| by_share(a).total_cmp(&by_share(b)))?;
    let share = et_share(&worst.days);
    if share >= ET_SHARE_LEAST {
        return None;
    }
    let days = worst.days.iter().zip(&year.weather.series.days);
    let out_of_season = days
        .filter(|(day, sky)| is_short(day) && !year.in_season(sky.month))
        .count();
    let (skipped, planned) = water.skipped;
    let mut causes = String::new();
    if out_of_season > 0 {
        causes += &format!(
            " {out_of_season} of these days lie outside the season in which watering may run."
        );
    }
    if skipped > 0 {
        causes += &format!(
            " The rain sensor skips {skipped} of {planned} watering days; run times leave out a mean month's rain already."
        );
    }
    Some(Finding::warning(
        "turf_short_of_water",
        format!(
            "In {} the turf on {} is short of water on {} days at full run times and uses {:.0} % of what it would well watered.{causes} \
             Allow more watering days or a longer season, or accept paler turf.",
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
