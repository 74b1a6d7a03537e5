//! Linear equations of a network without loops: leaves are eliminated one by one, in linear time.

/// One node's place in the order of elimination.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Step {
    node: usize,
    /// The neighbour nearer to the root, and the edge to it.
    parent: Option<(usize, usize)>,
}

/// An order in which every node comes after its parent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Forest {
    steps: Vec<Step>,
}

impl Forest {
    /// The order for `nodes` nodes joined by `edges`; `None` where they close a loop.
    pub(super) fn of(nodes: usize, edges: &[(usize, usize)]) -> Option<Self> {
        let mut neighbours = vec![Vec::new(); nodes];
        for (edge, &(a, b)) in edges.iter().enumerate() {
            neighbours[a].push((b, edge));
            neighbours[b].push((a, edge));
        }
        let mut seen = vec![false; nodes];
        let mut steps = Vec::with_capacity(nodes);
        for root in 0..nodes {
            if !seen[root] {
                seen[root] = true;
                steps.push(Step {
                    node: root,
                    parent: None,
                });
                grow(&neighbours, &mut seen, &mut steps)?;
            }
        }
        Some(Self { steps })
    }

    /// Solves `diagonal[i] x[i] + Σ off[e] x[j] = right[i]` in place: `right` becomes x.
    pub(super) fn solve(&self, diagonal: &mut [f64], off: &[f64], right: &mut [f64]) {
        for step in self.steps.iter().rev() {
            if let Some((parent, edge)) = step.parent {
                let share = off[edge] / diagonal[step.node];
                diagonal[parent] -= share * off[edge];
                right[parent] -= share * right[step.node];
            }
        }
        for step in &self.steps {
            if let Some((parent, edge)) = step.parent {
                right[step.node] -= off[edge] * right[parent];
            }
            right[step.node] /= diagonal[step.node];
        }
    }
}

/// Walks on from the last step, breadth first; `None` on meeting a node twice.
fn grow(
    neighbours: &[Vec<(usize, usize)>],
    seen: &mut [bool],
    steps: &mut Vec<Step>,
) -> Option<()> {
    let mut next = steps.len() - 1;
    while let Some(&Step { node, parent }) = steps.get(next) {
        let came_by = parent.map(|(_, edge)| edge);
        for &(neighbour, edge) in &neighbours[node] {
            if Some(edge) == came_by {
                continue;
            }
            if seen[neighbour] {
                return None;
            }
            seen[neighbour] = true;
            steps.push(Step {
                node: neighbour,
                parent: Some((node, edge)),
            });
        }
        next += 1;
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_a_star_with_a_tail() {
        // 0–1, 0–2, 2–3; x = 1, 2, 3, 4 put in, the right side worked out by hand.
        let forest = Forest::of(4, &[(0, 1), (0, 2), (2, 3)]).unwrap();
        let mut diagonal = [5.0, 4.0, 6.0, 3.0];
        let mut right = [5.0 - 2.0 - 3.0, 8.0 - 1.0, 18.0 - 1.0 - 8.0, 12.0 - 6.0];
        forest.solve(&mut diagonal, &[-1.0, -1.0, -2.0], &mut right);
        for (found, expected) in right.iter().zip([1.0, 2.0, 3.0, 4.0]) {
            assert!((found - expected).abs() < 1e-12, "{right:?}");
        }
    }

    #[test]
    fn loops_and_twin_links_are_seen() {
        assert!(Forest::of(3, &[(0, 1), (1, 2), (2, 0)]).is_none());
        assert!(Forest::of(2, &[(0, 1), (1, 0)]).is_none());
        assert!(Forest::of(4, &[(0, 1), (2, 3)]).is_some());
    }
}
