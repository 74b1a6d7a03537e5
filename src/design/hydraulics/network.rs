//! The types a network is made of: nodes, links, and what each link does to the water.
//!
//! Indices are positions in the vectors of [`Network`]. SI; heads and pressures in metres of water. No solving here.

use super::friction::Bore;
use super::minor;
use std::fmt::Debug;

/// Least head lost per flow, m per m³/s, that the solver works with.
///
/// Without it a pipe that carries nothing has no slope and the equations no solution. It changes a head by less
/// than a hundredth of a millimetre, since only flows that lose almost nothing fall under it.
const LEAST_LOSS_PER_FLOW: f64 = 1e-3;

/// What the supply adds to the head at a flow. Must fall, or stay level, with rising flow.
pub trait SourceCurve: Debug {
    /// Head added at `flow_m3s`, m, and its derivative by the flow (never above zero). Finite for every flow.
    fn head_and_slope(&self, flow_m3s: f64) -> (f64, f64);
}

/// An opening through which water leaves under pressure: `q = k p^x`, and none against a pressure below zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlet {
    /// Height at which the water leaves, m.
    pub elevation_m: f64,
    /// Flow at one metre of pressure, m³/s, above 0.
    pub k: f64,
    /// Exponent x, 0.05 to 2.
    pub exponent: f64,
    /// Resistance between the node and the opening (riser, joint), m per (m³/s)²; 0 or more.
    pub resistance: f64,
}

impl Outlet {
    /// Pressure at the opening itself that drives `flow_m3s`, m.
    pub fn nozzle_pressure_m(&self, flow_m3s: f64) -> f64 {
        (flow_m3s.max(0.0) / self.k).powf(1.0 / self.exponent)
    }

    /// Flow at a pressure at the node: a first guess, m³/s. The joint is left out unless that costs nothing.
    pub(super) fn guess_m3s(&self, pressure_m: f64) -> f64 {
        let pressure_m = pressure_m.max(1.0);
        if self.exponent == 0.5 {
            let square = self.k * self.k;
            (pressure_m * square / (1.0 + self.resistance * square)).sqrt()
        } else {
            self.k * pressure_m.powf(self.exponent)
        }
    }
}

/// A node: a junction, or a reservoir where the head is given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Height, m: pressures are told above it.
    pub elevation_m: f64,
    /// Flow taken out whatever the pressure, m³/s; negative brings water in.
    pub demand_m3s: f64,
    /// Head, where it is given (a reservoir).
    pub fixed_head_m: Option<f64>,
    /// An outlet, where there is one.
    pub outlet: Option<Outlet>,
}

impl Node {
    /// A junction at a height from which `demand_m3s` is taken.
    pub fn junction(elevation_m: f64, demand_m3s: f64) -> Self {
        Self {
            elevation_m,
            demand_m3s,
            fixed_head_m: None,
            outlet: None,
        }
    }

    /// A reservoir that holds `head_m`.
    pub fn reservoir(head_m: f64) -> Self {
        Self {
            elevation_m: head_m,
            demand_m3s: 0.0,
            fixed_head_m: Some(head_m),
            outlet: None,
        }
    }

    /// The same node with an outlet.
    #[must_use]
    pub fn with_outlet(mut self, outlet: Outlet) -> Self {
        self.outlet = Some(outlet);
        self
    }
}

/// What a link does to the water that runs from its first to its second node.
#[derive(Debug, Clone, Copy)]
pub enum Element<'a> {
    /// A pipe with friction and the fittings in it.
    Pipe {
        /// Length along the slope, m.
        length_m: f64,
        /// Its inside.
        bore: Bore,
        /// Sum of the loss coefficients of its fittings, on the velocity in it.
        minor_k: f64,
    },
    /// A valve or meter: loss `resistance · q|q|`, m per (m³/s)².
    Loss {
        /// Resistance.
        resistance: f64,
    },
    /// A supply or pump: adds head, and lets nothing back.
    Curve(&'a dyn SourceCurve),
    /// Holds `pressure_m` at its second node where it can; open where there is less, closed against reverse flow.
    Regulator {
        /// Pressure above the second node's height, m.
        pressure_m: f64,
        /// Resistance when fully open, m per (m³/s)².
        resistance: f64,
    },
    /// Lets water through in its own direction only.
    Check {
        /// Resistance when open, m per (m³/s)².
        resistance: f64,
    },
}

impl Element<'_> {
    /// Head lost when open, m, and its derivative by the flow, bounded away from zero.
    pub(super) fn loss_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        match *self {
            Self::Pipe {
                length_m,
                bore,
                minor_k,
            } => {
                let friction = bore.loss_and_slope(length_m, flow_m3s);
                let resistance = minor::resistance_of_fitting(minor_k, bore.inside_m());
                let fittings = minor::loss_and_slope(resistance, flow_m3s);
                bounded(flow_m3s, friction.0 + fittings.0, friction.1 + fittings.1)
            }
            Self::Loss { resistance }
            | Self::Regulator { resistance, .. }
            | Self::Check { resistance } => {
                let (loss, slope) = minor::loss_and_slope(resistance, flow_m3s);
                bounded(flow_m3s, loss, slope)
            }
            Self::Curve(curve) => {
                let (gain, slope) = curve.head_and_slope(flow_m3s);
                (-gain, (-slope).max(LEAST_LOSS_PER_FLOW))
            }
        }
    }
}

/// Loss and slope, or those of the least straight line through the origin where the loss lies under it.
#[inline(always)]
pub(super) fn bounded(flow_m3s: f64, loss: f64, slope: f64) -> (f64, f64) {
    let least = LEAST_LOSS_PER_FLOW * flow_m3s;
    if loss.abs() <= least.abs() {
        (least, LEAST_LOSS_PER_FLOW)
    } else {
        (loss, slope.max(LEAST_LOSS_PER_FLOW))
    }
}

/// A link from one node to another.
#[derive(Debug, Clone, Copy)]
pub struct Link<'a> {
    /// First node.
    pub from: usize,
    /// Second node. Flow towards it counts positive.
    pub to: usize,
    /// What it does.
    pub element: Element<'a>,
}

/// A network.
#[derive(Debug, Clone, Default)]
pub struct Network<'a> {
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Links.
    pub links: Vec<Link<'a>>,
}

impl<'a> Network<'a> {
    /// Adds a node and gives its index.
    pub fn add_node(&mut self, node: Node) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// Adds a link and gives its index.
    pub fn add_link(&mut self, from: usize, to: usize, element: Element<'a>) -> usize {
        self.links.push(Link { from, to, element });
        self.links.len() - 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bound_leaves_the_law_without_a_jump() {
        // k q² meets the least line at q = least/k.
        let element = Element::Loss { resistance: 2.0 };
        let meet = LEAST_LOSS_PER_FLOW / 2.0;
        let below = element.loss_and_slope(meet * (1.0 - 1e-9)).0;
        let above = element.loss_and_slope(meet * (1.0 + 1e-9)).0;
        assert!((above - below).abs() < 1e-14);
        assert_eq!(element.loss_and_slope(0.0), (0.0, LEAST_LOSS_PER_FLOW));
    }
}
