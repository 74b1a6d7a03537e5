//! What is looked at before a network is solved: that it can be.

use super::error::SolveError;
use super::network::{Element, Link, Network};

/// Refuses networks that mean nothing: strange indices and numbers, nodes without any supply.
pub(super) fn check(network: &Network) -> Result<Ways, SolveError> {
    check_nodes(network)?;
    check_links(network)?;
    check_regulators(network)?;
    ways(network)
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

/// A way from every node to the nearest reservoir, by number of links.
#[derive(Debug, Clone)]
pub(super) struct Ways {
    /// Nodes, each after the one it is reached from.
    pub(super) order: Vec<usize>,
    /// The link by which each node is reached; `None` for reservoirs.
    pub(super) by: Vec<Option<usize>>,
}

/// Every node must be joined to a reservoir.
fn ways(network: &Network) -> Result<Ways, SolveError> {
    let (starts, links) = links_by_node(network);
    let nodes = network.nodes.iter().enumerate();
    let mut order = Vec::with_capacity(network.nodes.len());
    order.extend(nodes.filter_map(|(node, spec)| spec.fixed_head_m.map(|_| node)));
    let mut reached = vec![false; network.nodes.len()];
    for &node in &order {
        reached[node] = true;
    }
    let mut by = vec![None; network.nodes.len()];
    let mut next = 0;
    while let Some(&node) = order.get(next) {
        for &link in &links[starts[node]..starts[node + 1]] {
            let Link { from, to, .. } = network.links[link as usize];
            let neighbour = if from == node { to } else { from };
            if !reached[neighbour] {
                reached[neighbour] = true;
                by[neighbour] = Some(link as usize);
                order.push(neighbour);
            }
        }
        next += 1;
    }
    match reached.iter().position(|&reached| !reached) {
        Some(node) => Err(SolveError::NoSupply(node)),
        None => Ok(Ways { order, by }),
    }
}

/// Links of node `i`: from `starts[i]` to `starts[i + 1]` in the second list.
fn links_by_node(network: &Network) -> (Vec<usize>, Vec<u32>) {
    let mut starts = vec![0; network.nodes.len() + 1];
    for link in &network.links {
        starts[link.from] += 1;
        starts[link.to] += 1;
    }
    let mut sum = 0;
    for start in &mut starts {
        sum += *start;
        *start = sum;
    }
    let mut links = vec![0; sum];
    // Filled from the back, which moves each start to where it belongs.
    for (index, link) in network.links.iter().enumerate().rev() {
        for node in [link.to, link.from] {
            starts[node] -= 1;
            links[starts[node]] = index as u32;
        }
    }
    (starts, links)
}
