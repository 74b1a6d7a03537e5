//! How cheap any sizes can be: branch and bound over flows and sizes, leaving out nothing that could keep the limits.
//!
//! A box is cut in two where the flow of a chord is known too loosely, else by the size of one pipe; the parts together
//! hold all of it. A part is left out if nothing in it meets (`narrow.rs`) or if it costs too much with its loops cut open
//! (`relaxed.rs`); a single design is settled by solving it. The box with the lowest bound comes first, so that the
//! bound of the whole is that of the next box at any time.

use super::flows::Solver;
use super::laws::loss_m;
use super::narrow::{Region, spanned};
use super::relaxed::{Relaxed, relaxed};
use super::span::Span;
use super::{LoopedLimits, LoopedWork};
use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap};

/// Share of the greatest head to be spent that a flow may leave open around its loop; above it the flow is cut, not a size.
const LOOSE: f64 = 0.03;
/// Share of a cost that is rounding.
const ROUNDING: f64 = 1e-9;
/// Designs of one cost kept for counting.
const TIES_MOST: usize = 10_000;

/// What is proven.
pub(super) struct Proof {
    /// The cheapest design known that keeps the limits.
    pub(super) best: Option<Vec<usize>>,
    /// Nothing that keeps the limits costs less.
    pub(super) bound: f64,
    /// Whether that is the best design's own cost or, without one, whether none keeps the limits.
    pub(super) closed: bool,
    /// Designs of the best cost.
    pub(super) ties: Option<usize>,
    /// What was done.
    pub(super) work: LoopedWork,
}

/// Proves what it can from a design that keeps the limits, or from none.
pub(super) fn prove(
    solver: &mut Solver,
    start: Option<Vec<usize>>,
    limits: &LoopedLimits,
) -> Proof {
    prove_by(solver, start, limits, LOOSE)
}

/// The same with a share of the head of one's own from which on flows are cut rather than sizes.
pub(super) fn prove_by(
    solver: &mut Solver,
    start: Option<Vec<usize>>,
    limits: &LoopedLimits,
    loose: f64,
) -> Proof {
    let cost = start
        .as_ref()
        .map_or(f64::INFINITY, |ranks| solver.laws.cost(ranks));
    let mut prover = Prover {
        solver,
        ties: start.iter().cloned().collect(),
        best: start,
        cost,
        count_ties: limits.count_ties,
        loose_m: 0.0,
        open: BinaryHeap::new(),
        made: 0,
        work: LoopedWork::default(),
    };
    let whole = Region::whole(prover.solver);
    let widths = |head: &Span| head.width();
    prover.loose_m = loose * whole.head.iter().map(widths).fold(0.0, f64::max);
    prover.take(whole, 0.0);
    prover.run(limits.boxes_most)
}

/// A box still to be looked into.
struct Open {
    bound: f64,
    made: usize,
    region: Region,
    likely: Vec<usize>,
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Open {}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Open {
    /// The lowest bound is the greatest; of equals the one made last.
    fn cmp(&self, other: &Self) -> Ordering {
        let bound = other.bound.total_cmp(&self.bound);
        bound.then(self.made.cmp(&other.made))
    }
}

struct Prover<'s, 'a> {
    solver: &'s mut Solver<'a>,
    best: Option<Vec<usize>>,
    cost: f64,
    ties: BTreeSet<Vec<usize>>,
    count_ties: bool,
    loose_m: f64,
    open: BinaryHeap<Open>,
    made: usize,
    work: LoopedWork,
}

impl Prover<'_, '_> {
    fn run(mut self, boxes_most: usize) -> Proof {
        while let Some(next) = self.open.pop() {
            if next.bound > self.most() {
                // So do all others.
                self.work.cut_by_cost += 1 + self.open.len();
                self.open.clear();
                break;
            }
            if self.work.boxes >= boxes_most {
                self.open.push(next);
                break;
            }
            self.work.boxes += 1;
            for part in self.parts(&next) {
                self.take(part, next.bound);
            }
        }
        self.told()
    }

    fn told(self) -> Proof {
        let closed = self.open.is_empty() && self.work.unsolved == 0;
        let bound = match self.open.peek() {
            _ if self.work.unsolved > 0 => 0.0,
            Some(open) => open.bound.min(self.cost),
            None => self.cost,
        };
        let counted = closed && self.count_ties && self.ties.len() < TIES_MOST;
        Proof {
            ties: counted.then_some(self.ties.len()),
            best: self.best,
            bound,
            closed,
            work: self.work,
        }
    }

