//! Which turns and mirrors about its axes leave a piece of ground as it is.

use super::field::{BINS, Sweep};
use super::ground::Ground;
use crate::geometry::Ring;
use geo::Coord;

/// Share of the cells that may differ between ground and its image: those cut by the edge.
const DIFFER_MOST: f64 = 0.004;
/// Corners of the edge may lie off the edge's image by this much, m.
const EDGE_OFF_MOST_M: f64 = 0.01;
/// Ground with more corners is not asked.
const CORNERS_MOST: usize = 3000;
/// Tilts that differ by less than this between ground and image are the same.
const TILT_DIFFER_MOST: f64 = 0.06;

/// A mirror or half turn about the origin: `x' = xx x + xy y`, `y' = yx x + yy y`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Map {
    xx: i8,
    xy: i8,
    yx: i8,
    yy: i8,
}

const fn map(xx: i8, xy: i8, yx: i8, yy: i8) -> Map {
    Map { xx, xy, yx, yy }
}

/// Leaves all as it is.
const SAME: Map = map(1, 0, 0, 1);
const WEST_EAST: Map = map(-1, 0, 0, 1);
const SOUTH_NORTH: Map = map(1, 0, 0, -1);
const HALF_TURN: Map = map(-1, 0, 0, -1);

/// Groups tried, the largest first. Quarter turns and diagonal mirrors are left out: what has them has these too.
const GROUPS: [&[Map]; 4] = [
    &[SAME, WEST_EAST, SOUTH_NORTH, HALF_TURN],
    &[SAME, WEST_EAST],
    &[SAME, SOUTH_NORTH],
    &[SAME, HALF_TURN],
];

/// Groups of maps that leave the ground as it is, the largest first; the last is the one that changes nothing.
///
/// `tilt` is the mean tilt of the ground: a slope is no mirror.
pub fn groups(ground: &Ground, rings: &[Ring], tilt: Coord<f64>) -> Vec<Vec<Map>> {
    let level = |map: &Map| {
        let image = map.place(tilt);
        (image.x - tilt.x).hypot(image.y - tilt.y) < TILT_DIFFER_MOST
    };
    let holds: Vec<Map> = GROUPS[0]
        .iter()
        .copied()
        .filter(|map| *map == SAME || (level(map) && fits(rings, *map) && keeps(ground, *map)))
        .collect();
    let mut groups: Vec<Vec<Map>> = GROUPS
        .iter()
        .filter(|group| group.iter().all(|map| holds.contains(map)))
        .map(|group| group.to_vec())
        .collect();
    groups.push(vec![SAME]);
    groups
}

/// Whether the edges that heads stand on come to lie on themselves, so that the image of a head stands on turf as well.
fn fits(rings: &[Ring], map: Map) -> bool {
    let corners: usize = rings.iter().map(|ring| ring.points().len()).sum();
    let on_edge = |at: &Coord<f64>| {
        let image = map.place(*at);
        rings
            .iter()
            .any(|ring| ring.run_near(image).1 < EDGE_OFF_MOST_M)
    };
    corners <= CORNERS_MOST && rings.iter().flat_map(Ring::points).all(on_edge)
}

fn keeps(ground: &Ground, map: Map) -> bool {
    let (columns, rows) = (ground.grid.columns as i64, ground.grid.rows as i64);
    let (mut turf, mut differ) = (0usize, 0usize);
    for row in 0..rows {
        for column in 0..columns {
            // Twice the offset from the middle cell keeps whole numbers.
            let (x, y) = (2 * column - (columns - 1), 2 * row - (rows - 1));
            let u = (i64::from(map.xx) * x + i64::from(map.xy) * y + columns - 1) / 2;
            let v = (i64::from(map.yx) * x + i64::from(map.yy) * y + rows - 1) / 2;
            turf += usize::from(ground.want[(row * columns + column) as usize] > 0.0);
            differ += usize::from(!alike(ground, (column, row), (u, v)));
        }
    }
    differ as f64 <= DIFFER_MOST * turf as f64
}

