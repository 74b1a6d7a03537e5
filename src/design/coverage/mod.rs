//! Coverage: how much water falls where, and how evenly.
//!
//! Every head's flow is spread over a grid by its profile and sector and comes to the flow exactly; what a wall holds
//! back falls at the wall's foot. Rates in mm/h. Each turf area is judged inset by the set-back of its heads, since the
//! hand's breadth behind them is never wetted. The ground's slope shortens and lengthens throws; no wind.

mod bands;
mod judge;
mod matched;
pub mod profile;
pub mod rated;
mod reached;
mod rim;
pub mod slope;
pub mod spread;
#[cfg(test)]
mod tests;
mod uniformity;
mod wedge;
pub mod working;

use crate::brief::{Catalogue, Rules};
use crate::design::model::{CoverageBand, Head, TurfResult, Working};
use crate::finding::Finding;
use crate::geometry::{sector, sight};
use crate::site::{Obstacle, ObstacleKind, Parcel};
use geo::Polygon;

pub use matched::{class_rate_mm_h, factor as matched_factor};
pub use sight::Walls;
pub use slope::Tilt;
pub use uniformity::{cu_christiansen, du_low_quarter, low_quarter};
pub use working::{rated_working, working_at};

/// What the simulation found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Simulation {
    /// What each turf area gets, in the order of the parcel's turf.
    pub turf: Vec<TurfResult>,
    /// Bands of the rate, from the lowest.
    pub bands: Vec<CoverageBand>,
    /// Turf areas that miss a target.
    pub findings: Vec<Finding>,
}

/// Simulates all heads running, as they work, over the whole parcel.
///
/// `working` stands in the order of `heads`. The grid of each area is at most 0.5 m and at most a tenth of the smallest
/// radius that reaches it, but no finer than 0.1 m.
pub fn simulate(
    parcel: &Parcel,
    heads: &[Head],
    working: &[Working],
    catalogue: &Catalogue,
    rules: &Rules,
) -> Simulation {
    let walls = walls_of(&parcel.obstacles);
    let throws: Vec<spread::Throw> = heads
        .iter()
        .zip(working)
        .filter_map(|(head, work)| spread::Throw::new(head, work, catalogue, &walls))
        .collect();
    let mut judged: Vec<judge::Judged> = (0..parcel.turf.len())
        .map(|turf| judge::turf_area(parcel, turf, &throws, rules))
        .collect();
    let reached = reached::fractions(parcel.turf.len(), heads, working, &walls);
    for (area, reached_fraction) in judged.iter_mut().zip(reached) {
        area.result.reached_fraction = reached_fraction;
    }
    for (turf, area) in judged.iter_mut().enumerate() {
        let mut own = heads.iter().filter(|head| head.turf == turf).peekable();
        area.result.one_row = own.peek().is_some() && own.all(|head| head.one_row);
    }
    let findings = judge::findings(parcel, &judged, rules);
    let bands = bands::of(parcel, &judged);
    let turf = judged.into_iter().map(|area| area.result).collect();
    Simulation {
        turf,
        bands,
        findings,
    }
}

/// What one turf area gets with every head at the pressure its nozzle is rated at: as [`simulate`] judges it, but for
/// `reached_fraction`, which stays `None`. Bands and findings are not made.
pub fn rated_turf(
    parcel: &Parcel,
    turf: usize,
    heads: &[Head],
    catalogue: &Catalogue,
    rules: &Rules,
) -> TurfResult {
    if turf >= parcel.turf.len() {
        return TurfResult::default();
    }
    let walls = walls_of(&parcel.obstacles);
    let throws: Vec<spread::Throw> = heads
        .iter()
        .filter_map(|head| {
            spread::Throw::new(head, &rated_working(head, catalogue), catalogue, &walls)
        })
        .collect();
    let mut result = judge::turf_area(parcel, turf, &throws, rules).result;
    let mut own = heads.iter().filter(|head| head.turf == turf).peekable();
    result.one_row = own.peek().is_some() && own.all(|head| head.one_row);
    result
}

/// The walls of all buildings among the obstacles.
pub fn walls_of(obstacles: &[Obstacle]) -> Walls {
    Walls::new(
        obstacles
            .iter()
            .filter(|obstacle| obstacle.kind == ObstacleKind::Building)
            .map(|obstacle| &obstacle.shape),
    )
}

/// The ground a head wets when it throws `radius_m` (metres, on the level): its sector, shortened uphill and lengthened
/// downhill, cut off by walls; counter-clockwise.
pub fn throw_outline(head: &Head, radius_m: f64, walls: &Walls) -> Polygon<f64> {
    let near = walls.near(head.position, radius_m * head.tilt.reach_share_most());
    sector::sector(
        head.position,
        head.arc.start_deg,
        head.arc.sweep_deg,
        |bearing_deg| radius_m * head.tilt.reach_share(bearing_deg),
        &near,
    )
}
