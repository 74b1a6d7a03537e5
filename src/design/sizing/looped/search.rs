//! Finds good sizes: descent by single steps and exchanges, started again and again from a disturbed design.
//!
//! What sizes cannot undo step by step is which way most of the water goes. So the first designs come from flows, not
//! sizes: the free flows are halved to some spans by chance, and the network cut open (`relaxed.rs`) is sized for these.

use super::LoopedLimits;
use super::flows::{Judged, Solver};
use super::narrow::Region;
use super::relaxed::relaxed;
use super::span::Span;

/// Designs that the search starts from, beside the widest.
const STARTS: usize = 24;
/// Times each free flow is halved for a start.
const HALVED: usize = 4;

/// Pipes disturbed at most at a new start.
const DISTURBED_MOST: usize = 5;
/// Share by which a design may be dearer than the best and still be disturbed next.
const DEARER_MOST: f64 = 0.01;

/// What the search found.
pub(super) struct Found {
    /// The cheapest design that keeps the limits or, if there is none, the one that lacks least.
    pub(super) ranks: Vec<usize>,
    /// Whether it keeps the limits.
    pub(super) kept: bool,
    /// Its flows, m³/s.
    pub(super) flow_m3s: Vec<f64>,
    /// Designs solved.
    pub(super) solved: usize,
}

/// Finds good sizes; the same for the same seed.
pub(super) fn search(solver: &mut Solver, limits: &LoopedLimits) -> Found {
    let mut walk = Walk {
        widest: solver.laws.pipes.iter().map(|p| p.len() - 1).collect(),
        solver,
        chance: limits.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1,
        solved: 0,
        most: limits.designs_most.max(1),
    };
    let mut best = walk.widest.clone();
    let kept = walk.mend(&mut best);
    if kept {
        best = walk.improve(best, limits.rounds);
    }
    walk.judge(&best);
    Found {
        kept,
        flow_m3s: walk.solver.flow_m3s.clone(),
        ranks: best,
        solved: walk.solved,
    }
}

struct Walk<'s, 'a> {
    solver: &'s mut Solver<'a>,
    widest: Vec<usize>,
    chance: u64,
    solved: usize,
    most: usize,
}

impl Walk<'_, '_> {
    fn improve(&mut self, start: Vec<usize>, rounds: usize) -> Vec<usize> {
        let mut best = start;
        self.descend(&mut best);
        if rounds > 0 {
            self.start_from_flows(&mut best);
        }
        let mut current = best.clone();
        for _ in 0..rounds {
            if self.spent() {
                break;
            }
            let mut next = self.disturbed(&current);
            if !self.mend(&mut next) {
                continue;
            }
            self.descend(&mut next);
            let (cost, least) = (self.cost(&next), self.cost(&best));
            if cost < least {
                best.clone_from(&next);
            }
            if cost <= least * (1.0 + DEARER_MOST) {
                current = next;
            } else {
                current.clone_from(&best);
            }
        }
        best
    }

    /// Puts in place of `best` what is cheaper and comes from flows picked by chance.
    fn start_from_flows(&mut self, best: &mut Vec<usize>) {
        let mut whole = Region::whole(self.solver);
        if !whole.narrow(self.solver, &mut 0) {
            return;
        }
        for _ in 0..STARTS {
            let Some(mut next) = self.by_flows(&whole) else {
                continue;
            };
            if self.mend(&mut next) {
                self.descend(&mut next);
                if self.cost(&next) < self.cost(best) {
                    *best = next;
                }
            }
        }
    }

    /// The cheapest sizes, loops cut open, for free flows halved by chance; `None` where chance left none.
    fn by_flows(&mut self, whole: &Region) -> Option<Vec<usize>> {
        let mut region = whole.clone();
        for _ in 0..HALVED {
            for chord in 0..region.chord.len() {
                let Span { lo, hi } = region.chord[chord];
                let at = 0.5 * (lo + hi);
                let mut halves = [Span { lo, hi: at }, Span { lo: at, hi }];
                if self.below(2) == 0 {
                    halves.reverse();
                }
                region = halves.into_iter().find_map(|half| {
                    let mut part = region.clone();
                    part.chord[chord] = half;
                    part.narrow(self.solver, &mut 0).then_some(part)
                })?;
            }
        }
        relaxed(self.solver, &region, f64::INFINITY).map(|tree| tree.ranks)
    }

    fn spent(&self) -> bool {
        self.solved >= self.most
    }

    fn cost(&self, ranks: &[usize]) -> f64 {
        self.solver.laws.cost(ranks)
    }

