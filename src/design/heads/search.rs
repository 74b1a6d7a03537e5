//! The search: heads are slid, turned, set longer or shorter, taken out and put in until the simulated water is best.

use super::arcs;
use super::classes::Class;
use super::edges::{EdgePlace, radius_for};
use super::field::{BINS, Field, Gains, Sweep};
use super::ground::Ground;
use crate::brief::Rules;
use crate::design::coverage::du_low_quarter;
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
            add: 0.22,
            keep: 0.20,
            crowd: 0.35,
            roots: 0.25,
            full: 0.02,
        }
    }
}

/// Heads nearer than this share of the smaller radius crowd one another.
const CROWD_REACH: f64 = 0.65;
/// Repairs tried at most.
const REPAIRS: usize = 5;
/// Targets are aimed at with this share of what they allow, since the grid of the search is coarse.
const REPAIR_SHARE: f64 = 0.85;
/// Uniformity aimed at above the target.
const DU_IN_HAND: f64 = 0.05;
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

    /// While a target fails: first the weight of overspray is changed, only then heads are added.
    pub fn repair(&mut self, rules: &Rules) {
        let over_most = REPAIR_SHARE * rules.overspray_most;
        for _ in 0..REPAIRS {
            let (du, dry, over) = self.figures();
            let thin = du < rules.du_least + DU_IN_HAND || dry > REPAIR_SHARE * rules.dry_most;
            if over > over_most {
                self.field.harm *= 1.7;
            } else if thin && over < 0.6 * over_most {
                self.field.harm *= 0.6;
            } else if thin {
                self.weights.add *= 0.7;
                self.weights.keep *= 0.7;
            } else {
                return;
            }
            self.settle(&[0.12, 0.08]);
            self.prune();
            self.add(&[1.0, 0.67]);
            self.settle(&[0.08, 0.05]);
        }
    }

    /// Uniformity of the low quarter, dry share and overspray as they stand.
    fn figures(&mut self) -> (f64, f64, f64) {
        let depths = self.field.depths();
        let du = du_low_quarter(&depths).unwrap_or(0.0);
        let mean = depths.iter().map(|&d| f64::from(d)).sum::<f64>() / depths.len().max(1) as f64;
        let dry = depths
            .iter()
            .filter(|&&d| f64::from(d) < 0.3 * mean)
            .count() as f64
            / depths.len().max(1) as f64;
        let (mut all, mut lost) = (0.0, 0.0);
        for head in self.heads.clone() {
            let (a, l) = self.field.lost(head.at, head.radius, head.sweep);
            all += a;
            lost += l;
        }
        (du, dry, if all > 0.0 { lost / all } else { 0.0 })
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

    /// Takes out heads that are worth less than they cost, the least useful first. Returns how many went.
    pub fn prune(&mut self) -> usize {
        let mut useful: Vec<(f64, usize)> = (0..self.heads.len())
            .map(|index| (self.worth_of(index), index))
            .collect();
        useful.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut gone: Vec<usize> = Vec::new();
        for (worth, index) in useful {
            let least = if self.heads[index].corner { 0.3 } else { 1.0 } * self.weights.keep;
            if worth > 1.5 * least {
                break;
            }
            if self.worth_of(index) < least {
                let head = self.heads[index];
                self.field.rain(head.at, head.radius, head.sweep, -1.0);
                gone.push(index);
                // Out of the way of the others' crowding until the list is closed up.
                self.heads[index].at = Coord {
                    x: f64::INFINITY,
                    y: f64::INFINITY,
                };
            }
        }
        self.heads.retain(|head| head.at.x.is_finite());
        gone.len()
    }

    /// What a head is worth where it stands, in shares of its radius squared.
    fn worth_of(&mut self, index: usize) -> f64 {
        let head = self.heads[index];
        let radius_m = self.radius_m(&head);
        self.field.rain(head.at, head.radius, head.sweep, -1.0);
        let gains = self.field.gains(head.at, head.radius);
        self.field.rain(head.at, head.radius, head.sweep, 1.0);
        f64::from(arcs::gain_of(&gains, head.sweep)) / (radius_m * radius_m)
    }

    /// Puts heads in where they make J fall most, while that is more than they cost. Returns how many came.
    ///
    /// Candidates stand a quarter of their radius apart. A gain only falls as water is added, so the list is kept by the
    /// last known gain and only its top is asked anew.
    /// They throw as far as the width asks for, times each of `shares`.
    pub fn add(&mut self, shares: &[f64]) -> usize {
        let mut list: Vec<Try> = self
            .candidates(shares)
            .into_iter()
            .map(|c| self.fit(c))
            .collect();
        let share = |search: &Self, tried: &Try| tried.worth / search.radius_m(&tried.head).powi(2);
        list.retain(|tried| share(self, tried) > self.weights.add);
        list.sort_by(|a, b| a.worth.total_cmp(&b.worth));
        let mut added = 0;
        while let Some(top) = list.pop() {
            let fresh = self.fit(top.head);
            if share(self, &fresh) < self.weights.add {
                continue;
            }
            let next = list.last().map_or(f64::NEG_INFINITY, |t| t.worth);
            if fresh.worth + 1e-6 >= next {
                let index = self.heads.len();
                self.put(index, fresh.head);
                added += 1;
            } else {
                let place = list.partition_point(|t| t.worth < fresh.worth);
                list.insert(place, fresh);
            }
        }
        added
    }

    /// Places inside the turf and along its edges where a head could be put in.
    fn candidates(&self, shares: &[f64]) -> Vec<Placed> {
        let mut all = self.inner_candidates();
        for (index, ring) in self.rings.iter().enumerate() {
            let mut run_m = 0.0;
            while run_m < ring.length_m() {
                let at = ring.at(run_m);
                let aim_m = radius_for(self.ground.width_at(at), self.class);
                if !self.ground.in_pit(at)
                    && self.ground.width_at(at) >= 0.5 * self.class.radius_least_m()
                {
                    all.push(self.candidate(at, aim_m, Some((index, run_m))));
                }
                run_m += 0.3 * aim_m;
            }
        }
        shares
            .iter()
            .flat_map(|share| all.iter().map(move |place| (share, place)))
            .map(|(share, place)| Placed {
                radius: self.class.nearest_radius(share * place.aim_m),
                ..*place
            })
            .collect()
    }

    fn inner_candidates(&self) -> Vec<Placed> {
        let grid = self.ground.grid;
        let mut all = Vec::new();
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let cell = row * grid.columns + column;
                if self.ground.want[cell] <= 0.0 {
                    continue;
                }
                let aim_m = radius_for(f64::from(self.ground.width_m[cell]), self.class);
                let every = ((0.25 * aim_m / grid.cell_m) as usize).max(1);
                let inner = f64::from(self.ground.reach_m[cell]) > 0.45 * aim_m * self.spacing;
                if inner && row % every == 0 && column % every == 0 {
                    all.push(self.candidate(grid.centre(column, row), aim_m, None));
                }
            }
        }
        all
    }

    fn candidate(&self, at: Coord<f64>, aim_m: f64, edge: Option<(usize, f64)>) -> Placed {
        Placed {
            at,
            edge,
            corner: false,
            radius: self.class.nearest_radius(aim_m),
            aim_m,
            sweep: Sweep {
                first: 0,
                count: BINS,
            },
        }
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
