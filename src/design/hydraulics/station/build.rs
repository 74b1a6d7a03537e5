//! The network of stations open together; one station is a set of one.

use super::{StationError, StationInput};
use crate::design::hydraulics::minor;
use crate::design::hydraulics::network::{Element, Network, Node};
use crate::units::head_m_from_kpa;
use std::collections::BTreeMap;

/// A network, and what of the design each part of it is.
#[derive(Debug)]
pub(super) struct Built<'a> {
    pub(super) network: Network<'a>,
    /// Link of the supply.
    pub(super) supply: usize,
    /// Node of the design and node of the network, of all mains.
    main_nodes: BTreeMap<usize, usize>,
    /// Pipe of the design and link of the network, of all mains.
    pub(super) main_pipes: BTreeMap<usize, usize>,
    /// The parts of each station, in the order given.
    pub(super) stations: Vec<Parts>,
}

/// What belongs to one station.
#[derive(Debug, Default)]
pub(super) struct Parts {
    /// Node of the design and node of the network, from source to valve.
    pub(super) main: Vec<(usize, usize)>,
    /// Link of the valve.
    pub(super) valve: usize,
    /// Node of the design and node of the network, behind the valve.
    pub(super) laterals: BTreeMap<usize, usize>,
    /// Pipe of the design and link of the network, main first.
    pub(super) pipes: Vec<(usize, usize)>,
    /// Network node of each head, in the order given.
    pub(super) heads: Vec<usize>,
}

/// Builds the network of stations of one design.
pub(super) fn stations<'a>(inputs: &[StationInput<'a>]) -> Result<Built<'a>, StationError> {
    let mut built = source(inputs.first().ok_or(StationError::NoStation)?)?;
    for input in inputs {
        let mut parts = Parts::default();
        main(input, &mut built, &mut parts)?;
        valve(input, &mut built.network, &mut parts)?;
        laterals(input, &mut built.network, &mut parts)?;
        heads(input, &mut built.network, &mut parts)?;
        built.stations.push(parts);
    }
    Ok(built)
}

/// A reservoir at the source's invert and the supply's curve on it.
fn source<'a>(input: &StationInput<'a>) -> Result<Built<'a>, StationError> {
    let invert_m = input.node(input.source_node)?.invert_m;
    let mut network = Network::default();
    let reservoir = network.add_node(Node::reservoir(invert_m));
    let source = network.add_node(Node::junction(invert_m, 0.0));
    let supply = network.add_link(reservoir, source, Element::Curve(input.supply));
    Ok(Built {
        network,
        supply,
        main_nodes: BTreeMap::from([(input.source_node, source)]),
        main_pipes: BTreeMap::new(),
        stations: Vec::new(),
    })
}

/// The way to the valve; what another station has brought already is shared.
fn main<'a>(
    input: &StationInput<'a>,
    built: &mut Built<'a>,
    parts: &mut Parts,
) -> Result<(), StationError> {
    let nodes = input.main_nodes()?;
    for &node in &nodes {
        let junction = Node::junction(input.node(node)?.invert_m, 0.0);
        let network = &mut built.network;
        let place = built.main_nodes.entry(node);
        let place = *place.or_insert_with(|| network.add_node(junction));
        parts.main.push((node, place));
    }
    for (step, &pipe) in input.main_path.iter().enumerate() {
        let (near, far) = (parts.main[step].1, parts.main[step + 1].1);
        // Along the pipe's own direction, so that its flow has the sign the design expects.
        let along = input.pipe(pipe)?.from == nodes[step];
        let (from, to) = if along { (near, far) } else { (far, near) };
        let element = input.element(pipe)?;
        let network = &mut built.network;
        let link = built.main_pipes.entry(pipe);
        let link = *link.or_insert_with(|| network.add_link(from, to, element));
        parts.pipes.push((pipe, link));
    }
    Ok(())
}

fn valve<'a>(
    input: &StationInput<'a>,
    network: &mut Network<'a>,
    parts: &mut Parts,
) -> Result<(), StationError> {
    let before = parts.main[parts.main.len() - 1].1;
    let junction = Node::junction(input.node(input.valve_node)?.invert_m, 0.0);
    let behind = network.add_node(junction);
    let resistance = minor::resistance_of_device(input.valve.loss_kpa, input.valve.flow_max_lpm);
    let element = match input.regulated_kpa {
        Some(kpa) => Element::Regulator {
            pressure_m: head_m_from_kpa(kpa),
            resistance,
        },
        None => Element::Loss { resistance },
    };
    parts.valve = network.add_link(before, behind, element);
    parts.laterals.insert(input.valve_node, behind);
    Ok(())
}

fn laterals<'a>(
    input: &StationInput<'a>,
    network: &mut Network<'a>,
    parts: &mut Parts,
) -> Result<(), StationError> {
    for &index in input.laterals {
        let pipe = input.pipe(index)?;
        let mut ends = [0; 2];
        for (end, node) in ends.iter_mut().zip([pipe.from, pipe.to]) {
            let junction = Node::junction(input.node(node)?.invert_m, 0.0);
            *end = *parts
                .laterals
                .entry(node)
                .or_insert_with(|| network.add_node(junction));
        }
        if ends[0] == ends[1] {
            return Err(StationError::Pipe(index));
        }
        let element = input.element(index)?;
        let link = network.add_link(ends[0], ends[1], element);
        parts.pipes.push((index, link));
    }
    Ok(())
}

fn heads<'a>(
    input: &StationInput<'a>,
    network: &mut Network<'a>,
    parts: &mut Parts,
) -> Result<(), StationError> {
    let mut standing = BTreeMap::new();
    for (&node, &place) in &parts.laterals {
        if let Some(head) = input.node(node)?.head {
            standing.insert(head, place);
        }
    }
    for &head in input.station_heads {
        let outlet = input.outlet(head)?;
        let &place = standing
            .get(&head)
            .ok_or(StationError::HeadWithoutNode(head))?;
        network.nodes[place].outlet = Some(outlet);
        parts.heads.push(place);
    }
    Ok(())
}
