//! First guess of all flows.
//!
//! Each outlet gives what it would at most of its standing pressure; that water is led along the ways from the
//! reservoirs. In a tree little is left to correct. What lies on no way starts as EPANET starts every pipe, at
//! 0.3048 m/s.

use super::network::{Element, Network};
use super::survey::Ways;

/// Share of the standing pressure that an outlet is taken to have.
const PRESSURE_SHARE: f64 = 0.85;
/// Velocity in pipes that lie on no way, m/s (Rossman et al. 2020, EPA/600/R-20/133, chapter 12).
const VELOCITY_M_S: f64 = 0.3048;
/// Least velocity that a pipe on a way starts with, m/s: the slope at no flow would tell nothing.
const VELOCITY_LEAST_M_S: f64 = 0.05;

/// Flow in each link, then out of each outlet, m³/s.
pub(super) fn flows(network: &Network, ways: &Ways) -> Vec<f64> {
    let standing_m = standing_heads(network, ways);
    let mut through: Vec<f64> = network.nodes.iter().map(|node| node.demand_m3s).collect();
    let mut outflows = Vec::new();
    for (node, spec) in network.nodes.iter().enumerate() {
        if let Some(outlet) = &spec.outlet {
            let pressure_m = PRESSURE_SHARE * (standing_m[node] - outlet.elevation_m);
            let outflow = outlet.guess_m3s(pressure_m);
            through[node] += outflow;
            outflows.push(outflow);
        }
    }
    let mut flows: Vec<f64> = network
        .links
        .iter()
        .map(|link| velocity_flow(&link.element, VELOCITY_M_S))
        .collect();
    for &node in ways.order.iter().rev() {
        let Some(link) = ways.by[node] else { continue };
        let (from, to) = (network.links[link].from, network.links[link].to);
        let least = velocity_flow(&network.links[link].element, VELOCITY_LEAST_M_S);
        let (before, along) = if to == node { (from, 1.0) } else { (to, -1.0) };
        flows[link] = along * through[node].max(least);
        through[before] += through[node];
    }
    flows.append(&mut outflows);
    flows
}

fn velocity_flow(element: &Element, velocity_m_s: f64) -> f64 {
    match element {
        Element::Pipe { bore, .. } => velocity_m_s / bore.velocity_m_s(1.0),
        _ => 0.0,
    }
}

/// Head at every node with nothing running, along its way, m.
fn standing_heads(network: &Network, ways: &Ways) -> Vec<f64> {
    let nodes = network.nodes.iter();
    let mut heads: Vec<f64> = nodes.map(|node| node.fixed_head_m.unwrap_or(0.0)).collect();
    for &node in &ways.order {
        let Some(link) = ways.by[node] else { continue };
        let link = &network.links[link];
        let before = if link.to == node { link.from } else { link.to };
        heads[node] = match link.element {
            Element::Curve(curve) if link.to == node => heads[before] + curve.head_and_slope(0.0).0,
            Element::Regulator { pressure_m, .. } if link.to == node => {
                heads[before].min(network.nodes[node].elevation_m + pressure_m)
            }
            _ => heads[before],
        };
    }
    heads
}
