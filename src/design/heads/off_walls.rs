//! Throws kept off walls: stops are closed and the throw is shortened until no water can hit a building.

use crate::design::coverage::Tilt;
use crate::design::model::Arc;
use crate::geometry::sight;
use geo::{Coord, Line};

/// Between the end of a throw and a wall, m: radii are set to the centimetre and stops to a tenth of a degree.
const MARGIN_M: f64 = 0.03;
/// Bearings asked stand this far apart, degrees; the corners of walls are asked besides.
const STEP_DEG: f64 = 0.5;
/// Just beside a corner of a wall, degrees.
const BESIDE_DEG: f64 = 0.02;
/// A sector that cannot be set within its stops is turned by no more than this, degrees.
const TURNED_MOST_DEG: f64 = 30.0;
/// Greatest sweep short of a full circle, degrees.
const SWEEP_MOST_DEG: f64 = 345.0;

/// A throw as it should be, and the least that it may become.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Throw {
    /// Where the head stands.
    pub at: Coord<f64>,
    /// Its sector.
    pub arc: Arc,
    /// Its radius on level ground, m.
    pub radius_m: f64,
    /// Tilt of the ground: downhill it throws farther.
    pub tilt: Tilt,
    /// Least sweep that can be set, degrees.
    pub sweep_least_deg: f64,
    /// Least radius that can be set, m.
    pub radius_least_m: f64,
}

/// The sector of a throw that keeps off the walls, and the greatest radius it may have, m.
///
/// Of all runs of bearings within the sector, each with the radius that its nearest wall leaves, the one that wets most
/// ground; where there is none that can be set, the least sector, turned away from the wall. Where that is not clear either,
/// the throw stays as it is.
pub fn kept_off(walls: &[Line<f64>], throw: &Throw) -> (Arc, f64) {
    let clear = |bearing_deg: f64| {
        let downhill = throw.tilt.reach_share(bearing_deg).max(1.0);
        // As far again as it throws: what is farther off does not matter.
        let free_m = sight::free_m(
            walls,
            throw.at,
            bearing_deg,
            2.0 * throw.radius_m * downhill,
        );
        ((free_m - MARGIN_M) / downhill).max(0.0)
    };
    let bearings = bearings(walls, throw);
    let clear_m: Vec<f64> = bearings.iter().map(|&deg| clear(deg)).collect();
    let nearest_m = clear_m.iter().copied().fold(f64::INFINITY, f64::min);
    if nearest_m >= throw.radius_m {
        return (throw.arc, nearest_m);
    }
    within(throw, &bearings, &clear_m)
        .or_else(|| turned(throw, clear))
        .unwrap_or((throw.arc, f64::INFINITY))
}

/// The run of bearings within the sector that wets most ground, with the radius that its nearest wall leaves, m.
fn within(throw: &Throw, bearings: &[f64], clear_m: &[f64]) -> Option<(Arc, f64)> {
    let nearest_m = clear_m.iter().copied().fold(f64::INFINITY, f64::min);
    let mut best = (0.0, None);
    let mut offer = |arc: Arc, most_m: f64| {
        let radius_m = throw.radius_m.min(most_m);
        let wetted = radius_m * radius_m * arc.sweep_deg;
        if radius_m >= throw.radius_least_m && wetted > best.0 {
            best = (wetted, Some((arc, most_m)));
        }
    };
    if throw.arc.is_full() {
        offer(Arc::FULL, nearest_m);
    }
    for from in 0..bearings.len() {
        let mut most_m = f64::INFINITY;
        for to in from..bearings.len() {
            most_m = most_m.min(clear_m[to]);
            let sweep_deg = bearings[to] - bearings[from];
            if most_m < throw.radius_least_m || sweep_deg > SWEEP_MOST_DEG {
                break;
            }
            if sweep_deg >= throw.sweep_least_deg {
                let start_deg = bearings[from].rem_euclid(360.0);
                offer(
                    Arc {
                        start_deg,
                        sweep_deg,
                    },
                    most_m,
                );
            }
        }
    }
    best.1
}

/// The least sector that can be set, turned to where it throws farthest, and no farther than it must be for that.
fn turned(throw: &Throw, clear: impl Fn(f64) -> f64) -> Option<(Arc, f64)> {
    let middle_deg = throw.arc.start_deg + 0.5 * throw.arc.sweep_deg;
    let steps = (throw.sweep_least_deg / STEP_DEG).ceil() as i32;
    let mut best: Option<(Arc, f64)> = None;
    for turn in (0..=(TURNED_MOST_DEG / STEP_DEG) as i32).flat_map(|k| [k, -k]) {
        let start_deg = middle_deg - 0.5 * throw.sweep_least_deg + f64::from(turn) * STEP_DEG;
        let most_m = (0..=steps)
            .map(|k| clear(start_deg + throw.sweep_least_deg * f64::from(k) / f64::from(steps)))
            .fold(throw.radius_m, f64::min);
        if most_m >= throw.radius_least_m && best.is_none_or(|(_, least_m)| most_m > least_m) {
            let arc = Arc {
                start_deg: start_deg.rem_euclid(360.0),
                sweep_deg: throw.sweep_least_deg,
            };
            best = Some((arc, most_m));
        }
    }
    best
}

