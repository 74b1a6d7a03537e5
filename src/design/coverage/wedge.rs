//! The two edges of a sector on a grid: which cells of a row they cut, and how much of a cut cell lies inside, by area.
//!
//! A sector of up to half a circle is the part common to two half planes; a wider one is the rest of the plane beside such
//! a wedge. Places are relative to the head, metres. The rim is in `rim.rs`.

use crate::design::model::Arc;
use std::ops::Range;

/// Least half breadth of a cell across an edge, as a share of its side: keeps the closed form of the area finite.
const LEAST: f64 = 1e-6;

/// A wedge of up to half a circle, and whether the sector is the wedge or all the rest.
pub struct Wedge {
    edges: [Edge; 2],
    /// Whether the sector is what lies outside the wedge.
    outside: bool,
    /// Both edges are the same line: half a circle.
    straight: bool,
}

/// Cells of a row by how the sector covers them.
pub struct Cut {
    /// Cells that the sector touches, in at most two runs.
    pub wet: [Range<i64>; 2],
    /// Those of them that an edge cuts.
    pub edges: [Range<i64>; 2],
}

/// Where the columns of a row lie: the centre of column `c` is `first_m + c · cell_m` east of the head.
#[derive(Clone, Copy)]
pub struct Row {
    /// Centre of column 0, m.
    pub first_m: f64,
    /// Centre of the row north of the head, m.
    pub north_m: f64,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells in a metre.
    pub cells_per_m: f64,
}

impl Row {
    /// First column whose centre lies at or east of a place.
    pub fn column_from(&self, east_m: f64) -> i64 {
        let columns = (east_m - self.first_m) * self.cells_per_m;
        // Rounds up without a call into the mathematical library, which costs more than the rest of the row's ends.
        let whole = columns as i64;
        whole + i64::from(columns > whole as f64)
    }

    /// Centre of a column, east of the head, m.
    pub fn east_m(&self, column: i64) -> f64 {
        self.first_m + column as f64 * self.cell_m
    }
}

impl Wedge {
    /// The wedge of an arc on a grid of `cell_m`; `None` for a full circle.
    pub fn of(arc: &Arc, cell_m: f64) -> Option<Self> {
        if arc.is_full() {
            return None;
        }
        let outside = arc.sweep_deg > 180.0;
        let (start, end) = (arc.start_deg, arc.start_deg + arc.sweep_deg);
        let (first, second) = if outside { (end, start) } else { (start, end) };
        Some(Self {
            edges: [
                Edge::new(first, 1.0, cell_m),
                Edge::new(second, -1.0, cell_m),
            ],
            outside,
            straight: (arc.sweep_deg - 180.0).abs() < 1e-9,
        })
    }

    /// How the sector covers the cells `within` a row.
    pub fn cut(&self, row: &Row, within: &Range<i64>) -> Cut {
        let both = |whole: bool| {
            let [a, b] = self
                .edges
                .each_ref()
                .map(|edge| edge.columns(row, whole, within));
            let from = a.start.max(b.start);
            from..a.end.min(b.end).max(from)
        };
        let touched = both(false);
        let whole = match both(true) {
            none if none.is_empty() => touched.end..touched.end,
            some => some,
        };
        let wet = if self.outside {
            [within.start..whole.start, whole.end..within.end]
        } else {
            [touched.clone(), 0..0]
        };
        Cut {
            wet,
            edges: [touched.start..whole.start, whole.end..touched.end],
        }
    }

    /// Share of the area of the cell centred on (east, north) that lies in the sector, and whether its centre does.
    pub fn share(&self, east_m: f64, north_m: f64, cell_m: f64) -> (f64, bool) {
        let distances = self
            .edges
            .each_ref()
            .map(|edge| edge.distance((east_m, north_m)));
        let inside = self.inside(distances, (east_m, north_m), cell_m);
        let centre_inside = distances[0] >= 0.0 && distances[1] >= 0.0;
        if self.outside {
            (1.0 - inside, !centre_inside)
        } else {
            (inside, centre_inside)
        }
    }

