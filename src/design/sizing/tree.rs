//! The dynamic programme over a tree of pipes, the same for laterals and mains, with or without a limit on the spread.
//!
//! Bottom-up: the curves of what hangs on a pipe's lower end are joined, carried through the pipe in every size it may
//! have, and merged. Where pipe may not get wider, one curve is kept for each greatest rank. Top-down: the sizes.

/// A size a pipe may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Choice {
    pub(super) size: usize,
    pub(super) rank: usize,
    pub(super) loss: f64,
    pub(super) price: f64,
}

/// A pipe of the tree.
pub(super) struct Branch<L> {
    pub(super) parent: Option<usize>,
    pub(super) choices: Vec<Choice>,
    /// What is needed at its lower end itself.
    pub(super) end: Option<L>,
}

/// A set of ways to build a part of the tree, of which none is beaten by another.
pub(super) trait Labels: Clone {
    /// How the set is kept short.
    type Keep;
    /// No way at all.
    fn none() -> Self;
    /// One way: nothing needed, nothing paid.
    fn free() -> Self;
    /// Ways to build this and that.
    fn join(&self, other: &Self, keep: &Self::Keep) -> Self;
    /// Ways to build this in one way or another, and whether some were lost to keep the set short.
    fn merge(&self, other: &Self, keep: &Self::Keep) -> (Self, bool);
    /// The ways seen from the upper end of a pipe.
    fn through(&self, size: usize, loss: f64, price: f64) -> Self;
    /// Size of the upper pipe in the cheapest way that does with this head.
    fn cheapest(&self, head: f64) -> Option<usize>;
}

/// A tree with the ways to build it.
pub(super) struct Tree<'a, L: Labels> {
    branches: &'a [Branch<L>],
    order: Vec<usize>,
    parent: Vec<Option<usize>>,
    /// Ranks that any pipe may have, rising: a class is a place among them. One class where pipe may widen.
    ranks: Vec<usize>,
    classes: usize,
    /// Of each pipe, for each class, the ways in which it is of that class or a lower one.
    ways: Vec<Vec<L>>,
    /// The ways to build all of it, seen from the root.
    pub(super) front: L,
    /// Whether no way was lost to keep the sets short.
    pub(super) exact: bool,
}

/// Ranks that any pipe of the tree may have, rising.
pub(super) fn ranks_offered<L>(branches: &[Branch<L>]) -> Vec<usize> {
    let choices = branches.iter().flat_map(|branch| &branch.choices);
    let mut ranks: Vec<usize> = choices.map(|choice| choice.rank).collect();
    ranks.sort_unstable();
    ranks.dedup();
    ranks
}

/// Pipes in an order in which each comes after its parent, and the parents; a parent that is no pipe, or that would
/// close a ring, counts as none.
pub(super) fn ordered(parents: &[Option<usize>]) -> (Vec<usize>, Vec<Option<usize>>) {
    let count = parents.len();
    let mut parent: Vec<Option<usize>> = parents
        .iter()
        .map(|up| up.filter(|&up| up < count))
        .collect();
    let mut children = vec![Vec::new(); count];
    for (pipe, up) in parent.iter().enumerate() {
        if let Some(up) = *up {
            children[up].push(pipe);
        }
    }
    let mut seen = vec![false; count];
    let mut order = Vec::with_capacity(count);
    let roots = (0..count).filter(|&pipe| parent[pipe].is_none());
    // Pipes of a ring are reached from no root: the first of them is made one.
    for start in roots.chain(0..count).collect::<Vec<_>>() {
        if seen[start] {
            continue;
        }
        parent[start] = None;
        seen[start] = true;
        let mut next = order.len();
        order.push(start);
        while let Some(&pipe) = order.get(next) {
            next += 1;
            for &child in &children[pipe] {
                if !seen[child] {
                    seen[child] = true;
                    order.push(child);
                }
            }
        }
    }
    (order, parent)
}

impl<'a, L: Labels> Tree<'a, L> {
    /// Finds the ways to build the tree; `narrowing`: no pipe wider than the one before it.
    pub(super) fn solve(
        branches: &'a [Branch<L>],
        root: Option<&L>,
        narrowing: bool,
        keep: &L::Keep,
    ) -> Self {
        let parents: Vec<Option<usize>> = branches.iter().map(|branch| branch.parent).collect();
        let (order, parent) = ordered(&parents);
        let ranks = ranks_offered(branches);
        let mut tree = Self {
            branches,
            parent,
            classes: if narrowing { ranks.len().max(1) } else { 1 },
            ranks,
            ways: vec![Vec::new(); branches.len()],
            front: root.cloned().unwrap_or_else(L::free),
            exact: true,
            order: Vec::new(),
        };
        let ends = |end: Option<&L>| end.cloned().unwrap_or_else(L::free);
        let mut behind: Vec<Vec<L>> = branches
            .iter()
            .map(|branch| vec![ends(branch.end.as_ref()); tree.classes])
            .collect();
        for &pipe in order.iter().rev() {
            let ways = tree.ways_of(pipe, &behind[pipe], keep);
            behind[pipe] = Vec::new();
            match tree.parent[pipe] {
                Some(up) => {
                    for (joined, way) in behind[up].iter_mut().zip(&ways) {
                        *joined = joined.join(way, keep);
                    }
                }
                None => {
                    if let Some(all) = ways.last() {
                        tree.front = tree.front.join(all, keep);
                    }
                }
            }
            tree.ways[pipe] = ways;
        }
        tree.order = order;
        tree
    }

    /// The ways to build a pipe and all behind it, for each class.
    fn ways_of(&mut self, pipe: usize, behind: &[L], keep: &L::Keep) -> Vec<L> {
        let mut ways: Vec<L> = Vec::with_capacity(self.classes);
        for (class, below) in behind.iter().enumerate() {
            let mut best = ways.last().cloned().unwrap_or_else(L::none);
            for choice in &self.branches[pipe].choices {
                if self.class(choice) == class {
                    let through = below.through(choice.size, choice.loss, choice.price);
                    let (merged, lost) = best.merge(&through, keep);
                    self.exact &= !lost;
                    best = merged;
                }
            }
            ways.push(best);
        }
        ways
    }

    fn class(&self, choice: &Choice) -> usize {
        if self.classes > 1 {
            self.ranks.partition_point(|&rank| rank < choice.rank)
        } else {
            0
        }
    }

    /// The size of every pipe in the cheapest way that does with `head` at the root; `None` where there is none.
    pub(super) fn pick(&self, head: f64) -> Option<Vec<usize>> {
        let mut sizes = vec![0; self.branches.len()];
        let mut left = vec![(head, self.classes - 1); self.branches.len()];
        for &pipe in &self.order {
            let (head, class) = self.parent[pipe].map_or((head, self.classes - 1), |up| left[up]);
            let size = self.ways[pipe][class].cheapest(head)?;
            let choice = self.branches[pipe]
                .choices
                .iter()
                .find(|choice| choice.size == size)?;
            sizes[pipe] = size;
            left[pipe] = (head - choice.loss, self.class(choice));
        }
        Some(sizes)
    }
}
