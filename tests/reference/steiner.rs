//! Trench trees on open ground against exact Steiner trees.
//!
//! The exact trees are found here, by enumeration: W. D. Smith, How to find Steiner minimal trees in Euclidean d-space,
//! Algorithmica 7, 1992 (from memory): topologies grow terminal by terminal, each relaxed to its least length, which no
//! further terminal can make shorter.

use geo::{Coord, MultiPolygon, Rect};
use swardline::brief::Rules;
use swardline::design::trenches::{route, surfaces::Surfaces};
use swardline::site::{Frame, Parcel, Terrain};

/// A topology is dropped when it is no shorter than the best by more than this share: relaxing ends a little above the least.
const SHARE: f64 = 1e-3;
/// Rounds of relaxing.
const ROUNDS: usize = 150;

type Place = [f64; 2];

fn far(a: Place, b: Place) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A tree of terminals and points of three edges, being grown.
#[derive(Clone)]
struct Topology {
    places: Vec<Place>,
    edges: Vec<[usize; 2]>,
    terminal: Vec<bool>,
}

impl Topology {
    fn length(&self) -> f64 {
        let of = |edge: &[usize; 2]| far(self.places[edge[0]], self.places[edge[1]]);
        self.edges.iter().map(of).sum()
    }

    fn longest(&self) -> f64 {
        let of = |edge: &[usize; 2]| far(self.places[edge[0]], self.places[edge[1]]);
        self.edges.iter().map(of).fold(0.0, f64::max)
    }

    /// Moves each free point to the mean of its neighbours, the near ones counting more, until that settles.
    fn relax(&mut self) -> f64 {
        let mut beside = vec![Vec::new(); self.places.len()];
        for &[a, b] in &self.edges {
            beside[a].push(b);
            beside[b].push(a);
        }
        for round in 0..ROUNDS {
            // Points that meet would hold one another fast: distances are blurred, less and less.
            let blur = 1e-6 + 0.05 * self.longest() * 0.93f64.powi(round as i32);
            for point in (0..self.places.len()).filter(|point| !self.terminal[*point]) {
                let (mut sum, mut weight) = ([0.0; 2], 0.0);
                for &to in &beside[point] {
                    let share = 1.0 / far(self.places[point], self.places[to]).hypot(blur);
                    sum[0] += share * self.places[to][0];
                    sum[1] += share * self.places[to][1];
                    weight += share;
                }
                self.places[point] = [sum[0] / weight, sum[1] / weight];
            }
        }
        self.length()
    }

    /// The topology with another terminal hung on one of its edges.
    fn grown(&self, edge: usize, terminal: Place) -> Self {
        let mut grown = self.clone();
        let [a, b] = grown.edges[edge];
        let (fresh, new) = (grown.places.len(), grown.places.len() + 1);
        let third = |i: usize| (grown.places[a][i] + grown.places[b][i] + terminal[i]) / 3.0;
        let between = [third(0), third(1)];
        grown.places.extend([between, terminal]);
        grown.terminal.extend([false, true]);
        grown.edges[edge] = [a, fresh];
        grown.edges.extend([[fresh, b], [fresh, new]]);
        grown
    }
}

/// Length of the least tree over places, to a part in a thousand.
fn exact(places: &[Place]) -> f64 {
    let order = spread(places);
    let mut best = spanning(places);
    let start = Topology {
        places: vec![order[0], order[1]],
        edges: vec![[0, 1]],
        terminal: vec![true, true],
    };
    grow(&start, &order[2..], &mut best);
    best
}

fn grow(topology: &Topology, left: &[Place], best: &mut f64) {
    let Some((&next, left)) = left.split_first() else {
        *best = best.min(topology.length());
        return;
    };
    let mut grown: Vec<(f64, Topology)> = (0..topology.edges.len())
        .map(|edge| topology.grown(edge, next))
        .map(|mut topology| (topology.relax(), topology))
        .collect();
    grown.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (length, topology) in &grown {
        if length * (1.0 - SHARE) < *best {
            grow(topology, left, best);
        }
    }
}

