//! Leaves out of a box what cannot be: flows, heads and sizes that do not meet.
//!
//! A box holds a span for each flow and head and a set of sizes for each pipe. Any design that keeps the limits, with
//! its sizes in the sets and its chords' flows in their spans, has all its flows and heads in the spans: each step below
//! takes away only what one of the network's equations excludes for every size left. Ends are rounded outwards.

use super::flows::{SHORT_MOST_M, Solver};
use super::laws::{Choice, flows, loss_m, losses};
use super::span::Span;

/// Rounds of narrowing at most; one that does little ends it sooner.
const ROUNDS_MOST: usize = 12;
/// Share of a span that must go for another round to be worth it.
const WORTH: f64 = 0.02;

/// Some of the designs.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Region {
    /// Flow in each chord, m³/s.
    pub(super) chord: Vec<Span>,
    /// Flow in each pipe, m³/s.
    pub(super) flow: Vec<Span>,
    /// Head at each node, m.
    pub(super) head: Vec<Span>,
    /// Ranks each pipe may have, one bit each.
    pub(super) ranks: Vec<u64>,
}

impl Region {
    /// All designs that keep the limits.
    pub(super) fn whole(solver: &Solver) -> Self {
        let problem = solver.problem;
        // Nothing is brought in but by sources, so no head lies above the highest of theirs.
        let heads = problem.nodes.iter().filter_map(|node| node.fixed_head_m);
        let highest = heads.fold(f64::NEG_INFINITY, f64::max);
        let head = problem.nodes.iter().map(|node| match node.fixed_head_m {
            Some(head) => Span::at(head),
            None => Span {
                lo: node.elevation_m + node.least_pressure_m - 2.0 * SHORT_MOST_M,
                hi: highest,
            },
        });
        let all = |choices: &Vec<Choice>| u64::MAX >> (64 - choices.len().clamp(1, 64));
        let endless = Span {
            lo: f64::NEG_INFINITY,
            hi: f64::INFINITY,
        };
        let mut region = Self {
            chord: vec![endless; solver.frame.chords.len()],
            flow: vec![endless; problem.pipes.len()],
            head: head.collect(),
            ranks: solver.laws.pipes.iter().map(all).collect(),
        };
        region.give_flows(solver);
        region
    }

    /// First spans of the flows: what the heads can drive and, with one source, what is drawn in all.
    fn give_flows(&mut self, solver: &Solver) {
        let problem = solver.problem;
        let sources = problem.nodes.iter().filter(|n| n.fixed_head_m.is_some());
        let drawn: f64 = problem.nodes.iter().map(|node| node.demand_m3s).sum();
        let most = if sources.count() == 1 {
            drawn * (1.0 + 1e-9)
        } else {
            f64::INFINITY
        };
        for (pipe, it) in problem.pipes.iter().enumerate() {
            let resistance = spanned(&solver.laws.pipes[pipe], self.ranks[pipe]);
            let driven = flows(resistance, self.head[it.from].minus(self.head[it.to]));
            self.flow[pipe] = driven;
            self.flow[pipe].keep(Span {
                lo: -most,
                hi: most,
            });
        }
        for (place, &chord) in solver.frame.chords.iter().enumerate() {
            self.chord[place] = self.flow[chord];
        }
    }

    /// How many ranks a pipe may have.
    pub(super) fn count(&self, pipe: usize) -> usize {
        self.ranks[pipe].count_ones() as usize
    }

    /// The one design of the sizes left, if there is but one.
    pub(super) fn only(&self) -> Option<Vec<usize>> {
        let one = |ranks: &u64| (ranks.count_ones() == 1).then(|| ranks.trailing_zeros() as usize);
        self.ranks.iter().map(one).collect()
    }

    /// Narrows the box; tells whether anything may be left. `struck` counts sizes taken away.
    pub(super) fn narrow(&mut self, solver: &Solver, struck: &mut usize) -> bool {
        for _ in 0..ROUNDS_MOST {
            let mut worth = false;
            if !self.narrow_flows(solver, &mut worth) {
                return false;
            }
            for pipe in 0..self.flow.len() {
                if !self.narrow_pipe(solver, pipe, struck, &mut worth) {
                    return false;
                }
            }
            if !worth {
                break;
            }
        }
        true
    }

