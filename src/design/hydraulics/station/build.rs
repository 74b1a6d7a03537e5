//! The network of a station.

use super::{StationError, StationInput};
use crate::design::hydraulics::minor;
use crate::design::hydraulics::network::{Element, Network, Node};
use crate::units::head_m_from_kpa;
use std::collections::BTreeMap;

/// A station's network, and what of the design each part of it is.
#[derive(Debug)]
pub(super) struct Built<'a> {
    pub(super) network: Network<'a>,
    /// Link of the supply.
    pub(super) supply: usize,
    /// Node of the design and node of the network, from source to valve.
    pub(super) main: Vec<(usize, usize)>,
    /// Node of the design and node of the network, behind the valve.
    pub(super) laterals: BTreeMap<usize, usize>,
    /// Pipe of the design and link of the network, main first.
    pub(super) pipes: Vec<(usize, usize)>,
    /// Network node of each head, in the order given.
    pub(super) heads: Vec<usize>,
}

/// Builds the network of a station.
pub(super) fn station<'a>(input: &StationInput<'a>) -> Result<Built<'a>, StationError> {
    let mut built = source(input)?;
    main(input, &mut built)?;
    valve(input, &mut built)?;
    laterals(input, &mut built)?;
    heads(input, &mut built)?;
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
        main: vec![(input.source_node, source)],
        laterals: BTreeMap::new(),
        pipes: Vec::new(),
        heads: Vec::new(),
    })
}

fn main<'a>(input: &StationInput<'a>, built: &mut Built<'a>) -> Result<(), StationError> {
    let nodes = input.main_nodes()?;
    for &node in &nodes[1..] {
        let junction = Node::junction(input.node(node)?.invert_m, 0.0);
        built.main.push((node, built.network.add_node(junction)));
    }
    for (step, &pipe) in input.main_path.iter().enumerate() {
        let (near, far) = (built.main[step].1, built.main[step + 1].1);
        // Along the pipe's own direction, so that its flow has the sign the design expects.
        let along = input.pipe(pipe)?.from == nodes[step];
        let (from, to) = if along { (near, far) } else { (far, near) };
        let link = built.network.add_link(from, to, input.element(pipe)?);
        built.pipes.push((pipe, link));
    }
    Ok(())
}

fn valve<'a>(input: &StationInput<'a>, built: &mut Built<'a>) -> Result<(), StationError> {
    let before = built.main[built.main.len() - 1].1;
    let junction = Node::junction(input.node(input.valve_node)?.invert_m, 0.0);
    let behind = built.network.add_node(junction);
    let resistance = minor::resistance_of_device(input.valve.loss_kpa, input.valve.flow_max_lpm);
    let element = match input.regulated_kpa {
        Some(kpa) => Element::Regulator {
            pressure_m: head_m_from_kpa(kpa),
            resistance,
        },
        None => Element::Loss { resistance },
    };
    built.network.add_link(before, behind, element);
    built.laterals.insert(input.valve_node, behind);
    Ok(())
}

fn laterals<'a>(input: &StationInput<'a>, built: &mut Built<'a>) -> Result<(), StationError> {
    for &index in input.laterals {
        let pipe = input.pipe(index)?;
        let mut ends = [0; 2];
        for (end, node) in ends.iter_mut().zip([pipe.from, pipe.to]) {
            let junction = Node::junction(input.node(node)?.invert_m, 0.0);
            let network = &mut built.network;
            *end = *built
                .laterals
                .entry(node)
                .or_insert_with(|| network.add_node(junction));
        }
        if ends[0] == ends[1] {
            return Err(StationError::Pipe(index));
        }
        let element = input.element(index)?;
        let link = built.network.add_link(ends[0], ends[1], element);
        built.pipes.push((index, link));
    }
    Ok(())
}

fn heads<'a>(input: &StationInput<'a>, built: &mut Built<'a>) -> Result<(), StationError> {
    let mut standing = BTreeMap::new();
    for (&node, &place) in &built.laterals {
        if let Some(head) = input.node(node)?.head {
            standing.insert(head, place);
        }
    }
    for &head in input.station_heads {
        let outlet = input.outlet(head)?;
        let &place = standing
            .get(&head)
            .ok_or(StationError::HeadWithoutNode(head))?;
        built.network.nodes[place].outlet = Some(outlet);
        built.heads.push(place);
    }
    Ok(())
}
