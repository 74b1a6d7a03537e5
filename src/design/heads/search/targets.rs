//! What a layout must reach, and the way there with as few heads as can be.

use super::Search;
use crate::brief::Rules;
use crate::design::coverage::du_low_quarter;

/// What a layout must reach on the grid of the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Targets {
    /// Uniformity of the low quarter.
    pub du: f64,
    /// Mean of the low quarter over the wanted depth.
    pub low: f64,
    /// Greatest share that is dry.
    pub dry: f64,
    /// Greatest share of the water off the turf.
    pub over: f64,
    /// Share of the water off the turf that is told as too much.
    pub over_most: f64,
}

impl Targets {
    /// Targets of the rules, somewhat sharper since the grid of the search is coarse.
    ///
    /// `width_m` is the mean width of the piece: narrow ones have more edge for the water to fly over, and are allowed
    /// more of it, which wide ones make up for.
    pub fn of(rules: &Rules, width_m: f64) -> Self {
        let narrow = (WIDTH_AT_HOME_M / width_m.max(0.1)).clamp(1.0, 1.7);
        Self {
            du: rules.du_target + 0.03,
            low: 0.75,
            dry: 0.85 * rules.dry_target,
            over: 0.9 * rules.overspray_target * narrow,
            over_most: 0.9 * rules.overspray_most,
        }
    }
}

/// A layout as it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Uniformity of the low quarter.
    pub du: f64,
    /// Mean of the low quarter over the wanted depth.
    pub low: f64,
    /// Share that is dry.
    pub dry: f64,
    /// Share of the water off the turf.
    pub over: f64,
}

impl Figures {
    fn thin(&self, targets: &Targets) -> bool {
        self.du < targets.du || self.low < targets.low || self.dry > targets.dry
    }

    /// What missing the targets costs: a factor on the number of heads, 1 where all hold.
    fn fine(&self, targets: &Targets) -> f64 {
        let short = (targets.du - self.du).max(0.0) + 0.5 * (targets.low - self.low).max(0.0);
        let dry = (self.dry - targets.dry).max(0.0);
        let over = (self.over - targets.over).max(0.0);
        let far_short = (short - FAR_SHORT).max(0.0);
        let far_over = (self.over - targets.over_most).max(0.0);
        1.0 + 5.0 * short + 12.0 * far_short + 15.0 * dry + 16.0 * over + 40.0 * far_over
    }

    pub fn meets(&self, targets: &Targets) -> bool {
        !self.thin(targets) && self.over <= targets.over
    }
}

/// A uniformity missed by more than this is a fault, not a blemish.
const FAR_SHORT: f64 = 0.08;
/// Mean width from which a piece keeps to the rule's overspray, m.
const WIDTH_AT_HOME_M: f64 = 9.0;
/// Rounds of repair at most.
const REPAIRS: usize = 7;
/// Price of a head while the targets of the piece decide: only what is quite useless is not asked about.
const THINNING_PRICE: f64 = 2.0;
/// Tries to do without a head, for each head of the piece, at an effort of 1.
const TRIES_A_HEAD: f64 = 1.0;
/// Heads up to which each is asked against the targets of the whole piece before it goes.
const ASKED_EACH: usize = 250;

