//! The axes of one piece of turf: the search works in them, so that ground moved or turned gives a layout moved or
//! turned with it, and symmetric ground lies symmetric about them.

use geo::{ConvexHull, Coord, CoordsIter, MultiPolygon, Polygon};

/// Places are kept to the millimetre in the axes, so that rounding in another frame does not steer the search, m.
const GRAIN_M: f64 = 0.001;
/// Principal moments nearer than this share are no direction.
const ROUND_SHARE: f64 = 0.02;

/// Rectangles whose areas differ by less than this share are as good as equal.
const AS_GOOD: f64 = 1e-6;

/// A frame turned and moved against the parcel's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axes {
    origin: Coord<f64>,
    sin: f64,
    cos: f64,
    turn_deg: f64,
}

impl Axes {
    /// Axes through `origin`, turned clockwise by `turn_deg` against the parcel's.
    fn new(origin: Coord<f64>, turn_deg: f64) -> Self {
        let (sin, cos) = turn_deg.to_radians().sin_cos();
        Self {
            origin,
            sin,
            cos,
            turn_deg,
        }
    }

    /// The axes a piece may be seen in, the likelier first: along its least rectangle, and along its principal moments.
    pub fn choices(piece: &Polygon<f64>) -> Vec<Self> {
        let mut turns = Vec::new();
        turns.extend(rectangle_turn_deg(piece));
        turns.extend(principal_turn_deg(piece));
        let far = |a: f64, b: f64| {
            let off = (a - b).rem_euclid(90.0);
            off.min(90.0 - off) > 0.01
        };
        turns.dedup_by(|b, a| !far(*a, *b));
        if turns.is_empty() {
            turns.push(0.0);
        }
        turns
            .into_iter()
            .map(|turn| Self::centred(piece, turn))
            .collect()
    }

    /// Axes of that turn through the middle of the piece's bounds in them, the heavier side to the south-west.
    fn centred(piece: &Polygon<f64>, turn_deg: f64) -> Self {
        let start = piece.exterior().0.first().copied().unwrap_or_default();
        let plain = Self::new(start, turn_deg);
        let at = |axes: &Self| -> Vec<Coord<f64>> {
            piece
                .exterior()
                .coords_iter()
                .map(|c| axes.local(c))
                .collect()
        };
        let points = at(&plain);
        let middle = |value: fn(&Coord<f64>) -> f64| {
            let (least, most) = points
                .iter()
                .map(value)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
                    (a.min(v), b.max(v))
                });
            (0.5 * (least + most), most - least)
        };
        let (x, width) = middle(|c| c.x);
        let (y, height) = middle(|c| c.y);
        let origin = plain.parcel(Coord { x, y });
        // Of the four ways to look at it the long side is laid along x and the heavy end to the west, else the south.
        let quarter = if height > width * (1.0 + 1e-6) {
            90.0
        } else {
            0.0
        };
        let axes = Self::new(origin, turn_deg + quarter);
        let lean = lean(piece, &axes);
        let size = width.max(height);
        let half = if lean.x.abs() > 1e-4 * size {
            lean.x > 0.0
        } else {
            lean.y > 1e-4 * size
        };
        Self::new(origin, turn_deg + quarter + if half { 180.0 } else { 0.0 })
    }

    /// A place of the parcel in these axes.
    pub fn local(&self, at: Coord<f64>) -> Coord<f64> {
        let (x, y) = (at.x - self.origin.x, at.y - self.origin.y);
        Coord {
            x: x * self.cos - y * self.sin,
            y: x * self.sin + y * self.cos,
        }
    }

    /// A place of these axes in the parcel's frame.
    pub fn parcel(&self, at: Coord<f64>) -> Coord<f64> {
        Coord {
            x: self.origin.x + at.x * self.cos + at.y * self.sin,
            y: self.origin.y - at.x * self.sin + at.y * self.cos,
        }
    }

    /// A direction (no place) of the parcel in these axes.
    pub fn local_direction(&self, east: f64, north: f64) -> (f64, f64) {
        (
            east * self.cos - north * self.sin,
            east * self.sin + north * self.cos,
        )
    }

    /// A bearing of these axes in the parcel's frame, degrees.
    pub fn parcel_bearing_deg(&self, bearing_deg: f64) -> f64 {
        (bearing_deg + self.turn_deg).rem_euclid(360.0)
    }

    /// A bearing of the parcel in these axes, degrees.
    pub fn local_bearing_deg(&self, bearing_deg: f64) -> f64 {
        (bearing_deg - self.turn_deg).rem_euclid(360.0)
    }

    /// Ground in these axes, to the millimetre.
    pub fn local_ground(&self, shape: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        use geo::MapCoords;
        let grain = |value: f64| (value / GRAIN_M).round() * GRAIN_M;
        shape.map_coords(|c| {
            let at = self.local(c);
            Coord {
                x: grain(at.x),
                y: grain(at.y),
            }
        })
    }
}

