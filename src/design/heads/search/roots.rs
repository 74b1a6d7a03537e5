//! Heads leave root zones, as far as the ground can still be watered from outside.

use super::Search;
use super::targets::{RENEWED_A_HEAD, Targets};

/// A corner that lies so far inside a root zone, over 4 m, is no place where a head must stand.
const CORNER_AMONG_ROOTS: f64 = 0.35;
/// Neighbourhoods renewed over those of a first layout; all about heads among roots.
const RENEWED_SHARE: f64 = 0.5;

impl Search<'_> {
    /// From a finished layout to one with fewer heads among roots, kept off by `weight`, in J.
    pub fn leave_roots(&mut self, targets: &Targets, weight: f64, effort: f64) {
        self.weights.roots = weight;
        self.free_corners_among_roots();
        self.settle(&[0.2, 0.14]);
        self.repair(targets);
        let tries = (RENEWED_SHARE * effort * RENEWED_A_HEAD * self.count() as f64) as usize;
        self.renew_where(targets, tries, |search, head| {
            search.site.ground.roots_at(head.at) > 0.0
        });
        self.settle(&[0.06, 0.04]);
    }

    /// Corners deep among roots are places like any other: their heads may move along the edge, or go.
    fn free_corners_among_roots(&mut self) {
        for slot in self.slots.iter_mut().flatten() {
            if slot.head.corner && self.site.ground.roots_at(slot.head.at) > CORNER_AMONG_ROOTS {
                slot.head.corner = false;
                slot.head.locked = false;
            }
        }
    }

    /// How far all heads stand inside root zones, in heads that stand 4 m inside.
    pub fn among_roots(&self) -> f64 {
        let slots = self.slots.iter().flatten();
        slots
            .map(|slot| slot.images.len() as f64 * self.site.ground.roots_at(slot.head.at))
            .sum()
    }
}
