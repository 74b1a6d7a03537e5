//! Pipe that served heads and serves none now: it stays in the ground, but is no part of the works.

use super::draft::{Draft, LOOSE, is_fixture};
use crate::design::model::{Node, Pipe, Section, ValveKind};

/// Takes out dead pipe, and stations that lost all their heads. What is pinned stays, and what feeds it.
pub(super) fn take_out(draft: &mut Draft) {
    let served = before(draft);
    let lost: Vec<usize> = (0..draft.lots.len())
        .filter(|station| lost_all(draft, *station))
        .collect();
    for &station in &lost {
        draft.lots[station].gone = true;
    }
    let needed = now(draft);
    for pipe in 0..draft.work.pipes.len() {
        let was_served = draft.pipe_from[pipe].is_some_and(|old| served[old]);
        let laid = &draft.work.pipes[pipe];
        let dead = laid.section == LOOSE || (was_served && !needed[laid.to]);
        if dead && !draft.pipe_gone[pipe] && !draft.is_pinned(pipe) {
            draft.take_out(pipe);
        }
    }
    drop_bare_nodes(draft, &lost);
}

/// Whether each old pipe served a head or, in the main, a valve with heads.
fn before(draft: &Draft) -> Vec<bool> {
    let old = &draft.old.pipework;
    let with_head = (0..old.nodes.len()).filter(|node| old.nodes[*node].head.is_some());
    let used = draft.old.stations.iter().zip(&old.valve_nodes);
    let valves = used.filter(|(station, _)| !station.heads.is_empty());
    let pipes: Vec<(usize, &Pipe)> = old.pipes.iter().enumerate().collect();
    let seeds = with_head.chain(valves.map(|(_, valve)| *valve));
    let fed = upstream(&old.nodes, &pipes, seeds);
    old.pipes.iter().map(|pipe| fed[pipe.to]).collect()
}

/// Whether each node now leads to a head, to the valve of a station that stays, or to what is pinned.
fn now(draft: &Draft) -> Vec<bool> {
    let nodes = &draft.work.nodes;
    let with_head = (0..nodes.len()).filter(|node| nodes[*node].head.is_some());
    let lots = draft.lots.iter().zip(&draft.work.valve_nodes);
    let valves = lots.filter(|(lot, _)| !lot.gone).map(|(_, valve)| *valve);
    let held = (0..nodes.len()).filter(|node| draft.held[*node]);
    let pipes: Vec<(usize, &Pipe)> = draft.live().collect();
    upstream(nodes, &pipes, with_head.chain(valves).chain(held))
}

/// The nodes from which pipe leads to any of these, within a section.
fn upstream(
    nodes: &[Node],
    pipes: &[(usize, &Pipe)],
    seeds: impl Iterator<Item = usize>,
) -> Vec<bool> {
    let mut into = vec![Vec::new(); nodes.len()];
    for (_, pipe) in pipes {
        into[pipe.to].push(pipe.from);
    }
    let mut found = vec![false; nodes.len()];
    let mut open: Vec<usize> = seeds.filter(|node| *node < nodes.len()).collect();
    while let Some(node) = open.pop() {
        if !std::mem::replace(&mut found[node], true) {
            open.extend(&into[node]);
        }
    }
    found
}

/// Whether a station had heads, has none now, and nothing of it is pinned.
fn lost_all(draft: &Draft, station: usize) -> bool {
    let lot = &draft.lots[station];
    let had = lot
        .from
        .is_some_and(|old| !draft.old.stations[old].heads.is_empty());
    let section = Section::Station(station);
    let mut pipes = draft.live().filter(|(_, pipe)| pipe.section == section);
    let pinned = draft.held[draft.work.valve_nodes[station]]
        || pipes.any(|(i, pipe)| draft.is_pinned(i) || draft.held[pipe.to])
        || draft.fixed.valves.iter().any(|valve| {
            let valve = draft.old.valves.get(*valve);
            valve.is_some_and(|v| v.kind == ValveKind::Control && v.station == lot.from)
        });
    had && lot.heads.is_empty() && !pinned
}

/// Nodes at which no pipe is left are out where pipe was taken from them.
fn drop_bare_nodes(draft: &mut Draft, lost: &[usize]) {
    let at = draft.at_nodes();
    let valves: Vec<usize> = lost.iter().map(|s| draft.work.valve_nodes[*s]).collect();
    for (node, pipes) in at.iter().enumerate() {
        let laid = &draft.work.nodes[node];
        let lost_valve = valves.contains(&node);
        let bare = pipes.is_empty()
            && draft.refit.contains(&node)
            && laid.head.is_none()
            && (lost_valve || !is_fixture(laid));
        if (bare && !draft.held[node]) || (laid.section == LOOSE) {
            draft.node_gone[node] = true;
        } else if lost_valve {
            // Another station's main runs on through it.
            draft.work.nodes[node].kind = crate::design::model::NodeKind::Junction;
            draft.work.nodes[node].section = Section::Main;
        }
    }
}