/// Turn of the least rectangle round the piece, degrees.
///
/// It lies along a side of the hull (Freeman and Shapira 1975, from memory). Of rectangles as good as equal, as all
/// three of a triangle are, the one along the longest side counts, so that it does not turn with the map.
fn rectangle_turn_deg(piece: &Polygon<f64>) -> Option<f64> {
    let hull = piece.convex_hull();
    let corners = &hull.exterior().0;
    let of_side = |side: &geo::Line<f64>| {
        let length = side.delta().x.hypot(side.delta().y);
        let (u, v) = (side.delta().x / length, side.delta().y / length);
        let extent = |x: f64, y: f64| {
            let along = corners.iter().map(|c| c.x * x + c.y * y);
            let (least, most) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| {
                (a.min(s), b.max(s))
            });
            most - least
        };
        (
            extent(u, v) * extent(-v, u),
            length,
            u.atan2(v).to_degrees(),
        )
    };
    let sides: Vec<(f64, f64, f64)> = hull.exterior().lines().map(|side| of_side(&side)).collect();
    let sides = sides.iter().filter(|side| side.0.is_finite());
    let least = sides
        .clone()
        .map(|side| side.0)
        .fold(f64::INFINITY, f64::min);
    let longest = sides
        .filter(|side| side.0 <= least * (1.0 + AS_GOOD))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(longest.2.rem_euclid(90.0))
}

/// Turn of the principal moments of the outline, degrees; `None` where the piece is as broad as long.
fn principal_turn_deg(piece: &Polygon<f64>) -> Option<f64> {
    let (middle, length) = outline_middle(piece)?;
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for line in piece.exterior().lines() {
        let weight = line.delta().x.hypot(line.delta().y) / length;
        for end in [line.start, line.end] {
            let (x, y) = (end.x - middle.x, end.y - middle.y);
            xx += 0.5 * weight * x * x;
            yy += 0.5 * weight * y * y;
            xy += 0.5 * weight * x * y;
        }
    }
    let spread = (xx - yy).hypot(2.0 * xy);
    (spread > ROUND_SHARE * (xx + yy))
        .then(|| (90.0 - 0.5 * (2.0 * xy).atan2(xx - yy).to_degrees()).rem_euclid(90.0))
}

/// Middle of the outline by length, and the length.
fn outline_middle(piece: &Polygon<f64>) -> Option<(Coord<f64>, f64)> {
    let (mut x, mut y, mut length) = (0.0, 0.0, 0.0);
    for line in piece.exterior().lines() {
        let weight = line.delta().x.hypot(line.delta().y);
        x += 0.5 * weight * (line.start.x + line.end.x);
        y += 0.5 * weight * (line.start.y + line.end.y);
        length += weight;
    }
    (length > 0.0).then(|| {
        let middle = Coord {
            x: x / length,
            y: y / length,
        };
        (middle, length)
    })
}

/// Where the middle of the outline lies from the origin of the axes.
fn lean(piece: &Polygon<f64>, axes: &Axes) -> Coord<f64> {
    outline_middle(piece).map_or(Coord { x: 0.0, y: 0.0 }, |(middle, _)| axes.local(middle))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{LineString, Rotate, Translate};

    fn hook() -> Polygon<f64> {
        let points = vec![
            (0., 0.),
            (60., 0.),
            (60., 20.),
            (25., 20.),
            (25., 50.),
            (0., 50.),
            (0., 0.),
        ];
        Polygon::new(LineString::from(points), Vec::new())
    }

    #[test]
    fn places_come_back_and_bearings_turn_with_them() {
        let axes = Axes::new(Coord { x: 3.0, y: -2.0 }, 33.0);
        let at = Coord { x: 17.0, y: 5.0 };
        let back = axes.parcel(axes.local(at));
        assert!((back.x - at.x).abs() < 1e-12 && (back.y - at.y).abs() < 1e-12);
        let from = axes.local(Coord { x: 3.0, y: -2.0 });
        let (dx, dy) = (axes.local(at).x - from.x, axes.local(at).y - from.y);
        let bearing = axes.parcel_bearing_deg(dx.atan2(dy).to_degrees());
        assert!((bearing - 14.0f64.atan2(7.0).to_degrees()).abs() < 1e-9);
    }

    #[test]
    fn a_piece_moved_and_turned_looks_the_same_in_its_own_axes() {
        let piece = hook();
        let moved = piece
            .rotate_around_point(37.0, geo::Point::new(4.0, 9.0))
            .translate(120.0, -45.0);
        let seen = |p: &Polygon<f64>| Axes::choices(p)[0].local_ground(&p.clone().into());
        let (here, there) = (seen(&piece), seen(&moved));
        for (a, b) in here.coords_iter().zip(there.coords_iter()) {
            assert!((a.x - b.x).hypot(a.y - b.y) < 1.5e-3, "{a:?} {b:?}");
        }
    }
}
