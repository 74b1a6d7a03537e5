//! Generated ground for benches: lawns between paths, buildings, trees, rolling terrain; the same for the same size.

pub mod lattice;

use geo::{BooleanOps, Coord, LineString, MultiPolygon, Polygon};
use swardline::brief::Project;
use swardline::site::{
    Frame, Obstacle, ObstacleKind, Parcel, SupplyTest, Terrain, TurfArea, WaterPoint,
};

/// Lawn pitch east and north, m; paths take 3 m of each.
const PITCH_M: (f64, f64) = (53.0, 43.0);
const PATH_M: f64 = 3.0;

/// A square parcel of about `hectares`, with its brief.
pub fn parcel(hectares: f64) -> (Parcel, Project) {
    let side_m = (hectares * 1e4).sqrt();
    let columns = (side_m / PITCH_M.0).round().max(1.0) as usize;
    let rows = (side_m / PITCH_M.1).round().max(1.0) as usize;
    let corner = Coord {
        x: -(columns as f64) * PITCH_M.0 / 2.0,
        y: -(rows as f64) * PITCH_M.1 / 2.0,
    };
    let mut turf = Vec::new();
    let mut obstacles = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let low = corner
                + Coord {
                    x: column as f64 * PITCH_M.0,
                    y: row as f64 * PITCH_M.1,
                };
            lawn(low, row * columns + column, &mut turf, &mut obstacles);
        }
    }
    let boundary = MultiPolygon::new(vec![block(
        corner,
        (columns as f64 * PITCH_M.0, rows as f64 * PITCH_M.1),
        0.0,
    )]);
    let paving = turf.iter().fold(boundary.clone(), |left, t: &TurfArea| {
        left.difference(&t.shape)
    });
    let paving = obstacles
        .iter()
        .filter(|o| o.kind == ObstacleKind::Building)
        .fold(paving, |left, o| left.difference(&o.shape));
    obstacles.push(Obstacle {
        id: "paths".into(),
        kind: ObstacleKind::Paving,
        shape: paving,
        root_zone: None,
    });
    let parcel = Parcel {
        id: format!("generated-{hectares}"),
        name: None,
        frame: Frame {
            lon0_deg: 12.0,
            lat0_deg: 49.0,
        },
        boundary,
        turf,
        obstacles,
        water_points: vec![WaterPoint {
            id: "w".into(),
            position: corner
                + Coord {
                    x: PATH_M + 1.0,
                    y: PATH_M + 1.0,
                },
            test: SupplyTest::FlowTest {
                static_kpa: 650.0,
                residual_kpa: 520.0,
                residual_lpm: 900.0,
            },
            meter_loss_kpa: Some(20.0),
            backflow_loss_kpa: Some(40.0),
            service: None,
        }],
        existing: swardline::site::Existing::default(),
        edits: None,
        terrain: rolling(side_m / 2.0 + 80.0),
        findings: Vec::new(),
    };
    (parcel, Project::without_inputs("generated ground"))
}

/// One lawn with wavy edges; every fourth has a building, each has two trees.
fn lawn(low: Coord<f64>, number: usize, turf: &mut Vec<TurfArea>, obstacles: &mut Vec<Obstacle>) {
    let low = low
        + Coord {
            x: PATH_M / 2.0,
            y: PATH_M / 2.0,
        };
    let size = (PITCH_M.0 - PATH_M, PITCH_M.1 - PATH_M);
    let mut shape = MultiPolygon::new(vec![block(low, size, 0.6)]);
    if number % 4 == 1 {
        let house = MultiPolygon::new(vec![block(
            low + Coord { x: 14.0, y: 12.0 },
            (16.0, 10.0),
            0.0,
        )]);
        shape = shape.difference(&house);
        obstacles.push(Obstacle {
            id: format!("house-{number:04}"),
            kind: ObstacleKind::Building,
            shape: house,
            root_zone: None,
        });
    }
    for (i, (x, y)) in [(7.5, 8.0), (40.0, 31.0)].into_iter().enumerate() {
        obstacles.push(Obstacle {
            id: format!("tree-{number:04}-{i}"),
            kind: ObstacleKind::Tree,
            shape: MultiPolygon::new(vec![]),
            root_zone: Some((low + Coord { x, y }, 2.5)),
        });
    }
    turf.push(TurfArea {
        id: format!("lawn-{number:04}"),
        shape,
        soil: None,
        season: None,
    });
}

/// A rectangle whose sides swing in and out by `wave_m`.
fn block(low: Coord<f64>, (width, height): (f64, f64), wave_m: f64) -> Polygon<f64> {
    let per_side = if wave_m > 0.0 { 16 } else { 1 };
    let mut ring = Vec::new();
    let sides = [
        ((0.0, 0.0), (1.0, 0.0)),
        ((1.0, 0.0), (1.0, 1.0)),
        ((1.0, 1.0), (0.0, 1.0)),
        ((0.0, 1.0), (0.0, 0.0)),
    ];
    for ((x0, y0), (x1, y1)) in sides {
        for i in 0..per_side {
            let t = f64::from(i) / f64::from(per_side);
            let inward = wave_m * (t * std::f64::consts::TAU).sin().abs();
            let (x, y): (f64, f64) = (x0 + (x1 - x0) * t, y0 + (y1 - y0) * t);
            ring.push(
                low + Coord {
                    x: x * width + (y0 - y1) * inward,
                    y: y * height + (x1 - x0) * inward,
                },
            );
        }
    }
    Polygon::new(LineString::new(ring), vec![])
}

fn rolling(half_m: f64) -> Terrain {
    Terrain::of_function(half_m, |x, y| {
        100.0 + 0.01 * x + 3.0 * (x / 90.0).sin() * (y / 70.0).cos()
    })
}
