//! Heads on turf, nothing through buildings or water, root zones marked, crossings sleeved.

use super::layers::{Feature, Layers};
use geo::{
    BooleanOps, BoundingRect, Centroid, Contains, Distance, Euclidean, Geometry, Intersects,
    Length, LineString, MultiLineString, MultiPolygon, Point, Polygon,
};

const HEAD_OFF_TURF_M: f64 = 0.15;
const TOUCH_M: f64 = 0.02;
const ROOTS_M: f64 = 0.05;
const UNSLEEVED_M: f64 = 0.3;

pub fn problems(layers: &Layers) -> Vec<String> {
    let mut found = heads_off_turf(layers);
    let hard = shapes(layers, &["building", "water"]);
    let paving = shapes(layers, &["paving"]);
    let roots = root_zones(layers);
    for layer in ["mains", "laterals", "trenches"] {
        for pipe in layers.of(layer) {
            let Some(line) = line(pipe) else { continue };
            report(
                &mut found,
                layer,
                pipe,
                inside_m(&line, &hard),
                TOUCH_M,
                "runs through a building or water",
            );
        }
    }
    for trench in layers.of("trenches") {
        let Some(line) = line(trench) else { continue };
        if trench.text("surface") != "roots" {
            report(
                &mut found,
                "trenches",
                trench,
                inside_m(&line, &roots),
                ROOTS_M,
                "lies in a root zone and is not marked",
            );
        }
        if !trench.flag("sleeve") {
            report(
                &mut found,
                "trenches",
                trench,
                inside_m(&line, &paving),
                UNSLEEVED_M,
                "lies under paving without a sleeve",
            );
        }
    }
    found
}

fn report(
    found: &mut Vec<String>,
    layer: &str,
    feature: &Feature,
    metres: f64,
    most_m: f64,
    what: &str,
) {
    if metres > most_m {
        found.push(format!(
            "{layer}/{} {what} for {metres:.2} m",
            feature.text("id")
        ));
    }
}

fn heads_off_turf(layers: &Layers) -> Vec<String> {
    let turf: Vec<(&str, MultiPolygon<f64>)> = layers
        .of("turf")
        .iter()
        .filter_map(|f| Some((f.text("id"), polygons(f)?)))
        .collect();
    let hard = shapes(layers, &["building", "water"]);
    let mut found = Vec::new();
    for head in layers.of("heads") {
        let (Some(Geometry::Point(at)), id) = (&head.geometry, head.text("id")) else {
            continue;
        };
        let own = turf.iter().find(|(name, _)| *name == head.text("turf"));
        if own.is_none_or(|(_, shape)| Euclidean.distance(at, shape) > HEAD_OFF_TURF_M) {
            found.push(format!("heads/{id} stands off its turf"));
        }
        if hard.iter().any(|shape| shape.contains(at)) {
            found.push(format!("heads/{id} stands in a building or water"));
        }
        let thrown_at = middle_of_throw(head, at);
        if thrown_at.is_some_and(|m| shapes_of(layers, "building").any(|b| b.contains(&m))) {
            found.push(format!("heads/{id} throws on a building"));
        }
    }
    found
}

/// The place at half the radius in the middle of the sector.
fn middle_of_throw(head: &Feature, at: &Point<f64>) -> Option<Point<f64>> {
    let bearing =
        (head.number("arc_start_deg")? + head.number("arc_sweep_deg")? / 2.0).to_radians();
    let reach_m = head.number("radius_m")? / 2.0;
    Some(Point::new(
        at.x() + reach_m * bearing.sin(),
        at.y() + reach_m * bearing.cos(),
    ))
}

fn shapes_of<'a>(
    layers: &'a Layers,
    kind: &'a str,
) -> impl Iterator<Item = MultiPolygon<f64>> + 'a {
    layers
        .of("obstacles")
        .iter()
        .filter(move |f| f.text("kind") == kind)
        .filter_map(polygons)
}

fn shapes(layers: &Layers, kinds: &[&str]) -> Vec<Polygon<f64>> {
    kinds
        .iter()
        .flat_map(|kind| shapes_of(layers, kind))
        .flatten()
        .collect()
}

fn root_zones(layers: &Layers) -> Vec<Polygon<f64>> {
    let zone = |f: &Feature| {
        let centre = f.geometry.as_ref()?.centroid()?;
        let radius_m = f.number("root_radius_m")?;
        let ring = (0..64)
            .map(|i| f64::from(i) * std::f64::consts::TAU / 64.0)
            .map(|a| {
                (
                    centre.x() + radius_m * a.cos(),
                    centre.y() + radius_m * a.sin(),
                )
            });
        Some(Polygon::new(ring.collect(), vec![]))
    };
    layers
        .of("obstacles")
        .iter()
        .filter(|f| f.text("kind") == "tree")
        .filter_map(zone)
        .collect()
}

fn polygons(feature: &Feature) -> Option<MultiPolygon<f64>> {
    match feature.geometry.as_ref()? {
        Geometry::Polygon(polygon) => Some(MultiPolygon::new(vec![polygon.clone()])),
        Geometry::MultiPolygon(shape) => Some(shape.clone()),
        _ => None,
    }
}

fn line(feature: &Feature) -> Option<LineString<f64>> {
    match feature.geometry.as_ref()? {
        Geometry::LineString(line) => Some(line.clone()),
        _ => None,
    }
}

/// Length of a line inside any of the polygons, each counted for itself.
fn inside_m(line: &LineString<f64>, polygons: &[Polygon<f64>]) -> f64 {
    let Some(bounds) = line.bounding_rect() else {
        return 0.0;
    };
    let near = polygons
        .iter()
        .filter(|p| p.bounding_rect().is_some_and(|r| r.intersects(&bounds)));
    near.map(|p| Euclidean.length(&p.clip(&MultiLineString::new(vec![line.clone()]), false)))
        .fold(0.0, f64::max)
}
