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
    /// Heads wanting for head to head, over the heads.
    pub unreached: f64,
    /// By how many heads one that stands 4 m inside a root zone counts for more.
    pub roots: f64,
}

impl Targets {
    /// Targets of the rules, somewhat sharper since the grid of the search is coarse.
    ///
    /// `width_m` is the mean width of the piece: narrow ones have more edge for the water to fly over, and are allowed
    /// more of it, which wide ones make up for.
    pub fn of(rules: &Rules, width_m: f64) -> Self {
        let narrow = (WIDTH_AT_HOME_M / width_m.max(0.1)).clamp(1.0, 1.5);
        Self {
            du: rules.du_target + 0.015,
            low: rules.low_quarter_least,
            dry: 0.75 * rules.dry_target,
            over: 0.62 * (rules.overspray_target * narrow).min(rules.overspray_most),
            over_most: 0.9 * rules.overspray_most,
            unreached: UNREACHED_MOST,
            roots: rules.head_roots,
        }
    }
}

impl Targets {
    /// Targets of a single row on a strip. Water that falls to nothing at the end of the throw wets the far side only if some
    /// of it flies beyond: with `ONE_ROW_OVER` of the overspray that is told the far side is dry no more. Of some `heads` those
    /// at the ends have a neighbour on one hand only.
    pub fn of_one_row(rules: &Rules, heads: usize) -> Self {
        Self {
            du: rules.du_one_row_least + 0.05,
            low: ONE_ROW_LOW,
            dry: 0.75 * rules.dry_target,
            over: ONE_ROW_OVER * rules.overspray_most,
            over_most: 0.9 * rules.overspray_most,
            unreached: UNREACHED_MOST + 2.0 / heads.max(2) as f64,
            roots: rules.head_roots,
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
    /// Heads wanting for head to head, over the heads.
    pub unreached: f64,
    /// Heads.
    pub heads: usize,
    /// How far all of them stand inside root zones, in heads that stand 4 m inside.
    pub roots: f64,
}

impl Figures {
    fn thin(&self, targets: &Targets) -> bool {
        self.du < targets.du || self.low < targets.low || self.dry > targets.dry
    }

    /// Number of heads, more where targets are missed and where they stand among roots: less is better.
    pub fn score(&self, targets: &Targets) -> f64 {
        self.heads as f64 * self.fine(targets) + targets.roots * self.roots
    }

    /// As [`Self::score`], but what missing targets costs is counted over so many heads and bounded: where all of the ground
    /// lies among roots, uneven water is the lesser harm.
    pub fn score_among_roots(&self, targets: &Targets, heads: usize) -> f64 {
        let spoilt = (self.fine(targets) - 1.0).min(SPOILT_MOST);
        self.heads as f64 + heads as f64 * spoilt + targets.roots * self.roots
    }

    /// What missing the targets costs: a factor on the number of heads, 1 where all hold.
    fn fine(&self, targets: &Targets) -> f64 {
        let short = (targets.du - self.du).max(0.0) + 0.5 * (targets.low - self.low).max(0.0);
        let dry = (self.dry - targets.dry).max(0.0);
        let over = (self.over - targets.over).max(0.0);
        let far_short = (short - FAR_SHORT).max(0.0);
        let far_over = (self.over - targets.over_most).max(0.0);
        let unreached = (self.unreached - targets.unreached).max(0.0);
        1.0 + 5.0 * short
            + 12.0 * far_short
            + 15.0 * dry
            + 19.0 * over
            + 40.0 * far_over
            + 2.0 * unreached
    }

    pub fn meets(&self, targets: &Targets) -> bool {
        !self.thin(targets) && self.over <= targets.over && self.unreached <= targets.unreached
    }
}

/// Least mean of the low quarter of a single row over the depth wanted of it.
const ONE_ROW_LOW: f64 = 0.6;
/// Overspray of a single row over that which is told.
const ONE_ROW_OVER: f64 = 0.6;
/// A uniformity missed by more than this is a fault, not a blemish.
const FAR_SHORT: f64 = 0.08;
/// Mean width from which a piece keeps to the rule's overspray, m.
const WIDTH_AT_HOME_M: f64 = 9.0;
/// Heads that may want for another to reach them, as a share of all.
const UNREACHED_MOST: f64 = 0.02;
/// What missing targets may cost a layout that is to leave the roots, in heads of the layout before.
const SPOILT_MOST: f64 = 2.0;
/// Rounds of repair at most.
const REPAIRS: usize = 16;
/// Repairs in a row that better nothing before they are given up.
const IDLE_MOST: usize = 4;
/// Neighbourhoods renewed, for each head of the piece, at an effort of 1.
pub const RENEWED_A_HEAD: f64 = 6.0;
/// Heads put in at once, as a share of those there are: the others make room before the next come.
const ADDED_AT_ONCE: f64 = 0.03;
/// Price of a head while the targets of the piece decide: only what is quite useless is not asked about.
const THINNING_PRICE: f64 = 2.0;
/// Tries to do without a head, for each head of the piece, at an effort of 1.
const TRIES_A_HEAD: f64 = 1.0;
/// Heads up to which each is asked against the targets of the whole piece before it goes.
pub const ASKED_EACH: usize = 250;

impl Search<'_> {
    /// From a start to a layout worth its price, near enough to compare starts.
    pub fn rough(&mut self) {
        self.settle(&[0.25, 0.16]);
        self.prune();
        self.add(&[1.0], usize::MAX);
        self.settle(&[0.14, 0.09]);
    }

    /// From there to a layout that meets the targets, and without the heads that it plainly does not need. `effort`
    /// scales the tries.
    pub fn mend(&mut self, targets: &Targets, effort: f64) {
        self.repair(targets);
        self.thin(targets, effort);
    }

    /// From there to one with as few heads as can be, evenly spaced.
    pub fn refine(&mut self, targets: &Targets, effort: f64) {
        self.renew(
            targets,
            (effort * RENEWED_A_HEAD * self.count() as f64) as usize,
        );
        self.settle(&[0.06, 0.04]);
        let asked = self.no_worse_than(targets);
        self.tidy(&mut |search| search.figures().meets(&asked));
    }

    /// While a target fails: the weight of overspray is changed, or heads are made cheaper. The best found is kept.
    pub fn repair(&mut self, targets: &Targets) {
        let start_harm = self.field.harm;
        let mut best: Option<(f64, Self)> = None;
        let mut idle = 0;
        for repair in 0..=REPAIRS {
            let figures = self.figures();
            let score = figures.score(targets);
            if best.as_ref().is_none_or(|(least, _)| score < *least) {
                best = Some((score, self.clone()));
                idle = 0;
            } else {
                idle += 1;
            }
            if figures.meets(targets) || repair == REPAIRS || idle == IDLE_MOST {
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
            let far = figures.du < targets.du - FAR_SHORT;
            let added = if far {
                3.0 * ADDED_AT_ONCE
            } else {
                ADDED_AT_ONCE
            };
            if thin {
                self.add(&[1.0, 0.7], (added * self.count() as f64).ceil() as usize);
            } else {
                self.prune();
            }
            self.settle(&[0.14, 0.09, 0.05]);
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
            unreached: targets.unreached.max(start.unreached),
            roots: targets.roots,
        }
    }

    /// J with the price of the heads, m².
    pub fn cost(&mut self) -> f64 {
        let mut cost = self.field.unevenness();
        let cell_m2 = self.site.ground.grid.cell_m.powi(2);
        for index in 0..self.slots.len() {
            let Some(slot) = &self.slots[index] else {
                continue;
            };
            cost += slot.images.len() as f64 * self.price_m2(&slot.head);
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
            unreached: f64::from(self.neighbours.missing()) / self.count().max(1) as f64,
            heads: self.count(),
            roots: self.among_roots(),
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
