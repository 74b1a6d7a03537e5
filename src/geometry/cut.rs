//! A polygon cut along straight seams: exact, the parts share the seam's ends and nothing is lost between them.

use geo::orient::Direction;
use geo::{Area, Contains, Coord, LineString, Orient, Point, Polygon};

/// A straight seam between two places on the edge of a polygon, through its inside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seam {
    /// One end.
    pub start: EdgePlace,
    /// The other end.
    pub end: EdgePlace,
}

impl Seam {
    /// Its length, m.
    pub fn length_m(&self) -> f64 {
        let (a, b) = (self.start.at, self.end.at);
        (b.x - a.x).hypot(b.y - a.y)
    }
}

/// A place on the edge of a polygon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePlace {
    /// Ring: 0 the exterior, then the interiors.
    pub ring: usize,
    /// Line of the ring the place lies on.
    pub line: usize,
    /// Where on it, 0 at its start, below 1.
    pub share: f64,
    /// The place itself.
    pub at: Coord<f64>,
}

/// The parts on the left and on the right of a seam, walked from its start.
pub type Sides = (usize, usize);

/// A polygon with its rings turned as seams count them: the exterior against the clock, interiors with it.
pub fn turned(piece: &Polygon<f64>) -> Polygon<f64> {
    piece.orient(Direction::Default)
}

/// The parts of a polygon, [`turned`] before, between seams that lie inside it and do not touch one another.
///
/// A seam that parts nothing (from the exterior to a hole and back by no other) is left out. Second comes which part
/// lies on the left and which on the right of each seam, `None` for those left out.
pub fn cut(piece: &Polygon<f64>, seams: &[Seam]) -> (Vec<Polygon<f64>>, Vec<Option<Sides>>) {
    let mut used: Vec<usize> = (0..seams.len()).collect();
    loop {
        let kept: Vec<Seam> = used.iter().map(|&seam| seams[seam]).collect();
        let walk = Walk::round(piece, &kept);
        let idle = (0..kept.len()).find(|&seam| {
            let (left, right) = walk.sides[seam];
            left == right
        });
        if let Some(idle) = idle {
            used.remove(idle);
            continue;
        }
        let (parts, part_of) = polygons(walk.loops);
        let mut sides = vec![None; seams.len()];
        for (&seam, &(left, right)) in used.iter().zip(&walk.sides) {
            sides[seam] = Some((part_of[left], part_of[right]));
        }
        return (parts, sides);
    }
}

/// A corner of the rings with the seams' ends put in: the next one along the ring, and the seam that ends here.
struct Corner {
    at: Coord<f64>,
    next: usize,
    /// The corner at the seam's other end, the seam, and whether this one is its start.
    seam: Option<(usize, usize, bool)>,
}

impl Corner {
    fn at(at: Coord<f64>) -> Self {
        Self {
            at,
            next: 0,
            seam: None,
        }
    }
}

/// Loops round the parts.
struct Walk {
    loops: Vec<LineString<f64>>,
    /// For each seam the loop on its left and the one on its right.
    sides: Vec<(usize, usize)>,
}

impl Walk {
    fn round(piece: &Polygon<f64>, seams: &[Seam]) -> Self {
        let corners = corners(piece, seams);
        let mut walk = Self {
            loops: Vec::new(),
            sides: vec![(0, 0); seams.len()],
        };
        let mut walked = vec![false; corners.len()];
        for first in 0..corners.len() {
            if !walked[first] {
                walk.follow(&corners, first, &mut walked);
            }
        }
        walk
    }

    /// Walks along the rings with the inside on the left, and across at every seam.
    fn follow(&mut self, corners: &[Corner], first: usize, walked: &mut [bool]) {
        let mut line = Vec::new();
        let mut here = first;
        while !walked[here] {
            walked[here] = true;
            line.push(corners[here].at);
            here = corners[here].next;
            if let Some((other, seam, from_start)) = corners[here].seam {
                line.push(corners[here].at);
                // Walked from its start the seam has this part on the left.
                let sides = &mut self.sides[seam];
                *(if from_start {
                    &mut sides.0
                } else {
                    &mut sides.1
                }) = self.loops.len();
                here = other;
            }
        }
        line.dedup();
        line.extend(line.first().copied());
        self.loops.push(LineString::new(line));
    }
}

/// The corners of all rings in order, the seams' ends between them.
fn corners(piece: &Polygon<f64>, seams: &[Seam]) -> Vec<Corner> {
    let ends = ends_in_order(seams);
    let mut ends = ends.iter().peekable();
    let mut corners: Vec<Corner> = Vec::new();
    let mut corner_of = vec![[0; 2]; seams.len()];
    for (ring, line) in rings(piece).enumerate() {
        let first = corners.len();
        for (number, step) in line.lines().enumerate() {
            corners.push(Corner::at(step.start));
            while let Some((end, seam, side)) =
                ends.next_if(|(end, ..)| (end.ring, end.line) == (ring, number))
            {
                if end.share > 0.0 {
                    corners.push(Corner::at(end.at));
                }
                corner_of[*seam][*side] = corners.len() - 1;
            }
        }
        let last = corners.len();
        for (corner, next) in corners[first..].iter_mut().zip(first + 1..) {
            corner.next = if next == last { first } else { next };
        }
    }
    for (seam, [start, end]) in corner_of.into_iter().enumerate() {
        corners[start].seam = Some((end, seam, true));
        corners[end].seam = Some((start, seam, false));
    }
    corners
}

