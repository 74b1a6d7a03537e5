//! Single trenches between two places, to hold against least-cost paths on a grid of 0.5 m: `paths_grid.py` beside this
//! file runs both sides in one go. Run that: `python3 benches/paths_grid.py`.
//!
//! `write FOLDER` writes the raster of prices and the routed trenches with their times, `price FOLDER` prices the paths
//! that the grid found by the same exact formula.

mod ground;

use geo::{Coord, Line};
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;
use swardline::brief::Rules;
use swardline::design::trenches::graph::RouteGraph;
use swardline::design::trenches::net::Digging;
use swardline::design::trenches::{cheapest, price::price, surfaces::Surfaces};
use swardline::site::Parcel;

/// Cell of the grid, m.
const CELL_M: f64 = 0.5;
/// Size of the ground, hectares.
const HECTARES: f64 = 16.0;
/// Pairs of places.
const PAIRS: usize = 30;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let told = arguments
        .windows(2)
        .find(|pair| pair[0] == "write" || pair[0] == "price");
    let Some([task, folder]) = told else {
        println!("run python3 benches/paths_grid.py: it compares these paths with those on a grid");
        return;
    };
    let (parcel, _) = ground::parcel(HECTARES);
    // A grid knows no price of crossings and bends.
    let rules = Rules {
        cost_crossing: 0.0,
        cost_bend: 0.0,
        cost_junction: 0.0,
        ..Rules::default()
    };
    let surfaces = Surfaces::of(&parcel);
    let job = Job {
        parcel,
        surfaces,
        rules,
    };
    let folder = Path::new(folder);
    match task.as_str() {
        "write" => job.write(folder),
        _ => job.price(folder),
    }
}

struct Job {
    parcel: Parcel,
    surfaces: Surfaces,
    rules: Rules,
}

impl Job {
    fn write(&self, folder: &Path) {
        let (columns, rows, low) = self.grid();
        let mut prices = Vec::new();
        for row in 0..rows {
            for column in 0..columns {
                let at = low
                    + Coord {
                        x: column as f64 + 0.5,
                        y: row as f64 + 0.5,
                    } * CELL_M;
                prices.extend((self.cell_price(at) as f32).to_le_bytes());
            }
        }
        let graph = self.graph();
        let paths: Vec<Value> = (0..PAIRS).map(|pair| self.routed(&graph, pair)).collect();
        let told = json!({"columns": columns, "rows": rows, "low": [low.x, low.y], "cell_m": CELL_M, "paths": paths});
        save(&folder.join("prices.f32"), &prices);
        save(&folder.join("routed.json"), told.to_string().as_bytes());
    }

    /// Prices the paths of `gridded.json`, lists of places, into `priced.json`.
    fn price(&self, folder: &Path) {
        let text = std::fs::read_to_string(folder.join("gridded.json")).expect("paths of the grid");
        let paths: Vec<Vec<[f64; 2]>> = serde_json::from_str(&text).expect("lists of places");
        let priced: Vec<Value> = paths.iter().map(|path| self.priced(path)).collect();
        save(
            &folder.join("priced.json"),
            json!(priced).to_string().as_bytes(),
        );
    }

    fn grid(&self) -> (usize, usize, Coord<f64>) {
        use geo::BoundingRect;
        let bounds = self
            .parcel
            .boundary
            .bounding_rect()
            .expect("a parcel has an extent");
        let cells = |m: f64| (m / CELL_M).ceil() as usize;
        (cells(bounds.width()), cells(bounds.height()), bounds.min())
    }

    /// Price of a metre about a place, as the grid sees it; negative where nothing may be dug in some of the cell.
    fn cell_price(&self, at: Coord<f64>) -> f64 {
        let half = CELL_M / 2.0;
        let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
        let hard = |(x, y)| self.surfaces.at(at + Coord { x, y }).hard;
        if corners.into_iter().any(hard) {
            return -1.0;
        }
        let small = Coord { x: 1e-3, y: 0.0 };
        let a_metre = price(
            Line::new(at - small, at + small),
            &self.surfaces,
            &self.parcel.terrain,
            &self.rules,
        );
        a_metre.map_or(-1.0, |price| price / 2e-3)
    }

