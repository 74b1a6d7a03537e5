//! Pipes and trenches: pinned as they lie, led elsewhere, or of another size.

use super::Asking;
use super::match_up::{is_same_line, name_of};
use crate::finding::Finding;
use crate::site::edits::{EditedLine, LineKind};
use geo::Coord;

impl Asking<'_> {
    pub(super) fn lines(&mut self) {
        let edits = self.edits;
        for told in edits.lines.iter().filter(|told| told.hand.touched()) {
            let Some(index) = self.own_line(told) else {
                self.not_there(&told.hand, told.kind.word());
                continue;
            };
            match told.kind {
                LineKind::Trench => self.trench(told, index),
                LineKind::Main | LineKind::Lateral => self.pipe(told, index),
            }
        }
    }

    /// A pinned trench holds the pipes that lie in it.
    fn trench(&mut self, told: &EditedLine, index: usize) {
        let same = is_same_line(&self.base.trenches[index].line, &told.line);
        if !same {
            let message = "was moved by hand, which is not followed: a trench lies where its pipes do. Move those instead.";
            let id = name_of(&told.hand, "trench");
            self.tell(
                Finding::error("edit_not_followed", message),
                &id,
                told.line.0[0],
            );
            return;
        }
        if !told.hand.pinned {
            return;
        }
        let base = self.base;
        let id = name_of(&told.hand, "trench");
        let in_it = base.pipes.iter().enumerate();
        for (pipe, laid) in in_it.filter(|(_, pipe)| pipe.trenches.contains(&index)) {
            let at = |node: usize| base.nodes[node].position;
            if self.want(laid.from, at(laid.from), &id) && self.want(laid.to, at(laid.to), &id) {
                self.asked.fixed.pipes.insert(pipe);
            }
        }
        self.asked.pins.trenches.insert(index);
    }

    fn pipe(&mut self, told: &EditedLine, index: usize) {
        let base = self.base;
        let laid = &base.pipes[index];
        let same = is_same_line(&laid.line, &told.line);
        let size = self.size(told);
        if let Err(finding) = &size {
            let id = name_of(&told.hand, told.kind.word());
            self.tell(finding.clone(), &id, told.line.0[0]);
        }
        let size = size.ok().flatten().filter(|size| *size != laid.size);
        if same && size.is_none() && !told.hand.pinned {
            return;
        }
        let id = name_of(&told.hand, told.kind.word());
        let ends: [Coord<f64>; 2] = [told.line.0[0], told.line.0[told.line.0.len() - 1]];
        if !(self.want(laid.from, ends[0], &id) && self.want(laid.to, ends[1], &id)) {
            return;
        }
        if !same {
            self.courses.insert(index, (told.line.clone(), id));
        }
        if let Some(size) = size {
            self.asked.works.pipework.pipes[index].size = size;
            self.asked.resized = true;
        }
        self.asked.fixed.pipes.insert(index);
        self.asked.pins.pipes.insert(index);
    }

    /// The size that a pipe is said to have; `None` where nothing is said.
    fn size(&self, told: &EditedLine) -> Result<Option<usize>, Finding> {
        let Some(nominal) = &told.nominal else {
            return Ok(None);
        };
        let sizes = &self.project.catalogue.pipes;
        let found = sizes.iter().position(|size| {
            let material = told.material.as_ref();
            size.nominal == *nominal && material.is_none_or(|m| size.material == *m)
        });
        found.map(Some).ok_or_else(|| {
            let material = told.material.as_deref().unwrap_or_default();
            let message = format!(
                "its size `{nominal}` {material} is not in the catalogue, and is not followed. Give a nominal size and material of the catalogue."
            );
            Finding::error("pin_unknown_size", message)
        })
    }
}
