//! Where the iteration stands: heads, flows, positions of valves, and one step of the global gradient algorithm.
//!
//! Todini and Pilati 1988, in Computer Applications in Water Supply vol. 1; in the form of Rossman et al. 2020,
//! EPA/600/R-20/133, chapter 12. Heads are counted from the greatest given head, so that high ground costs no digits.

use super::matrix::{Equations, Method, Singular};
use super::network::{Element, Network, Outlet};

/// Head lost per flow in what is shut, m per m³/s: a hundred metres push 1e-12 m³/s through.
const SHUT_LOSS_PER_FLOW: f64 = 1e14;

/// Position of a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Position {
    /// As its law says.
    Open,
    /// Lets nothing through.
    Shut,
    /// A regulator that holds the head at its second node.
    Holding,
}

/// Everything that changes while solving.
#[derive(Debug, Clone)]
pub(super) struct State<'n, 'a> {
    pub(super) network: &'n Network<'a>,
    pub(super) datum_m: f64,
    /// Heads above the datum, m.
    pub(super) head: Vec<f64>,
    /// Flow in each link, m³/s.
    pub(super) flow: Vec<f64>,
    /// Flow out of each node's outlet, m³/s.
    pub(super) outflow: Vec<f64>,
    pub(super) position: Vec<Position>,
    /// Whether a node's outlet lets water out.
    pub(super) outlet_open: Vec<bool>,
}

/// The unknown heads of one set of positions and the equations for them.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Row of each node; `None` where the head is given or held.
    row: Vec<Option<usize>>,
    /// Edge of each link between two unknown heads.
    edge: Vec<Option<usize>>,
    equations: Equations,
}

/// How much one step changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Change {
    pub(super) moved_m3s: f64,
    pub(super) flowing_m3s: f64,
}

impl<'n, 'a> State<'n, 'a> {
    /// The first guess: 0.3048 m/s in pipes (as EPANET starts), the whole outflow in everything else.
    pub(super) fn start(network: &'n Network<'a>) -> Self {
        let datum_m = network
            .nodes
            .iter()
            .filter_map(|node| node.fixed_head_m)
            .fold(f64::NEG_INFINITY, f64::max);
        let outflow: Vec<f64> = network
            .nodes
            .iter()
            .map(|node| {
                node.outlet
                    .map_or(0.0, |o| o.guess_m3s(datum_m - o.elevation_m))
            })
            .collect();
        let demand: f64 = network.nodes.iter().map(|n| n.demand_m3s.abs()).sum();
        let whole = outflow.iter().sum::<f64>() + demand;
        let flow = network.links.iter().map(|link| match link.element {
            Element::Pipe { bore, .. } => 0.3048 / bore.velocity_m_s(1.0),
            _ => whole,
        });
        let position = network.links.iter().map(|link| match link.element {
            Element::Regulator { .. } => Position::Holding,
            _ => Position::Open,
        });
        let head = network.nodes.iter();
        Self {
            network,
            datum_m,
            head: head
                .map(|node| node.fixed_head_m.map_or(0.0, |head| head - datum_m))
                .collect(),
            flow: flow.collect(),
            outlet_open: vec![true; outflow.len()],
            outflow,
            position: position.collect(),
        }
    }

    /// Sets up the equations for the present positions; held heads are put in place.
    pub(super) fn linear(&mut self, method: Method) -> Result<Linear, Singular> {
        let mut given: Vec<bool> = self
            .network
            .nodes
            .iter()
            .map(|node| node.fixed_head_m.is_some())
            .collect();
        for (link, position) in self.network.links.iter().zip(&self.position) {
            if let (Element::Regulator { pressure_m, .. }, Position::Holding) =
                (link.element, position)
            {
                given[link.to] = true;
                let elevation_m = self.network.nodes[link.to].elevation_m;
                self.head[link.to] = elevation_m + pressure_m - self.datum_m;
            }
        }
        let mut unknowns = 0;
        let row: Vec<_> = given
            .iter()
            .map(|given| {
                (!given).then(|| {
                    unknowns += 1;
                    unknowns - 1
                })
            })
            .collect();
        let mut edges = Vec::new();
        let edge = self.network.links.iter().map(|link| {
            let ends = row[link.from].zip(row[link.to])?;
            edges.push(ends);
            Some(edges.len() - 1)
        });
        let edge = edge.collect();
        Ok(Linear {
            equations: Equations::new(unknowns, &edges, method)?,
            row,
            edge,
        })
    }

    /// One step: heads from the linearised laws, then flows from the heads; `share` below 1 goes part of the way.
    pub(super) fn step(&mut self, linear: &mut Linear, share: f64) -> Result<Change, Singular> {
        self.assemble(linear);
        linear.equations.solve()?;
        for (node, row) in linear.row.iter().enumerate() {
            if let Some(row) = row {
                self.head[node] = linear.equations.right[*row];
            }
        }
        Ok(self.follow(share))
    }