/// Places, each as far as can be from those before.
fn spread(places: &[Place]) -> Vec<Place> {
    let mut order = vec![places[0]];
    while order.len() < places.len() {
        let away = |place: &Place| {
            let nearest = order.iter().map(|other| far(*place, *other));
            nearest.fold(f64::INFINITY, f64::min)
        };
        let next = places.iter().max_by(|a, b| away(a).total_cmp(&away(b)));
        order.push(*next.unwrap());
    }
    order
}

/// Length of the least tree without points between (Prim).
fn spanning(places: &[Place]) -> f64 {
    let (mut inside, mut outside) = (vec![places[0]], places[1..].to_vec());
    let mut sum = 0.0;
    while !outside.is_empty() {
        let away = |place: &Place| {
            let nearest = inside.iter().map(|other| far(*place, *other));
            nearest.fold(f64::INFINITY, f64::min)
        };
        let next = (0..outside.len())
            .min_by(|a, b| away(&outside[*a]).total_cmp(&away(&outside[*b])))
            .unwrap();
        sum += away(&outside[next]);
        inside.push(outside.swap_remove(next));
    }
    sum
}

fn open_ground() -> Parcel {
    Parcel {
        id: "open".to_owned(),
        name: None,
        frame: Frame {
            lon0_deg: 9.0,
            lat0_deg: 47.0,
        },
        boundary: MultiPolygon::from(Rect::new((-600.0, -600.0), (600.0, 600.0)).to_polygon()),
        turf: Vec::new(),
        obstacles: Vec::new(),
        water_points: Vec::new(),
        existing: swardline::site::Existing::default(),
        edits: None,
        terrain: Terrain::plane(100.0, 0.0, 0.0, 700.0),
        findings: Vec::new(),
    }
}

/// Length of the program's tree where only metres count.
fn routed(places: &[Place]) -> f64 {
    let rules = Rules {
        cost_bend: 0.0,
        cost_junction: 0.0,
        ..Rules::default()
    };
    let at: Vec<Coord<f64>> = places.iter().map(|p| Coord { x: p[0], y: p[1] }).collect();
    let parcel = open_ground();
    let surfaces = Surfaces::of(&parcel);
    route(&parcel, &surfaces, at[0], &at[1..], &rules).length_m()
}

/// Numbers from 0 to 1 (Park and Miller 1988, from memory).
fn random(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed * 7919 + 1;
    move || {
        state = state * 48271 % 2_147_483_647;
        state as f64 / 2_147_483_647.0
    }
}

fn scattered(count: usize, seed: u64) -> Vec<Place> {
    let mut next = random(seed);
    (0..count)
        .map(|_| [500.0 * next(), 500.0 * next()])
        .collect()
}

fn polygon(corners: usize, side: f64) -> Vec<Place> {
    let radius = 0.5 * side / (std::f64::consts::PI / corners as f64).sin();
    let angle = |i: usize| std::f64::consts::TAU * i as f64 / corners as f64;
    (0..corners)
        .map(|i| [radius * angle(i).cos(), radius * angle(i).sin()])
        .collect()
}

/// Trees known in closed form: triangle √3, square 1 + √3, hexagon 5 sides (elementary geometry).
#[test]
fn the_exact_method_finds_trees_known_in_closed_form() {
    for (corners, length) in [(3, 3f64.sqrt()), (4, 1.0 + 3f64.sqrt()), (6, 5.0)] {
        let found = exact(&polygon(corners, 1.0));
        assert!((found / length - 1.0).abs() < 1e-3, "{corners}: {found}");
    }
}

#[test]
fn trench_trees_of_up_to_twelve_terminals_are_within_three_in_a_hundred_of_the_least() {
    let mut worst: f64 = 1.0;
    for count in 3..=12 {
        for seed in 1..=if count < 10 { 8 } else { 3 } {
            let places = scattered(count, seed + 100 * count as u64);
            let (best, ours) = (exact(&places), routed(&places));
            println!(
                "{count} {seed}: {:.4} of the least, spanning {:.4}",
                ours / best,
                spanning(&places) / best
            );
            assert!(ours > 0.998 * best, "shorter than the least: {ours} {best}");
            worst = worst.max(ours / best);
        }
    }
    assert!(worst <= 1.03, "{worst}");
}
