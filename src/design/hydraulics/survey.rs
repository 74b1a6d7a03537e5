//! What is looked at before a network is solved: that it can be.

use super::error::SolveError;
use super::network::{Element, Link, Network};

/// No link, no node.
pub(super) const NONE: u32 = u32::MAX;

/// A way from every node to a reservoir.
#[derive(Debug, Clone)]
pub(super) struct Ways {
    /// Nodes at the ends of each link: from, to.
    pub(super) ends: Vec<(u32, u32)>,
    /// Nodes, each after the one it is reached from.
    pub(super) order: Vec<u32>,
    /// The link by which each node is reached; `NONE` for reservoirs.
    pub(super) by: Vec<u32>,
    /// Whether there are links that set or add a head.
    pub(super) devices: bool,
}

/// Refuses networks that mean nothing: strange indices and numbers, nodes without any supply.
pub(super) fn check(network: &Network) -> Result<Ways, SolveError> {
    check_nodes(network)?;
    let ends = check_links(network)?;
    ways(network, ends)
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

fn check_links(network: &Network) -> Result<Vec<(u32, u32)>, SolveError> {
    let nodes = network.nodes.len();
    let mut ends = Vec::with_capacity(network.links.len() + nodes);
    let mut held = Vec::new();
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
        if let Element::Regulator { .. } = link.element {
            // It needs a second node of its own, whose head it may hold.
            if held.contains(&link.to) || network.nodes[link.to].fixed_head_m.is_some() {
                return Err(SolveError::Regulator(index));
            }
            held.push(link.to);
        }
        ends.push((link.from as u32, link.to as u32));
    }
    Ok(ends)
}

/// Every node must be joined to a reservoir.
fn ways(network: &Network, ends: Vec<(u32, u32)>) -> Result<Ways, SolveError> {
    let (order, by) = match from_leaves(network, &ends) {
        Some(found) => found,
        None => from_reservoirs(network, &ends)?,
    };
    Ok(Ways {
        devices: network.links.iter().any(sets_head),
        ends,
        order,
        by,
    })
}

/// The order of nodes, each after the one it is reached from, and the link by which each is reached.
type Led = (Vec<u32>, Vec<u32>);

/// Takes leaves until reservoirs alone are left; `None` where something else is. A leaf's link and neighbour are all that is
/// left of the exclusive or over all its links and neighbours, so that no lists are needed.
fn from_leaves(network: &Network, ends: &[(u32, u32)]) -> Option<Led> {
    let nodes = network.nodes.len();
    let mut left = vec![(0u32, 0u32, 0u32); nodes]; // links, their exclusive or, that of neighbours
    for (link, &(from, to)) in ends.iter().enumerate() {
        for (node, neighbour) in [(from, to), (to, from)] {
            let of = &mut left[node as usize];
            *of = (of.0 + 1, of.1 ^ link as u32, of.2 ^ neighbour);
        }
    }
    let mut by = vec![NONE; nodes];
    let mut taken = Vec::with_capacity(nodes);
    for start in 0..nodes {
        let mut node = start;
        while left[node].0 == 1 && network.nodes[node].fixed_head_m.is_none() {
            let (_, link, neighbour) = left[node];
            left[node].0 = 0;
            by[node] = link;
            taken.push(node as u32);
            let of = &mut left[neighbour as usize];
            *of = (of.0 - 1, of.1 ^ link, of.2 ^ node as u32);
            node = neighbour as usize;
        }
    }
    let given =
        (0..nodes as u32).filter(|&node| network.nodes[node as usize].fixed_head_m.is_some());
    taken.extend(given);
    taken.reverse();
    (taken.len() == nodes).then_some((taken, by))
}

/// Goes out from the reservoirs, to the nearest nodes first.
fn from_reservoirs(network: &Network, ends: &[(u32, u32)]) -> Result<Led, SolveError> {
    let (starts, links) = links_by_node(network.nodes.len(), ends);
    let mut order = Vec::with_capacity(network.nodes.len());
    let mut reached = vec![false; network.nodes.len()];
    for (node, spec) in network.nodes.iter().enumerate() {
        if spec.fixed_head_m.is_some() {
            reached[node] = true;
            order.push(node as u32);
        }
    }
    let mut by = vec![NONE; network.nodes.len()];
    let mut next = 0;
    while let Some(&node) = order.get(next) {
        for &link in &links[starts[node as usize] as usize..starts[node as usize + 1] as usize] {
            let (from, to) = ends[link as usize];
            let neighbour = if from == node { to } else { from };
            if !reached[neighbour as usize] {
                reached[neighbour as usize] = true;
                by[neighbour as usize] = link;
                order.push(neighbour);
            }
        }
        next += 1;
    }
    match reached.iter().position(|&reached| !reached) {
        Some(node) => Err(SolveError::NoSupply(node)),
        None => Ok((order, by)),
    }
}

fn sets_head(link: &Link) -> bool {
    matches!(link.element, Element::Curve(_) | Element::Regulator { .. })
}

/// Links of node `i`: from `starts[i]` to `starts[i + 1]` in the second list.
fn links_by_node(nodes: usize, ends: &[(u32, u32)]) -> (Vec<u32>, Vec<u32>) {
    let mut starts = vec![0; nodes + 1];
    for &(from, to) in ends {
        starts[from as usize] += 1;
        starts[to as usize] += 1;
    }
    let mut sum = 0;
    for start in &mut starts {
        sum += *start;
        *start = sum;
    }
    let mut links = vec![0; sum as usize];
    // Filled from the back, which moves each start to where it belongs.
    for (index, &(from, to)) in ends.iter().enumerate().rev() {
        for node in [to, from] {
            starts[node as usize] -= 1;
            links[starts[node as usize] as usize] = index as u32;
        }
    }
    (starts, links)
}
