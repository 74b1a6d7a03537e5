//! A network as it is told to both solvers, in SI.

use std::fmt::Debug;
use swardline::design::hydraulics::friction::{Bore, Turbulent};
use swardline::design::hydraulics::{Element, Network, Node, SourceCurve};

/// How pipes lose head; the same for all pipes of a network, as EPANET has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Friction {
    /// Hazen–Williams; the roughness of a pipe is its C.
    HazenWilliams,
    /// Darcy–Weisbach by Swamee and Jain; the roughness of a pipe is that of its walls, mm.
    DarcyWeisbach { viscosity_m2_s: f64 },
}

/// A pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pipe {
    pub length_m: f64,
    pub inside_mm: f64,
    pub roughness: f64,
    pub minor_k: f64,
}

/// A supply or pump, and the points by which EPANET is told of it: flow m³/s, head m.
#[derive(Debug)]
pub struct Supply {
    pub curve: Box<dyn SourceCurve>,
    pub points: Vec<(f64, f64)>,
}

/// What a link is.
#[derive(Debug)]
pub enum Kind {
    Pipe(Pipe),
    /// A pipe with a check valve in it: its fittings are the valve.
    Check(Pipe),
    /// Loss `resistance · q²`.
    Loss(f64),
    Supply(Supply),
    /// Holds a pressure, m; resistance when open.
    Regulator {
        pressure_m: f64,
        resistance: f64,
    },
}

#[derive(Debug)]
pub struct Link {
    pub from: usize,
    pub to: usize,
    pub kind: Kind,
}

/// A network, and how EPANET names its outlets' one exponent.
#[derive(Debug)]
pub struct Told {
    pub friction: Friction,
    /// Exponent of every outlet.
    pub exponent: f64,
    pub nodes: Vec<Node>,
    pub links: Vec<Link>,
}

impl Told {
    pub fn new(friction: Friction, exponent: f64) -> Self {
        Self {
            friction,
            exponent,
            nodes: Vec::new(),
            links: Vec::new(),
        }
    }

    pub fn add_node(&mut self, node: Node) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    pub fn add_link(&mut self, from: usize, to: usize, kind: Kind) {
        self.links.push(Link { from, to, kind });
    }

    /// The network for our solver. Nodes and links keep their numbers; what has no counterpart comes after them.
    pub fn network(&self) -> Network<'_> {
        let mut network = Network {
            nodes: self.nodes.clone(),
            links: Vec::new(),
        };
        let mut checks = Vec::new();
        for link in &self.links {
            let (mut to, mut element) = (link.to, self.element(&link.kind));
            if let Kind::Check(pipe) = &link.kind {
                // The valve behind the pipe, with the pipe's fittings for its resistance.
                let between = network.add_node(Node::junction(self.nodes[to].elevation_m, 0.0));
                checks.push((between, to, pipe));
                to = between;
                element = self.pipe(&Pipe {
                    minor_k: 0.0,
                    ..*pipe
                });
            }
            network.add_link(link.from, to, element);
        }
        for (from, to, pipe) in checks {
            let inside_m = pipe.inside_mm / 1e3;
            let resistance =
                swardline::design::hydraulics::minor::resistance_of_fitting(pipe.minor_k, inside_m);
            network.add_link(from, to, Element::Check { resistance });
        }
        network
    }

    fn element<'a>(&self, kind: &'a Kind) -> Element<'a> {
        match kind {
            Kind::Pipe(pipe) | Kind::Check(pipe) => self.pipe(pipe),
            &Kind::Loss(resistance) => Element::Loss { resistance },
            Kind::Supply(supply) => Element::Curve(supply.curve.as_ref()),
            &Kind::Regulator {
                pressure_m,
                resistance,
            } => Element::Regulator {
                pressure_m,
                resistance,
            },
        }
    }

    fn pipe(&self, pipe: &Pipe) -> Element<'static> {
        let inside_m = pipe.inside_mm / 1e3;
        let bore = match self.friction {
            Friction::HazenWilliams => Bore::hazen_williams(inside_m, pipe.roughness),
            Friction::DarcyWeisbach { viscosity_m2_s } => Bore::darcy_weisbach(
                inside_m,
                pipe.roughness / 1e3,
                viscosity_m2_s,
                Turbulent::SwameeJain,
            ),
        };
        Element::Pipe {
            length_m: pipe.length_m,
            bore: bore.unwrap(),
            minor_k: pipe.minor_k,
        }
    }
}
