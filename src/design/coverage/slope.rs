//! Throw on sloping ground: shorter uphill, longer downhill, the same water in every direction.
//!
//! A drop at the end of its throw falls at an angle δ below the horizontal. Over the last stretch its path is near enough
//! a straight line, so on ground that rises by s metres a metre along its bearing it lands at `R / (1 + s / tan δ)`
//! instead of R. With the ground about a head taken as a plane, `s / tan δ` is the part along the bearing of one vector,
//! the tilt `e`; the rim is a conic with the head at its focus. No wind, no bumps: one plane for each head.

use crate::site::Terrain;
use geo::Coord;

/// Greatest length of a tilt: ground beyond it is too steep for the straight line to hold. Common practice, no source.
const TILT_MOST: f64 = 0.6;
/// Rings on which the ground is sampled, as shares of the reach.
const RINGS: [f64; 2] = [0.35, 0.7];
/// Samples on each ring.
const SAMPLES: usize = 16;

/// Slope of the ground about a head over the tangent of the angle at which its drops fall: `g / tan δ`, no unit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tilt {
    /// Rise towards the east.
    pub east: f64,
    /// Rise towards the north.
    pub north: f64,
}

impl Tilt {
    /// Level ground.
    pub const LEVEL: Self = Self {
        east: 0.0,
        north: 0.0,
    };

    /// The tilt of ground that rises by `east` and `north` (m/m) for drops that fall at `throw_fall_deg` below the
    /// horizontal (above 0 to below 90), no longer than 0.6. Level for what is no number.
    pub fn of_slope(east: f64, north: f64, throw_fall_deg: f64) -> Self {
        let tangent = throw_fall_deg.to_radians().tan();
        let (east, north) = (east / tangent, north / tangent);
        let length = east.hypot(north);
        if !length.is_finite() {
            return Self::LEVEL;
        }
        let share = (TILT_MOST / length).min(1.0);
        Self {
            east: east * share,
            north: north * share,
        }
    }

    /// The tilt at `at`: the plane of least squares through the ground on two rings within `reach_m` (m).
    ///
    /// Level where less than half of the samples have a height, or where these do not span a plane.
    pub fn of(terrain: &Terrain, at: Coord<f64>, reach_m: f64, throw_fall_deg: f64) -> Self {
        let samples: Vec<(Coord<f64>, f64)> = offsets(reach_m)
            .filter_map(|offset| Some((offset, terrain.height_m(at + offset)?)))
            .collect();
        match gradient(&samples) {
            Some((east, north)) => Self::of_slope(east, north, throw_fall_deg),
            None => Self::LEVEL,
        }
    }

    /// Whether the ground is level, so that nothing has to be computed.
    pub fn is_level(&self) -> bool {
        *self == Self::LEVEL
    }

    /// The distance on level ground to which the place (dx, dy) metres from the head corresponds, m: `|Δ| + e·Δ`.
    pub fn effective_m(&self, dx: f64, dy: f64) -> f64 {
        (dx * dx + dy * dy).sqrt() + self.rise(dx, dy)
    }

    /// What the tilt adds to the distance of the place (dx, dy) metres from the head, m: `e·Δ`.
    pub fn rise(&self, dx: f64, dy: f64) -> f64 {
        self.east * dx + self.north * dy
    }

    /// Reach along a bearing (degrees clockwise from north) over the reach on level ground: `1 / (1 + e·direction)`.
    pub fn reach_share(&self, bearing_deg: f64) -> f64 {
        let (sin, cos) = bearing_deg.to_radians().sin_cos();
        1.0 / (1.0 + self.east * sin + self.north * cos)
    }

    /// The greatest `reach_share` of any bearing: straight downhill.
    pub fn reach_share_most(&self) -> f64 {
        1.0 / (1.0 - self.east.hypot(self.north))
    }
}

/// Where the ground is sampled, from the head.
fn offsets(reach_m: f64) -> impl Iterator<Item = Coord<f64>> {
    RINGS.into_iter().flat_map(move |share| {
        (0..SAMPLES).map(move |i| {
            let angle = std::f64::consts::TAU * i as f64 / SAMPLES as f64;
            let (sin, cos) = angle.sin_cos();
            Coord {
                x: reach_m * share * sin,
                y: reach_m * share * cos,
            }
        })
    })
}

