//! Time of placing heads on, and of simulating, about a hectare of winding lawn.

use geo::{LineString, MultiPolygon, Polygon, Rect};
use swardline::brief::{Catalogue, Rules, builtin_heads};
use swardline::design::{coverage, heads};
use swardline::site::{Frame, Parcel, Terrain, TurfArea};

fn main() {
    divan::main();
}

fn catalogue() -> Catalogue {
    Catalogue {
        origin: "built in".to_owned(),
        heads: builtin_heads::heads(),
        pipes: Vec::new(),
        valves: Vec::new(),
    }
}

fn lawn() -> Parcel {
    let mut line: LineString<f64> = (0..180)
        .map(|i| f64::from(i) * 2.0_f64.to_radians())
        .map(|a| (a, 52.0 + 10.0 * (3.0 * a).sin() + 4.0 * (7.0 * a).cos()))
        .map(|(a, r)| (r * a.cos(), 1.2 * r * a.sin()))
        .collect();
    line.close();
    let shape: MultiPolygon<f64> = Polygon::new(line, Vec::new()).into();
    Parcel {
        id: "bench".to_owned(),
        name: None,
        frame: Frame {
            lon0_deg: 0.0,
            lat0_deg: 0.0,
        },
        boundary: Rect::new((-100.0, -100.0), (100.0, 100.0))
            .to_polygon()
            .into(),
        turf: vec![TurfArea {
            id: "lawn".to_owned(),
            shape,
            soil: None,
            season: None,
        }],
        obstacles: Vec::new(),
        water_points: Vec::new(),
        terrain: Terrain::plane(100.0, 0.01, 0.02, 100.0),
        findings: Vec::new(),
    }
}

#[divan::bench]
fn place(bencher: divan::Bencher) {
    let (parcel, catalogue, rules) = (lawn(), catalogue(), Rules::default());
    bencher.bench(|| heads::place(&parcel, &catalogue, &rules));
}

#[divan::bench]
fn simulate(bencher: divan::Bencher) {
    let (parcel, catalogue, rules) = (lawn(), catalogue(), Rules::default());
    let layout = heads::place(&parcel, &catalogue, &rules);
    let working: Vec<_> = layout
        .heads
        .iter()
        .map(|head| coverage::rated_working(head, &catalogue))
        .collect();
    bencher.bench(|| coverage::simulate(&parcel, &layout.heads, &working, &catalogue, &rules));
}
