//! Where the iteration stands: heads, flows, positions of valves, and one step of the global gradient algorithm.
//!
//! Todini and Pilati 1988, in Computer Applications in Water Supply vol. 1; in the form of Rossman et al. 2020,
//! EPA/600/R-20/133, chapter 12. An outlet is a link like others, to an opening whose head is its height. Heads are
//! counted from the greatest given head, so that high ground costs no digits.

use super::laws::Laws;
use super::matrix::{Equations, Method, Singular};
use super::network::{Element, Network};
use super::start;
use super::survey::{NONE, Ways};

/// Head lost per flow in what is shut, m per m³/s: a hundred metres push 1e-12 m³/s through.
const SHUT_LOSS_PER_FLOW: f64 = 1e14;

/// Position of a conduit.
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
    /// From and to: of links, then of outlets by rising node.
    ends: Vec<(u32, u32)>,
    pub(super) laws: Laws<'a>,
    /// Heads of nodes, then of the openings of outlets, above the datum, m.
    pub(super) head: Vec<f64>,
    /// Flow in each conduit, m³/s.
    pub(super) flow: Vec<f64>,
    pub(super) position: Vec<Position>,
    /// Head at the first end of each conduit less that at its second when flows were last corrected, m.
    drop: Vec<f64>,
    /// Nodes, each after one nearer to a reservoir.
    order: Vec<u32>,
    /// Links that decide for themselves whether they are open.
    pub(super) devices: Vec<u32>,
}

/// The unknown heads of one set of positions and the equations for them.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Node of each row.
    node: Vec<u32>,
    /// Conduit, rows at its ends: between two unknown heads.
    inner: Vec<(u32, u32, u32)>,
    border: Vec<Border>,
    /// Conduits that are not open.
    shut: Vec<usize>,
    holding: Vec<usize>,
    equations: Equations,
}

/// A conduit between an unknown head and a given one.
#[derive(Debug, Clone, Copy)]
struct Border {
    conduit: u32,
    row: u32,
    given: u32,
    /// Whether it leads away from the unknown head.
    out: bool,
}

/// How far flows are from the heads beside them, as flow, m³/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unrest {
    /// By how much all flows would be corrected if the heads stood.
    pub(super) off_m3s: f64,
    pub(super) flowing_m3s: f64,
}

impl<'n, 'a> State<'n, 'a> {
    pub(super) fn start(network: &'n Network<'a>, ways: Ways) -> Self {
        let given = network.nodes.iter().filter_map(|node| node.fixed_head_m);
        let datum_m = given.fold(f64::NEG_INFINITY, f64::max);
        let flow = start::flows(network, &ways);
        let mut ends = ways.ends;
        let mut head = Vec::with_capacity(2 * network.nodes.len());
        let nodes = network.nodes.iter();
        head.extend(nodes.map(|node| node.fixed_head_m.map_or(0.0, |head| head - datum_m)));
        for (node, spec) in network.nodes.iter().enumerate() {
            if let Some(outlet) = &spec.outlet {
                ends.push((node as u32, head.len() as u32));
                head.push(outlet.elevation_m - datum_m);
            }
        }
        let mut position = vec![Position::Open; ends.len()];
        let mut devices = Vec::new();
        for (index, link) in network.links.iter().enumerate() {
            match link.element {
                Element::Pipe { .. } | Element::Loss { .. } => continue,
                Element::Regulator { .. } => position[index] = Position::Holding,
                Element::Curve(_) | Element::Check { .. } => {}
            }
            devices.push(index as u32);
        }
        Self {
            network,
            datum_m,
            laws: Laws::of(network),
            flow,
            drop: vec![0.0; ends.len()],
            order: ways.order,
            devices,
            ends,
            head,
            position,
        }
    }

    /// Nodes at the ends of a conduit; an outlet leads to its opening, which counts as a node after all others.
    pub(super) fn ends(&self, conduit: usize) -> (usize, usize) {
        let (from, to) = self.ends[conduit];
        (from as usize, to as usize)
    }

    /// Head at the first end of a conduit less that at its second, m.
    pub(super) fn drop_m(&self, conduit: usize) -> f64 {
        let (from, to) = self.ends(conduit);
        self.head[from] - self.head[to]
    }

    /// Sets up the equations for the present positions; held heads are put in place.
    pub(super) fn linear(&mut self, method: Method) -> Result<Linear, Singular> {
        let (row, node) = self.rows();
        let mut inner = Vec::with_capacity(self.ends.len());
        let mut border = Vec::with_capacity(self.ends.len());
        let mut edges = Vec::with_capacity(self.network.links.len());
        for (conduit, &(from, to)) in self.ends.iter().enumerate() {
            let (conduit, rows) = (conduit as u32, (row[from as usize], row[to as usize]));
            let mut at_border = |row, given, out| {
                border.push(Border {
                    conduit,
                    row,
                    given,
                    out,
                });
            };
            match rows {
                (NONE, NONE) => {}
                (row, NONE) => at_border(row, to, true),
                (NONE, row) => at_border(row, from, false),
                (first, second) => {
                    inner.push((conduit, first, second));
                    edges.push((first, second));
                }
            }
        }
        Ok(Linear {
            equations: Equations::new(node.len(), &edges, method)?,
            node,
            inner,
            border,
            shut: self.standing(Position::Shut),
            holding: self.standing(Position::Holding),
        })
    }

