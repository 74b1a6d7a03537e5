//! One try at relaying, and what it teaches the next.

use super::Relaid;
use super::serve::Judged;
use super::shed::Lesson;
use crate::design::works::Works;

/// What a station that failed may draw in the next try, of what it drew.
const FLOW_KEPT: f64 = 0.85;

/// Works of one try.
pub(super) struct Try {
    pub relaid: Relaid,
    pub judged: Vec<Option<Judged>>,
    /// What the heads of each station draw, L/min, as planned.
    pub flow_lpm: Vec<f64>,
    pub lost: usize,
}

impl Try {
    /// Heads lost, then stations that fail.
    pub fn fault(&self) -> (usize, usize) {
        (self.lost, self.failing().count())
    }

    fn failing(&self) -> impl Iterator<Item = usize> {
        let stations = self.judged.iter().enumerate();
        let fails = |judged: &Option<Judged>| judged.as_ref().is_some_and(|j| j.fault > 0.0);
        stations
            .filter(move |(_, judged)| fails(judged))
            .map(|(i, _)| i)
    }

    /// Closes failing stations that took heads, and lets others draw less; `false` where there is nothing to learn.
    pub fn teach(&self, old: &Works, from: &[Option<usize>], lessons: &mut [Lesson]) -> bool {
        let mut learned = false;
        for station in self.failing() {
            let Some(was) = self.relaid.origin.stations[station] else {
                continue;
            };
            let (lesson, heads) = (
                &mut lessons[was],
                &self.relaid.works.stations[station].heads,
            );
            let its_own = |head: &usize| {
                let old_head = from.get(*head).copied().flatten();
                old_head.is_some_and(|head| old.stations[was].heads.contains(&head))
            };
            if !lesson.closed && !heads.iter().all(its_own) {
                lesson.closed = true;
                learned = true;
            } else if heads.len() > 1 {
                lesson.most_lpm = FLOW_KEPT * self.flow_lpm[station];
                learned = true;
            }
        }
        learned
    }
}
