//! Places where a new head could be put.

use super::area::Area;
use super::changes::{Change, clear, roots};
use super::crew::Models;
use super::settings::{self, Offer};
use geo::Coord;

/// A place for a new head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Where.
    pub at: Coord<f64>,
    /// Radius that the width asks for there, m.
    pub aim_m: f64,
    /// Class that it would be of.
    pub class: usize,
}

/// Radii of a new head, over what the width asks for.
const ADDED_RADII: [f64; 3] = [1.0, 0.8, 0.6];
/// Shortage about a place below which a new head cannot be worth anything, in shares of the square of its radius.
const SHORTAGE_LEAST: f64 = 0.1;

/// All places where a new head could be put.
pub fn all(area: &Area) -> Vec<Spot> {
    let job = area.yard.job;
    let mut found = Vec::new();
    for piece in &area.yard.pieces {
        let heads: Vec<(Coord<f64>, usize)> = (area.heads())
            .filter(|head| piece.off_m(head.position) < super::piece::ON_EDGE_M)
            .filter_map(|head| Some((head.position, job.class_of(head.model)?)))
            .collect();
        for zone in 0..piece.zones.len() {
            let in_zone = |at: Coord<f64>| piece.zone_at(at) == Some(zone);
            let standing = heads.iter().find(|(at, _)| in_zone(*at));
            let class = standing.map_or(piece.zones[zone].class, |(_, class)| *class);
            let places = piece.candidates(&job.classes[class]);
            let here = places.into_iter().filter(|(at, _)| in_zone(*at));
            found.extend(here.map(|(at, aim_m)| Spot { at, aim_m, class }));
        }
    }
    found
}

/// A new head at a spot, where it would gain anything.
pub fn gained(area: &Area, spot: &Spot) -> Option<Change> {
    let depths = area.depths_near(spot.at, spot.aim_m);
    let cell_m = area.yard.grid.cell_m;
    let short = depths
        .iter()
        .map(|&depth| f64::from((1.0 - depth).max(0.0)).powi(2));
    if short.sum::<f64>() * cell_m * cell_m < SHORTAGE_LEAST * spot.aim_m * spot.aim_m {
        return None;
    }
    let class = &area.yard.job.classes[spot.class];
    let mut radii_m: Vec<f64> = (ADDED_RADII.iter())
        .map(|share| class.radii_m[class.nearest_radius(share * spot.aim_m)])
        .filter(|&radius_m| clear(area, spot.at, radius_m))
        .collect();
    radii_m.dedup();
    let offer = Offer {
        at: spot.at,
        models: Models::Class(spot.class),
        radii_m,
        kept_m: None,
        one_row: area.one_row(),
    };
    let found = settings::best(area, &offer)?;
    let gain = found.gain - roots(area, spot.at, found.head.radius_m);
    (gain > 0.0).then_some(Change {
        seat: None,
        gain,
        price: area.yard.job.task.prices.added,
        head: Some(found.head),
    })
}
