//! Heads without a station hung on: to laterals of stations with room, else behind new valves beside the main.

use super::draft::{Draft, LOOSE, Lot, is_fixture};
use super::keep::SAME_PLACE_M;
use super::loads::Wishes;
use super::seek::{Hanging, Joint, Seek};
use super::ways::Ways;
use crate::design::model::Section;
use geo::Coord;

/// Trench, in metres of level turf, that may be dug farther than to the main rather than setting one more valve.
const STATION_M: f64 = 60.0;
/// A head no farther than this from where pipe could be joined is set on that place, m.
const ON_PIPE_M: f64 = 0.05;

/// A head, or heads on pipe that was cut off, without a station.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Loose {
    pub heads: Vec<usize>,
    /// Nodes of its pipe; none for a head alone.
    pub nodes: Vec<usize>,
    /// The station it would best go back to.
    pub home: Option<usize>,
}

impl Loose {
    /// A head alone.
    pub fn of_head(head: usize, home: Option<usize>) -> Self {
        Self {
            heads: vec![head],
            nodes: Vec::new(),
            home,
        }
    }

    /// The places it can be reached at, with the node there.
    pub fn ends(&self, draft: &Draft) -> Vec<(Coord<f64>, Option<usize>)> {
        let at_head = |head: &usize| (draft.heads[*head].position, None);
        let at_node = |node: &usize| (draft.work.nodes[*node].position, Some(*node));
        if self.nodes.is_empty() {
            self.heads.iter().map(at_head).collect()
        } else {
            self.nodes.iter().map(at_node).collect()
        }
    }
}

/// Hangs on what is loose, cheapest first; returns what nothing reaches.
pub(super) fn hang_all(draft: &mut Draft, wishes: &Wishes, mut loose: Vec<Loose>) -> Vec<Loose> {
    let mut lost = Vec::new();
    take_unplaced(draft, &mut loose, &mut lost);
    let mut to_main = ToMain::default();
    let mut tiers = [&wishes.usual, &wishes.least].map(|needs| Ways::by(needs));
    while !loose.is_empty() {
        let seek = Seek::new(draft);
        let on = tiers
            .iter_mut()
            .find_map(|ways| ways.cheapest(&seek, wishes, &loose));
        let on_m = on.as_ref().map_or(f64::INFINITY, |(_, on)| on.way.price);
        let new = to_main.cheapest(&seek, &loose, on_m - STATION_M);
        let is_new = !matches!((&on, &new), (Some(_), None));
        let (which, section) = match (on, new) {
            (Some(_), Some((which, new))) => (which, open(draft, &loose[which], &new)),
            (Some((which, on)), None) => (which, hang(draft, &loose[which], &on)),
            (None, Some((which, new))) => {
                if let Some(parts) = broken_up(draft, wishes, &loose[which]) {
                    loose.remove(which);
                    loose.extend(parts);
                    tiers.iter_mut().for_each(Ways::forget);
                    to_main.forget();
                    continue;
                }
                (which, open(draft, &loose[which], &new))
            }
            (None, None) => {
                lost.append(&mut loose);
                break;
            }
        };
        loose.remove(which);
        to_main.hung(which, is_new);
        tiers.iter_mut().for_each(|ways| ways.hung(which, section));
    }
    lost
}

/// Heads without a place that can be computed with are lost.
fn take_unplaced(draft: &Draft, loose: &mut Vec<Loose>, lost: &mut Vec<Loose>) {
    let placed = |head: &usize| {
        let at = draft.heads[*head].position;
        at.x.is_finite() && at.y.is_finite()
    };
    let (placed, unplaced) = loose.drain(..).partition(|l| l.heads.iter().all(placed));
    *loose = placed;
    lost.extend::<Vec<Loose>>(unplaced);
}

/// The ways from loose things to the main, found once for as long as the main stays as it is.
#[derive(Default)]
struct ToMain {
    known: Vec<Option<Option<Hanging>>>,
}

impl ToMain {
    /// The loose thing that is nearest to the main, and how to come to it, if that costs less than `most`.
    fn cheapest(&mut self, seek: &Seek, loose: &[Loose], most: f64) -> Option<(usize, Hanging)> {
        if most <= 0.0 {
            return None;
        }
        self.known.resize(loose.len(), None);
        let main = |section: Section| section == Section::Main;
        for (thing, known) in loose.iter().zip(&mut self.known) {
            known.get_or_insert_with(|| seek.best(thing, f64::INFINITY, main));
        }
        let ways = self.known.iter().enumerate();
        let ways = ways.filter_map(|(which, known)| Some((which, known.clone().flatten()?)));
        least(ways.filter(|(_, way)| way.way.price < most))
    }

    /// A loose thing was hung; with a new station the main changed.
    fn hung(&mut self, which: usize, main_changed: bool) {
        if main_changed {
            self.forget();
        } else if which < self.known.len() {
            self.known.remove(which);
        }
    }

    fn forget(&mut self) {
        self.known.clear();
    }
}

