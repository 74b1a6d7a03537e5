//! What a search came to, and which of two is better.

use super::super::search::{Search, Targets};

/// A layout that a search came to.
pub struct Best<'a> {
    /// Heads, counted dearer for the targets missed.
    score: f64,
    /// J with the price of the heads, m².
    cost: f64,
    /// Its heads and water.
    pub search: Search<'a>,
}

impl<'a> Best<'a> {
    /// What a search came to, held against targets.
    pub fn of(mut search: Search<'a>, targets: &Targets) -> Self {
        Self {
            score: search.figures().score(targets),
            cost: search.cost(),
            search,
        }
    }

    /// The better one first.
    pub fn order(&self, other: &Self) -> std::cmp::Ordering {
        let score = self.score.total_cmp(&other.score);
        score.then(self.cost.total_cmp(&other.cost))
    }

    /// Whether it needs fewer heads, or as many at a lower cost.
    pub fn better(&self, other: &Self) -> bool {
        self.order(other).is_lt()
    }
}
