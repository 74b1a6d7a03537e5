//! A closed ring walked by length: the place so many metres along, and the direction there.

use geo::{Coord, LineString};

/// A closed ring with the length run up at each of its vertices.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    points: Vec<Coord<f64>>,
    run_m: Vec<f64>,
}

impl Ring {
    /// A ring from a closed line; `None` when it has no length.
    pub fn new(line: &LineString<f64>) -> Option<Self> {
        let points = line.0.clone();
        let mut run_m = vec![0.0];
        for pair in points.windows(2) {
            let step = (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y);
            run_m.push(run_m[run_m.len() - 1] + step);
        }
        let length = *run_m.last()?;
        (points.len() >= 4 && length.is_finite() && length > 0.0).then_some(Self { points, run_m })
    }

    /// Length of the whole ring, m.
    pub fn length_m(&self) -> f64 {
        self.run_m[self.run_m.len() - 1]
    }

    /// Its vertices, the first repeated at the end.
    pub fn points(&self) -> &[Coord<f64>] {
        &self.points
    }

    /// Length run up at a vertex, m.
    pub fn run_at_vertex_m(&self, vertex: usize) -> f64 {
        self.run_m[vertex]
    }

    /// The place `run_m` along the ring; wraps round.
    pub fn at(&self, run_m: f64) -> Coord<f64> {
        let run = run_m.rem_euclid(self.length_m());
        let after = self
            .run_m
            .partition_point(|&s| s <= run)
            .min(self.points.len() - 1);
        let before = after.saturating_sub(1);
        let step = self.run_m[after] - self.run_m[before];
        let share = if step > 0.0 {
            (run - self.run_m[before]) / step
        } else {
            0.0
        };
        let (a, b) = (self.points[before], self.points[after]);
        Coord {
            x: a.x + share * (b.x - a.x),
            y: a.y + share * (b.y - a.y),
        }
    }

    /// How far along the ring its nearest place to `at` lies, and how far off that is, m.
    pub fn run_near(&self, at: Coord<f64>) -> (f64, f64) {
        // Squares are compared: this walks long rings again and again.
        let mut best = (0.0, f64::INFINITY);
        for (pair, run) in self.points.windows(2).zip(&self.run_m) {
            let (dx, dy) = (pair[1].x - pair[0].x, pair[1].y - pair[0].y);
            let square = dx * dx + dy * dy;
            let along = (at.x - pair[0].x) * dx + (at.y - pair[0].y) * dy;
            let share = if square > 0.0 {
                (along / square).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let (off_x, off_y) = (pair[0].x + share * dx - at.x, pair[0].y + share * dy - at.y);
            let off = off_x * off_x + off_y * off_y;
            if off < best.1 {
                best = (run + share * square.sqrt(), off);
            }
        }
        (best.0, best.1.sqrt())
    }

    /// Bearing of the chord from `run_m` to `run_m + reach_m` (negative looks back), degrees clockwise from north.
    pub fn bearing_deg(&self, run_m: f64, reach_m: f64) -> f64 {
        let (a, b) = (self.at(run_m), self.at(run_m + reach_m));
        (b.x - a.x).atan2(b.y - a.y).to_degrees().rem_euclid(360.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn walking_a_square_wraps_round() {
        let line = LineString::from(vec![(0., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)]);
        let ring = Ring::new(&line).unwrap();
        assert_eq!(ring.length_m(), 40.0);
        assert_eq!(ring.at(15.0), Coord { x: 10.0, y: 5.0 });
        assert_eq!(ring.at(-5.0), Coord { x: 0.0, y: 5.0 });
        let (run, off) = ring.run_near(Coord { x: 12.0, y: 4.0 });
        assert!((run - 14.0).abs() < 1e-9 && (off - 2.0).abs() < 1e-9);
        assert!((ring.bearing_deg(2.0, 3.0) - 90.0).abs() < 1e-9);
        assert!((ring.bearing_deg(2.0, -1.0) - 270.0).abs() < 1e-9);
    }
}
