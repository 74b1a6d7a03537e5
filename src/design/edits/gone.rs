//! Heads of the design that are no more: a person took them away, or put another on their spot.

use super::heads::{Asked, Asking, Held, ONE_SPOT_M, SAME_HEAD_M};
use super::setting::distance_m;
use crate::finding::Finding;
use crate::site::edits::EditedHead;
use geo::Coord;

impl Asking<'_> {
    /// The design's heads that a person took away.
    pub(super) fn left_out(&mut self, matched: &[Option<usize>]) -> Vec<usize> {
        let mut gone = Vec::new();
        for place in &self.edits.left_out {
            let near = self.asked.heads.iter().position(|asked| {
                asked.held == Held::Free
                    && distance_m(asked.head.position, place.position) <= SAME_HEAD_M
            });
            let at = near.map_or(place.position, |near| self.asked.heads[near].head.position);
            gone.extend(near);
            self.asked.left_out.push(at);
        }
        for index in self.missing(matched) {
            if !gone.contains(&index) {
                gone.push(index);
                self.asked.left_out.push(self.base.heads[index].position);
            }
        }
        self.asked
            .left_out
            .sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        self.asked
            .left_out
            .dedup_by(|a, b| distance_m(*a, *b) < ONE_SPOT_M);
        let places = self.asked.left_out.clone();
        self.asked.changed_at.extend(places);
        gone
    }

    /// Heads of the design that are missing from its own layer.
    fn missing(&mut self, matched: &[Option<usize>]) -> Vec<usize> {
        let there = |index: &usize| matched.contains(&Some(*index));
        let missing: Vec<usize> = (0..self.base.heads.len()).filter(|i| !there(i)).collect();
        if missing.is_empty() || self.edits.of_edited || self.edits.heads.is_empty() {
            return Vec::new();
        }
        let other = |(told, own): (&EditedHead, &Option<usize>)| {
            !told.hand.changed
                && own.is_none_or(|own| !self.setter.is_same(&self.base.heads[own], told))
        };
        let others = self
            .edits
            .heads
            .iter()
            .zip(matched)
            .filter(|pair| other(*pair))
            .count();
        if self.belongs && others == 0 {
            return missing;
        }
        let message = format!(
            "comes from another design of this parcel: {others} of its {} heads are not those of this one. Heads that were pinned, moved, set or added in it are taken over where they stand; a head deleted from it is only known where its node is still in the layer of nodes.",
            self.edits.heads.len()
        );
        let finding = Finding::note("edits_of_another_design", message);
        self.asked.findings.push(finding.in_file(&self.edits.file));
        Vec::new()
    }

    /// The design's heads on whose spot a person put another.
    pub(super) fn stood_upon(&self) -> Vec<usize> {
        let changed = |asked: &&Asked| matches!(asked.held, Held::Changed { .. });
        let placed: Vec<Coord<f64>> = self
            .asked
            .heads
            .iter()
            .filter(changed)
            .map(|asked| asked.head.position)
            .collect();
        let upon = |asked: &Asked| {
            let mut off = placed.iter().map(|at| distance_m(*at, asked.head.position));
            asked.held == Held::Free && off.any(|off_m| off_m <= SAME_HEAD_M)
        };
        (0..self.asked.heads.len())
            .filter(|i| upon(&self.asked.heads[*i]))
            .collect()
    }
}