/// Rise towards east and north of the plane of least squares through heights at offsets, m/m.
fn gradient(samples: &[(Coord<f64>, f64)]) -> Option<(f64, f64)> {
    if samples.len() < RINGS.len() * SAMPLES / 2 {
        return None;
    }
    let mean = |value: fn(&(Coord<f64>, f64)) -> f64| {
        samples.iter().map(value).sum::<f64>() / samples.len() as f64
    };
    let (x0, y0, z0) = (mean(|s| s.0.x), mean(|s| s.0.y), mean(|s| s.1));
    let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (at, height) in samples {
        let (x, y, z) = (at.x - x0, at.y - y0, height - z0);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xz += x * z;
        yz += y * z;
    }
    let determinant = xx * yy - xy * xy;
    // Samples within a few degrees of one line tell nothing of the slope across it.
    if determinant <= 1e-3 * (xx + yy) * (xx + yy) {
        return None;
    }
    Some((
        (xz * yy - yz * xy) / determinant,
        (yz * xx - xz * xy) / determinant,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const HERE: Coord<f64> = Coord { x: 1.3, y: -2.1 };

    #[test]
    fn a_plane_gives_its_own_slope_and_a_steep_one_the_limit() {
        let tilt = Tilt::of(&Terrain::plane(50.0, 0.1, -0.05, 30.0), HERE, 10.0, 45.0);
        assert!((tilt.east - 0.1).abs() < 1e-4 && (tilt.north + 0.05).abs() < 1e-4);
        let steep = Tilt::of(&Terrain::plane(0.0, 3.0, 4.0, 30.0), HERE, 10.0, 45.0);
        assert!((steep.east - 0.36).abs() < 1e-4 && (steep.north - 0.48).abs() < 1e-4);
        // Drops that fall at 25 degrees feel the slope 1/tan 25° = 2.1445 times as much.
        let flat = Tilt::of(&Terrain::plane(0.0, 0.1, 0.0, 30.0), HERE, 10.0, 25.0);
        assert!((flat.east - 0.214_45).abs() < 1e-4);
    }

    #[test]
    fn ground_without_heights_is_level_and_half_of_them_is_enough() {
        let ground = Terrain::plane(0.0, 0.1, 0.2, 30.0);
        assert_eq!(
            Tilt::of(&ground, (90.0, 0.0).into(), 10.0, 45.0),
            Tilt::LEVEL
        );
        let at_rim = Tilt::of(&ground, (30.0, 0.0).into(), 10.0, 45.0);
        assert!((at_rim.east - 0.1).abs() < 1e-4 && (at_rim.north - 0.2).abs() < 1e-4);
    }

    #[test]
    fn uphill_is_shorter_downhill_longer_and_across_as_on_the_level() {
        let tilt = Tilt::of_slope(0.0, 0.2, 45.0);
        assert!((tilt.reach_share(0.0) - 1.0 / 1.2).abs() < 1e-12);
        assert!((tilt.reach_share(180.0) - 1.0 / 0.8).abs() < 1e-12);
        assert!((tilt.reach_share(90.0) - 1.0).abs() < 1e-12);
        assert!((tilt.reach_share_most() - 1.25).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn the_end_of_the_throw_is_the_radius_away_in_effect(
            east in -0.9..0.9_f64, north in -0.9..0.9_f64, bearing in 0.0..360.0_f64, radius in 1.0..20.0_f64,
        ) {
            let tilt = Tilt::of_slope(east, north, 45.0);
            let reach = radius * tilt.reach_share(bearing);
            let (sin, cos) = bearing.to_radians().sin_cos();
            prop_assert!((tilt.effective_m(reach * sin, reach * cos) - radius).abs() < 1e-9);
            prop_assert!(reach > 0.0 && reach <= radius * tilt.reach_share_most() + 1e-9);
        }
    }
}
