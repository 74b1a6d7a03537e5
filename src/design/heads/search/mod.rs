//! The search: heads are slid, turned, set longer or shorter, taken out and put in until the simulated water is best.

mod add;
mod prune;
mod repair;

use super::arcs;
use super::classes::Class;
use super::edges::EdgePlace;
use super::field::{BINS, Field, Gains, Sweep};
use super::ground::Ground;
use crate::geometry::{Ring, sight};
use geo::Coord;

/// Weights of the search, all in shares of the square of a head's radius. Tuned on invented and mapped parks.
#[derive(Debug, Clone, Copy)]
pub struct Weights {
    /// A head must make J fall by this much to be put in.
    pub add: f64,
    /// And by this much to stay.
    pub keep: f64,
    /// Two heads in one place cost this.
    pub crowd: f64,
    /// A head at a trunk costs this.
    pub roots: f64,
    /// A full circle in the middle of the turf is worth this.
    pub full: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            add: 0.23,
            keep: 0.22,
            crowd: 0.35,
            roots: 0.25,
            full: 0.02,
        }
    }
}

/// Heads nearer than this share of the smaller radius crowd one another.
const CROWD_REACH: f64 = 0.65;
/// Gain of a direction in which no water may go, m².
const FORBIDDEN: f32 = -1e4;
/// A head's radius stays within these shares of what the width asks for.
const RADIUS_SHARES: (f64, f64) = (0.6, 1.25);

/// A head under search.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// Where it stands.
    pub at: Coord<f64>,
    /// Ring and run along it, for heads on an edge.
    pub edge: Option<(usize, f64)>,
    /// Corners are neither moved nor removed.
    pub corner: bool,
    /// Radius, as a place in the class's radii.
    pub radius: usize,
    /// Radius that the width asks for, m.
    pub aim_m: f64,
    /// Its sector.
    pub sweep: Sweep,
}

/// A try: where, how far, which way, and what it is worth, m².
#[derive(Debug, Clone, Copy)]
struct Try {
    head: Placed,
    worth: f64,
}

/// The search on one piece of turf.
pub struct Search<'a> {
    /// The water.
    pub field: Field<'a>,
    ground: &'a Ground,
    rings: &'a [Ring],
    class: &'a Class,
    walls: &'a sight::Walls,
    spacing: f64,
    /// Weights.
    pub weights: Weights,
    /// Heads so far.
    pub heads: Vec<Placed>,
    seed: u64,
}

impl<'a> Search<'a> {
    /// A search without heads on dry ground.
    pub fn new(
        field: Field<'a>,
        ground: &'a Ground,
        rings: &'a [Ring],
        class: &'a Class,
        walls: &'a sight::Walls,
        spacing: f64,
        seed: u64,
    ) -> Self {
        Self {
            field,
            ground,
            rings,
            class,
            walls,
            spacing,
            weights: Weights::default(),
            heads: Vec::new(),
            seed: seed | 1,
        }
    }

    /// Puts heads on the edge places, their arcs fitted to the ground while it is dry, then rains.
    pub fn start(&mut self, places: &[EdgePlace]) {
        for place in places {
            let head = Placed {
                at: place.at,
                edge: Some((place.ring, place.run_m)),
                corner: place.corner,
                radius: self.class.nearest_radius(place.radius_m),
                aim_m: place.radius_m,
                sweep: Sweep {
                    first: 0,
                    count: BINS,
                },
            };
            let fitted = self.fit(head);
            if fitted.worth > 0.0 {
                self.heads.push(fitted.head);
            }
        }
        for head in self.heads.clone() {
            self.field.rain(head.at, head.radius, head.sweep, 1.0);
        }
    }

    fn radius_m(&self, head: &Placed) -> f64 {
        self.class.radii_m[head.radius]
    }

    /// The head with the best arc on the water as it is, itself taken off.
    fn fit(&mut self, head: Placed) -> Try {
        let radius_m = self.radius_m(&head);
        let mut gains = self.field.gains(head.at, head.radius);
        self.forbid_walls(&head, radius_m, &mut gains);
        let least = (self.class.sweep_min_deg * BINS as f64 / 360.0).ceil() as usize;
        let bonus = if head.edge.is_none() {
            self.weights.full * radius_m * radius_m
        } else {
            0.0
        };
        let (sweep, gain) = arcs::best(&gains, least.max(1), bonus as f32);
        let worth = f64::from(gain) - self.site_cost(&head, radius_m);
        Try {
            head: Placed { sweep, ..head },
            worth,
        }
    }

