//! Water points that stand in a building or in water: where their pipe comes out.

use crate::finding::Finding;
use crate::site::parcel::{Obstacle, ObstacleKind};
use geo::{Coord, Intersects, Line, MultiPolygon};

/// How far outside the pipe begins, m.
const OUTSIDE_M: f64 = 0.5;

/// Where the pipe of a water point comes out of the building or water it stands in, and what is to be said of that.
pub(crate) fn led_out(
    at: Coord<f64>,
    boundary: &MultiPolygon<f64>,
    obstacles: &[Obstacle],
) -> (Coord<f64>, Option<Finding>) {
    let Some(inside) = standing_in(at, obstacles) else {
        return (at, None);
    };
    let stands = format!("stands in the {} {}", inside.kind.word(), inside.id);
    let free =
        |place: &Coord<f64>| boundary.intersects(place) && standing_in(*place, obstacles).is_none();
    let Some(out) = ways_out(at, inside).into_iter().find(free) else {
        let message = format!(
            "{stands} and no pipe can leave it inside the parcel. Put the point where the pipe comes out."
        );
        return (
            at,
            Some(Finding::error("water_point_in_obstacle", message).at(at)),
        );
    };
    let far_m = (out.x - at.x).hypot(out.y - at.y);
    let message = format!(
        "{stands}; its pipe is taken to come out at the nearest edge, {far_m:.1} m off. Put the point where the pipe comes out."
    );
    (
        out,
        Some(Finding::warning("water_point_in_obstacle", message).at(out)),
    )
}

/// Places just outside an obstacle, nearest first.
fn ways_out(at: Coord<f64>, obstacle: &Obstacle) -> Vec<Coord<f64>> {
    let edges = obstacle
        .shape
        .iter()
        .flat_map(|polygon| polygon.exterior().lines());
    let out = |edge: Line<f64>| {
        let way = edge.end - edge.start;
        let square = way.x * way.x + way.y * way.y;
        let share = ((at.x - edge.start.x) * way.x + (at.y - edge.start.y) * way.y) / square;
        let foot = edge.start + way * share.clamp(0.0, 1.0);
        // Outer rings run counterclockwise: outside lies to the right.
        let right = Coord {
            x: way.y,
            y: -way.x,
        } / square.sqrt();
        let far = (foot.x - at.x).hypot(foot.y - at.y);
        (square > 0.0).then_some((far, foot + right * OUTSIDE_M))
    };
    let mut ways: Vec<(f64, Coord<f64>)> = edges.filter_map(out).collect();
    ways.sort_by(|a, b| a.0.total_cmp(&b.0));
    ways.into_iter().map(|(_, place)| place).collect()
}

/// The building or water that a place stands in.
fn standing_in(at: Coord<f64>, obstacles: &[Obstacle]) -> Option<&Obstacle> {
    obstacles.iter().find(|obstacle| {
        matches!(obstacle.kind, ObstacleKind::Building | ObstacleKind::Water)
            && obstacle.shape.intersects(&at)
    })
}
