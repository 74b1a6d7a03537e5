//! The ground as it was given: parcel, turf with what it gets, obstacles.

use crate::deliver::job::Job;
use crate::deliver::layer::{Layer, Shape};
use crate::deliver::names::PARCEL;
use crate::deliver::palette;
use crate::design::edits::base_mark;
use crate::site::{Obstacle, ObstacleKind};
use geo::{Area, Geometry, MultiPolygon};

/// The parcel's bounds.
pub(super) fn parcel(job: &Job) -> Layer {
    let parcel = job.parcel;
    let title = match &parcel.name {
        Some(name) => format!("Parcel {}: {name}", parcel.id),
        None => format!("Parcel {}", parcel.id),
    };
    let boundary = &parcel.boundary;
    Layer::new(
        "parcel",
        Shape::MultiPolygon,
        &[PARCEL.to_string()],
        &parcel.id,
    )
    .geometry(|_| area(boundary))
    .text("title", |_| Some(title.clone()))
    .text("name", |_| parcel.name.clone())
    .number("area_m2", 1, |_| Some(boundary.unsigned_area()))
    .text("design_mark", |_| Some(base_mark(job.design)))
    .stroke(1.5, |_| palette::GREY)
    .fill(0.0, |_| palette::PAVING)
}

/// Turf and what it gets.
pub(super) fn turf(job: &Job) -> Layer {
    let areas = &job.parcel.turf;
    let result = |i: usize| job.design.turf.get(i);
    Layer::new("turf", Shape::MultiPolygon, &job.names.turf, &job.parcel.id)
        .geometry(|i| area(&areas[i].shape))
        .text("title", |i| Some(format!("Turf {}", job.names.turf[i])))
        .text("soil", |i| areas[i].soil.clone())
        .text("season", |i| areas[i].season.clone())
        .number("area_m2", 2, |i| Some(areas[i].shape.unsigned_area()))
        .number("judged_m2", 2, |i| Some(result(i)?.area_m2))
        .whole("heads", |i| Some(result(i)?.heads))
        .whole("heads_bound", |i| Some(result(i)?.heads_bound))
        .number("heads_lp_estimate", 1, |i| result(i)?.heads_lp_estimate)
        .number("du_low_quarter", 4, |i| result(i)?.du_low_quarter)
        .number("cu_christiansen", 4, |i| result(i)?.cu_christiansen)
        .number("dry_fraction", 4, |i| result(i)?.dry_fraction)
        .number("overspray_fraction", 4, |i| result(i)?.overspray_fraction)
        .number("reached_fraction", 4, |i| result(i)?.reached_fraction)
        .number("mean_rate_mm_h", 3, |i| result(i)?.mean_rate_mm_h)
        .text("grade", |i| {
            Some(result(i)?.grade.as_ref()?.letter.to_string())
        })
        .text("grade_reasons", |i| {
            Some(result(i)?.grade.as_ref()?.reasons.join("; "))
        })
        .stroke(1.0, |_| palette::TREE)
        .fill(0.7, |_| palette::TURF)
}

/// Obstacles. A tree given as a point stays a point, with the radius of its root zone.
pub(super) fn obstacles(job: &Job) -> Layer {
    let obstacles = &job.parcel.obstacles;
    let names = &job.names.obstacles;
    let colour = |i: usize| colour(obstacles[i].kind);
    let title = |i: usize| Some(format!("{} {}", capital(obstacles[i].kind), names[i]));
    Layer::new("obstacles", Shape::MultiPolygon, names, &job.parcel.id)
        .geometry(|i| shape(&obstacles[i]))
        .text("title", title)
        .text("kind", |i| Some(obstacles[i].kind.word().to_string()))
        .number("root_radius_m", 3, |i| Some(obstacles[i].root_zone?.1))
        .stroke(1.0, colour)
        .fill(0.8, colour)
        .marker(colour)
}

/// Ground tint of an obstacle.
pub(crate) fn colour(kind: ObstacleKind) -> &'static str {
    match kind {
        ObstacleKind::Building => palette::BUILDING,
        ObstacleKind::Water => palette::WATER,
        ObstacleKind::Paving => palette::PAVING,
        ObstacleKind::Bed => palette::BED,
        ObstacleKind::Tree => palette::TREE,
    }
}

fn capital(kind: ObstacleKind) -> &'static str {
    match kind {
        ObstacleKind::Building => "Building",
        ObstacleKind::Water => "Water",
        ObstacleKind::Paving => "Paving",
        ObstacleKind::Bed => "Bed",
        ObstacleKind::Tree => "Tree",
    }
}

fn shape(obstacle: &Obstacle) -> Option<Geometry<f64>> {
    let centre = || Some(Geometry::Point(obstacle.root_zone?.0.into()));
    area(&obstacle.shape).or_else(centre)
}

/// A shape as geometry; `None` when it is empty.
pub(super) fn area(shape: &MultiPolygon<f64>) -> Option<Geometry<f64>> {
    (!shape.0.is_empty()).then(|| Geometry::MultiPolygon(shape.clone()))
}
