//! Why each head stays: what would fail without it.

use super::remove::LOCAL_LOW;
use super::targets::Targets;
use super::{Placed, Search};

/// What a head is kept for, the first that applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// It was given, and stays.
    Given,
    /// It stands in a corner, where a crew looks for it.
    Corner,
    /// Without it fewer than two others would reach one of its neighbours.
    Reach,
    /// Without it the driest quarter of its ground would get less than half of what is wanted.
    Dry,
    /// Without it the water would be less even by more than a head is worth.
    Evenness,
    /// Without it the piece would miss a target.
    Target,
}

impl Search<'_> {
    /// Takes out the heads that nothing asks for, and tells for each that stays why it does, by slot.
    pub fn purposes(&mut self, targets: &Targets) -> Vec<(usize, Purpose)> {
        let asked = self.no_worse_than(targets);
        let mut kept = Vec::new();
        for index in self.used() {
            if let Some(purpose) = self.purpose_of(index, &asked) {
                kept.push((index, purpose));
            }
        }
        kept
    }

    /// Why a head stays; `None` when it went since nothing asked for it.
    fn purpose_of(&mut self, index: usize, asked: &Targets) -> Option<Purpose> {
        let head = self.slots.get(index)?.as_ref()?.head;
        if head.corner {
            return Some(Purpose::Corner);
        }
        let near: Vec<usize> = self
            .slots_near(&head, 1.1 * self.radius_m(&head))
            .into_iter()
            .filter(|&slot| slot != index)
            .collect();
        let missing = self.missing(&near);
        self.lift(index);
        let purpose = self.asked_for(&head, &near, missing, asked);
        if purpose.is_some() {
            self.put(index, head);
        }
        purpose
    }

    /// What fails now that a head is lifted.
    fn asked_for(
        &mut self,
        head: &Placed,
        near: &[usize],
        missing: i32,
        asked: &Targets,
    ) -> Option<Purpose> {
        if self.missing(near) > missing {
            Some(Purpose::Reach)
        } else if self.low_about(head) < LOCAL_LOW {
            Some(Purpose::Dry)
        } else if self.worth(head) >= self.price_of(head) {
            Some(Purpose::Evenness)
        } else {
            (!self.figures().meets(asked)).then_some(Purpose::Target)
        }
    }
}
