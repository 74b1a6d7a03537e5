//! Which thing of the design a feature of the layers is, and what is told of those that are none.

use super::Asking;
use crate::design::edits::heads::number_in;
use crate::design::edits::setting::{SAME_PLACE_M, distance_m};
use crate::design::model::{Pipe, Section};
use crate::finding::Finding;
use crate::site::edits::{EditedLine, EditedPoint, Hand, LineKind, PointKind};
use geo::{Coord, LineString};
use std::collections::BTreeSet;

/// Ids that a message lists.
const LISTED: usize = 8;

/// Whether two lines are one but for rounding.
pub(super) fn is_same_line(a: &LineString<f64>, b: &LineString<f64>) -> bool {
    let mut pairs = a.0.iter().zip(&b.0);
    a.0.len() == b.0.len() && pairs.all(|(a, b)| distance_m(*a, *b) <= SAME_PLACE_M)
}

/// What a person calls a feature.
pub(super) fn name_of(hand: &Hand, word: &str) -> String {
    hand.id
        .clone()
        .unwrap_or_else(|| format!("a {word} without an id"))
}

impl Asking<'_> {
    /// Where a valve, drain or node of the design is.
    pub(super) fn place_of(&self, kind: PointKind, index: usize) -> Option<Coord<f64>> {
        let node = match kind {
            PointKind::Valve => self.base.valves.get(index)?.node,
            PointKind::Drain => self.base.drains.get(index)?.node,
            PointKind::Node => index,
        };
        self.base.nodes.get(node).map(|node| node.position)
    }

    fn count(&self, kind: PointKind) -> usize {
        match kind {
            PointKind::Valve => self.base.valves.len(),
            PointKind::Drain => self.base.drains.len(),
            PointKind::Node => self.base.nodes.len(),
        }
    }

    /// The thing of the design that a point is: by id in the design's own layers, else by place.
    pub(super) fn own_point(&self, told: &EditedPoint) -> Option<usize> {
        let count = self.count(told.kind);
        if self.belongs {
            let id = told.hand.id.as_deref()?;
            let number = number_in(id, told.kind.word())?;
            return Some(number - 1).filter(|index| *index < count);
        }
        let here = |index: &usize| {
            let place = self.place_of(told.kind, *index);
            place.is_some_and(|at| distance_m(at, told.position) <= SAME_PLACE_M)
        };
        (0..count).find(here)
    }

    /// Indices of the design's pipes of a kind, in the order of their numbers.
    pub(super) fn pipes_of(&self, kind: LineKind) -> Vec<usize> {
        let of_kind = |pipe: &Pipe| match kind {
            LineKind::Main => pipe.section == Section::Main,
            LineKind::Lateral => pipe.section != Section::Main,
            LineKind::Trench => false,
        };
        let pipes = self.base.pipes.iter().enumerate();
        pipes
            .filter(|(_, pipe)| of_kind(pipe))
            .map(|(i, _)| i)
            .collect()
    }

    /// The pipe or trench of the design that a line is.
    pub(super) fn own_line(&self, told: &EditedLine) -> Option<usize> {
        let (indices, lines): (Vec<usize>, Vec<&LineString<f64>>) = match told.kind {
            LineKind::Trench => {
                let lines = self.base.trenches.iter().map(|trench| &trench.line);
                lines.enumerate().unzip()
            }
            kind => {
                let pipes = self.pipes_of(kind).into_iter();
                pipes.map(|i| (i, &self.base.pipes[i].line)).unzip()
            }
        };
        if self.belongs {
            let number = number_in(told.hand.id.as_deref()?, told.kind.word())?;
            return indices.get(number - 1).copied();
        }
        let same = lines.iter().position(|line| is_same_line(line, &told.line));
        same.map(|place| indices[place])
    }

    /// Keeps what is in the layers and not in the design, to be told together.
    pub(super) fn not_there(&mut self, hand: &Hand, word: &'static str) {
        let of_kind = self.unmatched.entry((word, hand.pinned)).or_default();
        of_kind.push(name_of(hand, word));
    }

    pub(super) fn tell_unmatched(&mut self) {
        for ((word, pinned), ids) in std::mem::take(&mut self.unmatched) {
            let count = ids.len();
            let ids = listed(&ids);
            let finding = if pinned {
                let why = match word {
                    "valve" => {
                        "the station that it opens, or the place where it stood, is not in this design"
                    }
                    "drain" => "no pipe of this design lies there to be emptied",
                    _ => "this design lays none there",
                };
                let message = format!(
                    "pinned, and not followed, of the kind {word}: {count} ({ids}); {why}. Take the pin off, or bring back what it stood on."
                );
                Finding::error("pin_lost", message)
            } else {
                let message = format!(
                    "added or changed by hand, and not in this design, of the kind {word}: {count} ({ids}). Only heads can be added; pipe, valves and drains are laid where the heads need them. Move those that are there."
                );
                Finding::warning("edit_not_followed", message)
            };
            self.asked.findings.push(finding.in_file(&self.edits.file));
        }
    }

    /// Tells things that a person deleted and that are laid all the same.
    pub(super) fn tell_deleted(&mut self) {
        if !self.belongs || self.edits.of_edited {
            return;
        }
        for kind in [PointKind::Valve, PointKind::Drain] {
            let told = self.edits.points.iter().filter(|told| told.kind == kind);
            let told: Vec<Option<usize>> = told.map(|told| self.own_point(told)).collect();
            self.tell_gone(kind.word(), told, (0..self.count(kind)).collect());
        }
        for kind in [LineKind::Main, LineKind::Lateral, LineKind::Trench] {
            let told = self.edits.lines.iter().filter(|told| told.kind == kind);
            let told: Vec<Option<usize>> = told.map(|told| self.own_line(told)).collect();
            let all = match kind {
                LineKind::Trench => (0..self.base.trenches.len()).collect(),
                _ => self.pipes_of(kind),
            };
            self.tell_gone(kind.word(), told, all);
        }
    }

    /// `all`: indices in the order of their numbers. A layer without a feature was not given, or not meant.
    fn tell_gone(&mut self, word: &'static str, told: Vec<Option<usize>>, all: Vec<usize>) {
        if told.is_empty() {
            return;
        }
        let there: BTreeSet<usize> = told.into_iter().flatten().collect();
        let gone = all
            .iter()
            .enumerate()
            .filter(|(_, index)| !there.contains(index));
        let digits = match word {
            "valve" | "drain" => 2,
            "lateral" => 4,
            _ => 3,
        };
        let ids: Vec<String> = gone
            .map(|(place, _)| format!("{word}-{:0digits$}", place + 1))
            .collect();
        if ids.is_empty() {
            return;
        }
        let message = format!(
            "deleted by hand, and laid all the same, of the kind {word}: {} ({}). It serves the heads: move or delete those instead.",
            ids.len(),
            listed(&ids)
        );
        let finding = Finding::warning("edit_not_followed", message);
        self.asked.findings.push(finding.in_file(&self.edits.file));
    }
}

fn listed(ids: &[String]) -> String {
    let more = ids.len().saturating_sub(LISTED);
    let first = ids[..ids.len().min(LISTED)].join(", ");
    if more > 0 {
        format!("{first} and {more} more")
    } else {
        first
    }
}
