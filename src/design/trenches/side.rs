//! What lies on which side of one edge of a tree.

use super::net::Net;

/// The two sides of a tree that is cut at one edge, as far as it takes to know the smaller one.
#[derive(Default)]
pub struct Side {
    mark: Vec<u32>,
    round: u32,
    /// Whether the marked side is that of the node, not the one beyond.
    own: bool,
}

impl Side {
    /// Walks both sides of the edge from a node to a neighbour by turns, until one is walked through.
    pub fn explore(&mut self, net: &Net, node: usize, from: usize) {
        self.mark.resize(net.at.len(), 0);
        self.round += 2;
        let (own, beyond) = (self.round, self.round + 1);
        let mut open = [vec![(node, from)], vec![(from, node)]];
        (self.mark[node], self.mark[from]) = (own, beyond);
        loop {
            for (side, mark) in [(0, own), (1, beyond)] {
                let Some((here, came)) = open[side].pop() else {
                    self.own = side == 0;
                    return;
                };
                for &(to, _) in net.beside[here].iter().filter(|(to, _)| *to != came) {
                    self.mark[to] = mark;
                    open[side].push((to, here));
                }
            }
        }
    }

    /// Whether a node lies beyond the edge.
    pub fn is_beyond(&self, node: usize) -> bool {
        if self.own {
            self.mark[node] != self.round
        } else {
            self.mark[node] == self.round + 1
        }
    }
}