/// Whether a cell is like another or one beside that: an edge through the middles of cells falls to one side of them.
fn alike(ground: &Ground, here: (i64, i64), there: (i64, i64)) -> bool {
    let grid = &ground.grid;
    let cell = |(x, y): (i64, i64)| (y * grid.columns as i64 + x) as usize;
    let on = |(x, y): (i64, i64)| {
        (0..grid.columns as i64).contains(&x) && (0..grid.rows as i64).contains(&y)
    };
    let same = |a: usize, b: usize| {
        let (p, q) = (ground.want[a], ground.want[b]);
        // The hair's breadth between heads and edge is neither wanted nor harmed.
        let water = (p > 0.0) == (q > 0.0) && ((p - q).abs() < 0.05 || p == 0.0 || q == 0.0);
        water && (ground.roots[a] - ground.roots[b]).abs() < 0.1
    };
    same(cell(here), cell(there))
        || (-1..=1)
            .flat_map(|dy| (-1..=1).map(move |dx| (there.0 + dx, there.1 + dy)))
            .any(|beside| on(beside) && same(cell(here), cell(beside)))
}

impl Map {
    /// Whether it changes nothing.
    pub fn is_same(self) -> bool {
        self == SAME
    }

    /// Bearing of the mirror's line, degrees; `None` for a turn.
    pub fn line_deg(self) -> Option<f64> {
        self.mirrors().then(|| 0.5 * self.north_deg() as f64)
    }

    /// Image of a place.
    pub fn place(self, at: Coord<f64>) -> Coord<f64> {
        Coord {
            x: f64::from(self.xx) * at.x + f64::from(self.xy) * at.y,
            y: f64::from(self.yx) * at.x + f64::from(self.yy) * at.y,
        }
    }

    /// Whether it mirrors.
    pub fn mirrors(self) -> bool {
        self.xx * self.yy - self.xy * self.yx < 0
    }

    /// Bearing of the image of north, in degrees.
    fn north_deg(self) -> i64 {
        match (self.xy, self.yy) {
            (0, 1) => 0,
            (1, 0) => 90,
            (0, -1) => 180,
            _ => 270,
        }
    }

    /// Image of a bearing, degrees.
    pub fn bearing_deg(self, bearing_deg: f64) -> f64 {
        let sign = if self.mirrors() { -1.0 } else { 1.0 };
        (sign * bearing_deg + self.north_deg() as f64).rem_euclid(360.0)
    }

    /// Image of a sector.
    pub fn sweep(self, sweep: Sweep) -> Sweep {
        if sweep.count >= BINS {
            return sweep;
        }
        let shift = self.north_deg() as usize * BINS / 360;
        let first = if self.mirrors() {
            (shift + 2 * BINS - sweep.first - sweep.count) % BINS
        } else {
            (sweep.first + shift) % BINS
        };
        Sweep { first, ..sweep }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_bearings_and_sectors_go_together() {
        let degrees = 360 / BINS;
        for map in GROUPS[0] {
            for first in [0, 17, 90, 150] {
                let sweep = Sweep { first, count: 40 };
                let image = map.sweep(sweep);
                // A direction well inside the sector must be well inside its image.
                let bearing = ((first + 20) * degrees) as f64;
                let (sin, cos) = bearing.to_radians().sin_cos();
                let at = map.place(Coord { x: sin, y: cos });
                let turned = at.x.atan2(at.y).to_degrees().rem_euclid(360.0);
                assert!((turned - map.bearing_deg(bearing)).abs() < 1e-6);
                let off =
                    (turned / degrees as f64 - (image.first + 20) as f64).rem_euclid(BINS as f64);
                assert!(
                    off < 0.1 || off > BINS as f64 - 0.1,
                    "{map:?} {first} {off}"
                );
            }
        }
    }
}
