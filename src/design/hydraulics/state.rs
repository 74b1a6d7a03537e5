//! Where the iteration stands: heads, flows, positions of valves, and one step of the global gradient algorithm.
//!
//! Todini and Pilati 1988, in Computer Applications in Water Supply vol. 1; in the form of Rossman et al. 2020,
//! EPA/600/R-20/133, chapter 12. An outlet is a link like others, to an opening whose head is its height. Heads are
//! counted from the greatest given head, so that high ground costs no digits.

use super::laws::Laws;
use super::matrix::{Equations, Method, Singular};
use super::network::{Element, Network};
use super::start;
use super::survey::Ways;

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

/// A link, or an outlet as a link to its opening.
#[derive(Debug, Clone, Copy)]
pub(super) struct Conduit {
    pub(super) from: usize,
    pub(super) to: usize,
}

/// Everything that changes while solving.
#[derive(Debug, Clone)]
pub(super) struct State<'n, 'a> {
    pub(super) network: &'n Network<'a>,
    pub(super) datum_m: f64,
    /// Links, then outlets by rising node.
    pub(super) conduits: Vec<Conduit>,
    pub(super) laws: Laws<'a>,
    /// Heads of nodes, then of the openings of outlets, above the datum, m.
    pub(super) head: Vec<f64>,
    /// Flow in each conduit, m³/s.
    pub(super) flow: Vec<f64>,
    pub(super) position: Vec<Position>,
}

/// The unknown heads of one set of positions and the equations for them.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Node of each row.
    node: Vec<usize>,
    /// Conduit, rows at its ends: between two unknown heads.
    inner: Vec<(usize, usize, usize)>,
    border: Vec<Border>,
    /// Conduits that are not open.
    shut: Vec<usize>,
    holding: Vec<usize>,
    equations: Equations,
}

/// A conduit between an unknown head and a given one.
#[derive(Debug, Clone, Copy)]
struct Border {
    conduit: usize,
    row: usize,
    given: usize,
    /// 1 where it leads away from the unknown head, else -1.
    out: f64,
}

/// How far flows are from the heads beside them, as flow, m³/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unrest {
    /// By how much all flows would be corrected if the heads stood.
    pub(super) off_m3s: f64,
    pub(super) flowing_m3s: f64,
}

impl<'n, 'a> State<'n, 'a> {
    pub(super) fn start(network: &'n Network<'a>, ways: &Ways) -> Self {
        let given = network.nodes.iter().filter_map(|node| node.fixed_head_m);
        let datum_m = given.fold(f64::NEG_INFINITY, f64::max);
        let links = network.links.iter();
        let mut conduits: Vec<_> = links
            .map(|link| Conduit {
                from: link.from,
                to: link.to,
            })
            .collect();
        let nodes = network.nodes.iter();
        let mut head: Vec<_> = nodes
            .map(|node| node.fixed_head_m.map_or(0.0, |head| head - datum_m))
            .collect();
        for (node, spec) in network.nodes.iter().enumerate() {
            if let Some(outlet) = spec.outlet {
                conduits.push(Conduit {
                    from: node,
                    to: head.len(),
                });
                head.push(outlet.elevation_m - datum_m);
            }
        }
        let mut position = vec![Position::Open; conduits.len()];
        for (position, link) in position.iter_mut().zip(&network.links) {
            if matches!(link.element, Element::Regulator { .. }) {
                *position = Position::Holding;
            }
        }
        Self {
            network,
            datum_m,
            laws: Laws::of(network),
            flow: start::flows(network, ways),
            conduits,
            head,
            position,
        }
    }

    /// Sets up the equations for the present positions; held heads are put in place.
    pub(super) fn linear(&mut self, method: Method) -> Result<Linear, Singular> {
        let held = self.hold();
        let nodes = self.network.nodes.iter().enumerate();
        let given = |node: usize| node >= held.len() || held[node];
        let mut row = vec![0; self.head.len()];
        let node: Vec<usize> = nodes
            .map(|(node, _)| node)
            .filter(|&node| !held[node])
            .collect();
        for (place, &node) in node.iter().enumerate() {
            row[node] = place;
        }
        let (mut inner, mut border, mut edges) = (Vec::new(), Vec::new(), Vec::new());
        for (conduit, &Conduit { from, to }) in self.conduits.iter().enumerate() {
            let mut at_border = |near: usize, given: usize, out| {
                border.push(Border {
                    conduit,
                    row: row[near],
                    given,
                    out,
                });
            };
            match (given(from), given(to)) {
                (false, false) => {
                    inner.push((conduit, row[from], row[to]));
                    edges.push((row[from] as u32, row[to] as u32));
                }
                (false, true) => at_border(from, to, 1.0),
                (true, false) => at_border(to, from, -1.0),
                (true, true) => {}
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

    /// Nodes whose head is given; that of regulators that hold is put there.
    fn hold(&mut self) -> Vec<bool> {
        let nodes = self.network.nodes.iter();
        let mut held: Vec<bool> = nodes.map(|node| node.fixed_head_m.is_some()).collect();
        for (link, position) in self.network.links.iter().zip(&self.position) {
            if let (Element::Regulator { pressure_m, .. }, Position::Holding) =
                (link.element, position)
            {
                held[link.to] = true;
                let elevation_m = self.network.nodes[link.to].elevation_m;
                self.head[link.to] = elevation_m + pressure_m - self.datum_m;
            }
        }
        held
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
            Singular::Loose(row) => Singular::Loose(linear.node[row]),
            Singular::Broken => Singular::Broken,
        })?;
        for (&node, &head) in linear.node.iter().zip(&linear.equations.right) {
            self.head[node] = head;
        }
        let laws = self.laws.loss.iter().zip(&self.laws.conductance);
        for ((flow, conduit), (loss, conductance)) in
            self.flow.iter_mut().zip(&self.conduits).zip(laws)
        {
            let drop = self.head[conduit.from] - self.head[conduit.to];
            *flow -= share * (loss - drop) * conductance;
        }
        Ok(())
    }

    fn assemble(&self, linear: &mut Linear) {
        let equations = &mut linear.equations;
        equations.clear();
        for (right, &node) in equations.right.iter_mut().zip(&linear.node) {
            *right = -self.network.nodes[node].demand_m3s;
        }
        let (loss, conductance) = (&self.laws.loss, &self.laws.conductance);
        let constant = |conduit: usize| self.flow[conduit] - loss[conduit] * conductance[conduit];
        for (edge, &(conduit, from, to)) in equations.edge.iter_mut().zip(&linear.inner) {
            *edge = conductance[conduit];
            equations.right[from] -= constant(conduit);
            equations.right[to] += constant(conduit);
        }
        for at in &linear.border {
            let by = conductance[at.conduit];
            equations.ground[at.row] += by;
            equations.right[at.row] += self.head[at.given] * by - at.out * constant(at.conduit);
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
        for ((flow, conduit), (loss, conductance)) in self.flow.iter().zip(&self.conduits).zip(laws)
        {
            let drop = self.head[conduit.from] - self.head[conduit.to];
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
            let Conduit { from, to } = self.conduits[conduit];
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
        for (conduit, &Conduit { from, to }) in self.conduits.iter().enumerate() {
            let flow = self.told_flow(conduit);
            missing[from] += flow;
            missing[to] -= flow;
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
