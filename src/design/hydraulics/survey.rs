//! What is looked at before a network is solved: that it can be.

use super::error::SolveError;
use super::network::{Element, Network};

/// Refuses networks that mean nothing: strange indices and numbers, nodes without any supply.
pub(super) fn check(network: &Network) -> Result<(), SolveError> {
    check_nodes(network)?;
    check_links(network)?;
    check_regulators(network)?;
    check_supply(network)
}

fn check_nodes(network: &Network) -> Result<(), SolveError> {
    for (index, node) in network.nodes.iter().enumerate() {
        let head_sound = node.fixed_head_m.is_none_or(f64::is_finite);
        let outlet_sound = node.outlet.is_none_or(|outlet| {
            let sound = |x: f64| x.is_finite() && x >= 0.0;
            outlet.elevation_m.is_finite()
                && sound(outlet.k)
                && outlet.k > 0.0
                && (0.05..=2.0).contains(&outlet.exponent)
                && sound(outlet.resistance)
        });
        if !(node.elevation_m.is_finite()
            && node.demand_m3s.is_finite()
            && head_sound
            && outlet_sound)
        {
            return Err(SolveError::Node(index));
        }
    }
    Ok(())
}

fn check_links(network: &Network) -> Result<(), SolveError> {
    let nodes = network.nodes.len();
    for (index, link) in network.links.iter().enumerate() {
        let sound = |x: f64| x.is_finite() && x >= 0.0;
        let element_sound = match link.element {
            Element::Pipe {
                length_m, minor_k, ..
            } => sound(length_m) && sound(minor_k),
            Element::Loss { resistance } | Element::Check { resistance } => sound(resistance),
            Element::Regulator {
                pressure_m,
                resistance,
            } => pressure_m.is_finite() && sound(resistance),
            Element::Curve(curve) => curve.head_and_slope(0.0).0.is_finite(),
        };
        if link.from >= nodes || link.to >= nodes || link.from == link.to || !element_sound {
            return Err(SolveError::Link(index));
        }
    }
    Ok(())
}

/// A regulator needs a second node of its own, whose head it may hold.
fn check_regulators(network: &Network) -> Result<(), SolveError> {
    let mut held = vec![false; network.nodes.len()];
    for (index, link) in network.links.iter().enumerate() {
        if matches!(link.element, Element::Regulator { .. }) {
            if held[link.to] || network.nodes[link.to].fixed_head_m.is_some() {
                return Err(SolveError::Regulator(index));
            }
            held[link.to] = true;
        }
    }
    Ok(())
}

/// Every node must be joined to a reservoir.
fn check_supply(network: &Network) -> Result<(), SolveError> {
    let mut neighbours = vec![Vec::new(); network.nodes.len()];
    for link in &network.links {
        neighbours[link.from].push(link.to);
        neighbours[link.to].push(link.from);
    }
    let mut reached: Vec<bool> = network
        .nodes
        .iter()
        .map(|node| node.fixed_head_m.is_some())
        .collect();
    let mut open: Vec<usize> = (0..reached.len()).filter(|&node| reached[node]).collect();
    while let Some(node) = open.pop() {
        for &neighbour in &neighbours[node] {
            if !reached[neighbour] {
                reached[neighbour] = true;
                open.push(neighbour);
            }
        }
    }
    match reached.iter().position(|&reached| !reached) {
        Some(node) => Err(SolveError::NoSupply(node)),
        None => Ok(()),
    }
}
