//! Solves one design: the flows in the chords, by Newton's method on the losses around the loops.
//!
//! The equations are those of [`solve`](crate::design::hydraulics::solve()), told in far fewer unknowns: one to a loop. The
//! sum of what the losses cost the water is convex in the chords' flows, so a step is shortened until it does not overshoot.

use super::frame::Frame;
use super::laws::{Laws, loss_and_slope};
use super::{LoopedError, LoopedProblem};

/// Imbalance around a loop that is left, m, and what rounding adds to it as a share of the greatest loss.
const IMBALANCE_MOST_M: f64 = 1e-10;
const IMBALANCE_ROUNDING: f64 = 1e-13;
/// Steps made at most.
const STEPS_MOST: usize = 100;
/// Times a step is halved at most.
const HALVINGS_MOST: usize = 40;
/// What a node may be short by, m, and a pipe too fast by, as a share.
pub(super) const SHORT_MOST_M: f64 = 1e-6;
const FAST_MOST: f64 = 1e-9;

/// How a design keeps the limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Judged {
    /// What the worst node lacks, m; below 0 if it has more than it needs.
    pub(super) short_m: f64,
    /// What all nodes lack together, m, and one metre for each m/s that a pipe runs too fast.
    pub(super) lacking: f64,
    /// Greatest share of the greatest flow by velocity.
    pub(super) fullest: f64,
    /// Whether the equations were solved.
    pub(super) solved: bool,
}

impl Judged {
    pub(super) fn kept(&self) -> bool {
        self.solved && self.short_m <= SHORT_MOST_M && self.fullest <= 1.0 + FAST_MOST
    }
}

/// A main with its frame, and the state of the design solved last.
pub(super) struct Solver<'a> {
    pub(super) problem: &'a LoopedProblem,
    pub(super) laws: &'a Laws,
    pub(super) frame: &'a Frame,
    pub(super) head_m: Vec<f64>,
    pub(super) flow_m3s: Vec<f64>,
    chord_m3s: Vec<f64>,
    resistance: Vec<f64>,
    loss_m: Vec<f64>,
    slope: Vec<f64>,
    imbalance_m: Vec<f64>,
    matrix: Vec<f64>,
    step: Vec<f64>,
}

impl<'a> Solver<'a> {
    pub(super) fn new(problem: &'a LoopedProblem, laws: &'a Laws, frame: &'a Frame) -> Self {
        let (pipes, loops) = (problem.pipes.len(), frame.chords.len());
        Self {
            problem,
            laws,
            frame,
            head_m: problem
                .nodes
                .iter()
                .map(|node| node.fixed_head_m.unwrap_or(0.0))
                .collect(),
            flow_m3s: frame.base_m3s.clone(),
            chord_m3s: vec![0.0; loops],
            resistance: vec![0.0; pipes],
            loss_m: vec![0.0; pipes],
            slope: vec![0.0; pipes],
            imbalance_m: vec![0.0; loops],
            matrix: vec![0.0; loops * loops],
            step: vec![0.0; loops],
        }
    }

    /// Solves the design of these ranks, starting from the flows of the one before, and judges it.
    pub(super) fn judge(&mut self, ranks: &[usize]) -> Judged {
        for (pipe, &rank) in ranks.iter().enumerate() {
            self.resistance[pipe] = self.laws.pipes[pipe][rank].resistance;
        }
        let solved = self.settle();
        self.tell_heads();
        let mut judged = Judged {
            short_m: f64::NEG_INFINITY,
            lacking: 0.0,
            fullest: 0.0,
            solved,
        };
        for &node in &self.frame.order {
            let short_m = self.short_m(node);
            judged.short_m = judged.short_m.max(short_m);
            judged.lacking += short_m.max(0.0);
        }
        for (pipe, &rank) in ranks.iter().enumerate() {
            let choice = &self.laws.pipes[pipe][rank];
            let flow = self.flow_m3s[pipe].abs();
            judged.fullest = judged.fullest.max(flow / choice.flow_most_m3s);
            judged.lacking += ((flow - choice.flow_most_m3s) / choice.area_m2).max(0.0);
        }
        judged
    }

    /// What a node lacks, m.
    fn short_m(&self, node: usize) -> f64 {
        let it = &self.problem.nodes[node];
        it.elevation_m + it.least_pressure_m - self.head_m[node]
    }