    /// Continuity: each flow is what the chords through the pipe make it.
    fn narrow_flows(&mut self, solver: &Solver, worth: &mut bool) -> bool {
        let frame = solver.frame;
        for (pipe, through) in frame.through.iter().enumerate() {
            let base = Span::at(frame.base_m3s[pipe]);
            let all = through.iter().fold(base, |sum, &(chord, sign)| {
                sum.plus(self.chord[chord].signed(sign))
            });
            if !kept(&mut self.flow[pipe], all, worth) {
                return false;
            }
            for &(chord, sign) in through {
                let others = through.iter().filter(|(other, _)| *other != chord);
                let others = others.fold(base, |sum, &(other, sign)| {
                    sum.plus(self.chord[other].signed(sign))
                });
                let its = self.flow[pipe].minus(others).signed(sign);
                if !kept(&mut self.chord[chord], its, worth) {
                    return false;
                }
            }
        }
        true
    }

    /// One pipe: its flow, the heads beside it and the sizes it may have.
    fn narrow_pipe(
        &mut self,
        solver: &Solver,
        pipe: usize,
        struck: &mut usize,
        worth: &mut bool,
    ) -> bool {
        let choices = &solver.laws.pipes[pipe];
        let (from, to) = (
            solver.problem.pipes[pipe].from,
            solver.problem.pipes[pipe].to,
        );
        let lost = self.head[from].minus(self.head[to]);
        let flow = self.flow[pipe];
        let mut left = 0;
        for rank in bits(self.ranks[pipe]) {
            let choice = &choices[rank];
            let takes = Span {
                lo: loss_m(choice.resistance, flow.lo),
                hi: loss_m(choice.resistance, flow.hi),
            };
            let slow = flow.least_abs() <= choice.flow_most_m3s * (1.0 + 1e-6);
            if slow && !takes.misses(lost) {
                left |= 1 << rank;
            }
        }
        if left != self.ranks[pipe] {
            *struck += (self.ranks[pipe] & !left).count_ones() as usize;
            *worth = true;
            self.ranks[pipe] = left;
        }
        if left == 0 {
            return false;
        }
        let resistance = spanned(choices, left);
        let widest = bits(left).map(|rank| choices[rank].flow_most_m3s);
        let most = widest.fold(0.0, f64::max) * (1.0 + 1e-6);
        if !kept(&mut self.flow[pipe], flows(resistance, lost), worth)
            || !kept(
                &mut self.flow[pipe],
                Span {
                    lo: -most,
                    hi: most,
                },
                worth,
            )
        {
            return false;
        }
        let takes = losses(resistance, self.flow[pipe]);
        let (high, low) = (self.head[from], self.head[to]);
        kept(&mut self.head[from], low.plus(takes), worth)
            && kept(&mut self.head[to], high.minus(takes), worth)
    }
}

/// Keeps of a span what lies in another too; tells whether anything is left, and in `worth` whether much went.
fn kept(span: &mut Span, other: Span, worth: &mut bool) -> bool {
    let before = span.width();
    let gone = span.keep(other);
    *worth |= gone > WORTH * before && before > 1e-6;
    !span.is_empty()
}

/// Ranks in a set.
pub(super) fn bits(mut set: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let rank = (set != 0).then(|| set.trailing_zeros() as usize)?;
        set &= set - 1;
        Some(rank)
    })
}

/// Resistances of the ranks in a set: they fall with the rank.
pub(super) fn spanned(choices: &[Choice], ranks: u64) -> Span {
    let first = ranks.trailing_zeros() as usize;
    let last = 63_usize.saturating_sub(ranks.leading_zeros() as usize);
    let resistance = |rank: usize| choices.get(rank).map_or(0.0, |choice| choice.resistance);
    Span {
        lo: resistance(last),
        hi: resistance(first),
    }
}