pub(super) fn least(ways: impl Iterator<Item = (usize, Hanging)>) -> Option<(usize, Hanging)> {
    ways.min_by(|a, b| a.1.way.price.total_cmp(&b.1.way.price).then(a.0.cmp(&b.0)))
}

/// The heads of a loose thing one by one, its pipe out, where one station could not carry them all.
fn broken_up(draft: &mut Draft, wishes: &Wishes, thing: &Loose) -> Option<Vec<Loose>> {
    let load = Wishes::load(&wishes.least, &thing.heads)?;
    if thing.heads.len() < 2 || wishes.limits.allow(&load) {
        return None;
    }
    for &node in &thing.nodes {
        draft.clear(node);
        draft.node_gone[node] = true;
    }
    for pipe in 0..draft.work.pipes.len() {
        let laid = &draft.work.pipes[pipe];
        if !draft.pipe_gone[pipe] && thing.nodes.contains(&laid.to) {
            draft.take_out(pipe);
        }
    }
    Some(
        thing
            .heads
            .iter()
            .map(|head| Loose::of_head(*head, None))
            .collect(),
    )
}

/// Hangs a loose thing on a station; returns the section that changed.
fn hang(draft: &mut Draft, thing: &Loose, on: &Hanging) -> Section {
    let Section::Station(station) = on.section else {
        return on.section;
    };
    let (node, fresh) = draft.join_at(on.joint);
    if let [head] = thing.heads[..]
        && thing.nodes.is_empty()
        && draft.seats_at(node, fresh, head)
    {
        let (is, to) = (draft.work.nodes[node].position, draft.heads[head].position);
        if (is.x - to.x).hypot(is.y - to.y) > SAME_PLACE_M {
            draft.move_node(node, to);
        }
        draft.seat(head, node, station);
        draft.refit.insert(node);
        draft.touched.insert(on.section);
        return on.section;
    }
    let laid = draft.lay_way(on.section, node, &on.way.points);
    draft.adopt(thing, station, laid, on.end);
    on.section
}

/// Opens a station for a loose thing: a tee in the main, a valve beside it, a lateral. Returns its section.
fn open(draft: &mut Draft, thing: &Loose, on: &Hanging) -> Section {
    let station = draft.lots.len();
    draft.lots.push(Lot {
        heads: Vec::new(),
        from: None,
        fed: true,
        closed: false,
        gone: false,
    });
    draft.work.valve_nodes.push(0);
    let (tee, _) = draft.join_at(on.joint);
    let points = draft.with_room_for_valve(&on.way.points);
    let (valve, laid) = draft.lay_with_valve(station, tee, &points);
    draft.work.valve_nodes[station] = valve;
    draft.adopt(thing, station, laid, on.end);
    Section::Station(station)
}

impl Draft<'_> {
    /// The node at a joint, and whether it is new.
    fn join_at(&mut self, joint: Joint) -> (usize, bool) {
        match joint {
            Joint::Node(node) => (node, false),
            Joint::Along(pipe, share) => (self.split(pipe, share), true),
        }
    }

    /// Whether a head can stand on a node itself: it is there, or so near that the node can follow.
    fn seats_at(&self, node: usize, fresh: bool, head: usize) -> bool {
        let (at, to) = (&self.work.nodes[node], self.heads[head].position);
        let off_m = (at.position.x - to.x).hypot(at.position.y - to.y);
        let near = off_m <= ON_PIPE_M && (fresh || self.may_move(node, to));
        at.head.is_none() && !is_fixture(at) && (off_m <= SAME_PLACE_M || near)
    }

    /// Gives a loose thing to a station whose new pipe ends at `laid`.
    fn adopt(&mut self, thing: &Loose, station: usize, laid: usize, end: Option<usize>) {
        let Some(end) = end else {
            thing
                .heads
                .iter()
                .for_each(|head| self.seat(*head, laid, station));
            return;
        };
        self.end_at(laid, end);
        let section = Section::Station(station);
        let at = self.at_nodes();
        let mut open = vec![end];
        self.work.nodes[end].section = section;
        while let Some(node) = open.pop() {
            for &pipe in at[node]
                .iter()
                .filter(|pipe| self.work.pipes[**pipe].section == LOOSE)
                .collect::<Vec<_>>()
            {
                self.turn_away_from(node, pipe);
                let laid = &mut self.work.pipes[pipe];
                laid.section = section;
                let next = laid.to;
                if self.work.nodes[next].section == LOOSE {
                    self.work.nodes[next].section = section;
                    open.push(next);
                }
            }
        }
        for &head in &thing.heads {
            if let Some(node) = self.head_node[head] {
                self.seat(head, node, station);
            }
        }
    }

    /// Lets a pipe run from a node, not to it.
    fn turn_away_from(&mut self, node: usize, pipe: usize) {
        let laid = &mut self.work.pipes[pipe];
        if laid.from != node {
            (laid.from, laid.to) = (laid.to, laid.from);
            laid.line.0.reverse();
            laid.trenches.reverse();
            self.refit.extend([laid.from, laid.to]);
        }
    }
}
