//! Heads that leave their station: those of another class, and whole branches of stations that draw too much.

use super::draft::{Draft, LOOSE};
use super::hang::Loose;
use super::loads::Wishes;
use crate::design::model::Section;

/// A station may draw this much more than the supply leaves: lengths to its heads were measured another way.
const FLOW_GRACE: f64 = 1.02;

/// What earlier tries taught about a station, by its place in the old works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lesson {
    /// It takes no more heads.
    pub closed: bool,
    /// Most it may draw, L/min.
    pub most_lpm: f64,
}

impl Default for Lesson {
    fn default() -> Self {
        Self {
            closed: false,
            most_lpm: f64::INFINITY,
        }
    }
}

/// Heads that are not of the class that most heads of their station are of.
pub(super) fn of_other_class(draft: &mut Draft, wishes: &Wishes) -> Vec<Loose> {
    let mut left = Vec::new();
    for station in 0..draft.lots.len() {
        let heads = draft.lots[station].heads.clone();
        let class = wishes.class_of(&heads);
        let other = |head: &usize| Some(wishes.usual[*head].class) != class;
        for head in heads.into_iter().filter(other) {
            draft.lots[station].heads.retain(|own| *own != head);
            if let Some(node) = draft.head_node[head] {
                draft.clear(node);
                draft.touched.insert(Section::Station(station));
            }
            left.push(Loose::of_head(head, None));
        }
    }
    left
}

/// Branches cut off the stations that draw more than the supply leaves, the least of them that will do.
pub(super) fn overdrawn(
    draft: &mut Draft,
    wishes: &Wishes,
    failing: &[bool],
    lessons: &[Lesson],
) -> Vec<Loose> {
    let mut cut = Vec::new();
    for station in 0..draft.lots.len() {
        let lesson = lessons.get(station).copied().unwrap_or_default();
        draft.lots[station].closed |= lesson.closed;
        let fails = failing.get(station).copied().unwrap_or(false);
        if !draws_too_much(draft, wishes, station, fails, lesson) {
            continue;
        }
        draft.lots[station].closed = true;
        while !fits(draft, wishes, station, fails, lesson) {
            match branch(draft, wishes, station, lesson) {
                Some(pipe) => cut.push(cut_off(draft, station, pipe)),
                None => break,
            }
        }
    }
    cut
}

fn draws_too_much(
    draft: &Draft,
    wishes: &Wishes,
    station: usize,
    fails: bool,
    lesson: Lesson,
) -> bool {
    let heads = &draft.lots[station].heads;
    let (Some(least), Some(usual)) = (
        Wishes::load(&wishes.least, heads),
        Wishes::load(&wishes.usual, heads),
    ) else {
        return false;
    };
    least.flow_lpm > FLOW_GRACE * least.flow_most_lpm
        || (fails && !wishes.limits.allow(&usual))
        || usual.flow_lpm > lesson.most_lpm
}

/// Whether what is left of a station may stay.
fn fits(draft: &Draft, wishes: &Wishes, station: usize, fails: bool, lesson: Lesson) -> bool {
    let heads = &draft.lots[station].heads;
    let Some(load) = Wishes::load(&wishes.usual, heads).filter(|load| load.heads > 1) else {
        return true;
    };
    let little = load.flow_lpm <= (FLOW_GRACE * load.flow_most_lpm).min(lesson.most_lpm);
    little && (!fails || wishes.limits.allow(&load))
}

/// What hangs on a pipe.
struct Branch {
    pipe: usize,
    nodes: Vec<usize>,
    flow_lpm: f64,
}

/// The pipe whose branch is to go: the least that is enough, or the greatest of those that are not where that is more than
/// half the station.
fn branch(draft: &Draft, wishes: &Wishes, station: usize, lesson: Lesson) -> Option<usize> {
    let load = Wishes::load(&wishes.usual, &draft.lots[station].heads)?;
    let most_lpm = load.flow_most_lpm.min(lesson.most_lpm);
    let section = Section::Station(station);
    let pipes = draft.live().filter(|(_, pipe)| pipe.section == section);
    let branches: Vec<Branch> = pipes
        .filter_map(|(pipe, _)| below(draft, wishes, pipe))
        .filter(|branch| branch.flow_lpm < load.flow_lpm * (1.0 - 1e-9))
        .collect();
    let enough = |b: &&Branch| load.flow_lpm - b.flow_lpm <= most_lpm;
    let order = |a: &&Branch, b: &&Branch| {
        let flow = a.flow_lpm.total_cmp(&b.flow_lpm);
        flow.then(b.nodes.len().cmp(&a.nodes.len()))
            .then(a.pipe.cmp(&b.pipe))
    };
    let least = branches.iter().filter(enough).min_by(order);
    let most = branches.iter().filter(|b| !enough(b)).max_by(|a, b| {
        let flow = a.flow_lpm.total_cmp(&b.flow_lpm);
        flow.then(a.nodes.len().cmp(&b.nodes.len()))
            .then(b.pipe.cmp(&a.pipe))
    });
    let small = least.filter(|branch| branch.flow_lpm <= 0.5 * load.flow_lpm);
    small.or(most).or(least).map(|branch| branch.pipe)
}

/// The branch behind a pipe; `None` where nothing draws there, something is pinned, or it is fed from elsewhere too.
fn below(draft: &Draft, wishes: &Wishes, pipe: usize) -> Option<Branch> {
    let cut = &draft.work.pipes[pipe];
    let own: Vec<_> = draft
        .live()
        .filter(|(_, other)| other.section == cut.section)
        .collect();
    let mut nodes = vec![cut.to];
    let mut next = 0;
    while next < nodes.len() {
        let node = nodes[next];
        next += 1;
        for (_, other) in own.iter().filter(|(_, other)| other.from == node) {
            if !nodes.contains(&other.to) {
                nodes.push(other.to);
            }
        }
    }
    let fed_elsewhere = own
        .iter()
        .any(|(i, other)| *i != pipe && nodes.contains(&other.to) && !nodes.contains(&other.from));
    let pinned = nodes.iter().any(|node| draft.held[*node]) || draft.is_pinned(pipe);
    let heads = nodes.iter().filter_map(|node| draft.work.nodes[*node].head);
    let flow_lpm: f64 = heads.map(|head| wishes.usual[head].flow_lpm).sum();
    let whole = fed_elsewhere || pinned || nodes.contains(&cut.from) || flow_lpm <= 0.0;
    (!whole).then_some(Branch {
        pipe,
        nodes,
        flow_lpm,
    })
}

/// Cuts a branch off; the pipe it hung on is out.
fn cut_off(draft: &mut Draft, station: usize, pipe: usize) -> Loose {
    let section = Section::Station(station);
    let mut nodes = vec![draft.work.pipes[pipe].to];
    draft.take_out(pipe);
    let mut next = 0;
    while next < nodes.len() {
        let node = nodes[next];
        next += 1;
        draft.work.nodes[node].section = LOOSE;
        for i in 0..draft.work.pipes.len() {
            let own = !draft.pipe_gone[i] && draft.work.pipes[i].section == section;
            if own && draft.work.pipes[i].from == node {
                draft.work.pipes[i].section = LOOSE;
                nodes.push(draft.work.pipes[i].to);
            }
        }
    }
    let heads: Vec<usize> = nodes
        .iter()
        .filter_map(|node| draft.work.nodes[*node].head)
        .collect();
    draft.lots[station]
        .heads
        .retain(|head| !heads.contains(head));
    Loose {
        heads,
        nodes,
        home: None,
    }
}
