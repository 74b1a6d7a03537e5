//! What an area must reach, and by how much it misses it.

use super::area::Figures;
use crate::brief::Rules;
use crate::design::model::TurfResult;

/// What is missing counts so much more than a share of uniformity: as in the search for whole layouts.
const DU_WEIGHT: f64 = 5.0;
const DRY_WEIGHT: f64 = 15.0;
const OVER_WEIGHT: f64 = 19.0;

/// What an area must reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// Least uniformity of the low quarter.
    pub du: f64,
    /// Greatest share that is dry.
    pub dry: f64,
    /// Greatest share of the water off the turf.
    pub over: f64,
}

impl Aim {
    /// The floor and the limits of the rules, `in_hand` (a share) sharper.
    pub fn of(rules: &Rules, one_row: bool, in_hand: f64) -> Self {
        let du = if one_row {
            rules.du_one_row_least
        } else {
            rules.du_least
        };
        Self {
            du: (du * (1.0 + in_hand)).min(1.0),
            dry: rules.dry_most * (1.0 - 5.0 * in_hand).max(0.0),
            over: rules.overspray_most * (1.0 - 2.0 * in_hand).max(0.0),
        }
    }

    /// By how much figures miss it; 0 where they do not.
    pub fn short(&self, figures: &Figures) -> f64 {
        DU_WEIGHT * (self.du - figures.du).max(0.0)
            + DRY_WEIGHT * (figures.dry - self.dry).max(0.0)
            + OVER_WEIGHT * (figures.over - self.over).max(0.0)
    }
}

impl From<&TurfResult> for Figures {
    fn from(result: &TurfResult) -> Self {
        Self {
            du: result.du_low_quarter.unwrap_or(0.0),
            dry: result.dry_fraction.unwrap_or(1.0),
            over: result.overspray_fraction.unwrap_or(0.0),
        }
    }
}
