//! Which heads get a check valve, so that the lowest of a station do not weep.

use crate::brief::Rules;
use crate::design::drainage::{LowHead, standing_above_m};
use crate::design::model::{Design, Section};
use crate::finding::Finding;

/// Sets the check valves of a design, and tells the heads that one cannot hold dry.
///
/// Pipe that drains runs empty after every watering, so there a check valve only has to send the water to the drain.
pub fn set(design: &mut Design, rules: &Rules) -> Option<Finding> {
    let above_m = above_heads_m(design);
    let wants = |head: &usize| above_m[*head] > rules.check_valve_drop_m;
    design.check_valves = (0..above_m.len()).filter(wants).collect();
    let too_high = |head: &&usize| above_m[**head] > rules.check_valve_holds_m;
    let beyond: Vec<usize> = design
        .check_valves
        .iter()
        .filter(too_high)
        .copied()
        .collect();
    if rules.drain > 0.5 {
        return None;
    }
    let worst = beyond
        .iter()
        .copied()
        .max_by(|a, b| above_m[*a].total_cmp(&above_m[*b]))?;
    let message = format!(
        "water stands up to {:.1} m above {} heads once their valve has shut, more than a check valve holds ({:.1} m): they will weep. \
         Let station_elevation_spread_m be less, or take heads whose check valve holds more.",
        above_m[worst],
        beyond.len(),
        rules.check_valve_holds_m
    );
    let at = design.heads[worst].position;
    Some(Finding::note("check_valve_weak", message).at(at))
}

/// Water above each head of a station, m; 0 for heads of none.
fn above_heads_m(design: &Design) -> Vec<f64> {
    let mut highest_m = vec![f64::NEG_INFINITY; design.stations.len()];
    for pipe in &design.pipes {
        let Section::Station(station) = pipe.section else {
            continue;
        };
        for node in [pipe.from, pipe.to] {
            if let Some(highest_m) = highest_m.get_mut(station) {
                *highest_m = highest_m.max(design.nodes[node].invert_m);
            }
        }
    }
    let low = |(head, station): (&crate::design::model::Head, &Option<usize>)| LowHead {
        station: station.unwrap_or(usize::MAX),
        nozzle_m: head.ground_m,
    };
    let heads: Vec<LowHead> = design
        .heads
        .iter()
        .zip(&design.station_of)
        .map(low)
        .collect();
    standing_above_m(&heads, &highest_m)
}
