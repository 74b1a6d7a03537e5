//! The works while they are changed: nodes, pipes and trenches with what each was before, and which of them are out.
//!
//! Indices of what lay before stay as they are until `compact` numbers everything anew; what is new is added behind.

use super::{Fixed, Ground};
use crate::design::model::{Head, Node, NodeKind, Pipe, Section, Trench};
use crate::design::pipework::Pipework;
use crate::design::pipework::line;
use crate::design::works::Works;
use geo::Coord;
use std::collections::BTreeSet;

/// Section of pipe that was cut off its station and is not joined to another yet.
pub(super) const LOOSE: Section = Section::Station(usize::MAX);

/// A station while it is changed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lot {
    /// Its heads.
    pub heads: Vec<usize>,
    /// What it was before.
    pub from: Option<usize>,
    /// Whether the main comes to its valve.
    pub fed: bool,
    /// Whether it takes no more heads.
    pub closed: bool,
    /// Whether it was given up.
    pub gone: bool,
}

/// The works while they are changed.
pub(super) struct Draft<'a> {
    pub ground: &'a Ground<'a>,
    pub old: &'a Works,
    pub fixed: &'a Fixed,
    pub heads: Vec<Head>,
    /// Node of each head.
    pub head_node: Vec<Option<usize>>,
    pub work: Pipework,
    pub lots: Vec<Lot>,
    pub node_from: Vec<Option<usize>>,
    pub pipe_from: Vec<Option<usize>>,
    pub trench_from: Vec<Option<usize>>,
    pub node_gone: Vec<bool>,
    pub pipe_gone: Vec<bool>,
    /// Nodes whose invert is known: what lay before, and what was set into such pipe.
    pub level_known: Vec<bool>,
    /// Nodes that must not be moved or given up: pinned, or at the end of what is pinned.
    pub held: Vec<bool>,
    /// Nodes at which other pipes meet than before.
    pub refit: BTreeSet<usize>,
    /// Pipes of another course or length than before.
    pub relaid: BTreeSet<usize>,
    /// Trenches with other pipes in them than before.
    pub recut: BTreeSet<usize>,
    /// Sections with other pipe than before.
    pub touched: BTreeSet<Section>,
}

impl<'a> Draft<'a> {
    /// The old works with no head on them.
    pub fn new(ground: &'a Ground, old: &'a Works, heads: Vec<Head>, fixed: &'a Fixed) -> Self {
        let mut work = old.pipework.clone();
        work.runs.clear();
        let lots = (0..old.stations.len()).map(|station| Lot {
            heads: Vec::new(),
            from: Some(station),
            fed: leads_to_source(&work, work.valve_nodes[station]),
            closed: false,
            gone: false,
        });
        let numbered = |count: usize| (0..count).map(Some).collect();
        Self {
            ground,
            old,
            fixed,
            head_node: vec![None; heads.len()],
            heads,
            lots: lots.collect(),
            node_from: numbered(work.nodes.len()),
            pipe_from: numbered(work.pipes.len()),
            trench_from: numbered(work.trenches.len()),
            node_gone: vec![false; work.nodes.len()],
            pipe_gone: vec![false; work.pipes.len()],
            level_known: vec![true; work.nodes.len()],
            held: held_nodes(old, fixed),
            work,
            refit: BTreeSet::new(),
            relaid: BTreeSet::new(),
            recut: BTreeSet::new(),
            touched: BTreeSet::new(),
        }
    }

    /// Whether a pipe must stay exactly as it is.
    pub fn is_pinned(&self, pipe: usize) -> bool {
        self.pipe_from[pipe].is_some_and(|old| self.fixed.pipes.contains(&old))
    }

    /// Pipes that are not out.
    pub fn live(&self) -> impl Iterator<Item = (usize, &Pipe)> {
        let pipes = self.work.pipes.iter().enumerate();
        pipes.filter(|(pipe, _)| !self.pipe_gone[*pipe])
    }

    /// The pipes at each node.
    pub fn at_nodes(&self) -> Vec<Vec<usize>> {
        let mut at = vec![Vec::new(); self.work.nodes.len()];
        for (i, pipe) in self.live() {
            at[pipe.from].push(i);
            at[pipe.to].push(i);
        }
        at
    }

    /// Gives what was laid since the last call a place in all lists.
    pub fn enlist(&mut self) {
        let (nodes, pipes, trenches) = (
            self.work.nodes.len(),
            self.work.pipes.len(),
            self.work.trenches.len(),
        );
        self.refit.extend(self.node_from.len()..nodes);
        self.relaid.extend(self.pipe_from.len()..pipes);
        self.recut.extend(self.trench_from.len()..trenches);
        self.node_from.resize(nodes, None);
        self.node_gone.resize(nodes, false);
        self.level_known.resize(nodes, false);
        self.held.resize(nodes, false);
        self.pipe_from.resize(pipes, None);
        self.pipe_gone.resize(pipes, false);
        self.trench_from.resize(trenches, None);
    }

    /// Sets a head on a node of a station.
    pub fn seat(&mut self, head: usize, node: usize, station: usize) {
        self.head_node[head] = Some(node);
        let at = &mut self.work.nodes[node];
        at.head = Some(head);
        if at.kind != NodeKind::Valve && at.kind != NodeKind::Source {
            at.kind = NodeKind::Head;
        }
        if !self.lots[station].heads.contains(&head) {
            self.lots[station].heads.push(head);
        }
    }

