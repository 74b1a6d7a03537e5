//! Lines of sight: how far one sees from a place before a wall stops the view.

use geo::{BoundingRect, Coord, Line, MultiPolygon, Rect};

/// Walls of buildings, each with its bounds, ready to be asked.
#[derive(Debug, Clone, Default)]
pub struct Walls {
    buildings: Vec<(Rect<f64>, Vec<Line<f64>>)>,
}

impl Walls {
    /// The walls of these ground plans.
    pub fn new<'a>(shapes: impl IntoIterator<Item = &'a MultiPolygon<f64>>) -> Self {
        let buildings = shapes
            .into_iter()
            .flatten()
            .filter_map(|polygon| {
                let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
                let lines = rings
                    .flat_map(|ring| ring.lines().collect::<Vec<_>>())
                    .collect();
                Some((polygon.bounding_rect()?, lines))
            })
            .collect();
        Self { buildings }
    }

    /// Walls that come within `reach_m` of a place.
    pub fn near(&self, at: Coord<f64>, reach_m: f64) -> Vec<Line<f64>> {
        self.buildings
            .iter()
            .filter(|(bounds, _)| beside(*bounds, at) <= reach_m)
            .flat_map(|(_, lines)| lines.iter().copied())
            .filter(|line| beside(Rect::new(line.start, line.end), at) <= reach_m)
            .collect()
    }
}

/// Distance from a place to a rectangle.
fn beside(bounds: Rect<f64>, at: Coord<f64>) -> f64 {
    let dx = (bounds.min().x - at.x).max(at.x - bounds.max().x).max(0.0);
    let dy = (bounds.min().y - at.y).max(at.y - bounds.max().y).max(0.0);
    (dx * dx + dy * dy).sqrt()
}

/// Distance from `at` along a bearing (degrees clockwise from north) to the first wall, at most `most_m`.
pub fn free_m(walls: &[Line<f64>], at: Coord<f64>, bearing_deg: f64, most_m: f64) -> f64 {
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    free_towards_m(walls, at, (sin, cos), most_m)
}

/// The same along a direction given as the sine and cosine of its bearing.
pub fn free_towards_m(
    walls: &[Line<f64>],
    at: Coord<f64>,
    (sin, cos): (f64, f64),
    most_m: f64,
) -> f64 {
    walls.iter().fold(most_m, |least, wall| {
        let (ax, ay) = (wall.start.x - at.x, wall.start.y - at.y);
        let (ex, ey) = (wall.end.x - wall.start.x, wall.end.y - wall.start.y);
        let cross = sin * ey - cos * ex;
        if cross.abs() < 1e-12 {
            return least;
        }
        let along = (ax * ey - ay * ex) / cross;
        let share = (ax * cos - ay * sin) / cross;
        if along >= 0.0 && (0.0..=1.0).contains(&share) {
            least.min(along)
        } else {
            least
        }
    })
}

/// Distance from `at` to the first wall, at most `most_m`, along each of `directions`: sines and cosines of bearings that
/// divide the circle evenly, the first half a part from north.
///
/// Each wall is asked only for the directions between its two ends.
pub fn horizon_m(
    walls: &[Line<f64>],
    at: Coord<f64>,
    directions: &[(f64, f64)],
    most_m: f64,
) -> Vec<f64> {
    let count = directions.len();
    let part = |end: Coord<f64>| {
        let turn = (end.x - at.x).atan2(end.y - at.y) / std::f64::consts::TAU;
        (turn * count as f64).floor() as i64
    };
    let mut free = vec![most_m; count];
    for wall in walls {
        let (a, b) = (part(wall.start), part(wall.end));
        let (least, most) = (a.min(b), a.max(b));
        // The view of a wall is at most half the circle wide: it lies between its ends or round the other way.
        let across = most - least <= count as i64 / 2 + 1;
        let (from, to) = if across {
            (least - 1, most + 1)
        } else {
            (most - 1, least + count as i64 + 1)
        };
        for direction in from..=to.min(from + count as i64 - 1) {
            let place = direction.rem_euclid(count as i64) as usize;
            free[place] = free_towards_m(
                std::slice::from_ref(wall),
                at,
                directions[place],
                free[place],
            );
        }
    }
    free
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_stops_the_view_and_its_end_lets_it_pass() {
        let house: MultiPolygon<f64> = Rect::new((10.0, -5.0), (12.0, 5.0)).to_polygon().into();
        let walls = Walls::new([&house]);
        let from = Coord { x: 0.0, y: 0.0 };
        let near = walls.near(from, 20.0);
        assert!((free_m(&near, from, 90.0, 20.0) - 10.0).abs() < 1e-9);
        assert!((free_m(&near, from, 60.0, 20.0) - 20.0).abs() < 1e-9);
        assert!((free_m(&near, from, 270.0, 20.0) - 20.0).abs() < 1e-9);
        assert!(walls.near(from, 9.0).is_empty());
    }

    #[test]
    fn the_horizon_is_what_one_sees_in_each_direction() {
        let directions: Vec<(f64, f64)> = (0..180)
            .map(|i| ((f64::from(i) + 0.5) * std::f64::consts::TAU / 180.0).sin_cos())
            .collect();
        let houses: [MultiPolygon<f64>; 2] = [
            Rect::new((2.0, -5.0), (12.0, 5.0)).to_polygon().into(),
            Rect::new((-9.0, 1.0), (1.0, 7.0)).to_polygon().into(),
        ];
        let walls = Walls::new(&houses);
        for from in [(0.0, 0.0), (1.5, 6.0), (-20.0, 4.0), (1.3, 0.7)] {
            let from = Coord::from(from);
            let near = walls.near(from, 30.0);
            let horizon = horizon_m(&near, from, &directions, 30.0);
            for (direction, free) in directions.iter().zip(horizon) {
                assert_eq!(
                    free,
                    free_towards_m(&near, from, *direction, 30.0),
                    "{from:?} {direction:?}"
                );
            }
        }
    }
}
