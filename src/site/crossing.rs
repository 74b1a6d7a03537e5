//! Where the edges of rings meet that should not: crossings, touches, overlaps.

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line};

/// An edge, with the ring it belongs to and its number in it.
#[derive(Debug, Clone, Copy)]
struct Edge {
    line: Line<f64>,
    ring: usize,
    index: usize,
    /// Number of edges of the ring.
    of: usize,
}

/// How rings meet themselves and one another.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Meetings {
    /// First place where a ring crosses itself, by ring.
    pub(crate) crosses_itself: Vec<Option<Coord<f64>>>,
    /// Whether a ring touches itself or runs along itself, by ring.
    pub(crate) touches_itself: Vec<bool>,
    /// Whether any two rings meet.
    pub(crate) rings_meet: bool,
}

/// All meetings of the edges of open rings (last vertex not repeated).
///
/// Edges sorted by their west end are compared while they overlap west to east.
pub(crate) fn meetings(rings: &[Vec<Coord<f64>>]) -> Meetings {
    let mut found = Meetings {
        crosses_itself: vec![None; rings.len()],
        touches_itself: vec![false; rings.len()],
        rings_meet: false,
    };
    let mut edges = edges_of(rings);
    edges.sort_by(|a, b| west(a).total_cmp(&west(b)));
    for (position, edge) in edges.iter().enumerate() {
        let east = edge.line.start.x.max(edge.line.end.x);
        for other in edges[position + 1..]
            .iter()
            .take_while(|other| west(other) <= east)
        {
            if spans_meet(edge, other) {
                note_meeting(edge, other, &mut found);
            }
        }
    }
    found
}

fn edges_of(rings: &[Vec<Coord<f64>>]) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (ring, vertices) in rings.iter().enumerate() {
        let of = vertices.len();
        edges.extend((0..of).map(|index| Edge {
            line: Line::new(vertices[index], vertices[(index + 1) % of]),
            ring,
            index,
            of,
        }));
    }
    edges
}

fn west(edge: &Edge) -> f64 {
    edge.line.start.x.min(edge.line.end.x)
}

fn spans_meet(a: &Edge, b: &Edge) -> bool {
    let span = |edge: &Edge| {
        let (from, to) = (edge.line.start.y, edge.line.end.y);
        (from.min(to), from.max(to))
    };
    let ((a_low, a_high), (b_low, b_high)) = (span(a), span(b));
    a_low <= b_high && b_low <= a_high
}

fn note_meeting(a: &Edge, b: &Edge, found: &mut Meetings) {
    let Some(meeting) = line_intersection(a.line, b.line) else {
        return;
    };
    if a.ring != b.ring {
        found.rings_meet = true;
        return;
    }
    let apart = a.index.abs_diff(b.index);
    let neighbours = apart == 1 || apart + 1 == a.of;
    match meeting {
        LineIntersection::SinglePoint {
            intersection,
            is_proper: true,
        } if !neighbours => {
            found.crosses_itself[a.ring].get_or_insert(intersection);
        }
        // Neighbours share a vertex and nothing else.
        LineIntersection::SinglePoint { .. } => {
            if !neighbours {
                found.touches_itself[a.ring] = true;
            }
        }
        LineIntersection::Collinear { .. } => found.touches_itself[a.ring] = true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Vec<Coord<f64>> {
        points.iter().map(|&(x, y)| Coord { x, y }).collect()
    }

    #[test]
    fn a_bow_tie_crosses_where_its_diagonals_do() {
        let found = meetings(&[ring(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)])]);
        assert_eq!(found.crosses_itself, [Some(Coord { x: 2.0, y: 2.0 })]);
    }

    #[test]
    fn a_square_meets_nothing_and_a_pinched_ring_touches_itself() {
        let square = ring(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        let pinched = ring(&[
            (10.0, 0.0),
            (14.0, 0.0),
            (12.0, 2.0),
            (14.0, 4.0),
            (10.0, 4.0),
            (12.0, 2.0),
        ]);
        let found = meetings(&[square, pinched]);
        assert_eq!(found.crosses_itself, [None, None]);
        assert_eq!(found.touches_itself, [false, true]);
        assert!(!found.rings_meet);
    }
}
