//! Taking heads out.

use super::fit::Asked;
use super::neighbours::REACHED_BY;
use super::{Placed, Search};
use crate::design::coverage::low_quarter;

/// Steps of the rounds in which the neighbours of a head close the gap it leaves.
const CLOSING: [f64; 6] = [0.3, 0.24, 0.18, 0.12, 0.08, 0.05];
/// Neighbours within this many radii close the gap.
const CLOSING_REACH: f64 = 2.2;
/// A head worth more than this many times its price is not tried.
const TRIED_BELOW: f64 = 1.0;
/// After this round a gap whose driest quarter still gets less than this share is given up.
const HOPELESS_AFTER: usize = 2;
/// See [`HOPELESS_AFTER`].
const HOPELESS_LOW: f64 = 0.3;
/// Weight of a head that is not reached while that is mended.
const URGENT_REACH: f64 = 0.8;
/// The driest quarter of the ground about a place must get at least this share of the wanted depth.
pub const LOCAL_LOW: f64 = 0.5;

impl Search<'_> {
    /// Takes heads out that are worth less than their price as they stand, the least useful first.
    pub fn prune(&mut self) -> usize {
        let mut gone = 0;
        for index in self.by_worth(1.0) {
            // Each that goes makes its neighbours dearer, so each is asked anew.
            let Some(head) = self.lift(index) else {
                continue;
            };
            if self.worth(&head) < self.price_of(&head) {
                gone += 1;
            } else {
                self.put(index, head);
            }
        }
        gone
    }

    /// Tries to do without heads one by one, the least useful first, their neighbours closing the gap. `allowed` has
    /// the last word on each. Returns how many were tried, at most `most`, and how many went.
    pub fn thin_out(
        &mut self,
        most: usize,
        allowed: &mut impl FnMut(&mut Self) -> bool,
    ) -> (usize, usize) {
        let mut list = self.by_worth(TRIED_BELOW);
        list.truncate(most);
        let tried = list.len();
        let gone = list
            .into_iter()
            .filter(|&index| self.do_without(&[index], None, allowed));
        let gone = gone.count();
        (tried, gone)
    }

    /// Tries to put one head in the place of two neighbours, for `tries` pairs. Returns how many times that went.
    pub fn join_pairs(
        &mut self,
        tries: usize,
        allowed: &mut impl FnMut(&mut Self) -> bool,
    ) -> usize {
        let mut order = self.used();
        self.shuffle(&mut order);
        let mut gone = 0;
        for index in order.into_iter().take(tries) {
            if let Some((other, between)) = self.partner(index) {
                gone += usize::from(self.do_without(&[index, other], Some(between), allowed));
            }
        }
        gone
    }

    /// The nearest other head that may go, and a head between the two.
    fn partner(&self, index: usize) -> Option<(usize, Placed)> {
        let head = self.slots[index].as_ref()?.head;
        if head.corner {
            return None;
        }
        let far = |other: &Placed| (other.at.x - head.at.x).hypot(other.at.y - head.at.y);
        let (slot, other) = self
            .slots_near(&head, 1.3 * self.radius_m(&head))
            .into_iter()
            .filter(|&slot| slot != index)
            .filter_map(|slot| Some((slot, self.slots[slot].as_ref()?.head)))
            .filter(|(_, other)| !other.corner)
            .min_by(|a, b| far(&a.1).total_cmp(&far(&b.1)))?;
        Some((slot, self.between(&head, &other)?))
    }

    /// A head halfway between two: on the edge where both stand on one, else in the middle of the turf.
    fn between(&self, head: &Placed, other: &Placed) -> Option<Placed> {
        if let (Some((ring, a)), Some((other_ring, b))) = (head.edge, other.edge)
            && ring == other_ring
        {
            let length = self.site.rings[ring].length_m();
            let gap = (b - a + 0.5 * length).rem_euclid(length) - 0.5 * length;
            return self.on_edge(head, ring, a + 0.5 * gap);
        }
        if head.edge.is_some() || other.edge.is_some() {
            return Some(if head.edge.is_some() { *head } else { *other });
        }
        let at = geo::Coord {
            x: 0.5 * (head.at.x + other.at.x),
            y: 0.5 * (head.at.y + other.at.y),
        };
        self.site
            .ground
            .holds_head(at)
            .then_some(Placed { at, ..*head })
    }

    /// Heads that are no corners and worth less than `share` of their price, rising.
    fn by_worth(&mut self, share: f64) -> Vec<usize> {
        let mut list: Vec<(f64, usize)> = Vec::new();
        for index in self.used() {
            let Some(head) = self.lift(index) else {
                continue;
            };
            let over = self.worth(&head) / self.price_of(&head);
            self.put(index, head);
            if !head.corner && over < share {
                list.push((over, index));
            }
        }
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        list.into_iter().map(|(_, index)| index).collect()
    }

    /// Takes heads out, puts `instead` in their place, and lets the neighbours close the gap; all as before where
    /// that costs more than the price, leaves heads unreached or ground dry, or is not `allowed`.
    fn do_without(
        &mut self,
        going: &[usize],
        instead: Option<Placed>,
        allowed: &mut impl FnMut(&mut Self) -> bool,
    ) -> bool {
        let heads: Vec<Placed> = going
            .iter()
            .filter_map(|&i| Some(self.slots[i].as_ref()?.head))
            .collect();
        let Some(&first) = heads.first().filter(|_| heads.len() == going.len()) else {
            return false;
        };
        let radius_m = self.radius_m(&first);
        let near = self.slots_near(&first, CLOSING_REACH * radius_m);
        let before: Vec<(usize, Placed)> = near
            .iter()
            .filter_map(|&i| Some((i, self.slots[i].as_ref()?.head)))
            .collect();
        let missing = self.missing(&near);
        let price = self.price_of(&first);
        let mut lost = 0.0;
        for &index in going {
            if let Some(head) = self.lift(index) {
                lost += self.worth(&head);
            }
        }
        let mut closing: Vec<usize> = near
            .iter()
            .copied()
            .filter(|i| self.slots[*i].is_some())
            .collect();
        if let Some(head) = instead {
            let fitted = self.fit(head, Asked::Head);
            lost -= fitted.worth;
            self.put(going[0], fitted.head);
            closing.insert(0, going[0]);
            closing.dedup();
        }
        let mut restless = closing.clone();
        restless.sort_unstable();
        for (round, step) in CLOSING.into_iter().enumerate() {
            lost -= self.round_of_restless(&closing, step, &mut restless);
            if round == HOPELESS_AFTER
                && heads.iter().any(|head| self.low_about(head) < HOPELESS_LOW)
            {
                break;
            }
        }
        if self.missing(&near) > missing {
            // Head to head first: the neighbours move until all are reached, evenness comes after.
            let reach = std::mem::replace(&mut self.weights.reach, URGENT_REACH);
            self.round_of(&closing, 0.16);
            self.round_of(&closing, 0.1);
            self.weights.reach = reach;
            self.round_of(&closing, 0.06);
        }
        if lost < price
            && self.missing(&near) <= missing
            && heads.iter().all(|head| self.low_about(head) >= LOCAL_LOW)
            && allowed(self)
        {
            return true;
        }
        if instead.is_some() {
            self.lift(going[0]);
        }
        let back: Vec<(usize, Placed)> = before
            .into_iter()
            .chain(going.iter().copied().zip(heads))
            .collect();
        self.restore(&back);
        false
    }

    /// Mean of the driest quarter of the ground within the throw of a head, over the wanted depth.
    pub fn low_about(&self, head: &Placed) -> f64 {
        let depths = self.field.depths_near(head.at, self.radius_m(head));
        low_quarter(&depths).unwrap_or(1.0)
    }

    /// Puts heads back as they were.
    pub fn restore(&mut self, before: &[(usize, Placed)]) {
        let changed: Vec<(usize, Placed)> = before
            .iter()
            .filter(|(index, head)| {
                self.slots[*index]
                    .as_ref()
                    .is_none_or(|slot| slot.head != *head)
            })
            .copied()
            .collect();
        for (index, _) in &changed {
            self.lift(*index);
        }
        for (index, head) in changed {
            if self.slots[index].is_none() {
                self.put(index, head);
            }
        }
    }

    /// How many heads are wanting for head-to-head over these slots.
    pub fn missing(&self, slots: &[usize]) -> i32 {
        slots
            .iter()
            .filter_map(|&index| self.slots[index].as_ref())
            .flat_map(|slot| &slot.images)
            .filter_map(|image| self.neighbours.entry(image.entry))
            .map(|entry| (REACHED_BY - entry.reached).max(0))
            .sum()
    }
}
