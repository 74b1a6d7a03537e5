//! Ground: what the schedule must know of each station, checked; what had to be assumed is told once for all stations.

use super::StationNeed;
use super::runtime::{Season, scheduling_multiplier};
use super::soil::{self, Soil};
use crate::brief::Rules;
use crate::finding::Finding;

/// A station that can be scheduled: every figure but the slope finite, flow, rate and area above 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// The number that people know the station by.
    pub number: usize,
    /// Flow, L/min.
    pub flow_lpm: f64,
    /// Rate on its ground, mm/h.
    pub rate_mm_h: f64,
    /// Ground it waters, m², above 0: what its flow covers at its rate where that is not known.
    pub area_m2: f64,
    /// Distribution uniformity of the low quarter, 0 to 1.
    pub du_low_quarter: f64,
    /// Run time over that of perfectly even water.
    pub multiplier: f64,
    /// Soil.
    pub soil: Soil,
    /// Grass.
    pub season: Season,
    /// Slope, m/m.
    pub slope: f64,
}

/// Water drawn over water that reaches the station's ground, from which it is told (common practice, no source).
const MUCH_BESIDE: f64 = 1.25;

/// Stations by what had to be assumed of them, for one finding a kind.
#[derive(Default)]
struct Assumed {
    idle: Vec<usize>,
    beside: Vec<usize>,
    uniformity: Vec<usize>,
    soil: Vec<usize>,
    strange_soil: Vec<(usize, String)>,
    strange_season: Vec<(usize, String)>,
}

/// The stations as they can be scheduled, in their order; `None` for those without water.
pub fn of_stations(
    stations: &[StationNeed],
    rules: &Rules,
    findings: &mut Vec<Finding>,
) -> Vec<Option<Ground>> {
    let mut assumed = Assumed::default();
    let grounds = stations
        .iter()
        .enumerate()
        .map(|(index, need)| {
            let number = need.number.unwrap_or(index + 1);
            of_station(number, need, rules, &mut assumed)
        })
        .collect();
    assumed.tell(rules, findings);
    grounds
}

fn of_station(
    number: usize,
    need: &StationNeed,
    rules: &Rules,
    assumed: &mut Assumed,
) -> Option<Ground> {
    let above_nought = |figure: f64| figure.is_finite() && figure > 0.0;
    if !above_nought(need.flow_lpm) || !above_nought(need.rate_mm_h) {
        assumed.idle.push(number);
        return None;
    }
    let ground_lpm = need.rate_mm_h * need.area_m2 / 60.0;
    if ground_lpm > 0.0 && need.flow_lpm > MUCH_BESIDE * ground_lpm {
        assumed.beside.push(number);
    }
    let du = need
        .du_low_quarter
        .filter(|du| du.is_finite())
        .unwrap_or_else(|| {
            assumed.uniformity.push(number);
            rules.du_least
        });
    Some(Ground {
        number,
        flow_lpm: need.flow_lpm,
        rate_mm_h: need.rate_mm_h,
        area_m2: if above_nought(need.area_m2) {
            need.area_m2
        } else {
            60.0 * need.flow_lpm / need.rate_mm_h
        },
        du_low_quarter: du.clamp(0.0, 1.0),
        multiplier: scheduling_multiplier(du),
        soil: soil_of(number, need, assumed),
        season: season_of(number, need, assumed),
        slope: need.slope,
    })
}

fn soil_of(number: usize, need: &StationNeed, assumed: &mut Assumed) -> Soil {
    let Some(written) = need.soil.as_deref() else {
        assumed.soil.push(number);
        return soil::LOAM;
    };
    soil::by_texture(written).unwrap_or_else(|| {
        assumed.strange_soil.push((number, written.to_owned()));
        soil::LOAM
    })
}

fn season_of(number: usize, need: &StationNeed, assumed: &mut Assumed) -> Season {
    let Some(written) = need.season.as_deref() else {
        return Season::Cool;
    };
    Season::by_word(written).unwrap_or_else(|| {
        assumed.strange_season.push((number, written.to_owned()));
        Season::Cool
    })
}

/// `station 1`, `stations 1, 3 and 4`, by their numbers.
pub fn named(stations: &[usize]) -> String {
    let numbers: Vec<String> = stations.iter().map(usize::to_string).collect();
    match numbers.split_last() {
        None => "no station".to_owned(),
        Some((only, [])) => format!("station {only}"),
        Some((last, others)) => format!("stations {} and {last}", others.join(", ")),
    }
}

fn written(strange: &[(usize, String)]) -> (String, String) {
    let stations: Vec<usize> = strange.iter().map(|(station, _)| *station).collect();
    let mut words: Vec<String> = strange
        .iter()
        .map(|(_, word)| format!("`{word}`"))
        .collect();
    words.sort();
    words.dedup();
    (words.join(", "), named(&stations))
}

impl Assumed {
    fn tell(&self, rules: &Rules, findings: &mut Vec<Finding>) {
        if !self.idle.is_empty() {
            findings.push(Finding::warning("station_without_water", format!(
                "No run time for {}: its flow or its rate is nought, so that no time waters its turf. Look at its supply and its heads.",
                named(&self.idle)
            )));
        }
        if !self.beside.is_empty() {
            findings.push(Finding::note("water_beside_ground", format!(
                "Of the water of {}, more than a fifth does not fall on its own ground; the volumes count all of it. \
                 Look at its arcs and radii.",
                named(&self.beside)
            )));
        }
        if !self.uniformity.is_empty() {
            findings.push(Finding::warning(
                "uniformity_assumed",
                format!(
                    "The uniformity of {} is unknown; run times assume the target of {:.2}.",
                    named(&self.uniformity),
                    rules.du_least
                ),
            ));
        }
        if !self.soil.is_empty() {
            findings.push(Finding::note("soil_assumed", format!(
                "No soil is given for the turf of {}; loam is assumed. Give `soil` on the turf.",
                named(&self.soil)
            )));
        }
        if !self.strange_soil.is_empty() {
            let (words, stations) = written(&self.strange_soil);
            findings.push(Finding::warning("soil_unknown", format!(
                "The soil {words} of {stations} is no texture class known here; loam is assumed. Write e.g. `sandy loam` or `clay`."
            )));
        }
        if !self.strange_season.is_empty() {
            let (words, stations) = written(&self.strange_season);
            findings.push(Finding::warning("season_unknown", format!(
                "The season {words} of {stations} is neither `cool` nor `warm`; cool-season grass, which needs more, is assumed."
            )));
        }
    }
}