    /// The most a design may cost to be of interest.
    fn most(&self) -> f64 {
        let rounding = if self.count_ties { ROUNDING } else { -ROUNDING };
        self.cost * (1.0 + rounding)
    }

    /// Narrows a box and leaves it out, settles it, or keeps it for later.
    fn take(&mut self, mut region: Region, bound: f64) {
        if !region.narrow(self.solver, &mut self.work.struck) {
            self.work.cut_by_heads += 1;
            return;
        }
        let Some(Relaxed { cost, ranks }) = relaxed(self.solver, &region, self.most()) else {
            self.work.cut_by_cost += 1;
            return;
        };
        if let Some(only) = region.only() {
            self.try_design(&only);
            return;
        }
        self.try_design(&ranks);
        self.made += 1;
        self.open.push(Open {
            bound: cost.max(bound),
            made: self.made,
            region,
            likely: ranks,
        });
    }

    /// Solves a design if it is of interest.
    fn try_design(&mut self, ranks: &[usize]) {
        let cost = self.solver.laws.cost(ranks);
        if cost > self.most() {
            return;
        }
        let judged = self.solver.judge(ranks);
        self.work.solved += 1;
        if !judged.solved {
            self.work.unsolved += 1;
        } else if judged.kept() {
            if cost < self.cost * (1.0 - ROUNDING) {
                self.cost = cost;
                self.best = Some(ranks.to_vec());
                self.ties.clear();
            }
            if self.ties.len() < TIES_MOST {
                self.ties.insert(ranks.to_vec());
            }
        }
    }

    /// Cuts a box.
    fn parts(&self, open: &Open) -> Vec<Region> {
        match self.loosest(open) {
            Some(chord) => halves(&open.region, chord),
            None => self.by_size(open),
        }
    }

    /// The chord whose flow leaves most heads open, if that is much.
    fn loosest(&self, open: &Open) -> Option<usize> {
        let loose_m = |chord: usize| -> f64 {
            let half = 0.5 * open.region.chord[chord].width();
            let ring = self.solver.frame.rings[chord].iter();
            let each = ring.map(|&(pipe, _)| {
                let resistance = self.solver.laws.pipes[pipe][open.likely[pipe]].resistance;
                let middle = open.region.flow[pipe].middle();
                loss_m(resistance, middle + half) - loss_m(resistance, middle - half)
            });
            each.sum()
        };
        let chords = (0..self.solver.frame.chords.len()).map(|chord| (loose_m(chord), chord));
        let (most, chord) = chords.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))?;
        (most > self.loose_m).then_some(chord)
    }

    /// Cuts by the size of the pipe whose sizes leave most heads open.
    fn by_size(&self, open: &Open) -> Vec<Region> {
        let region = &open.region;
        let open_m = |pipe: usize| {
            let choices = &self.solver.laws.pipes[pipe];
            let flow = region.flow[pipe].middle().abs();
            let ranks = region.ranks[pipe];
            let resistance = spanned(choices, ranks);
            loss_m(resistance.hi, flow) - loss_m(resistance.lo, flow)
        };
        let several = (0..region.ranks.len()).filter(|&pipe| region.count(pipe) > 1);
        let pipe = several.max_by(|&a, &b| open_m(a).total_cmp(&open_m(b)).then(b.cmp(&a)));
        let Some(pipe) = pipe else { return Vec::new() };
        let likely = 1_u64 << open.likely[pipe];
        let narrower = region.ranks[pipe] & (likely - 1);
        let wider = region.ranks[pipe] & !(likely - 1) & !likely;
        let sets = [narrower, region.ranks[pipe] & likely, wider];
        let part = |set: u64| {
            let mut part = region.clone();
            part.ranks[pipe] = set;
            part
        };
        sets.into_iter().filter(|&set| set != 0).map(part).collect()
    }
}

/// The two halves of a box by the flow of a chord.
fn halves(region: &Region, chord: usize) -> Vec<Region> {
    let Span { lo, hi } = region.chord[chord];
    // Zero is where the flow turns: a good place to cut.
    let at = if lo < 0.0 && hi > 0.0 {
        0.0
    } else {
        0.5 * (lo + hi)
    };
    let part = |span: Span| {
        let mut part = region.clone();
        part.chord[chord] = span;
        part
    };
    vec![part(Span { lo, hi: at }), part(Span { lo: at, hi })]
}
