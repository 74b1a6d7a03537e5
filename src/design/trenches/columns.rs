//! Which shapes lie where along a set of lines from south to north: what is asked at a place need only look as far as the next.

use geo::Line;

/// Lines this far apart, m; no rounder, so that corners of shapes seldom lie on them.
const APART_M: f64 = 2.659_147;
/// Most lines.
const MOST: usize = 4096;

/// The lines, from west to east; the last lies east of all shapes.
pub struct Columns {
    west_m: f64,
    apart_m: f64,
    /// For each line, from south to north: from which height on, and the shapes there.
    lines: Vec<Vec<(f64, Vec<usize>)>>,
}

impl Columns {
    /// Lines over shapes given by their edges, each with the number of its shape.
    pub fn of(edges: &[(Line<f64>, usize)]) -> Self {
        let ends = || {
            edges
                .iter()
                .flat_map(|(line, _)| [line.start.x, line.end.x])
        };
        let (west_m, east_m) = (
            ends().fold(f64::INFINITY, f64::min),
            ends().fold(f64::NEG_INFINITY, f64::max),
        );
        let width_m = (east_m - west_m).max(0.0);
        let apart_m = APART_M.max(width_m / MOST as f64);
        let count = (width_m / apart_m).floor() as usize + 2;
        let mut crossings = vec![Vec::new(); count];
        for (line, shape) in edges {
            let (low, high) = (line.start.x.min(line.end.x), line.start.x.max(line.end.x));
            let first = ((low - west_m) / apart_m).ceil().max(0.0) as usize;
            for (k, crossed) in crossings.iter_mut().enumerate().skip(first) {
                let x = west_m + k as f64 * apart_m;
                if x >= high {
                    break;
                }
                // Half open, so that a corner on the line counts once.
                if (line.start.x > x) != (line.end.x > x) {
                    let share = (x - line.start.x) / (line.end.x - line.start.x);
                    crossed.push((line.start.y + share * (line.end.y - line.start.y), *shape));
                }
            }
        }
        Self {
            west_m,
            apart_m,
            lines: crossings.into_iter().map(shapes_along).collect(),
        }
    }

    /// The next line east of a place (or on it), and the shapes it lies in at the height of the place.
    pub fn east_of(&self, x: f64, y: f64) -> (f64, &[usize]) {
        let k = ((x - self.west_m) / self.apart_m).ceil().max(0.0) as usize;
        let at = self.west_m + k as f64 * self.apart_m;
        let Some(line) = self.lines.get(k) else {
            return (x, &[]);
        };
        let above = line.partition_point(|(from, _)| *from <= y);
        let shapes = above.checked_sub(1).map(|i| line[i].1.as_slice());
        (at.max(x), shapes.unwrap_or(&[]))
    }
}

fn shapes_along(mut crossings: Vec<(f64, usize)>) -> Vec<(f64, Vec<usize>)> {
    crossings.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut inside: Vec<usize> = Vec::new();
    let mut line = Vec::with_capacity(crossings.len());
    for (from, shape) in crossings {
        match inside.iter().position(|other| *other == shape) {
            Some(i) => {
                inside.remove(i);
            }
            None => inside.push(shape),
        }
        line.push((from, inside.clone()));
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Coord, LinesIter, Rect};

    #[test]
    fn shapes_are_known_along_each_line() {
        let rect = |x0: f64, y0: f64, x1: f64, y1: f64| Rect::new((x0, y0), (x1, y1)).to_polygon();
        let shapes = [rect(0., 0., 100., 50.), rect(30., 10., 90., 20.)];
        let edges: Vec<_> = shapes
            .iter()
            .enumerate()
            .flat_map(|(i, shape)| shape.lines_iter().map(move |line| (line, i)))
            .collect();
        let columns = Columns::of(&edges);
        let (x, shapes) = columns.east_of(33.0, 15.0);
        let next = (33.0 / APART_M).ceil() * APART_M;
        assert!((x - next).abs() < 1e-9);
        assert_eq!(shapes, [0, 1]);
        assert_eq!(columns.east_of(33.0, 30.0).1, [0]);
        assert_eq!(columns.east_of(33.0, 60.0).1, [0usize; 0]);
        assert_eq!(columns.east_of(99.0, 15.0).1, [0usize; 0]);
        assert_eq!(columns.east_of(1000.0, 15.0), (1000.0, &[0usize; 0][..]));
        assert_eq!(
            Columns::of(&[(Line::new(Coord::zero(), Coord::zero()), 0)])
                .lines
                .len(),
            2
        );
    }
}
