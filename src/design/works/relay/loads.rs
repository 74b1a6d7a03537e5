//! What the heads ask of their stations, and whether a station has room for more.

use super::draft::Draft;
use crate::design::settle::demand::{self, Allowance};
use crate::design::stations::{HeadNeed, Limits, Load};
use std::collections::BTreeMap;

/// What every head asks for.
pub(super) struct Wishes {
    /// As designs are planned with.
    pub usual: Vec<HeadNeed>,
    /// At the least pressure that heads work at.
    pub least: Vec<HeadNeed>,
    pub limits: Limits,
}

impl Wishes {
    /// The wishes of all heads, each as far from the source as pipe leads to it now, or as the crow flies.
    pub fn of(draft: &Draft) -> Self {
        let ground = draft.ground;
        let (catalogue, rules) = (ground.catalogue, ground.rules);
        let source_m = draft.work.nodes.first().map_or(0.0, |node| node.ground_m);
        let allowance = Allowance::new(ground.supply, source_m, catalogue, rules);
        let path_m = paths_m(draft);
        let heads = &draft.heads;
        Self {
            usual: demand::needs_over(heads, &path_m, &allowance, catalogue, rules),
            least: demand::least_needs(heads, &path_m, &allowance, catalogue, rules),
            limits: Limits::of(rules),
        }
    }

    /// What heads ask for together; `None` where there are none.
    pub fn load(needs: &[HeadNeed], heads: &[usize]) -> Option<Load> {
        let loads = heads.iter().map(|head| Load::of(&needs[*head]));
        loads.reduce(|a, b| a.joined(&b))
    }

    /// The class that most of some heads are of; of equals that of the first.
    pub fn class_of(&self, heads: &[usize]) -> Option<usize> {
        let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
        let class = |head: &usize| self.usual[*head].class;
        heads
            .iter()
            .for_each(|head| *counts.entry(class(head)).or_default() += 1);
        let most = counts.values().copied().max()?;
        heads.iter().map(class).find(|class| counts[class] == most)
    }

    /// Whether a station takes these heads too, by these needs.
    pub fn has_room(
        &self,
        draft: &Draft,
        station: usize,
        heads: &[usize],
        needs: &[HeadNeed],
    ) -> bool {
        let lot = &draft.lots[station];
        if lot.gone || lot.closed || !lot.fed {
            return false;
        }
        let class = self.class_of(&lot.heads);
        let same = |head: &usize| class.is_none_or(|class| self.usual[*head].class == class);
        let all: Vec<usize> = lot.heads.iter().chain(heads).copied().collect();
        heads.iter().all(same)
            && Self::load(needs, &all).is_none_or(|load| self.limits.allow(&load))
    }
}

/// Pipe from the source to each head, m; the straight distance where none leads there.
fn paths_m(draft: &Draft) -> Vec<f64> {
    let at = draft.at_nodes();
    let mut far_m = vec![f64::INFINITY; draft.work.nodes.len()];
    let mut open = vec![0];
    if let Some(first) = far_m.first_mut() {
        *first = 0.0;
        while let Some(node) = open.pop() {
            for &pipe in &at[node] {
                let pipe = &draft.work.pipes[pipe];
                let next = if pipe.from == node {
                    pipe.to
                } else {
                    pipe.from
                };
                if far_m[next].is_infinite() && pipe.length_m.is_finite() {
                    far_m[next] = far_m[node] + pipe.length_m;
                    open.push(next);
                }
            }
        }
    }
    let source = draft.work.nodes.first().map(|node| node.position);
    let path_m = |(head, node): (&crate::design::model::Head, &Option<usize>)| {
        let laid = node.map(|node| far_m[node]).filter(|m| m.is_finite());
        let straight = source.map(|s| (head.position.x - s.x).hypot(head.position.y - s.y));
        laid.or(straight.filter(|m| m.is_finite())).unwrap_or(0.0)
    };
    draft
        .heads
        .iter()
        .zip(&draft.head_node)
        .map(path_m)
        .collect()
}
