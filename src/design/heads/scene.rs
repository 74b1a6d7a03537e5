//! One piece of turf and what lies round it, in the piece's own axes.

use super::axes::Axes;
use crate::geometry::sight::Walls;
use crate::site::{Obstacle, ObstacleKind, Parcel};
use geo::{BoundingRect, Coord, MultiPolygon, Polygon, Rect};

/// The piece and its surroundings.
pub struct Scene {
    /// Where the axes lie in the parcel.
    pub axes: Axes,
    /// The piece to be watered.
    pub piece: Polygon<f64>,
    /// All turf near by, the piece and other pieces.
    pub turf: Vec<MultiPolygon<f64>>,
    /// Obstacles near by.
    pub obstacles: Vec<Obstacle>,
    /// Walls of the buildings among them.
    pub walls: Walls,
}

impl Scene {
    /// What lies within `reach_m` of a piece of `parcel`. `None` for a piece that rounding leaves without extent.
    pub fn new(parcel: &Parcel, piece: &Polygon<f64>, axes: Axes, reach_m: f64) -> Option<Self> {
        let window = widened(piece.bounding_rect()?, reach_m);
        let near = |shape: &MultiPolygon<f64>| {
            shape
                .bounding_rect()
                .is_some_and(|bounds| meet(bounds, window))
        };
        let rooted = |obstacle: &Obstacle| {
            obstacle.root_zone.is_some_and(|(at, radius_m)| {
                let far = Coord {
                    x: radius_m,
                    y: radius_m,
                };
                meet(Rect::new(at - far, at + far), window)
            })
        };
        let obstacles: Vec<Obstacle> = parcel
            .obstacles
            .iter()
            .filter(|o| near(&o.shape) || rooted(o))
            .map(|o| Obstacle {
                shape: axes.local_ground(&o.shape),
                root_zone: o.root_zone.map(|(at, r)| (axes.local(at), r)),
                ..o.clone()
            })
            .collect();
        let buildings = obstacles
            .iter()
            .filter(|o| o.kind == ObstacleKind::Building);
        Some(Self {
            walls: Walls::new(buildings.map(|o| &o.shape)),
            piece: axes
                .local_ground(&piece.clone().into())
                .0
                .into_iter()
                .next()?,
            turf: parcel
                .turf
                .iter()
                .filter(|turf| near(&turf.shape))
                .map(|turf| axes.local_ground(&turf.shape))
                .collect(),
            obstacles,
            axes,
        })
    }
}

fn widened(bounds: Rect<f64>, by_m: f64) -> Rect<f64> {
    let by = Coord { x: by_m, y: by_m };
    Rect::new(bounds.min() - by, bounds.max() + by)
}

fn meet(a: Rect<f64>, b: Rect<f64>) -> bool {
    a.min().x <= b.max().x
        && b.min().x <= a.max().x
        && a.min().y <= b.max().y
        && b.min().y <= a.max().y
}