    /// Share of a cell in the wedge.
    fn inside(&self, distances: [f64; 2], (east_m, north_m): (f64, f64), cell_m: f64) -> f64 {
        let (a, b) = (
            self.edges[0].share(distances[0]),
            self.edges[1].share(distances[1]),
        );
        if self.straight || b >= 1.0 {
            a
        } else if a >= 1.0 {
            b
        } else if a <= 0.0 || b <= 0.0 {
            0.0
        } else {
            self.common(east_m, north_m, cell_m)
        }
    }

    /// Share of a cell that both edges cut: the square, clipped by one edge after the other.
    fn common(&self, east_m: f64, north_m: f64, cell_m: f64) -> f64 {
        let half = 0.5 * cell_m;
        let mut ring = Ring::default();
        for (x, y) in [(-half, -half), (half, -half), (half, half), (-half, half)] {
            ring.push((east_m + x, north_m + y));
        }
        for edge in &self.edges {
            ring = ring.clipped(edge);
        }
        ring.area() / (cell_m * cell_m)
    }
}

/// One edge: the side of it that is wet is where `normal · place` is positive.
struct Edge {
    normal: (f64, f64),
    /// One over the normal's part to the east; 0 for an edge that runs east and west.
    across: f64,
    /// Half the breadth of a cell along the normal, by its two sides, m.
    halves: (f64, f64),
    /// One over eight times the product of the halves, 1/m².
    over: f64,
}

impl Edge {
    /// The edge along a bearing; `side` 1 keeps what lies clockwise of it, -1 the rest.
    fn new(bearing_deg: f64, side: f64, cell_m: f64) -> Self {
        let (sin, cos) = bearing_deg.to_radians().sin_cos();
        let normal = (side * cos, -side * sin);
        let half = |part: f64| 0.5 * cell_m * part.abs().max(LEAST);
        let halves = (half(cos), half(sin));
        Self {
            normal,
            across: if cos.abs() < 1e-12 {
                0.0
            } else {
                1.0 / normal.0
            },
            halves,
            over: 1.0 / (8.0 * halves.0 * halves.1),
        }
    }

    /// Columns of a row that the kept side covers whole, or at all.
    fn columns(&self, row: &Row, whole: bool, within: &Range<i64>) -> Range<i64> {
        let breadth = self.halves.0 + self.halves.1;
        let least = if whole { breadth } else { -breadth } - self.normal.1 * row.north_m;
        if self.across == 0.0 {
            return if least <= 0.0 {
                within.clone()
            } else {
                within.start..within.start
            };
        }
        let column = row
            .column_from(least * self.across)
            .clamp(within.start, within.end);
        if self.across > 0.0 {
            column..within.end
        } else {
            within.start..column
        }
    }

    fn distance(&self, place: (f64, f64)) -> f64 {
        self.normal.0 * place.0 + self.normal.1 * place.1
    }

    /// Share on the kept side of a cell whose centre lies at `distance`: the square's shadow along the normal is a
    /// trapezoid, and this is its sum up to the edge.
    fn share(&self, distance: f64) -> f64 {
        let (a, b) = self.halves;
        if distance >= a + b {
            return 1.0;
        }
        if distance <= -(a + b) {
            return 0.0;
        }
        let square = |length: f64| length.max(0.0) * length.max(0.0);
        let sum = square(distance + a + b) - square(distance + a - b) - square(distance - a + b)
            + square(distance - a - b);
        (sum * self.over).clamp(0.0, 1.0)
    }
}

/// A convex ring of few corners, without a heap.
#[derive(Default, Clone, Copy)]
struct Ring {
    corners: [(f64, f64); 8],
    count: usize,
}

