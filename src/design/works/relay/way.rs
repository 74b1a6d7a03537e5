//! Ways for new trench: straight where that is free, else round what is in the way.

use super::Ground;
use crate::design::trenches::cheapest;
use crate::design::trenches::graph::RouteGraph;
use crate::design::trenches::net::Digging;
use geo::{Coord, Line};

/// A way for a trench.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    /// From end to end.
    pub points: Vec<Coord<f64>>,
    /// Its price, in metres of level turf.
    pub price: f64,
}

impl Ground<'_> {
    /// What digging costs here.
    pub(super) fn digging(&self) -> Digging<'_> {
        Digging {
            surfaces: self.surfaces,
            terrain: &self.parcel.terrain,
            rules: self.rules,
        }
    }

    /// The straight way between two places; `None` where it may not be dug.
    pub(super) fn straight(&self, from: Coord<f64>, to: Coord<f64>) -> Option<Way> {
        let price = self.digging().price(from, to)?;
        price.is_finite().then(|| Way {
            points: vec![from, to],
            price,
        })
    }

    /// Whether a straight line lies in nothing but turf and bare ground: no way round is cheaper.
    pub(super) fn is_plain(&self, from: Coord<f64>, to: Coord<f64>) -> bool {
        let stretches = self.surfaces.along(Line::new(from, to));
        let plain = |s: &crate::design::trenches::surfaces::GroundState| {
            !(s.hard || s.paving || s.bed || s.roots)
        };
        stretches.iter().all(|stretch| plain(&stretch.state))
    }

    /// The cheapest way found between two places, with bends; `None` where there is none.
    pub(super) fn routed(&self, from: Coord<f64>, to: Coord<f64>) -> Option<Way> {
        let graph = RouteGraph::build(self.parcel, self.surfaces, from, &[to], self.rules);
        let found = cheapest(&graph, self.digging());
        if !found.unreachable.is_empty() {
            return None;
        }
        let net = &found.net;
        let mut before = vec![usize::MAX; net.at.len()];
        let mut open = vec![0];
        before[0] = 0;
        while let Some(node) = open.pop() {
            for &(next, _) in &net.beside[node] {
                if before[next] == usize::MAX {
                    before[next] = node;
                    open.push(next);
                }
            }
        }
        let mut node = 1;
        let mut points = vec![net.at[node]];
        while node != 0 {
            node = *before.get(node).filter(|node| **node != usize::MAX)?;
            points.push(net.at[node]);
        }
        points.reverse();
        let legs = points.windows(2).map(|leg| self.straight(leg[0], leg[1]));
        let price = legs
            .map(|leg| leg.map(|way| way.price))
            .sum::<Option<f64>>()?;
        Some(Way { points, price })
    }
}
