//! Heads evenly along the edge between corners, as a crew would set them out, where that costs next to nothing.

use super::fit::Asked;
use super::{Placed, Search};

/// What evenness may cost, in shares of the price of the heads that it moves.
const TIDY_PRICE: f64 = 0.12;

impl Search<'_> {
    /// Spaces the heads of each stretch of edge evenly between its corners. `allowed` has the last word on each.
    pub fn tidy(&mut self, allowed: &mut impl FnMut(&mut Self) -> bool) -> usize {
        let mut tidied = 0;
        for ring in 0..self.site.rings.len() {
            for stretch in self.stretches(ring) {
                tidied += usize::from(self.space_evenly(ring, &stretch, allowed));
            }
        }
        tidied
    }

    /// Heads along a ring from corner to corner: run, and slot where it is no image.
    fn stretches(&self, ring: usize) -> Vec<Vec<(f64, Option<usize>)>> {
        let mut along: Vec<(f64, Option<usize>, bool)> = Vec::new();
        for index in self.used() {
            let Some(head) = self.slots[index].as_ref().map(|slot| slot.head) else {
                continue;
            };
            if head.edge.is_none() {
                continue;
            }
            for (image, (at, _)) in self.images_of(head.at).into_iter().enumerate() {
                let (run_m, off_m) = self.site.rings[ring].run_near(at);
                if off_m < 0.05 {
                    along.push((run_m, (image == 0).then_some(index), head.corner));
                }
            }
        }
        along.sort_by(|a, b| a.0.total_cmp(&b.0));
        let Some(first) = along.iter().position(|head| head.2) else {
            return Vec::new();
        };
        along.rotate_left(first);
        let mut stretches: Vec<Vec<(f64, Option<usize>)>> = Vec::new();
        for (run_m, slot, corner) in along.iter().chain(along.first()) {
            if let Some(stretch) = stretches.last_mut() {
                stretch.push((*run_m, *slot));
            }
            if *corner {
                stretches.push(vec![(*run_m, *slot)]);
            }
        }
        stretches.retain(|stretch| stretch.len() > 2);
        stretches
    }

    fn space_evenly(
        &mut self,
        ring: usize,
        stretch: &[(f64, Option<usize>)],
        allowed: &mut impl FnMut(&mut Self) -> bool,
    ) -> bool {
        let moving: Vec<(usize, Placed, f64)> = self.even_places(ring, stretch);
        if moving.is_empty() {
            return false;
        }
        let slots: Vec<usize> = moving.iter().map(|(slot, _, _)| *slot).collect();
        let missing = self.missing(&self.used());
        let before: Vec<(usize, Placed)> = moving
            .iter()
            .map(|(slot, head, _)| (*slot, *head))
            .collect();
        let (mut lost, mut price) = (0.0, 0.0);
        for (slot, head, run_m) in &moving {
            self.lift(*slot);
            lost += self.worth(head);
            price += self.price_of(head);
            let Some(there) = self.on_edge(head, ring, *run_m) else {
                self.put(*slot, *head);
                continue;
            };
            let fitted = self.fit(there, Asked::Place);
            lost -= fitted.worth;
            self.put(*slot, fitted.head);
        }
        for &slot in &slots {
            lost -= self.turn(slot);
        }
        if lost < TIDY_PRICE * price && self.missing(&self.used()) <= missing && allowed(self) {
            return true;
        }
        self.restore(&before);
        false
    }

    /// Heads of a stretch with the runs that would be even; none where they stand evenly or their throws differ much.
    fn even_places(
        &self,
        ring: usize,
        stretch: &[(f64, Option<usize>)],
    ) -> Vec<(usize, Placed, f64)> {
        let length = self.site.rings[ring].length_m();
        let from = stretch[0].0;
        let last = stretch.len() - 1;
        let whole = match (stretch[last].0 - from).rem_euclid(length) {
            gap if gap < 1e-9 => length,
            gap => gap,
        };
        let mut moving = Vec::new();
        for (i, (run_m, slot)) in stretch.iter().enumerate().take(last).skip(1) {
            let even_m = from + whole * i as f64 / last as f64;
            let Some((slot, head)) = slot.and_then(|s| Some((s, self.slots[s].as_ref()?.head)))
            else {
                continue;
            };
            let off = (even_m - run_m + 0.5 * length).rem_euclid(length) - 0.5 * length;
            // Far from even means that the width changes along the stretch: leave it as the search has it.
            if off.abs() > 0.35 * head.aim_m {
                return Vec::new();
            }
            if off.abs() > 0.01 {
                moving.push((slot, head, even_m.rem_euclid(length)));
            }
        }
        moving
    }
}
