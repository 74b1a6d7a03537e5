//! One straight edge dug and laid with pipe: trench pieces of one surface each, pipes that bend with the ground.

use super::edge::Edge;
use super::{Pipework, Run};
use crate::design::model::{Node, NodeKind, Pipe, Section, Trench};
use crate::site::Terrain;
use geo::{Coord, LineString};

/// A trench piece, and the shares of the edge between which it was dug.
pub type Dug = (usize, f64, f64);

/// The part of an edge that pipe is laid along.
#[derive(Debug, Clone, Copy)]
pub struct Span {
    /// Where it begins, as a share of the edge.
    pub from: f64,
    /// Where it ends, as a share of the edge.
    pub to: f64,
    /// Section of the pipe.
    pub section: Section,
    /// Node it starts at.
    pub start: usize,
    /// The run before it.
    pub parent: Option<usize>,
}

/// Lays one run along a span of an edge; returns its last node and the run. Bends and the end are new junctions.
pub fn lay(
    out: &mut Pipework,
    edge: &Edge,
    span: &Span,
    trenches: &[Dug],
    terrain: &Terrain,
) -> (usize, usize) {
    let cuts = edge.cuts(span.from, span.to);
    let mut at = span.start;
    let mut pipes = Vec::new();
    for piece in cuts.windows(2) {
        let next = node(out, edge.at(piece[1]), span.section, terrain);
        let lies_in: Vec<usize> = trenches
            .iter()
            .filter(|(_, a, b)| *a < piece[1] - 1e-9 && *b > piece[0] + 1e-9)
            .map(|t| t.0)
            .collect();
        for &trench in &lies_in {
            out.trenches[trench].pipes += 1;
        }
        pipes.push(out.pipes.len());
        out.pipes.push(Pipe {
            section: span.section,
            from: at,
            to: next,
            trenches: lies_in,
            line: LineString::from(vec![out.nodes[at].position, out.nodes[next].position]),
            length_m: edge.length_m * (piece[1] - piece[0]),
            size: 0,
            minor_k: 0.0,
            flow_lpm: 0.0,
            velocity_m_s: 0.0,
            loss_kpa: 0.0,
        });
        at = next;
    }
    out.runs.push(Run {
        section: span.section,
        parent: span.parent,
        pipes,
        to: at,
    });
    (at, out.runs.len() - 1)
}

/// Digs an edge: one trench for each piece of one surface. Cover is not known yet.
pub fn dig(out: &mut Pipework, edge: &Edge) -> Vec<Dug> {
    let mut dug = Vec::new();
    for piece in edge.pieces() {
        let (from, to) = (piece.from, piece.to);
        dug.push((out.trenches.len(), from, to));
        out.trenches.push(Trench {
            line: LineString::from(vec![edge.at(from), edge.at(to)]),
            surface: piece.state.surface(),
            sleeve: piece.state.paving,
            length_m: edge.length_m * (to - from),
            cover_min_m: 0.0,
            cover_max_m: 0.0,
            pipes: 0,
        });
    }
    dug
}

/// A new junction on the ground.
pub fn node(
    out: &mut Pipework,
    position: Coord<f64>,
    section: Section,
    terrain: &Terrain,
) -> usize {
    let ground_m = terrain.height_m(position).unwrap_or(f64::NAN);
    out.nodes.push(Node {
        position,
        kind: NodeKind::Junction,
        section,
        head: None,
        ground_m,
        invert_m: ground_m,
        pressure_kpa: None,
        static_kpa: None,
    });
    out.nodes.len() - 1
}
