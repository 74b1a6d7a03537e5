//! Where new pipe best joins pipe that lies: the cheapest way from what is loose to the sections that take it.

use super::course::{self, along_m};
use super::draft::Draft;
use super::hang::Loose;
use super::joined::Joined;
use super::way::Way;
use crate::design::model::{NodeKind, Section};
use geo::Coord;

/// A tee no farther than this from a node is set at the node, m.
const SNAP_M: f64 = 0.5;
/// Pipes that may meet at a node.
const MEET_MOST: usize = 4;
/// Straight ways priced for one thing, nearest first, and ways round obstacles sought.
const STRAIGHT_MOST: usize = 80;
const ROUTED_MOST: usize = 3;
/// Heads without a station beyond which ways round obstacles are only sought where no straight one is free: the next head
/// to be joined will bring pipe nearer anyway.
const LOOSE_MANY: usize = 40;

/// A place to join pipe at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Joint {
    /// A node.
    Node(usize),
    /// A new node in a pipe, at this share of it.
    Along(usize, f64),
}

/// A way on which something can be hung.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Hanging {
    pub section: Section,
    pub joint: Joint,
    /// The node of the loose pipe that the way ends at; `None` for a head alone.
    pub end: Option<usize>,
    pub way: Way,
}

/// What is looked through.
pub(super) struct Seek<'d, 'a> {
    pub draft: &'d Draft<'a>,
    pub joined: Joined,
    pub at: Vec<Vec<usize>>,
    /// Whether so much is loose that ways are sought thriftily.
    thrifty: bool,
}

struct Candidate {
    off_m: f64,
    section: Section,
    joint: Joint,
    from: Coord<f64>,
    to: Coord<f64>,
    end: Option<usize>,
}

impl<'d, 'a> Seek<'d, 'a> {
    pub fn new(draft: &'d Draft<'a>) -> Self {
        let on_station: usize = draft
            .lots
            .iter()
            .filter(|lot| !lot.gone)
            .map(|lot| lot.heads.len())
            .sum();
        Self {
            thrifty: draft.heads.len().saturating_sub(on_station) > LOOSE_MANY,
            draft,
            joined: draft.joined(),
            at: draft.at_nodes(),
        }
    }

    /// The cheapest way found from sections that take a loose thing, if it costs less than `most`.
    pub fn best(
        &self,
        loose: &Loose,
        most: f64,
        takes: impl Fn(Section) -> bool,
    ) -> Option<Hanging> {
        let mut candidates = self.candidates(loose, takes);
        candidates.sort_by(|a, b| a.off_m.total_cmp(&b.off_m));
        let ground = self.draft.ground;
        let least = ground.digging().least_a_metre();
        let mut best: Option<Hanging> = None;
        let mut routed = 0;
        for candidate in candidates.iter().take(STRAIGHT_MOST) {
            let dearest = best.as_ref().map_or(most, |best: &Hanging| best.way.price);
            if candidate.off_m * least >= dearest {
                break;
            }
            let (from, to) = (candidate.from, candidate.to);
            let straight = ground.straight(from, to);
            let plain = straight.is_some() && ground.is_plain(from, to);
            let spared = self.thrifty && (straight.is_some() || best.is_some());
            let round = if plain || spared || routed == ROUTED_MOST {
                None
            } else {
                routed += 1;
                ground.routed(from, to)
            };
            for way in [straight, round].into_iter().flatten() {
                let dearest = best.as_ref().map_or(most, |best| best.way.price);
                if way.price < dearest {
                    best = Some(Hanging {
                        section: candidate.section,
                        joint: candidate.joint,
                        end: candidate.end,
                        way,
                    });
                }
            }
        }
        best
    }

    /// For each pipe and each place of the loose thing the nearest place to join at.
    fn candidates(&self, loose: &Loose, takes: impl Fn(Section) -> bool) -> Vec<Candidate> {
        let draft = self.draft;
        let ends = loose.ends(draft);
        let mut found = Vec::new();
        let mut add = |section: Section, joint: Joint, from: Coord<f64>, to: Coord<f64>, end| {
            let off_m = (from.x - to.x).hypot(from.y - to.y);
            if off_m.is_finite() {
                found.push(Candidate {
                    off_m,
                    section,
                    joint,
                    from,
                    to,
                    end,
                });
            }
        };
        for (section, node) in self.beginnings().filter(|(section, _)| takes(*section)) {
            for &(to, end) in ends.iter().filter(|_| self.takes_pipe(node, section)) {
                add(
                    section,
                    Joint::Node(node),
                    draft.work.nodes[node].position,
                    to,
                    end,
                );
            }
        }
        for (i, pipe) in draft.live() {
            if !(self.joined.pipes[i] && takes(pipe.section)) {
                continue;
            }
            for &(to, end) in &ends {
                if let Some((joint, from)) = self.joint(i, to) {
                    add(pipe.section, joint, from, to, end);
                }
            }
        }
        found
    }

    /// The source and the valves.
    fn beginnings(&self) -> impl Iterator<Item = (Section, usize)> {
        let draft = self.draft;
        let lots = draft.lots.iter().enumerate().filter(|(_, lot)| !lot.gone);
        let valves = lots.map(|(s, _)| (Section::Station(s), draft.work.valve_nodes[s]));
        let source = (!draft.work.nodes.is_empty()).then_some((Section::Main, 0));
        source.into_iter().chain(valves)
    }

    /// The place of a pipe that is nearest to another: one of its ends, or a new node in it.
    fn joint(&self, index: usize, to: Coord<f64>) -> Option<(Joint, Coord<f64>)> {
        let pipe = &self.draft.work.pipes[index];
        let place = course::nearest(&pipe.line, to)?;
        let long_m = along_m(&pipe.line);
        let node = |node: usize| (Joint::Node(node), self.draft.work.nodes[node].position);
        let usable = |node: usize| self.takes_pipe(node, pipe.section);
        let (first_m, last_m) = (place.share * long_m, (1.0 - place.share) * long_m);
        let mut ends = [(first_m, pipe.from), (last_m, pipe.to)];
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let pinned = self.draft.is_pinned(index);
        for (off_m, end) in ends {
            if usable(end) && (pinned || off_m < SNAP_M) {
                return Some(node(end));
            }
        }
        if pinned {
            return None;
        }
        let margin = (SNAP_M / long_m.max(1e-9)).min(0.5);
        let share = place.share.clamp(margin, 1.0 - margin);
        Some((Joint::Along(index, share), course::at(&pipe.line, share)))
    }

    /// Whether one more pipe of a section can start at a node.
    fn takes_pipe(&self, node: usize, section: Section) -> bool {
        let at = &self.draft.work.nodes[node];
        let ends_main = section == Section::Main && at.kind == NodeKind::Valve;
        self.at[node].len() < MEET_MOST && !ends_main
    }
}