    /// What the design of these ranks falls short by, and where.
    pub(super) fn shortage(&mut self, ranks: &[usize], proven: bool) -> LoopedError {
        let judged = self.judge(ranks);
        if !judged.solved {
            return LoopedError::Unsolved;
        }
        let short_m = |node: &usize| self.short_m(*node);
        let nodes = self.frame.order.iter().copied();
        let worst = nodes.max_by(|a, b| short_m(a).total_cmp(&short_m(b)).then(b.cmp(a)));
        if let Some(node) = worst.filter(|node| short_m(node) > SHORT_MOST_M) {
            return LoopedError::Short {
                node,
                short_m: short_m(&node),
                proven,
            };
        }
        let over = |pipe: &usize| {
            let choice = &self.laws.pipes[*pipe][ranks[*pipe]];
            (self.flow_m3s[*pipe].abs() - choice.flow_most_m3s) / choice.area_m2
        };
        let pipes = 0..ranks.len();
        match pipes.max_by(|a, b| over(a).total_cmp(&over(b)).then(b.cmp(a))) {
            Some(pipe) => LoopedError::Fast {
                pipe,
                over_m_s: over(&pipe),
                proven,
            },
            None => LoopedError::Unsolved,
        }
    }

    /// Newton's method; tells whether it arrived.
    fn settle(&mut self) -> bool {
        self.balance();
        for _ in 0..STEPS_MOST {
            if self.balanced() {
                return true;
            }
            if !self.find_step() {
                return false;
            }
            self.go();
        }
        self.balanced()
    }

    fn balanced(&self) -> bool {
        let greatest_m = self
            .loss_m
            .iter()
            .fold(0.0, |most: f64, x| most.max(x.abs()));
        let most_m = IMBALANCE_MOST_M + IMBALANCE_ROUNDING * greatest_m;
        self.imbalance_m.iter().all(|x| x.abs() <= most_m)
    }

    /// Flows, losses and imbalances from the chords' flows.
    fn balance(&mut self) {
        for pipe in 0..self.flow_m3s.len() {
            let mut flow = self.frame.base_m3s[pipe];
            for &(chord, sign) in &self.frame.through[pipe] {
                flow += sign * self.chord_m3s[chord];
            }
            self.flow_m3s[pipe] = flow;
            let (loss, slope) = loss_and_slope(self.resistance[pipe], flow);
            self.loss_m[pipe] = loss;
            self.slope[pipe] = slope;
        }
        for (chord, ring) in self.frame.rings.iter().enumerate() {
            let lost: f64 = ring.iter().map(|&(p, sign)| sign * self.loss_m[p]).sum();
            self.imbalance_m[chord] = lost - self.frame.driven_m[chord];
        }
    }

    /// The step from `matrix · step = -imbalance`.
    fn find_step(&mut self) -> bool {
        let loops = self.step.len();
        self.matrix.fill(0.0);
        for (through, slope) in self.frame.through.iter().zip(&self.slope) {
            for &(a, sign_a) in through {
                for &(b, sign_b) in through {
                    self.matrix[a * loops + b] += sign_a * sign_b * slope;
                }
            }
        }
        for (step, imbalance) in self.step.iter_mut().zip(&self.imbalance_m) {
            *step = -imbalance;
        }
        cholesky(&mut self.matrix, &mut self.step)
    }

    /// Goes the step, or the part of it that does not overshoot.
    fn go(&mut self) {
        let along = |solver: &Self| -> f64 {
            let pairs = solver.imbalance_m.iter().zip(&solver.step);
            pairs.map(|(imbalance, step)| imbalance * step).sum()
        };
        let before = along(self).abs();
        for (chord, step) in self.chord_m3s.iter_mut().zip(&self.step) {
            *chord += step;
        }
        let mut share = 1.0;
        for _ in 0..HALVINGS_MOST {
            self.balance();
            if along(self) <= 0.5 * before + f64::MIN_POSITIVE {
                return;
            }
            share *= 0.5;
            for (chord, step) in self.chord_m3s.iter_mut().zip(&self.step) {
                *chord -= share * step;
            }
        }
        self.balance();
    }

    fn tell_heads(&mut self) {
        for &node in &self.frame.order {
            if let Some((pipe, before, downwards)) = self.frame.up[node] {
                self.head_m[node] = self.head_m[before] - downwards * self.loss_m[pipe];
            }
        }
    }
}

/// Solves `matrix x = right` in place for a symmetric positive definite matrix; `right` becomes x.
fn cholesky(matrix: &mut [f64], right: &mut [f64]) -> bool {
    let n = right.len();
    for i in 0..n {
        for j in 0..=i {
            let done: f64 = (0..j).map(|k| matrix[i * n + k] * matrix[j * n + k]).sum();
            let rest = matrix[i * n + j] - done;
            if i > j {
                matrix[i * n + j] = rest / matrix[j * n + j];
            } else if rest > 0.0 {
                matrix[i * n + i] = rest.sqrt();
            } else {
                return false;
            }
        }
        let done: f64 = (0..i).map(|k| matrix[i * n + k] * right[k]).sum();
        right[i] = (right[i] - done) / matrix[i * n + i];
    }
    for i in (0..n).rev() {
        let done: f64 = (i + 1..n).map(|k| matrix[k * n + i] * right[k]).sum();
        right[i] = (right[i] - done) / matrix[i * n + i];
    }
    true
}