    /// Pairs of places on turf, near and far ones.
    fn pairs(&self) -> Vec<(Coord<f64>, Coord<f64>)> {
        let places = ground::lattice::places(&self.parcel, 12.0);
        let place = |i: usize| places[(i * 7919 + 13) % places.len()];
        (0..PAIRS)
            .map(|i| (place(2 * i), place(2 * i + 1)))
            .collect()
    }

    /// The route graph of the ground with all ends of pairs on it: made once, as the raster is for the grid.
    fn graph(&self) -> RouteGraph {
        let places: Vec<Coord<f64>> = self.pairs().into_iter().flat_map(|(a, b)| [a, b]).collect();
        let (source, others) = places.split_first().expect("there are pairs");
        RouteGraph::build(&self.parcel, &self.surfaces, *source, others, &self.rules)
    }

    fn routed(&self, graph: &RouteGraph, pair: usize) -> Value {
        let start = Instant::now();
        let net = cheapest(&between(graph, 2 * pair, 2 * pair + 1), self.digging()).net;
        let seconds = start.elapsed().as_secs_f64();
        let places = net.edges().into_iter().map(|(a, b)| [net.at[a], net.at[b]]);
        let metres: f64 = places
            .clone()
            .map(|[a, b]| (b.x - a.x).hypot(b.y - a.y))
            .sum();
        let prices = places.map(|[a, b]| self.line_price(a, b));
        let at = |node: usize| [graph.positions[node].x, graph.positions[node].y];
        json!({
            "from": at(2 * pair),
            "to": at(2 * pair + 1),
            "seconds": seconds,
            "price": prices.sum::<Option<f64>>(),
            "metres": metres,
        })
    }

    fn digging(&self) -> Digging<'_> {
        Digging {
            surfaces: &self.surfaces,
            terrain: &self.parcel.terrain,
            rules: &self.rules,
        }
    }

    fn line_price(&self, a: Coord<f64>, b: Coord<f64>) -> Option<f64> {
        price(
            Line::new(a, b),
            &self.surfaces,
            &self.parcel.terrain,
            &self.rules,
        )
    }

    fn priced(&self, path: &[[f64; 2]]) -> Value {
        let at = |place: &[f64; 2]| Coord {
            x: place[0],
            y: place[1],
        };
        let steps = path.windows(2).map(|step| (at(&step[0]), at(&step[1])));
        let metres: f64 = steps
            .clone()
            .map(|(a, b)| (b.x - a.x).hypot(b.y - a.y))
            .sum();
        let price: Option<f64> = steps.map(|(a, b)| self.line_price(a, b)).sum();
        json!({"price": price, "metres": metres})
    }
}

/// The graph with these two nodes for its only terminals: they change numbers with the first two.
fn between(graph: &RouteGraph, a: usize, b: usize) -> RouteGraph {
    let number = |node: usize| match node {
        _ if node == a => 0,
        _ if node == b => 1,
        0 => a,
        1 => b,
        _ => node,
    };
    // The pair (0, 1) itself stays as it is.
    let number = |node: usize| if a == 0 { node } else { number(node) };
    let count = graph.positions.len();
    let (mut positions, mut joins) = (graph.positions.clone(), vec![Vec::new(); count]);
    for (node, of) in graph.joins.iter().enumerate() {
        positions[number(node)] = graph.positions[node];
        joins[number(node)] = of.iter().map(|(to, price)| (number(*to), *price)).collect();
        joins[number(node)].sort_by_key(|join: &(usize, f64)| join.0);
    }
    RouteGraph {
        positions,
        terminals: 2,
        joins,
    }
}

fn save(path: &Path, bytes: &[u8]) {
    std::fs::write(path, bytes).expect("the folder can be written to");
}