    /// No throw into a wall less than half a radius away; beyond that the wet wall itself is costed by the field.
    fn forbid_walls(&self, head: &Placed, radius_m: f64, gains: &mut Gains) {
        let walls = self.walls.near(head.at, radius_m);
        if walls.is_empty() {
            return;
        }
        for (bin, gain) in gains.iter_mut().enumerate().take(BINS) {
            let bearing = (bin as f64 + 0.5) * 360.0 / BINS as f64;
            if sight::free_m(&walls, head.at, bearing, radius_m) < 0.55 * radius_m {
                *gain = FORBIDDEN;
            }
        }
    }

    /// What the place itself costs: roots, and heads too near.
    fn site_cost(&self, head: &Placed, radius_m: f64) -> f64 {
        let square = radius_m * radius_m;
        let roots = self.weights.roots * square * self.ground.roots_at(head.at);
        let crowd: f64 = self
            .heads
            .iter()
            .map(|other| {
                let least = CROWD_REACH * radius_m.min(self.radius_m(other));
                let far = (other.at.x - head.at.x).hypot(other.at.y - head.at.y);
                (1.0 - far / least).max(0.0)
            })
            .sum();
        roots + self.weights.crowd * square * crowd
    }

    /// Takes a head out of list and water while it is tried elsewhere. Its place in the list stays last.
    fn lift(&mut self, index: usize) -> Placed {
        let head = self.heads.swap_remove(index);
        self.field.rain(head.at, head.radius, head.sweep, -1.0);
        head
    }

    /// Puts a head back at `index`.
    fn put(&mut self, index: usize, head: Placed) {
        self.field.rain(head.at, head.radius, head.sweep, 1.0);
        self.heads.push(head);
        let last = self.heads.len() - 1;
        self.heads.swap(index, last);
    }

    /// One round: every head, in shuffled order, tries its neighbours' places and radii.
    pub fn round(&mut self, step_share: f64) {
        let mut order: Vec<usize> = (0..self.heads.len()).collect();
        self.shuffle(&mut order);
        for index in order {
            let head = self.lift(index);
            let mut best = self.fit(head);
            for other in self.moves(&head, step_share) {
                let tried = self.fit(other);
                if tried.worth > best.worth + 1e-4 {
                    best = tried;
                }
            }
            self.put(index, best.head);
        }
    }

    /// Rounds with shrinking steps.
    pub fn settle(&mut self, steps: &[f64]) {
        for &step in steps {
            self.round(step);
        }
    }

    fn moves(&self, head: &Placed, step_share: f64) -> Vec<Placed> {
        let step_m = step_share * self.radius_m(head);
        let mut moves = self.radius_moves(head, step_share);
        match head.edge {
            _ if head.corner => {}
            Some((ring, run_m)) => {
                for run_m in [run_m - step_m, run_m + step_m] {
                    let at = self.rings[ring].at(run_m);
                    if !self.ground.in_pit(at) {
                        moves.push(Placed {
                            at,
                            edge: Some((ring, run_m)),
                            ..*head
                        });
                    }
                }
            }
            None => {
                let steps = [(step_m, 0.0), (-step_m, 0.0), (0.0, step_m), (0.0, -step_m)];
                for (dx, dy) in steps {
                    let at = Coord {
                        x: head.at.x + dx,
                        y: head.at.y + dy,
                    };
                    if self.ground.holds_head(at) {
                        moves.push(Placed { at, ..*head });
                    }
                }
            }
        }
        moves
    }

    fn radius_moves(&self, head: &Placed, step_share: f64) -> Vec<Placed> {
        let radius_m = self.radius_m(head);
        [
            1.0 - 0.6 * step_share.max(0.06),
            1.0 + 0.6 * step_share.max(0.06),
        ]
        .iter()
        .map(|share| radius_m * share)
        .filter(|&r| r >= RADIUS_SHARES.0 * head.aim_m && r <= RADIUS_SHARES.1 * head.aim_m)
        .map(|r| self.class.nearest_radius(r))
        .filter(|&radius| radius != head.radius)
        .map(|radius| Placed { radius, ..*head })
        .collect()
    }

    /// Fisher and Yates's shuffle with a small generator of our own (Marsaglia 2003, xorshift), seeded by the turf's id.
    fn shuffle(&mut self, order: &mut [usize]) {
        for i in (1..order.len()).rev() {
            self.seed ^= self.seed << 13;
            self.seed ^= self.seed >> 7;
            self.seed ^= self.seed << 17;
            order.swap(i, (self.seed % (i as u64 + 1)) as usize);
        }
    }
}