fn rings(piece: &Polygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    std::iter::once(piece.exterior()).chain(piece.interiors())
}

/// The ends of the seams along the rings: place, seam, 0 for its start and 1 for its end.
fn ends_in_order(seams: &[Seam]) -> Vec<(EdgePlace, usize, usize)> {
    let mut ends: Vec<_> = seams
        .iter()
        .enumerate()
        .flat_map(|(i, seam)| [(seam.start, i, 0), (seam.end, i, 1)])
        .collect();
    ends.sort_by(|(a, ..), (b, ..)| {
        (a.ring, a.line)
            .cmp(&(b.ring, b.line))
            .then(a.share.total_cmp(&b.share))
    });
    ends
}

/// Loops against the clock as polygons with the others as their holes; and the polygon each loop belongs to.
fn polygons(loops: Vec<LineString<f64>>) -> (Vec<Polygon<f64>>, Vec<usize>) {
    let mut parts: Vec<Polygon<f64>> = Vec::new();
    let mut part_of = vec![0; loops.len()];
    let mut holes = Vec::new();
    for (number, line) in loops.into_iter().enumerate() {
        let part = Polygon::new(line, Vec::new());
        if part.signed_area() < 0.0 {
            holes.push((number, part.into_inner().0));
        } else {
            part_of[number] = parts.len();
            parts.push(part);
        }
    }
    let areas: Vec<f64> = parts.iter().map(Polygon::unsigned_area).collect();
    let mut hole_of = Vec::new();
    for (number, hole) in holes {
        let around = (0..parts.len())
            .filter(|&part| {
                hole.0
                    .iter()
                    .any(|&at| parts[part].contains(&Point::from(at)))
            })
            .min_by(|&a, &b| areas[a].total_cmp(&areas[b]));
        part_of[number] = around.unwrap_or(0);
        hole_of.push((part_of[number], hole));
    }
    for (part, hole) in hole_of {
        if let Some(part) = parts.get_mut(part) {
            part.interiors_push(hole);
        }
    }
    (parts, part_of)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Validation, polygon};

    fn seam(piece: &Polygon<f64>, [start, end]: [(usize, usize, f64); 2]) -> Seam {
        let place = |(ring, line, share): (usize, usize, f64)| {
            let step = rings(piece).nth(ring).unwrap().lines().nth(line).unwrap();
            EdgePlace {
                ring,
                line,
                share,
                at: step.start + (step.end - step.start) * share,
            }
        };
        Seam {
            start: place(start),
            end: place(end),
        }
    }

    fn square_with_hole() -> Polygon<f64> {
        turned(&polygon!(
            exterior: [(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
            interiors: [[(x: 4., y: 4.), (x: 6., y: 4.), (x: 6., y: 6.), (x: 4., y: 6.)]],
        ))
    }

    #[test]
    fn a_seam_from_side_to_side_halves_a_square_and_leaves_the_hole_where_it_is() {
        let piece = square_with_hole();
        let across = seam(&piece, [(0, 0, 0.2), (0, 2, 0.8)]);
        let (parts, sides) = cut(&piece, &[across]);
        let areas: Vec<f64> = parts.iter().map(Polygon::unsigned_area).collect();
        let (left, right) = sides[0].unwrap();
        // Walked northwards, the west lies on the left.
        assert!((areas[left] - 20.0).abs() < 1e-12 && (areas[right] - 76.0).abs() < 1e-12);
        assert!(parts.iter().all(Polygon::is_valid));
    }

    #[test]
    fn two_seams_part_a_ring_and_one_alone_does_nothing() {
        let piece = square_with_hole();
        let hole_line = |x: f64, y: f64| {
            let at = piece.interiors()[0].lines();
            let found = at
                .enumerate()
                .find(|(_, step)| step.start == Coord { x, y });
            found.unwrap().0
        };
        let west = seam(&piece, [(0, 3, 0.5), (1, hole_line(4.0, 4.0), 0.5)]);
        let east = seam(&piece, [(1, hole_line(6.0, 6.0), 0.5), (0, 1, 0.5)]);
        let (parts, sides) = cut(&piece, &[west]);
        assert_eq!((parts.len(), sides), (1, vec![None]));
        assert_eq!(parts[0].unsigned_area(), 96.0);
        let (parts, sides) = cut(&piece, &[west, east]);
        assert_eq!(parts.len(), 2);
        assert!(sides.iter().all(Option::is_some));
        assert!(
            parts
                .iter()
                .all(|part| part.is_valid() && part.unsigned_area() == 48.0)
        );
    }

    #[test]
    fn a_seam_between_corners_uses_them() {
        let piece = square_with_hole();
        let off = seam(&piece, [(0, 1, 0.0), (0, 2, 0.1)]);
        let (parts, _) = cut(&piece, &[off]);
        assert_eq!(parts.len(), 2);
        assert!(parts.iter().all(Polygon::is_valid));
        let total: f64 = parts.iter().map(Polygon::unsigned_area).sum();
        assert!((total - 96.0).abs() < 1e-12);
    }
}