    /// Row of each node, `NONE` where its head is given, and node of each row. What holding regulators give is put in
    /// place. Rows run towards the reservoirs, which is nearly the order of elimination.
    fn rows(&mut self) -> (Vec<u32>, Vec<u32>) {
        let mut given = vec![false; self.network.nodes.len()];
        for (given, node) in given.iter_mut().zip(&self.network.nodes) {
            *given = node.fixed_head_m.is_some();
        }
        for &conduit in &self.standing(Position::Holding) {
            let link = &self.network.links[conduit];
            if let Element::Regulator { pressure_m, .. } = link.element {
                given[link.to] = true;
                let elevation_m = self.network.nodes[link.to].elevation_m;
                self.head[link.to] = elevation_m + pressure_m - self.datum_m;
            }
        }
        let mut row = vec![NONE; self.head.len()];
        let mut node = Vec::with_capacity(given.len());
        for &at in self.order.iter().rev() {
            if !given[at as usize] {
                row[at as usize] = node.len() as u32;
                node.push(at);
            }
        }
        (row, node)
    }

    fn standing(&self, position: Position) -> Vec<usize> {
        let positions = self.position.iter().enumerate();
        positions
            .filter_map(|(conduit, &at)| (at == position).then_some(conduit))
            .collect()
    }

    /// Losses and conductances at the present flows.
    pub(super) fn evaluate(&mut self, linear: &Linear) {
        self.laws.evaluate(&self.flow);
        for &conduit in &linear.shut {
            let loss = SHUT_LOSS_PER_FLOW * self.flow[conduit];
            self.laws.set(conduit, loss, 1.0 / SHUT_LOSS_PER_FLOW);
        }
        for &conduit in &linear.holding {
            // Its flow does not follow from the heads beside it.
            self.laws.set(conduit, 0.0, 0.0);
        }
    }

    /// One step, from laws that were evaluated: heads from the linearised laws, then flows from the heads; `share`
    /// below 1 goes part of the way.
    pub(super) fn step(&mut self, linear: &mut Linear, share: f64) -> Result<(), Singular> {
        self.assemble(linear);
        linear.equations.solve().map_err(|why| match why {
            Singular::Loose(row) => Singular::Loose(linear.node[row] as usize),
            Singular::Broken => Singular::Broken,
        })?;
        for (&node, row) in linear.node.iter().zip(&linear.equations.rows) {
            self.head[node as usize] = row.right;
        }
        let laws = self.laws.loss.iter().zip(&self.laws.conductance);
        let conduits = self.flow.iter_mut().zip(&mut self.drop).zip(&self.ends);
        for (((flow, drop), &(from, to)), (loss, conductance)) in conduits.zip(laws) {
            *drop = self.head[from as usize] - self.head[to as usize];
            *flow -= share * (loss - *drop) * conductance;
        }
        Ok(())
    }

    fn assemble(&self, linear: &mut Linear) {
        let equations = &mut linear.equations;
        equations.clear();
        for (row, &node) in equations.rows.iter_mut().zip(&linear.node) {
            row.right = -self.network.nodes[node as usize].demand_m3s;
        }
        let (loss, conductance) = (&self.laws.loss, &self.laws.conductance);
        let constant = |conduit: usize| self.flow[conduit] - loss[conduit] * conductance[conduit];
        for (edge, &(conduit, from, to)) in equations.edge.iter_mut().zip(&linear.inner) {
            let constant = constant(conduit as usize);
            *edge = conductance[conduit as usize];
            equations.rows[from as usize].right -= constant;
            equations.rows[to as usize].right += constant;
        }
        for at in &linear.border {
            let constant = constant(at.conduit as usize);
            let by = conductance[at.conduit as usize];
            let given = self.head[at.given as usize] * by;
            let row = &mut equations.rows[at.row as usize];
            row.ground += by;
            row.right += if at.out {
                given - constant
            } else {
                given + constant
            };
        }
    }

    /// How far flows are from the heads beside them, by laws that were evaluated.
    ///
    /// The next step would change no flow by more: it is this correction less the part that heads can take away.
    pub(super) fn unrest(&self) -> Unrest {
        let mut unrest = Unrest {
            off_m3s: 0.0,
            flowing_m3s: 0.0,
        };
        let laws = self.laws.loss.iter().zip(&self.laws.conductance);
        for ((flow, drop), (loss, conductance)) in self.flow.iter().zip(&self.drop).zip(laws) {
            unrest.off_m3s += ((loss - drop) * conductance).abs();
            unrest.flowing_m3s += flow.abs();
        }
        unrest
    }

    /// A holding regulator carries what its second node needs; gives by how much that changed.
    pub(super) fn pass_through_regulators(&mut self, linear: &Linear) -> f64 {
        if linear.holding.is_empty() {
            return 0.0;
        }
        let mut missing = self.missing();
        let mut moved = 0.0;
        for &conduit in &linear.holding {
            let (from, to) = self.ends(conduit);
            let needed = missing[to];
            self.flow[conduit] += needed;
            missing[to] = 0.0;
            missing[from] += needed;
            moved += needed.abs();
        }
        moved
    }

    /// Outflow less inflow of every node, m³/s.
    pub(super) fn missing(&self) -> Vec<f64> {
        let mut missing = vec![0.0; self.head.len()];
        for (missing, node) in missing.iter_mut().zip(&self.network.nodes) {
            *missing = node.demand_m3s;
        }
        for (conduit, &(from, to)) in self.ends.iter().enumerate() {
            let flow = self.told_flow(conduit);
            missing[from as usize] += flow;
            missing[to as usize] -= flow;
        }
        missing
    }

    /// Flow in a conduit as told to others: none where it is shut.
    pub(super) fn told_flow(&self, conduit: usize) -> f64 {
        match self.position[conduit] {
            Position::Shut => 0.0,
            _ => self.flow[conduit],
        }
    }
}
