//! What mending is after: floor and limits of the whole area and, where asked, no dry ground anywhere.

use super::aim::Aim;
use super::area::{Area, Figures};
use super::spots::{self, Spot};
use crate::design::coverage::low_quarter;

/// Mean of the driest quarter about a place, over the wanted depth, below which ground is left dry: finished layouts keep
/// to some 0.5, a missing head in a corner leaves some 0.3. Found by trial.
const LOW_LEAST: f64 = 0.4;
/// Ground about a place reaches so far, in throws that the width asks for.
const ABOUT_SHARE: f64 = 0.4;
/// What dry ground about one place counts.
const SPOT_WEIGHT: f64 = 0.05;

/// What is missing beside floor and limits, and all in all.
pub struct Goal {
    /// Floor and limits.
    pub aim: Aim,
    spots: Vec<Spot>,
}

impl Goal {
    /// Floor and limits alone.
    pub fn floor(aim: Aim) -> Self {
        Self {
            aim,
            spots: Vec::new(),
        }
    }

    /// No dry ground about any place where a head could stand, either, but for where a person wants none.
    pub fn everywhere(aim: Aim, area: &Area) -> Self {
        let mut spots = spots::all(area);
        spots.retain(|spot| !area.yard.kept_clear(spot.at, spot.aim_m));
        Self { aim, spots }
    }

    /// By how much an area misses it, its figures being known.
    pub fn short_of(&self, area: &Area, figures: &Figures) -> f64 {
        self.aim.short(figures) + self.dry(area)
    }

    /// By how much an area misses it; 0 where it does not.
    pub fn short(&self, area: &Area) -> f64 {
        self.short_of(area, &area.figures())
    }

    /// What dry ground about its places counts.
    pub fn dry(&self, area: &Area) -> f64 {
        let short = self.spots.iter().map(|spot| {
            let depths = area.depths_near(spot.at, ABOUT_SHARE * spot.aim_m);
            (LOW_LEAST - low_quarter(&depths).unwrap_or(1.0)).max(0.0)
        });
        SPOT_WEIGHT * short.sum::<f64>()
    }
}
