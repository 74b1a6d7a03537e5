//! Small random parcels: a star-shaped lawn, perhaps cut by a path, with a building, trees, a slope and a supply.

// Shared by test programs of which each uses its own part.
#![allow(dead_code)]

use geo::{BooleanOps, Coord, LineString, MultiPolygon, Polygon, Rect};
use proptest::prelude::*;
use std::path::Path;
use swardline::brief::Project;
use swardline::site::{
    Frame, Obstacle, ObstacleKind, Parcel, SupplyTest, Terrain, TurfArea, WaterPoint,
};

/// What a random parcel is made from.
#[derive(Debug, Clone)]
pub struct Shape {
    /// Distance of each corner of the lawn from its middle, m.
    radii_m: Vec<f64>,
    /// Where the building stands, m from the middle.
    building: (f64, f64),
    /// Whether a path cuts the lawn.
    path: bool,
    /// Trees: place and root radius.
    trees: Vec<(f64, f64, f64)>,
    /// Slope east and north.
    slope: (f64, f64),
    /// Static pressure, kPa, and flow at 100 kPa less, L/min.
    supply: (f64, f64),
}

impl Shape {
    /// A round lawn on gentle ground.
    pub fn plain() -> Self {
        Self {
            radii_m: vec![25.0; 9],
            building: (5.0, 4.0),
            path: true,
            trees: vec![(-8.0, -6.0, 2.5)],
            slope: (0.02, 0.01),
            supply: (500.0, 150.0),
        }
    }

    /// A house that stands in the path; the lawn has a hair of no width along its wall.
    pub fn house_in_path() -> Self {
        Self {
            radii_m: vec![
                12.0,
                14.374_681_073_427_27,
                12.706_269_852_954_469,
                16.887_904_284_586_195,
                12.857_283_926_013_128,
                26.192_696_129_028_548,
            ],
            building: (-2.202_269_169_368_445, -2.522_886_348_946_576),
            path: true,
            trees: vec![(0.0, 0.0, 1.0)],
            slope: (0.0, 0.0),
            supply: (350.0, 40.0),
        }
    }
}

/// Random shapes.
pub fn shapes() -> impl Strategy<Value = Shape> {
    let trees = prop::collection::vec((-20.0..20.0, -20.0..20.0, 1.0..4.0), 0..4);
    (
        prop::collection::vec(12.0..32.0, 5..11),
        (-8.0..8.0, -8.0..8.0),
        any::<bool>(),
        trees,
        (-0.12..0.12, -0.12..0.12),
        (350.0..700.0, 40.0..300.0),
    )
        .prop_map(|(radii_m, building, path, trees, slope, supply)| Shape {
            radii_m,
            building,
            path,
            trees,
            slope,
            supply,
        })
}

/// Random shapes of a few hundred square metres on gentle ground.
pub fn small_shapes() -> impl Strategy<Value = Shape> {
    (
        prop::collection::vec(10.0..19.0, 5..11),
        (-6.0..6.0, 2.0..6.0),
        prop::bool::weighted(0.8),
        (-0.04..0.04, -0.04..0.04),
        (400.0..600.0, 60.0..200.0),
    )
        .prop_map(|(radii_m, building, path, slope, supply)| Shape {
            radii_m,
            building,
            path,
            trees: Vec::new(),
            slope,
            supply,
        })
}

fn rectangle(low: (f64, f64), high: (f64, f64)) -> MultiPolygon<f64> {
    MultiPolygon::new(vec![
        Rect::new(
            Coord { x: low.0, y: low.1 },
            Coord {
                x: high.0,
                y: high.1,
            },
        )
        .to_polygon(),
    ])
}

fn star(radii_m: &[f64]) -> MultiPolygon<f64> {
    let corner = |(i, r): (usize, &f64)| {
        let angle = std::f64::consts::TAU * i as f64 / radii_m.len() as f64;
        Coord {
            x: r * angle.cos(),
            y: r * angle.sin(),
        }
    };
    MultiPolygon::new(vec![Polygon::new(
        LineString::new(radii_m.iter().enumerate().map(corner).collect()),
        vec![],
    )])
}

/// The parcel and its brief.
pub fn parcel(shape: &Shape) -> (Parcel, Project) {
    let building = rectangle(
        (shape.building.0 - 4.0, shape.building.1 - 3.0),
        (shape.building.0 + 4.0, shape.building.1 + 3.0),
    );
    let mut obstacles = vec![Obstacle {
        id: "house".into(),
        kind: ObstacleKind::Building,
        shape: building.clone(),
        root_zone: None,
    }];
    let mut lawn = star(&shape.radii_m).difference(&building);
    if shape.path {
        let path = rectangle((-40.0, -7.0), (40.0, -5.0)).difference(&building);
        lawn = lawn.difference(&path);
        obstacles.push(Obstacle {
            id: "path".into(),
            kind: ObstacleKind::Paving,
            shape: path,
            root_zone: None,
        });
    }
    for (i, (x, y, radius_m)) in shape.trees.iter().enumerate() {
        obstacles.push(Obstacle {
            id: format!("tree-{i}"),
            kind: ObstacleKind::Tree,
            shape: MultiPolygon::new(vec![]),
            root_zone: Some((Coord { x: *x, y: *y }, *radius_m)),
        });
    }
    let parcel = Parcel {
        id: "random".into(),
        name: None,
        frame: Frame {
            lon0_deg: 11.0,
            lat0_deg: 48.0,
        },
        boundary: rectangle((-40.0, -40.0), (40.0, 40.0)),
        turf: vec![TurfArea {
            id: "lawn".into(),
            shape: lawn,
            soil: Some("loam".into()),
            season: None,
        }],
        obstacles,
        water_points: vec![WaterPoint {
            id: "tap".into(),
            position: Coord { x: -36.0, y: -36.0 },
            test: SupplyTest::FlowTest {
                static_kpa: shape.supply.0,
                residual_kpa: shape.supply.0 - 100.0,
                residual_lpm: shape.supply.1,
            },
            meter_loss_kpa: Some(10.0),
            backflow_loss_kpa: Some(25.0),
            service: None,
        }],
        existing: swardline::site::Existing::default(),
        edits: None,
        terrain: Terrain::plane(200.0, shape.slope.0, shape.slope.1, 70.0),
        findings: Vec::new(),
    };
    (parcel, Project::without_inputs("random ground"))
}

/// Designs the parcel and writes its folder.
pub fn write(parcel: &Parcel, project: &Project, folder: &Path) {
    let design = swardline::design::design(parcel, project);
    swardline::deliver::write_parcel(parcel, &design, project, folder).unwrap();
}