    fn assemble(&self, linear: &mut Linear) {
        let Linear {
            row,
            edge,
            equations,
        } = linear;
        equations.clear();
        for (node, spec) in self.network.nodes.iter().enumerate() {
            let Some(row) = row[node] else { continue };
            equations.right[row] -= spec.demand_m3s;
            if let Some(outlet) = spec.outlet {
                let (loss, slope) = self.outlet_law(node, &outlet);
                let elevation = outlet.elevation_m - self.datum_m;
                equations.diagonal[row] += 1.0 / slope;
                equations.right[row] += (elevation + loss) / slope - self.outflow[node];
            }
        }
        for (index, link) in self.network.links.iter().enumerate() {
            if self.position[index] == Position::Holding {
                if let Some(row) = row[link.from] {
                    equations.right[row] -= self.flow[index];
                }
                continue;
            }
            let (loss, slope) = self.link_law(index);
            let constant = self.flow[index] - loss / slope;
            for (near, far, out) in [(link.from, link.to, 1.0), (link.to, link.from, -1.0)] {
                let Some(near) = row[near] else { continue };
                equations.diagonal[near] += 1.0 / slope;
                equations.right[near] -= out * constant;
                if row[far].is_none() {
                    equations.right[near] += self.head[far] / slope;
                }
            }
            if let Some(edge) = edge[index] {
                equations.off[edge] = -1.0 / slope;
            }
        }
    }

    /// Corrects every flow by the heads.
    fn follow(&mut self, share: f64) -> Change {
        let mut change = Change {
            moved_m3s: 0.0,
            flowing_m3s: 0.0,
        };
        let mut correct = |flow: &mut f64, loss: f64, slope: f64, drop: f64| {
            let by = share * (loss - drop) / slope;
            *flow -= by;
            change.moved_m3s += by.abs();
            change.flowing_m3s += flow.abs();
        };
        for (index, link) in self.network.links.iter().enumerate() {
            if self.position[index] != Position::Holding {
                let (loss, slope) = self.link_law(index);
                let drop = self.head[link.from] - self.head[link.to];
                correct(&mut self.flow[index], loss, slope, drop);
            }
        }
        for (node, spec) in self.network.nodes.iter().enumerate() {
            if let Some(outlet) = spec.outlet {
                let (loss, slope) = self.outlet_law(node, &outlet);
                let drop = self.head[node] + self.datum_m - outlet.elevation_m;
                correct(&mut self.outflow[node], loss, slope, drop);
            }
        }
        change.moved_m3s += self.pass_through_regulators();
        change
    }

    /// A holding regulator carries what its second node needs; gives by how much that changed.
    fn pass_through_regulators(&mut self) -> f64 {
        let mut moved = 0.0;
        for index in 0..self.flow.len() {
            if self.position[index] == Position::Holding {
                let missing = -self.imbalance(self.network.links[index].to);
                self.flow[index] += missing;
                moved += missing.abs();
            }
        }
        moved
    }

    /// Inflow less outflow of a node, m³/s.
    fn imbalance(&self, node: usize) -> f64 {
        let links = self.network.links.iter().zip(&self.flow);
        let through: f64 = links
            .map(|(link, flow)| {
                f64::from(u8::from(link.to == node)) * flow
                    - f64::from(u8::from(link.from == node)) * flow
            })
            .sum();
        through - self.network.nodes[node].demand_m3s - self.outflow[node]
    }

    fn link_law(&self, index: usize) -> (f64, f64) {
        match self.position[index] {
            Position::Shut => (SHUT_LOSS_PER_FLOW * self.flow[index], SHUT_LOSS_PER_FLOW),
            _ => self.network.links[index]
                .element
                .loss_and_slope(self.flow[index]),
        }
    }

    fn outlet_law(&self, node: usize, outlet: &Outlet) -> (f64, f64) {
        if self.outlet_open[node] {
            outlet.head_and_slope(self.outflow[node])
        } else {
            (SHUT_LOSS_PER_FLOW * self.outflow[node], SHUT_LOSS_PER_FLOW)
        }
    }

    /// Flow in a link as told to others: none where it is shut.
    pub(super) fn told_flow(&self, link: usize) -> f64 {
        match self.position[link] {
            Position::Shut => 0.0,
            _ => self.flow[link],
        }
    }

    /// Flow out of a node's outlet as told to others; below zero only while outlets are not yet settled.
    pub(super) fn told_outflow(&self, node: usize) -> f64 {
        if self.outlet_open[node] {
            self.outflow[node]
        } else {
            0.0
        }
    }

    /// Greatest departure of a node without a given head from mass balance, by the flows as told, m³/s.
    pub(super) fn mass_residual(&self) -> f64 {
        let nodes = &self.network.nodes;
        let mut missing: Vec<f64> = (0..nodes.len())
            .map(|node| nodes[node].demand_m3s + self.told_outflow(node))
            .collect();
        for (index, link) in self.network.links.iter().enumerate() {
            let flow = self.told_flow(index);
            missing[link.from] += flow;
            missing[link.to] -= flow;
        }
        let free = missing.iter().zip(nodes);
        free.filter(|(_, node)| node.fixed_head_m.is_none())
            .fold(0.0, |worst, (missing, _)| missing.abs().max(worst))
    }

    /// Greatest difference between a law's loss and the heads beside it, m, over all that is open.
    pub(super) fn head_residual(&self) -> f64 {
        let links = self.network.links.iter().enumerate();
        let through = links.map(|(index, link)| match self.position[index] {
            Position::Open => self.link_law(index).0 - (self.head[link.from] - self.head[link.to]),
            _ => 0.0,
        });
        let nodes = self.network.nodes.iter().enumerate();
        let out = nodes.map(|(node, spec)| match spec.outlet {
            Some(outlet) if self.outlet_open[node] => {
                let pressure = self.head[node] + self.datum_m - outlet.elevation_m;
                self.outlet_law(node, &outlet).0 - pressure
            }
            _ => 0.0,
        });
        through
            .chain(out)
            .fold(0.0, |worst, by| worst.max(by.abs()))
    }
}
