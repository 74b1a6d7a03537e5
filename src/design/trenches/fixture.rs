//! A small parcel for the tests of this room: a lawn cut by a path, a building, a tree.

use crate::finding::Finding;
use crate::site::{
    Frame, Obstacle, ObstacleKind, Parcel, SupplyTest, Terrain, TurfArea, WaterPoint,
};
use geo::{BooleanOps, Coord, MultiPolygon, Rect};

fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
    MultiPolygon::new(vec![
        Rect::new(Coord { x: x0, y: y0 }, Coord { x: x1, y: y1 }).to_polygon(),
    ])
}

/// 50 m by 30 m; path 2 m wide along x = 0; building (8..14, 3..7); a tree at (-10, 8) with a root zone of 3 m.
pub fn parcel() -> Parcel {
    let building = rectangle(8.0, 3.0, 14.0, 7.0);
    let path = rectangle(-1.0, -15.0, 1.0, 15.0);
    let obstacle = |id: &str, kind, shape| Obstacle {
        id: id.into(),
        kind,
        shape,
        root_zone: None,
    };
    let tree = Obstacle {
        id: "tree".into(),
        kind: ObstacleKind::Tree,
        shape: MultiPolygon::new(vec![]),
        root_zone: Some((Coord { x: -10.0, y: 8.0 }, 3.0)),
    };
    let lawn = |id: &str, shape: MultiPolygon<f64>| TurfArea {
        id: id.into(),
        shape,
        soil: None,
        season: None,
    };
    Parcel {
        id: "p".into(),
        name: None,
        frame: Frame {
            lon0_deg: 10.0,
            lat0_deg: 50.0,
        },
        boundary: rectangle(-25.0, -15.0, 25.0, 15.0),
        turf: vec![
            lawn("west", rectangle(-25.0, -15.0, -1.0, 15.0)),
            lawn(
                "east",
                rectangle(1.0, -15.0, 25.0, 15.0).difference(&building),
            ),
        ],
        obstacles: vec![
            obstacle("house", ObstacleKind::Building, building),
            obstacle("path", ObstacleKind::Paving, path),
            tree,
        ],
        water_points: vec![WaterPoint {
            id: "w".into(),
            position: Coord { x: -24.0, y: -14.0 },
            test: SupplyTest::FlowTest {
                static_kpa: 500.0,
                residual_kpa: 400.0,
                residual_lpm: 120.0,
            },
            meter_loss_kpa: Some(10.0),
            backflow_loss_kpa: Some(30.0),
            service: None,
        }],
        existing: crate::site::Existing::default(),
        edits: None,
        terrain: Terrain::plane(100.0, 0.02, 0.01, 60.0),
        findings: Vec::<Finding>::new(),
    }
}
