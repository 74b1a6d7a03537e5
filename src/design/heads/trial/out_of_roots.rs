//! A finished layout led out of root zones.

use super::Trial;
use super::best::Best;

/// Layouts after the first, and how many times more roots weigh from one to the next.
const LAYOUTS: usize = 4;
const TIMES_MORE: f64 = 2.0;
/// Heads all but outside root zones: in sum, in heads that stand 4 m inside.
const AMONG_ROOTS_LEAST: f64 = 0.1;

impl Trial<'_> {
    /// Of a layout and those that come of it as roots weigh more and more, the best.
    pub(super) fn out_of_roots<'b>(&self, best: Best<'b>) -> Best<'b> {
        let targets = self.targets();
        let mut last = best.search.clone();
        let heads = last.count();
        let mut kept = best;
        let mut least = kept.search.figures().score_among_roots(&targets, heads);
        for _ in 0..LAYOUTS {
            if targets.roots <= 0.0 || last.figures().roots < AMONG_ROOTS_LEAST {
                break;
            }
            last.leave_roots(
                &targets,
                TIMES_MORE * last.weights.roots,
                self.task.rules.search_effort,
            );
            let score = last.figures().score_among_roots(&targets, heads);
            if score < least {
                least = score;
                kept = Best::of(last.clone(), &targets);
            }
        }
        kept
    }
}
