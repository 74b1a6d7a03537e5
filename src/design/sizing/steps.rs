//! What a part of the tree costs at each head at its upper end, where heads may have too little and too much.
//!
//! With a limit on the spread a head takes any head from its need up to its need and the limit, so that with the head at
//! the valve fixed, every part of the tree asks for its own head only: one dimension, not two for the greatest and the
//! least need. The cost is a step function that may rise as well as fall. All heads and prices are whole numbers of
//! [`HEAD_UNITS`] and [`PRICE_UNITS`], so that sums and differences are exact and no step is lost or doubled by rounding.

use super::tree::Labels;

/// Whole units of head in a metre.
pub(super) const HEAD_UNITS: f64 = 1e9;
/// Whole units of price in one of the catalogue's.
pub(super) const PRICE_UNITS: f64 = 1e6;

/// A price that holds from a head on, up to the next step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub(super) from: f64,
    /// Infinite where the part cannot be built.
    pub(super) cost: f64,
    /// Size of the pipe at the upper end.
    size: usize,
}

/// Steps by rising head; below the first the part cannot be built.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Steps(pub(super) Vec<Step>);

/// How steps are kept few.
#[derive(Debug, Clone, Copy)]
pub(super) struct Keep {
    /// Head that is not to be had, in units.
    pub(super) need_most: f64,
    /// Most steps held.
    pub(super) most: usize,
}

impl Steps {
    /// A head that takes anything from `need` to `need + spread`, in units.
    pub(super) fn head(need: f64, spread: f64) -> Self {
        let step = |from: f64, cost: f64| Step {
            from,
            cost,
            size: 0,
        };
        Self(vec![
            step(need, 0.0),
            step(need + spread + 1.0, f64::INFINITY),
        ])
    }

    /// The cheaper and cheaper steps, by rising head.
    pub(super) fn falling(&self) -> impl Iterator<Item = Step> {
        let mut least = f64::INFINITY;
        self.0.iter().copied().filter(move |step| {
            let cheaper = step.cost < least;
            least = least.min(step.cost);
            cheaper
        })
    }

    /// Walks over both in the order of heads and keeps what `of` makes of the two steps that hold.
    fn sweep(&self, other: &Self, of: impl Fn(Step, Step) -> Step) -> Self {
        let nothing = Step {
            from: f64::NEG_INFINITY,
            cost: f64::INFINITY,
            size: 0,
        };
        let (a, b) = (&self.0, &other.0);
        let mut swept: Vec<Step> = Vec::with_capacity(a.len() + b.len());
        let (mut i, mut j) = (0, 0);
        while i < a.len() || j < b.len() {
            let left = a.get(i).map_or(f64::INFINITY, |step| step.from);
            let right = b.get(j).map_or(f64::INFINITY, |step| step.from);
            let from = left.min(right);
            i += usize::from(i < a.len() && left <= from);
            j += usize::from(j < b.len() && right <= from);
            let held = |steps: &[Step], next: usize| {
                let last = next.checked_sub(1).and_then(|last| steps.get(last));
                last.copied().unwrap_or(nothing)
            };
            let step = Step {
                from,
                ..of(held(a, i), held(b, j))
            };
            let before = swept.last().copied().unwrap_or(nothing);
            let goes_on = before.cost == step.cost
                && (before.size == step.size || step.cost == f64::INFINITY);
            if !goes_on {
                swept.push(step);
            }
        }
        Self(swept)
    }

    /// At most `most` steps: of neighbours only the cheapest can still be built.
    fn thinned(mut self, most: usize) -> (Self, bool) {
        let count = self.0.len();
        if count <= most {
            return (self, false);
        }
        let group = count.div_ceil(most / 2);
        for steps in self.0.chunks_mut(group) {
            let least = steps
                .iter()
                .map(|step| step.cost)
                .fold(f64::INFINITY, f64::min);
            for step in steps.iter_mut().filter(|step| step.cost > least) {
                step.cost = f64::INFINITY;
            }
        }
        (self.sweep(&Self(Vec::new()), |step, _| step), true)
    }
}

impl Labels for Steps {
    type Keep = Keep;

    fn none() -> Self {
        Self(Vec::new())
    }

    fn free() -> Self {
        Self(vec![Step {
            from: f64::NEG_INFINITY,
            cost: 0.0,
            size: 0,
        }])
    }

    /// Both behind one node: the same head for both, the sum of the costs.
    fn join(&self, other: &Self, _: &Keep) -> Self {
        self.sweep(other, |a, b| Step {
            cost: a.cost + b.cost,
            size: 0,
            ..a
        })
    }

    fn merge(&self, other: &Self, keep: &Keep) -> (Self, bool) {
        let mut merged = self.sweep(other, |a, b| if b.cost < a.cost { b } else { a });
        let within = merged.0.partition_point(|step| step.from <= keep.need_most);
        merged.0.truncate(within);
        merged.thinned(keep.most)
    }

    fn through(&self, size: usize, loss: f64, price: f64) -> Self {
        let through = |step: &Step| Step {
            from: step.from + loss,
            cost: step.cost + price,
            size,
        };
        Self(self.0.iter().map(through).collect())
    }

    fn cheapest(&self, head: f64) -> Option<usize> {
        let after = self.0.partition_point(|step| step.from <= head);
        let step = self.0[..after].last()?;
        step.cost.is_finite().then_some(step.size)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn costs(steps: &Steps) -> Vec<(f64, f64)> {
        steps.0.iter().map(|step| (step.from, step.cost)).collect()
    }

    const KEEP: Keep = Keep {
        need_most: f64::INFINITY,
        most: 1000,
    };

    #[test]
    fn two_heads_on_one_node_share_what_both_can_take() {
        let joined = Steps::head(10.0, 5.0).join(&Steps::head(13.0, 5.0), &KEEP);
        assert_eq!(costs(&joined), [(13.0, 0.0), (16.0, f64::INFINITY)]);
        let apart = Steps::head(10.0, 5.0).join(&Steps::head(17.0, 5.0), &KEEP);
        assert_eq!(costs(&apart), []);
    }

    #[test]
    fn the_cheaper_pipe_is_taken_wherever_it_serves() {
        let head = Steps::head(10.0, 5.0);
        let (merged, lost) = head
            .through(0, 4.0, 1.0)
            .merge(&head.through(1, 1.0, 3.0), &KEEP);
        assert!(!lost);
        let expected = [(11.0, 3.0), (14.0, 1.0), (20.0, f64::INFINITY)];
        assert_eq!(costs(&merged), expected);
        assert_eq!(merged.cheapest(13.0), Some(1));
        assert_eq!(merged.cheapest(14.0), Some(0));
        assert_eq!(merged.cheapest(20.0), None);
        assert_eq!(merged.cheapest(10.0), None);
    }

    #[test]
    fn a_hole_between_two_sizes_stays_a_hole() {
        let head = Steps::head(10.0, 1.0);
        let (merged, _) = head
            .through(0, 9.0, 1.0)
            .merge(&head.through(1, 1.0, 3.0), &KEEP);
        assert_eq!(merged.cheapest(15.0), None);
        assert_eq!(merged.falling().count(), 2);
    }

    #[test]
    fn thinning_keeps_the_cheapest_and_tells() {
        let steps = (0..100).map(|i| Step {
            from: f64::from(i),
            cost: f64::from((i * 37) % 100),
            size: 0,
        });
        let (few, lost) = Steps(steps.collect()).thinned(20);
        assert!(lost && few.0.len() <= 20);
        assert!(few.0.iter().any(|step| step.cost == 0.0));
    }
}