    fn price(&self, pipe: usize, rank: usize) -> f64 {
        self.solver.laws.pipes[pipe][rank].price
    }

    fn judge(&mut self, ranks: &[usize]) -> Judged {
        self.solved += 1;
        self.solver.judge(ranks)
    }

    /// Marsaglia 2003, xorshift.
    fn below(&mut self, count: usize) -> usize {
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        (self.chance % count.max(1) as u64) as usize
    }

    fn shuffled(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for last in (1..count).rev() {
            let other = self.below(last + 1);
            order.swap(last, other);
        }
        order
    }

    /// A few pipes wider or narrower by one or two ranks.
    fn disturbed(&mut self, ranks: &[usize]) -> Vec<usize> {
        let mut next = ranks.to_vec();
        if next.is_empty() {
            return next;
        }
        for _ in 0..2 + self.below(DISTURBED_MOST - 1) {
            let pipe = self.below(next.len());
            let by = 1 + self.below(2);
            next[pipe] = if self.below(3) == 0 {
                next[pipe].saturating_sub(by)
            } else {
                (next[pipe] + by).min(self.widest[pipe])
            };
        }
        next
    }

    /// Changes sizes one by one, each time the one that helps most for its price, until the limits are kept or nothing
    /// helps; tells which.
    fn mend(&mut self, ranks: &mut [usize]) -> bool {
        let mut now = self.judge(ranks);
        while !now.kept() {
            let mut best: Option<(f64, usize, usize, Judged)> = None;
            for pipe in 0..ranks.len() {
                let old = ranks[pipe];
                for rank in neighbours(old, self.widest[pipe]) {
                    if self.spent() {
                        return false;
                    }
                    ranks[pipe] = rank;
                    let then = self.judge(ranks);
                    let gain = now.lacking - then.lacking;
                    let dearer = (self.price(pipe, rank) - self.price(pipe, old)).max(0.0);
                    let worth = gain / (dearer + f64::EPSILON);
                    if then.solved && gain > 1e-9 && best.is_none_or(|(most, ..)| worth > most) {
                        best = Some((worth, pipe, rank, then));
                    }
                }
                ranks[pipe] = old;
            }
            let Some((_, pipe, rank, then)) = best else {
                return false;
            };
            ranks[pipe] = rank;
            now = then;
        }
        true
    }

    /// Goes to a design that no cheaper one near it beats: one pipe changed, or one changed in exchange for another.
    fn descend(&mut self, ranks: &mut [usize]) {
        loop {
            while self.one_cheaper(ranks) {}
            if self.spent() || !self.exchange(ranks) {
                return;
            }
        }
    }

    fn one_cheaper(&mut self, ranks: &mut [usize]) -> bool {
        let mut changed = false;
        for pipe in self.shuffled(ranks.len()) {
            let old = ranks[pipe];
            for rank in neighbours(old, self.widest[pipe]) {
                if self.price(pipe, rank) < self.price(pipe, old) && !self.spent() {
                    ranks[pipe] = rank;
                    if self.judge(ranks).kept() {
                        changed = true;
                        break;
                    }
                    ranks[pipe] = old;
                }
            }
        }
        changed
    }

    /// One pipe cheaper by up to two ranks, another dearer by one, if the sum is cheaper.
    fn exchange(&mut self, ranks: &mut [usize]) -> bool {
        let order = self.shuffled(ranks.len());
        for &give in &order {
            let old_give = ranks[give];
            for by in [1, 2] {
                let Some(rank) = old_give.checked_sub(by) else {
                    break;
                };
                let saved = self.price(give, old_give) - self.price(give, rank);
                if saved <= 0.0 {
                    continue;
                }
                ranks[give] = rank;
                for &take in &order {
                    if take == give || self.spent() {
                        continue;
                    }
                    let old_take = ranks[take];
                    if old_take == self.widest[take] {
                        continue;
                    }
                    let paid = self.price(take, old_take + 1) - self.price(take, old_take);
                    if paid < saved * (1.0 - 1e-12) {
                        ranks[take] = old_take + 1;
                        if self.judge(ranks).kept() {
                            return true;
                        }
                        ranks[take] = old_take;
                    }
                }
                ranks[give] = old_give;
            }
        }
        false
    }
}

/// The ranks beside one.
fn neighbours(rank: usize, widest: usize) -> impl Iterator<Item = usize> {
    let wider = (rank < widest).then_some(rank + 1);
    rank.checked_sub(1).into_iter().chain(wider)
}
