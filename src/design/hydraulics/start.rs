//! First guess of all flows.
//!
//! Each outlet gives what it would at most of its standing pressure; in a tree that water is led along the ways from
//! the reservoirs, and little is left to correct. With loops every pipe starts as in EPANET, at 0.3048 m/s.

use super::network::{Element, Network};
use super::survey::{NONE, Ways};
use std::f64::consts::FRAC_PI_4;

/// Share of the standing pressure that an outlet is taken to have.
const PRESSURE_SHARE: f64 = 0.85;
/// Velocity in the pipes of looped networks, m/s (Rossman et al. 2020, EPA/600/R-20/133, chapter 12).
const VELOCITY_M_S: f64 = 0.3048;
/// Least velocity that a pipe starts with, m/s: the slope at no flow would tell nothing.
const VELOCITY_LEAST_M_S: f64 = 0.05;

/// Flow in each link, then out of each outlet, m³/s.
pub(super) fn flows(network: &Network, ways: &Ways) -> Vec<f64> {
    let standing_m = standing_heads(network, ways);
    let links = network.links.iter();
    let mut flows = Vec::with_capacity(links.len() + network.nodes.len());
    flows.extend(links.map(|link| VELOCITY_M_S * area_m2(&link.element)));
    // Water that goes through each node.
    let mut through = Vec::with_capacity(network.nodes.len());
    for (spec, standing_m) in network.nodes.iter().zip(standing_m) {
        let outflow = spec.outlet.as_ref().map(|outlet| {
            let pressure_m = PRESSURE_SHARE * (standing_m - outlet.elevation_m);
            outlet.guess_m3s(pressure_m)
        });
        through.push(spec.demand_m3s + outflow.unwrap_or(0.0));
        flows.extend(outflow);
    }
    if looped(network) {
        let whole = through.iter().map(|flow| flow.abs()).sum();
        start_devices(network, &mut flows, whole);
        return flows;
    }
    for &node in ways.order.iter().rev() {
        let link = ways.by[node as usize];
        if link == NONE {
            continue;
        }
        let (from, to) = ways.ends[link as usize];
        let (before, along) = if to == node { (from, 1.0) } else { (to, -1.0) };
        let least = flows[link as usize] * (VELOCITY_LEAST_M_S / VELOCITY_M_S);
        flows[link as usize] = along * through[node as usize].max(least);
        through[before as usize] += through[node as usize];
    }
    flows
}

/// Valves, meters and supplies start with the whole flow: none has a velocity.
fn start_devices(network: &Network, flows: &mut [f64], whole: f64) {
    for (flow, link) in flows.iter_mut().zip(&network.links) {
        if !matches!(link.element, Element::Pipe { .. }) {
            *flow = whole;
        }
    }
}

/// Whether there are more links than lead every node to one reservoir.
fn looped(network: &Network) -> bool {
    let given = network
        .nodes
        .iter()
        .filter(|node| node.fixed_head_m.is_some());
    network.links.len() + given.count() > network.nodes.len()
}

fn area_m2(element: &Element) -> f64 {
    match element {
        Element::Pipe { bore, .. } => FRAC_PI_4 * bore.inside_m() * bore.inside_m(),
        _ => 0.0,
    }
}

/// Head at every node with nothing running, along its way, m.
fn standing_heads(network: &Network, ways: &Ways) -> Vec<f64> {
    let nodes = network.nodes.iter();
    let mut heads: Vec<f64> = nodes.map(|node| node.fixed_head_m.unwrap_or(0.0)).collect();
    for &node in &ways.order {
        let link = ways.by[node as usize];
        if link == NONE {
            continue;
        }
        let (from, to) = ways.ends[link as usize];
        let before = heads[if to == node { from } else { to } as usize];
        if !ways.devices {
            heads[node as usize] = before;
            continue;
        }
        heads[node as usize] = match network.links[link as usize].element {
            Element::Curve(curve) if to == node => before + curve.head_and_slope(0.0).0,
            Element::Regulator { pressure_m, .. } if to == node => {
                before.min(network.nodes[node as usize].elevation_m + pressure_m)
            }
            _ => before,
        };
    }
    heads
}