impl Search<'_> {
    /// From a start to a layout worth its price, near enough to compare starts.
    pub fn rough(&mut self) {
        self.settle(&[0.25, 0.16]);
        self.prune();
        self.add(&[1.0]);
        self.settle(&[0.14, 0.09]);
    }

    /// From there to a layout that meets the targets with few heads. `effort` scales the tries to do with fewer.
    pub fn run(&mut self, targets: &Targets, effort: f64) {
        self.repair(targets);
        self.thin(targets, effort);
        self.settle(&[0.06, 0.04]);
        let asked = self.no_worse_than(targets);
        self.tidy(&mut |search| search.figures().meets(&asked));
    }

    /// While a target fails: the weight of overspray is changed, or heads are made cheaper. The best found is kept.
    fn repair(&mut self, targets: &Targets) {
        let start_harm = self.field.harm;
        let mut best: Option<(f64, Self)> = None;
        for repair in 0..=REPAIRS {
            let figures = self.figures();
            let score = self.count() as f64 * figures.fine(targets);
            if best.as_ref().is_none_or(|(least, _)| score < *least) {
                best = Some((score, self.clone()));
            }
            if figures.meets(targets) || repair == REPAIRS {
                break;
            }
            let (thin, over) = (figures.thin(targets), figures.over > targets.over);
            let harm = match (thin, over) {
                (false, _) => 1.5,
                (true, true) => 1.15,
                (true, false) if figures.over < 0.6 * targets.over => 0.75,
                (true, false) => 1.0,
            };
            self.field.harm = (self.field.harm * harm).clamp(0.3 * start_harm, 4.0 * start_harm);
            if thin {
                self.weights.price *= 0.75;
            }
            self.settle(&[0.12, 0.08]);
            self.prune();
            self.add(&[1.0, 0.7]);
            self.settle(&[0.09, 0.05]);
        }
        if let Some((_, search)) = best {
            *self = search;
        }
    }

    /// Does without whatever heads the targets allow.
    fn thin(&mut self, targets: &Targets, effort: f64) {
        if self.count() > ASKED_EACH {
            self.thin_out(
                (effort * TRIES_A_HEAD * self.count() as f64) as usize,
                &mut |_| true,
            );
            return;
        }
        let asked = self.no_worse_than(targets);
        let price = std::mem::replace(&mut self.weights.price, THINNING_PRICE);
        let mut allowed = |search: &mut Self| search.figures().meets(&asked);
        let mut left = (effort * TRIES_A_HEAD * self.count() as f64) as usize;
        while left > 0 {
            let (tried, gone) = self.thin_out(left, &mut allowed);
            left -= tried.min(left);
            let tries = (left / 2).min(self.count() / 2);
            let joined = self.join_pairs(tries, &mut allowed);
            left -= tries;
            if gone + joined == 0 || tries == 0 {
                break;
            }
        }
        self.weights.price = price;
    }

    /// The targets, or where one is missed what is reached: that must at least not get worse.
    pub fn no_worse_than(&mut self, targets: &Targets) -> Targets {
        let start = self.figures();
        Targets {
            du: targets.du.min(start.du),
            low: targets.low.min(start.low),
            dry: targets.dry.max(start.dry),
            over: targets.over.max(start.over),
            over_most: targets.over_most,
        }
    }

    /// Number of heads, more where targets are missed: less is better.
    pub fn score(&mut self, targets: &Targets) -> f64 {
        self.count() as f64 * self.figures().fine(targets)
    }

    /// J with the price of the heads, m².
    pub fn cost(&mut self) -> f64 {
        let mut cost = self.field.unevenness();
        let cell_m2 = self.site.ground.grid.cell_m.powi(2);
        for index in 0..self.slots.len() {
            let Some(slot) = &self.slots[index] else {
                continue;
            };
            cost +=
                slot.images.len() as f64 * self.weights.price * self.radius_m(&slot.head).powi(2);
        }
        let (_, lost) = self.water();
        cost += f64::from(self.field.harm) * lost * cell_m2;
        cost
    }

    /// Uniformity of the low quarter, dry share and overspray as they stand.
    pub fn figures(&mut self) -> Figures {
        let depths = self.field.depths();
        let mean = depths.iter().map(|&d| f64::from(d)).sum::<f64>() / depths.len().max(1) as f64;
        let du = du_low_quarter(&depths).unwrap_or(0.0);
        let below = |d: &&f32| f64::from(**d) < 0.3 * mean;
        let dry = depths.iter().filter(below).count() as f64 / depths.len().max(1) as f64;
        let (all, lost) = self.water();
        Figures {
            du,
            low: du * mean,
            dry,
            over: if all > 0.0 { lost / all } else { 0.0 },
        }
    }

    /// Water of all heads, and what of it does harm, in cells at the wanted depth.
    fn water(&mut self) -> (f64, f64) {
        let (mut all, mut lost) = (0.0, 0.0);
        for slot in self.slots.iter().flatten() {
            for image in &slot.images {
                let known = image.water.get();
                let (a, l) = known.unwrap_or_else(|| {
                    self.field.lost(&image.stand, slot.head.radius, image.sweep)
                });
                image.water.set(Some((a, l)));
                all += a;
                lost += l;
            }
        }
        (all, lost)
    }
}
