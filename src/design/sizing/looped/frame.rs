//! Which flows of a looped main are free: a tree that reaches every node, and the chords that close its loops.
//!
//! With the flows in the chords all others follow by continuity, as sums with factors 1 and -1.

use super::{LoopedError, LoopedProblem};

/// A tree of pipes from the sources, and the chords.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Frame {
    /// Nodes that are no sources, each after the one it hangs on.
    pub(super) order: Vec<usize>,
    /// Of each node in the tree: the pipe it hangs on, the node before, and 1 if the pipe's direction is downwards.
    pub(super) up: Vec<Option<(usize, usize, f64)>>,
    /// Pipes outside the tree.
    pub(super) chords: Vec<usize>,
    /// Flow of each pipe if all chords carry nothing, m³/s.
    pub(super) base_m3s: Vec<f64>,
    /// Of each pipe: the chords that run through it, by their place in `chords`, and the sign.
    pub(super) through: Vec<Vec<(usize, f64)>>,
    /// Of each chord: the pipes of its loop, itself with them, and the sign.
    pub(super) rings: Vec<Vec<(usize, f64)>>,
    /// Of each chord: head that the sources at the roots of its ends differ by, m.
    pub(super) driven_m: Vec<f64>,
}

impl Frame {
    /// Grows the tree from the sources, always by the pipe of the greatest weight.
    ///
    /// # Errors
    /// [`LoopedError::NoSupply`] for a node that no pipe leads to.
    pub(super) fn of(problem: &LoopedProblem, weights: &[f64]) -> Result<Self, LoopedError> {
        let (order, up) = grown(problem, weights)?;
        let mut in_tree = vec![false; problem.pipes.len()];
        for (pipe, _, _) in up.iter().flatten() {
            in_tree[*pipe] = true;
        }
        let chords: Vec<usize> = (0..in_tree.len()).filter(|&p| !in_tree[p]).collect();
        let mut frame = Self {
            base_m3s: base(problem, &order, &up),
            through: vec![Vec::new(); problem.pipes.len()],
            rings: Vec::with_capacity(chords.len()),
            driven_m: Vec::with_capacity(chords.len()),
            order,
            up,
            chords,
        };
        for place in 0..frame.chords.len() {
            frame.add_ring(problem, place);
        }
        Ok(frame)
    }

    fn add_ring(&mut self, problem: &LoopedProblem, place: usize) {
        let chord = self.chords[place];
        let ends = (problem.pipes[chord].from, problem.pipes[chord].to);
        let mut sums = vec![0.0; problem.pipes.len()];
        sums[chord] = 1.0;
        let head = |root: usize| problem.nodes[root].fixed_head_m.unwrap_or(0.0);
        let first = self.walk(ends.0, 1.0, &mut sums);
        let second = self.walk(ends.1, -1.0, &mut sums);
        self.driven_m.push(head(first) - head(second));
        let ring: Vec<(usize, f64)> = (0..sums.len())
            .filter(|&pipe| sums[pipe] != 0.0)
            .map(|pipe| (pipe, sums[pipe]))
            .collect();
        for &(pipe, sign) in &ring {
            self.through[pipe].push((place, sign));
        }
        self.rings.push(ring);
    }

    /// Adds `sign` along the way from the root to a node; tells the root.
    fn walk(&self, mut node: usize, sign: f64, sums: &mut [f64]) -> usize {
        while let Some((pipe, before, downwards)) = self.up[node] {
            sums[pipe] += sign * downwards;
            node = before;
        }
        node
    }
}

type Tree = (Vec<usize>, Vec<Option<(usize, usize, f64)>>);

fn grown(problem: &LoopedProblem, weights: &[f64]) -> Result<Tree, LoopedError> {
    let mut reached: Vec<bool> = problem
        .nodes
        .iter()
        .map(|node| node.fixed_head_m.is_some())
        .collect();
    let mut up = vec![None; problem.nodes.len()];
    let mut order = Vec::new();
    loop {
        let leads_on = |pipe: &usize| {
            let pipe = &problem.pipes[*pipe];
            reached[pipe.from] != reached[pipe.to]
        };
        let heavier = |a: &usize, b: &usize| weights[*a].total_cmp(&weights[*b]).then(b.cmp(a));
        let next = (0..problem.pipes.len()).filter(leads_on).max_by(heavier);
        let Some(next) = next else { break };
        let pipe = &problem.pipes[next];
        let (before, node, downwards) = if reached[pipe.from] {
            (pipe.from, pipe.to, 1.0)
        } else {
            (pipe.to, pipe.from, -1.0)
        };
        reached[node] = true;
        up[node] = Some((next, before, downwards));
        order.push(node);
    }
    match reached.iter().position(|&reached| !reached) {
        Some(node) => Err(LoopedError::NoSupply(node)),
        None => Ok((order, up)),
    }
}

/// Flows of the tree alone.
fn base(problem: &LoopedProblem, order: &[usize], up: &[Option<(usize, usize, f64)>]) -> Vec<f64> {
    let mut drawn: Vec<f64> = problem.nodes.iter().map(|node| node.demand_m3s).collect();
    let mut flow = vec![0.0; problem.pipes.len()];
    for &node in order.iter().rev() {
        if let Some((pipe, before, downwards)) = up[node] {
            flow[pipe] = downwards * drawn[node];
            drawn[before] += drawn[node];
        }
    }
    flow
}
