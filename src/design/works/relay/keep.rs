//! Heads that stay on their pipe, and those that need new pipe.

use super::draft::{Draft, is_fixture};
use super::hang::Loose;
use crate::design::model::{Pipe, Section};
use geo::Coord;

/// A head that moved by no more than this stands where it stood, m.
pub(super) const SAME_PLACE_M: f64 = 0.001;
/// A head that moved by no more than this keeps its pipe, m.
const KEEPS_PIPE_M: f64 = 0.3;

/// Sets heads on the nodes they had; returns those that need new pipe.
///
/// A head that moved a little takes its node with it, unless the node is held or a pipe at it could not lie so: then it
/// gets a short pipe from the old node.
pub(super) fn keep(draft: &mut Draft, from: &[Option<usize>]) -> Vec<Loose> {
    let new_of = new_heads(draft, from);
    let joined = draft.joined();
    let mut at = vec![None; draft.old.heads.len()];
    for (node, old) in draft.old.pipework.nodes.iter().enumerate() {
        let Some(head) = old.head else { continue };
        draft.work.nodes[node].head = None;
        if let Some(slot) = at.get_mut(head) {
            *slot = Some(node);
        }
    }
    for station in 0..draft.lots.len() {
        for &old in &draft.old.stations[station].heads {
            let (Some(&Some(head)), Some(&Some(node))) = (new_of.get(old), at.get(old)) else {
                continue;
            };
            let its_own = draft.old.pipework.nodes[node].section == Section::Station(station);
            if its_own && joined.node_in(node, Section::Station(station)) {
                settle(draft, head, old, node, station);
            }
        }
    }
    clear_left(draft, &at);
    let loose = (0..draft.heads.len()).filter(|head| draft.head_node[*head].is_none());
    let home_of = draft.old.station_of();
    let home = |head: usize| {
        from.get(head)
            .copied()
            .flatten()
            .and_then(|old| *home_of.get(old)?)
    };
    loose.map(|head| Loose::of_head(head, home(head))).collect()
}

/// The new head of each old one; the first that claims it.
fn new_heads(draft: &Draft, from: &[Option<usize>]) -> Vec<Option<usize>> {
    let mut new_of = vec![None; draft.old.heads.len()];
    for (head, old) in from.iter().enumerate().take(draft.heads.len()) {
        if let Some(slot) = old.and_then(|old| new_of.get_mut(old)) {
            slot.get_or_insert(head);
        }
    }
    new_of
}

fn settle(draft: &mut Draft, head: usize, old: usize, node: usize, station: usize) {
    let (was, is) = (draft.old.heads[old].position, draft.heads[head].position);
    let moved_m = distance_m(was, is);
    if moved_m <= SAME_PLACE_M {
        draft.seat(head, node, station);
    } else if moved_m <= KEEPS_PIPE_M {
        follow(draft, head, node, station);
    }
}

/// The node goes with the head, or a short pipe leads to it.
fn follow(draft: &mut Draft, head: usize, node: usize, station: usize) {
    let to = draft.heads[head].position;
    if draft.may_move(node, to) {
        draft.move_node(node, to);
        draft.seat(head, node, station);
        return;
    }
    let from = draft.work.nodes[node].position;
    if let Some(way) = draft.ground.straight(from, to) {
        draft.clear(node);
        let end = draft.lay_way(Section::Station(station), node, &way.points);
        draft.seat(head, end, station);
    }
}

/// Makes junctions of nodes whose head is gone or needs new pipe.
fn clear_left(draft: &mut Draft, at: &[Option<usize>]) {
    for node in at.iter().flatten().copied() {
        if draft.work.nodes[node].head.is_none() {
            draft.clear(node);
        }
    }
}

fn distance_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (b.x - a.x).hypot(b.y - a.y)
}

impl Draft<'_> {
    /// Whether a node and the pipes at it may follow to another place.
    pub fn may_move(&self, node: usize, to: Coord<f64>) -> bool {
        if self.held[node] || is_fixture(&self.work.nodes[node]) {
            return false;
        }
        let far = |(_, pipe): (usize, &Pipe)| {
            let other = match (pipe.from == node, pipe.to == node) {
                (true, false) => pipe.line.0.get(1),
                (false, true) => pipe
                    .line
                    .0
                    .len()
                    .checked_sub(2)
                    .and_then(|i| pipe.line.0.get(i)),
                _ => return None,
            };
            other.copied()
        };
        let mut others = self.live().filter_map(far);
        others.all(|other| self.ground.straight(other, to).is_some())
    }
}
