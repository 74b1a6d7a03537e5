//! The outline of a wetted sector, cut short where a wall stands in the way.

use super::sight::free_m;
use geo::{Coord, Line, LineString, Polygon};

/// The sector from `start_deg` clockwise through `sweep_deg` (up to 360) about `at`, `reach_m` of the bearing (degrees,
/// metres) far, as a counter-clockwise ring.
///
/// Points every 5 degrees or less, every degree where walls are near; each point as far out as the walls let it.
pub fn sector(
    at: Coord<f64>,
    start_deg: f64,
    sweep_deg: f64,
    reach_m: impl Fn(f64) -> f64,
    walls: &[Line<f64>],
) -> Polygon<f64> {
    let full = sweep_deg >= 359.999;
    let step_deg = if walls.is_empty() { 5.0 } else { 1.0 };
    let steps = (sweep_deg.min(360.0) / step_deg).ceil().max(2.0) as usize;
    let last = if full { steps - 1 } else { steps };
    let mut points: Vec<Coord<f64>> = (0..=last)
        .map(|i| start_deg + sweep_deg.min(360.0) * i as f64 / steps as f64)
        .map(|bearing| {
            let far = free_m(walls, at, bearing, reach_m(bearing)).max(0.01);
            let (sin, cos) = bearing.to_radians().sin_cos();
            Coord {
                x: at.x + far * sin,
                y: at.y + far * cos,
            }
        })
        .collect();
    if !full {
        points.push(at);
    }
    points.reverse();
    points.push(points[0]);
    Polygon::new(LineString::new(points), Vec::new())
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, Validation};

    #[test]
    fn a_quarter_has_a_quarter_of_the_area_and_runs_counter_clockwise() {
        let quarter = sector(Coord { x: 3.0, y: 4.0 }, 0.0, 90.0, |_| 10.0, &[]);
        assert!((quarter.signed_area() - 78.54).abs() < 0.2);
        let full = sector(Coord { x: 3.0, y: 4.0 }, 0.0, 360.0, |_| 10.0, &[]);
        assert!((full.signed_area() - 314.16).abs() < 0.8);
        assert!(quarter.is_valid() && full.is_valid());
    }

    #[test]
    fn a_wall_cuts_the_throw() {
        let wall = Line::new((5.0, -20.0), (5.0, 20.0));
        let half = sector(Coord { x: 0.0, y: 0.0 }, 0.0, 180.0, |_| 10.0, &[wall]);
        assert!(half.exterior().coords().all(|c| c.x <= 5.0 + 1e-9));
        assert!(half.is_valid());
    }
}