    /// Takes whatever head there is off a node.
    pub fn clear(&mut self, node: usize) {
        let at = &mut self.work.nodes[node];
        if at.kind == NodeKind::Head {
            at.kind = NodeKind::Junction;
        }
        if let Some(head) = at.head.take()
            && let Some(seat) = self.head_node.get_mut(head)
            && *seat == Some(node)
        {
            *seat = None;
        }
        self.refit.insert(node);
    }

    /// Takes a pipe out.
    pub fn take_out(&mut self, pipe: usize) {
        self.pipe_gone[pipe] = true;
        let taken = &self.work.pipes[pipe];
        self.refit.extend([taken.from, taken.to]);
        self.recut.extend(&taken.trenches);
        if taken.section != LOOSE {
            self.touched.insert(taken.section);
        }
    }

    /// Moves a node; the pipes at it follow, and the ends of their trenches.
    pub fn move_node(&mut self, node: usize, to: Coord<f64>) {
        let was = std::mem::replace(&mut self.work.nodes[node].position, to);
        let terrain = &self.ground.parcel.terrain;
        if let Some(ground_m) = terrain.height_m(to) {
            self.work.nodes[node].ground_m = ground_m;
        }
        for i in 0..self.work.pipes.len() {
            let pipe = &mut self.work.pipes[i];
            if self.pipe_gone[i] || (pipe.from != node && pipe.to != node) {
                continue;
            }
            let ends = [(pipe.from, 0), (pipe.to, pipe.line.0.len().wrapping_sub(1))];
            for (_, end) in ends.into_iter().filter(|(at, _)| *at == node) {
                if let Some(end) = pipe.line.0.get_mut(end) {
                    *end = to;
                }
            }
            self.relaid.insert(i);
            self.refit.extend([pipe.from, pipe.to]);
            self.touched.insert(pipe.section);
            for &trench in &pipe.trenches {
                let places = self.work.trenches[trench].line.0.iter_mut();
                places
                    .filter(|place| **place == was)
                    .for_each(|place| *place = to);
                self.recut.insert(trench);
            }
        }
    }

    /// A new node in a pipe at a share of its length; the piece behind it becomes a pipe of its own.
    pub fn split(&mut self, pipe: usize, share: f64) -> usize {
        let whole = self.work.pipes[pipe].clone();
        let (before, after) = super::course::cut(&whole.line, share);
        let at = before.0.last().copied().unwrap_or_default();
        let node = line::node(
            &mut self.work,
            at,
            whole.section,
            &self.ground.parcel.terrain,
        );
        let invert_m = |end: usize| self.work.nodes[end].invert_m;
        let level_m = invert_m(whole.from) + (invert_m(whole.to) - invert_m(whole.from)) * share;
        self.work.nodes[node].invert_m = level_m;
        self.enlist();
        self.level_known[node] = self.level_known[whole.from] && self.level_known[whole.to];
        let in_piece = |piece: &geo::LineString<f64>| {
            let trenches = &self.work.trenches;
            super::course::trenches_along(piece, &whole.trenches, trenches)
        };
        let (first, second) = (in_piece(&before), in_piece(&after));
        self.recut.extend(&whole.trenches);
        self.work.pipes.push(Pipe {
            from: node,
            trenches: second,
            line: after,
            length_m: whole.length_m * (1.0 - share),
            ..whole.clone()
        });
        self.enlist();
        let origin = self.pipe_from[pipe];
        *self.pipe_from.last_mut().expect("a pipe was just laid") = origin;
        let piece = &mut self.work.pipes[pipe];
        (piece.to, piece.trenches, piece.line) = (node, first, before);
        piece.length_m = whole.length_m * share;
        self.relaid.insert(pipe);
        self.touched.insert(whole.section);
        node
    }
}

/// Whether pipes of the main lead from the source to a node.
fn leads_to_source(work: &Pipework, valve: usize) -> bool {
    let mut upstream = vec![None; work.nodes.len()];
    for pipe in work.pipes.iter().filter(|p| p.section == Section::Main) {
        upstream[pipe.to] = Some(pipe.from);
    }
    let mut node = valve;
    for _ in 0..=work.pipes.len() {
        if node == 0 {
            return true;
        }
        match upstream[node] {
            Some(before) => node = before,
            None => return false,
        }
    }
    false
}

fn held_nodes(old: &Works, fixed: &Fixed) -> Vec<bool> {
    let mut held = vec![false; old.pipework.nodes.len()];
    let pipes = fixed
        .pipes
        .iter()
        .filter_map(|i| old.pipework.pipes.get(*i));
    let valves = fixed.valves.iter().filter_map(|i| old.valves.get(*i));
    let drains = fixed.drains.iter().filter_map(|i| old.drains.get(*i));
    let ends = pipes.flat_map(|pipe| [pipe.from, pipe.to]);
    let others = valves.map(|v| v.node).chain(drains.map(|d| d.node));
    for node in ends.chain(others).chain(fixed.nodes.iter().copied()) {
        if let Some(slot) = held.get_mut(node) {
            *slot = true;
        }
    }
    held
}

/// Whether a node is where a valve stands or the source is.
pub(super) fn is_fixture(node: &Node) -> bool {
    matches!(node.kind, NodeKind::Valve | NodeKind::Source)
}

/// Whether the whole of a straight line lies in a trench.
pub(super) fn lies_in(trench: &Trench, from: Coord<f64>, to: Coord<f64>, off_m: f64) -> bool {
    let near =
        |at| super::course::nearest(&trench.line, at).is_some_and(|near| near.off_m <= off_m);
    trench.line.0.len() == 2 && near(from) && near(to)
}