impl Ring {
    fn push(&mut self, corner: (f64, f64)) {
        if let Some(place) = self.corners.get_mut(self.count) {
            *place = corner;
            self.count += 1;
        }
    }

    /// What the edge keeps of it (Sutherland and Hodgman 1974, from memory).
    fn clipped(&self, edge: &Edge) -> Self {
        let mut kept = Self::default();
        for i in 0..self.count {
            let (from, to) = (self.corners[i], self.corners[(i + 1) % self.count]);
            let (d0, d1) = (edge.distance(from), edge.distance(to));
            if d0 >= 0.0 {
                kept.push(from);
            }
            if (d0 >= 0.0) != (d1 >= 0.0) {
                let share = d0 / (d0 - d1);
                kept.push((
                    from.0 + share * (to.0 - from.0),
                    from.1 + share * (to.1 - from.1),
                ));
            }
        }
        kept
    }

    fn area(&self) -> f64 {
        let cross = |i: usize| {
            let (p, q) = (self.corners[i], self.corners[(i + 1) % self.count]);
            p.0 * q.1 - q.0 * p.1
        };
        0.5 * (0..self.count).map(cross).sum::<f64>().abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Share of a cell inside the sector by a hundred points a side.
    fn counted(arc: &Arc, east_m: f64, north_m: f64, cell_m: f64) -> f64 {
        let n = 100;
        let at = |i: usize| (i as f64 + 0.5) / n as f64 * cell_m - 0.5 * cell_m;
        let inside = (0..n * n)
            .filter(|i| arc.holds(east_m + at(i % n), north_m + at(i / n)))
            .count();
        inside as f64 / (n * n) as f64
    }

    proptest! {
        #[test]
        fn the_share_of_a_cell_is_its_area_in_the_sector(
            start in 0.0..360.0_f64, sweep in 2.0..359.0_f64, x in -2.0..2.0_f64, y in -2.0..2.0_f64,
        ) {
            let arc = Arc { start_deg: start, sweep_deg: sweep };
            let wedge = Wedge::of(&arc, 1.0).unwrap();
            let (share, centre) = wedge.share(x, y, 1.0);
            prop_assert_eq!(centre, arc.holds(x, y));
            prop_assert!((share - counted(&arc, x, y, 1.0)).abs() < 0.02);
        }

        #[test]
        fn rows_are_cut_where_cells_are(
            start in 0.0..360.0_f64, sweep in 2.0..359.0_f64, x in -0.5..0.5_f64, y in -6.0..6.0_f64,
        ) {
            let arc = Arc { start_deg: start, sweep_deg: sweep };
            let wedge = Wedge::of(&arc, 1.0).unwrap();
            let row = Row { first_m: x, north_m: y, cell_m: 1.0, cells_per_m: 1.0 };
            let cut = wedge.cut(&row, &(-8..9));
            for column in -8..9 {
                let (share, _) = wedge.share(row.east_m(column), y, 1.0);
                let among = |runs: &[Range<i64>; 2]| runs.iter().filter(|run| run.contains(&column)).count();
                let (wet, cut_through) = (among(&cut.wet), among(&cut.edges));
                prop_assert!(wet <= 1 && cut_through <= 1);
                prop_assert!(wet == 1 || share < 1e-9);
                prop_assert!(wet == 0 || cut_through == 1 || share > 1.0 - 1e-9);
            }
        }
    }

    #[test]
    fn edges_along_the_grid_and_half_circles_are_exact() {
        for (start, sweep, share) in [
            (0.0, 90.0, 0.25),
            (90.0, 180.0, 0.5),
            (180.0, 270.0, 0.75),
            (45.0, 180.0, 0.5),
        ] {
            let arc = Arc {
                start_deg: start,
                sweep_deg: sweep,
            };
            let (found, _) = Wedge::of(&arc, 0.5).unwrap().share(0.0, 0.0, 0.5);
            assert!((found - share).abs() < 1e-5, "{start} {sweep} {found}");
        }
    }
}
