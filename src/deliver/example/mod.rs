//! A small invented design that is consistent in itself: fifteen heads, two stations, one main under a path.
//!
//! Only for tests of this wing. Pressures and losses are computed here by Hazen–Williams, so that an independent
//! check of the files finds nothing.

mod brief;
mod network;
mod results;
mod water_year;

pub(crate) use brief::project;

use crate::design::coverage::Tilt;
use crate::design::model::*;
use crate::finding::Finding;
use crate::site::{
    Frame, Obstacle, ObstacleKind, Parcel, SupplyTest, Terrain, TurfArea, WaterPoint,
};
use geo::{Coord, LineString, MultiPolygon, Polygon, coord, wkt};
use network::Plan;

/// Ground height of the invented hill, m.
pub(super) fn ground_m(at: Coord<f64>) -> f64 {
    100.0 + 0.02 * at.x + 0.01 * at.y
}

fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Polygon<f64> {
    geo::Rect::new((x0, y0), (x1, y1)).to_polygon()
}

fn obstacle(id: &str, kind: ObstacleKind, shape: Polygon<f64>) -> Obstacle {
    Obstacle {
        id: id.into(),
        kind,
        shape: shape.into(),
        root_zone: None,
    }
}

/// The parcel.
pub(crate) fn parcel() -> Parcel {
    let turf = rectangle(-0.12, -0.12, 40.12, 20.12);
    let pond = wkt! { POLYGON((28. 24.,36. 25.,37. 30.,30. 31.,28. 24.)) };
    let mut tree = obstacle("tree <1>", ObstacleKind::Tree, turf.clone());
    tree.shape = MultiPolygon::new(Vec::new());
    tree.root_zone = Some((coord! { x: 47.0, y: 10.0 }, 3.0));
    Parcel {
        id: "P-1".into(),
        name: Some("North lawn & court".into()),
        frame: Frame {
            lon0_deg: 13.4,
            lat0_deg: 52.5,
        },
        boundary: rectangle(-15.0, -10.0, 52.0, 36.0).into(),
        turf: vec![TurfArea {
            id: "T1".into(),
            shape: turf.into(),
            soil: Some("loam".into()),
            season: None,
        }],
        obstacles: vec![
            obstacle(
                "hall",
                ObstacleKind::Building,
                rectangle(8.0, 25.0, 22.0, 33.0),
            ),
            obstacle(
                "path",
                ObstacleKind::Paving,
                rectangle(-8.0, -10.0, -6.0, 36.0),
            ),
            obstacle("pond", ObstacleKind::Water, pond),
            obstacle("T1", ObstacleKind::Bed, rectangle(0.0, 22.0, 6.0, 30.0)),
            tree,
        ],
        water_points: vec![WaterPoint {
            id: "W1".into(),
            position: coord! { x: -10.0, y: -5.0 },
            test: SupplyTest::DesignPoint {
                design_lpm: 120.0,
                design_kpa: 420.0,
            },
            meter_loss_kpa: Some(20.0),
            backflow_loss_kpa: Some(30.0),
            service: None,
        }],
        existing: crate::site::Existing::default(),
        edits: None,
        terrain: Terrain::plane(100.0, 0.02, 0.01, 80.0),
        findings: vec![Finding::note("ring_closed", "The ring of turf T1 was closed.").of("T1")],
    }
}

/// Sector of a head at the crossing of column 0 to 4 and row 0 to 2.
fn arc(column: usize, row: usize) -> Arc {
    let (start_deg, sweep_deg) = match (column, row) {
        (0, 0) => (0.0, 90.0),
        (0, 2) => (90.0, 90.0),
        (4, 2) => (180.0, 90.0),
        (4, 0) => (270.0, 90.0),
        (0, _) => (0.0, 180.0),
        (4, _) => (180.0, 180.0),
        (_, 0) => (270.0, 180.0),
        (_, 2) => (90.0, 180.0),
        _ => return Arc::FULL,
    };
    Arc {
        start_deg,
        sweep_deg,
    }
}

fn head(column: usize, row: usize) -> Head {
    let position = coord! { x: column as f64 * 10.0, y: row as f64 * 10.0 };
    let arc = arc(column, row);
    Head {
        position,
        turf: 0,
        model: 0,
        nozzle: 0,
        arc,
        radius_m: 10.0,
        tilt: Tilt::LEVEL,
        ground_m: ground_m(position),
        flow_ref_lpm: 20.0 * arc.sweep_deg / 360.0,
        one_row: false,
    }
}

fn throw(head: &Head) -> Polygon<f64> {
    let steps = 24;
    let bearing = |i: i32| {
        (head.arc.start_deg + head.arc.sweep_deg * f64::from(i) / f64::from(steps)).to_radians()
    };
    let rim = |i: i32| {
        let (sin, cos) = bearing(i).sin_cos();
        coord! { x: head.position.x + head.radius_m * sin, y: head.position.y + head.radius_m * cos }
    };
    let mut ring: Vec<Coord<f64>> = (0..=steps).map(rim).collect();
    if !head.arc.is_full() {
        ring.push(head.position);
    }
    Polygon::new(LineString::new(ring), Vec::new())
}

/// The design.
pub(crate) fn design() -> Design {
    let heads: Vec<Head> = (0..3)
        .flat_map(|row| (0..5).map(move |column| head(column, row)))
        .collect();
    let mut plan = Plan::new(heads);
    plan.lay_mains();
    plan.lay_station(0, 2, &[&[0, 1, 2, 3, 4]]);
    plan.lay_station(1, 3, &[&[5, 6, 7, 8, 9], &[5, 10, 11, 12, 13, 14]]);
    plan.finish()
}
