//! What ground a station waters: which turf, how much, how steep.

use crate::design::model::Design;
use crate::site::Parcel;
use geo::Coord;

/// Half the base of the slope measured at a head, m.
const SLOPE_REACH_M: f64 = 2.0;

/// Share of a station's flow on each turf area it stands on, by rising turf.
pub fn turf_shares(design: &Design, heads: &[usize]) -> Vec<(usize, f64)> {
    let mut flow_lpm = vec![0.0; design.turf.len()];
    for &head in heads {
        flow_lpm[design.heads[head].turf] += design.working[head].flow_lpm;
    }
    let sum: f64 = flow_lpm.iter().sum();
    flow_lpm
        .into_iter()
        .enumerate()
        .filter(|(_, flow)| *flow > 0.0)
        .map(|(turf, flow)| (turf, flow / sum))
        .collect()
}

/// Turf that a set of heads waters, m²: of each turf area, their share of the flow of all its heads.
pub fn watered_m2(design: &Design, heads: &[usize]) -> f64 {
    let mut all_lpm = vec![0.0; design.turf.len()];
    for (head, working) in design.heads.iter().zip(&design.working) {
        all_lpm[head.turf] += working.flow_lpm;
    }
    let part = |head: &usize| {
        let turf = design.heads[*head].turf;
        if all_lpm[turf] > 0.0 {
            design.turf[turf].area_m2 * design.working[*head].flow_lpm / all_lpm[turf]
        } else {
            0.0
        }
    };
    heads.iter().map(part).sum()
}

/// Mean slope of the ground at a set of heads, m/m.
pub fn mean_slope(parcel: &Parcel, design: &Design, heads: &[usize]) -> f64 {
    let slopes: Vec<f64> = heads
        .iter()
        .filter_map(|head| slope_at(parcel, design.heads[*head].position))
        .collect();
    if slopes.is_empty() {
        0.0
    } else {
        slopes.iter().sum::<f64>() / slopes.len() as f64
    }
}

fn slope_at(parcel: &Parcel, at: Coord<f64>) -> Option<f64> {
    let z = |dx: f64, dy: f64| {
        parcel.terrain.height_m(Coord {
            x: at.x + dx,
            y: at.y + dy,
        })
    };
    let east = (z(SLOPE_REACH_M, 0.0)? - z(-SLOPE_REACH_M, 0.0)?) / (2.0 * SLOPE_REACH_M);
    let north = (z(0.0, SLOPE_REACH_M)? - z(0.0, -SLOPE_REACH_M)?) / (2.0 * SLOPE_REACH_M);
    Some(east.hypot(north))
}
