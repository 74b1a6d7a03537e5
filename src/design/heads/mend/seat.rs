//! A head of the area, as it stood and as it is to be, and what the change costs.

use super::rain::Rain;
use super::{ChangePrices, Freedom};
use crate::design::model::Head;

/// Places nearer than this are one, m.
const SAME_PLACE_M: f64 = 1e-6;

/// A head of the area, as it was and as it is to be.
#[derive(Clone)]
pub struct Seat {
    /// The head; `None` once it is taken out.
    pub head: Option<Head>,
    /// The standing head it was, as its place in the task and as it stood; `None` for one put in.
    pub was: Option<(usize, Head)>,
    /// What it goes back to where its change turns out needless.
    pub base: Option<Head>,
    /// What may be done to it.
    pub freedom: Freedom,
    /// Its water.
    pub rain: Option<Rain>,
}

impl Seat {
    /// A seat of a standing head.
    pub fn standing(index: usize, head: &Head, freedom: Freedom) -> Self {
        Self {
            head: Some(head.clone()),
            was: Some((index, head.clone())),
            base: Some(head.clone()),
            freedom,
            rain: None,
        }
    }

    /// What the change of this seat costs.
    pub fn price(&self, prices: &ChangePrices) -> f64 {
        self.price_with(self.head.as_ref(), prices)
    }

    /// What it would cost with another head on it.
    pub fn price_with(&self, head: Option<&Head>, prices: &ChangePrices) -> f64 {
        match (self.was.as_ref().map(|(_, was)| was), head) {
            (None, None) => 0.0,
            (None, Some(_)) => prices.added,
            (Some(_), None) => prices.remove,
            (Some(was), Some(head)) if was == head => 0.0,
            (Some(was), Some(head)) => {
                let other = was.model != head.model;
                let far = was.position - head.position;
                let moved = far.x.hypot(far.y) > SAME_PLACE_M;
                match (moved, other) {
                    (false, false) => prices.set,
                    (false, true) => prices.replace,
                    (true, false) => prices.moved,
                    (true, true) => {
                        (prices.moved + prices.replace).min(prices.remove + prices.added)
                    }
                }
            }
        }
    }
}