/// Bearings over the sector, both stops and the corners of walls among them, rising; round a full circle twice.
fn bearings(walls: &[Line<f64>], throw: &Throw) -> Vec<f64> {
    let Arc {
        start_deg,
        sweep_deg,
    } = throw.arc;
    let over_deg = if throw.arc.is_full() {
        2.0 * sweep_deg
    } else {
        sweep_deg
    };
    let steps = (over_deg / STEP_DEG).ceil().max(1.0);
    let mut all: Vec<f64> = (0..=steps as usize)
        .map(|i| start_deg + over_deg * i as f64 / steps)
        .collect();
    for corner in walls.iter().flat_map(|wall| [wall.start, wall.end]) {
        let (dx, dy) = (corner.x - throw.at.x, corner.y - throw.at.y);
        if dx.hypot(dy) > throw.radius_m * throw.tilt.reach_share_most() {
            continue;
        }
        let after_deg = (dx.atan2(dy).to_degrees() - start_deg).rem_euclid(360.0);
        for off_deg in [-BESIDE_DEG, 0.0, BESIDE_DEG] {
            let turns = [after_deg + off_deg, after_deg + off_deg + 360.0];
            let inside = turns.into_iter().filter(|t| (0.0..=over_deg).contains(t));
            all.extend(inside.map(|turn_deg| start_deg + turn_deg));
        }
    }
    all.sort_by(f64::total_cmp);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::sight::Walls;
    use geo::{MultiPolygon, Rect};

    /// A house from (10, -20) to (30, 20).
    fn house() -> Walls {
        let house: MultiPolygon<f64> = Rect::new((10.0, -20.0), (30.0, 20.0)).to_polygon().into();
        Walls::new([&house])
    }

    fn throw(x: f64, start_deg: f64, sweep_deg: f64, radius_m: f64) -> Throw {
        Throw {
            at: Coord { x, y: 0.0 },
            arc: Arc {
                start_deg,
                sweep_deg,
            },
            radius_m,
            tilt: Tilt::LEVEL,
            sweep_least_deg: 40.0,
            radius_least_m: 2.0,
        }
    }

    fn off(throw: &Throw) -> (Arc, f64) {
        kept_off(&house().near(throw.at, 2.0 * throw.radius_m), throw)
    }

    #[test]
    fn a_throw_clear_of_walls_stays() {
        let west = throw(9.9, 180.0, 180.0, 8.0);
        assert_eq!(off(&west).0, west.arc);
        let short = throw(0.0, 0.0, 360.0, 9.0);
        let (arc, most_m) = off(&short);
        assert!(arc.is_full() && most_m > 9.0 && most_m < 10.0, "{most_m}");
    }

    #[test]
    fn stops_that_turn_into_the_wall_are_closed() {
        let (arc, most_m) = off(&throw(9.9, 175.0, 190.0, 8.0));
        assert!(most_m >= 8.0);
        // The wall is 10 cm off: it comes within 8 m some half degree before the stops lie along it.
        let end_deg = arc.start_deg + arc.sweep_deg;
        assert!((179.0..181.0).contains(&arc.start_deg), "{arc:?}");
        assert!((359.0..361.0).contains(&end_deg), "{arc:?}");
    }

    #[test]
    fn a_throw_that_faces_a_wall_is_shortened_to_it() {
        let (arc, most_m) = off(&throw(0.0, 0.0, 180.0, 10.5));
        assert!((most_m - 9.97).abs() < 1e-9, "{most_m}");
        assert_eq!(arc.sweep_deg, 180.0);
    }

    #[test]
    fn a_full_circle_beside_a_wall_becomes_a_sector_where_that_wets_more() {
        let (arc, most_m) = off(&throw(4.0, 0.0, 360.0, 10.0));
        assert!(
            !arc.is_full() && arc.sweep_deg > 230.0 && most_m >= 9.0,
            "{arc:?} {most_m}"
        );
    }

    #[test]
    fn downhill_counts_as_far_as_it_throws() {
        let tilt = Tilt {
            east: -0.2,
            north: 0.0,
        };
        let (_, most_m) = off(&Throw {
            tilt,
            ..throw(0.0, 45.0, 90.0, 9.0)
        });
        assert!(most_m < 8.1, "{most_m}");
    }

    #[test]
    fn the_least_sector_is_turned_away_from_the_wall_where_it_faces_one() {
        // The wall's west face is due north and south of the head; the sector looks 10 degrees into it.
        let into = throw(9.9, 330.0, 40.0, 8.0);
        let (arc, most_m) = off(&into);
        assert_eq!(arc.sweep_deg, 40.0);
        assert!((319.0..=320.6).contains(&arc.start_deg), "{arc:?}");
        assert_eq!(most_m, 8.0);
    }

    #[test]
    fn a_throw_that_cannot_keep_off_stays() {
        let close = Throw {
            radius_least_m: 5.0,
            ..throw(8.0, 60.0, 60.0, 6.0)
        };
        assert_eq!(off(&close).0, close.arc);
    }
}
