//! Small neighbourhoods anew: a few heads are taken out together, and as many, one less or one more put in.

use super::super::edges::radius_for;
use super::fit::{Asked, Try};
use super::remove::LOCAL_LOW;
use super::targets::{ASKED_EACH, Targets};
use super::{Placed, Search};
use geo::Coord;

/// Heads within this many radii of the middle are taken out.
const TAKEN_REACH: f64 = 1.15;
/// Most heads taken out at once.
const TAKEN_MOST: usize = 6;
/// Heads within this many radii settle again.
const SETTLING_REACH: f64 = 2.3;
/// Steps of their rounds.
const SETTLING: [f64; 5] = [0.22, 0.16, 0.11, 0.07, 0.04];
/// After each of the first rounds a neighbourhood is given up that has lost more than this share of the square of the
/// radius: of 145 that were kept in the end on two lawns, all but a few had lost less.
const HOPELESS_LOST: [f64; 3] = [0.8, 0.65, 0.6];
/// Places tried stand this share of the radius apart.
const PLACES_SHARE: f64 = 0.3;

/// How a neighbourhood was before.
struct Before {
    near: Vec<(usize, Placed)>,
    fresh: Option<usize>,
}

impl Search<'_> {
    /// Renews `tries` neighbourhoods and keeps what comes nearer to the targets or needs fewer heads.
    ///
    /// On large pieces one neighbourhood hardly shows in the figures of the whole, which take long to find: there J and
    /// the price of the heads decide.
    pub fn renew(&mut self, targets: &Targets, tries: usize) {
        self.renew_where(targets, tries, |_, _| true);
    }

    /// As [`Self::renew`], about those heads only that are asked for.
    pub fn renew_where(
        &mut self,
        targets: &Targets,
        tries: usize,
        asked: impl Fn(&Self, &Placed) -> bool,
    ) {
        let large = self.count() > ASKED_EACH;
        let mut standing = self.standing_with(targets, large);
        let mut order: Vec<usize> = Vec::new();
        for _ in 0..tries {
            if order.is_empty() {
                order = self.used();
                order.retain(|&index| {
                    let slot = self.slots[index].as_ref();
                    slot.is_some_and(|slot| asked(self, &slot.head))
                });
                self.shuffle(&mut order);
            }
            let Some(index) = order.pop() else {
                break;
            };
            let change = self.change_for(&standing);
            self.renew_about(index, change, &mut standing, targets);
        }
    }

    /// One less where the targets hold, mostly; else as many, or one more.
    fn change_for(&mut self, standing: &Standing) -> i32 {
        let draw = self.chance_share();
        let (less, same) = if standing.meets {
            (0.75, 1.0)
        } else {
            (0.25, 0.65)
        };
        if draw < less {
            -1
        } else if draw < same {
            0
        } else {
            1
        }
    }

    fn standing_with(&mut self, targets: &Targets, large: bool) -> Standing {
        if large {
            let score = None;
            return Standing { score, meets: true };
        }
        let figures = self.figures();
        Standing {
            score: Some(figures.score(targets)),
            meets: figures.meets(targets),
        }
    }

    /// Renews the heads about one; all stays as it was where that is no better.
    fn renew_about(
        &mut self,
        index: usize,
        change: i32,
        standing: &mut Standing,
        targets: &Targets,
    ) {
        let Some(middle) = self
            .slots
            .get(index)
            .and_then(|slot| Some(slot.as_ref()?.head))
        else {
            return;
        };
        let taken = self.taken_about(&middle);
        let wanted = taken.len() as i32 + change;
        if taken.is_empty() || wanted < 0 {
            return;
        }
        let radius_m = self.radius_m(&middle);
        let near = self.slots_near(&middle, SETTLING_REACH * radius_m);
        let missing = self.missing(&near);
        let heads = near
            .iter()
            .filter_map(|&i| Some((i, self.slots[i].as_ref()?.head)));
        let mut before = Before {
            near: heads.collect(),
            fresh: None,
        };
        let mut lost = 0.0;
        for &slot in &taken {
            if let Some(head) = self.lift(slot) {
                lost += self.worth(&head);
            }
        }
        let mut free = taken;
        if change > 0 {
            self.slots.push(None);
            before.fresh = Some(self.slots.len() - 1);
            free.push(self.slots.len() - 1);
        }
        free.truncate(wanted as usize);
        let places = self.places_about(&middle, radius_m);
        lost -= self.fill(&free, places);
        let mut settling: Vec<usize> = near
            .iter()
            .chain(&before.fresh)
            .copied()
            .filter(|&slot| self.slots[slot].is_some())
            .collect();
        self.shuffle(&mut settling);
        let spared = -f64::from(change) * self.price_m2(&middle);
        let mut restless = settling.clone();
        restless.sort_unstable();
        for (round, step) in SETTLING.into_iter().enumerate() {
            lost -= self.round_of_restless(&settling, step, &mut restless);
            if HOPELESS_LOST
                .get(round)
                .is_some_and(|most| lost > most * radius_m * radius_m)
            {
                self.undo(&before);
                return;
            }
        }
        let now = match standing.score {
            Some(_) => self.standing_with(targets, false),
            None => *standing,
        };
        let better = match (now.score, standing.score) {
            (Some(now), Some(then)) => now < then - 1e-9 || (now < then + 1e-9 && lost < 0.0),
            _ => lost < spared && self.missing(&near) <= missing,
        };
        if better && self.low_about(&middle) >= LOCAL_LOW {
            *standing = now;
        } else {
            self.undo(&before);
        }
    }

    /// Heads about one that may go, itself among them, the nearest first.
    fn taken_about(&self, middle: &Placed) -> Vec<usize> {
        let far = |slot: usize| {
            let at = self.slots[slot]
                .as_ref()
                .map_or(middle.at, |slot| slot.head.at);
            (at.x - middle.at.x).powi(2) + (at.y - middle.at.y).powi(2)
        };
        let mut taken: Vec<usize> = self
            .slots_near(middle, TAKEN_REACH * self.radius_m(middle))
            .into_iter()
            .filter(|&slot| {
                self.slots[slot]
                    .as_ref()
                    .is_some_and(|slot| !slot.head.corner)
            })
            .collect();
        taken.sort_by(|&a, &b| far(a).total_cmp(&far(b)).then(a.cmp(&b)));
        taken.truncate(TAKEN_MOST);
        taken
    }

    /// Places for heads about one: along the edges, and inside.
    fn places_about(&mut self, middle: &Placed, radius_m: f64) -> Vec<Placed> {
        let reach_m = TAKEN_REACH * radius_m;
        let step_m = PLACES_SHARE * radius_m;
        let jitter = (self.chance_share() - 0.5, self.chance_share() - 0.5);
        let count = (reach_m / step_m).ceil() as i64;
        let mut places = Vec::new();
        for (ring_index, ring) in self.site.rings.iter().enumerate() {
            let (run_m, off_m) = ring.run_near(middle.at);
            if off_m > reach_m {
                continue;
            }
            let most = count.min((0.5 * ring.length_m() / step_m) as i64);
            for k in -most..=most {
                let run_m = (run_m + (k as f64 + jitter.0) * step_m).rem_euclid(ring.length_m());
                if self.site.lets_stand(ring_index, run_m)
                    && let Some(place) = self.place(ring.at(run_m), Some((ring_index, run_m)))
                {
                    places.push(place);
                }
            }
        }
        if self.site.side.is_some() {
            return places;
        }
        for j in -count..=count {
            for i in -count..=count {
                let at = Coord {
                    x: middle.at.x + (i as f64 + jitter.0) * step_m,
                    y: middle.at.y + (j as f64 + jitter.1) * step_m,
                };
                let aim_m = radius_for(self.site.ground.width_at(at), self.site.class);
                let inner = self.site.ground.reach_at(at) > 0.4 * aim_m * self.site.spacing;
                if inner
                    && self.site.ground.holds_head(at)
                    && let Some(place) = self.place(at, None)
                {
                    places.push(place);
                }
            }
        }
        places
    }

    /// A head to be tried; `None` where none may stand.
    fn place(&self, at: Coord<f64>, edge: Option<(usize, f64)>) -> Option<Placed> {
        let width_m = self.site.ground.width_at(at);
        if self.site.ground.in_pit(at) || width_m < 0.5 * self.site.class.radius_least_m() {
            return None;
        }
        let aim_m = radius_for(width_m, self.site.class);
        Some(self.on_line(Placed::full(at, edge, aim_m, self.site.class)))
    }

    /// Fills free slots with the places that J falls most for, the price of their images taken off, one after another.
    /// Returns by how much J fell.
    fn fill(&mut self, free: &[usize], places: Vec<Placed>) -> f64 {
        let mut list: Vec<(f64, Try)> = places.into_iter().map(|place| self.offer(place)).collect();
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut won = 0.0;
        let mut free = free.iter();
        let mut next_free = free.next();
        // Gains mostly fall as water is added: only the top of the list is asked anew.
        while let (Some(&slot), Some((_, top))) = (next_free, list.pop()) {
            let (over, fresh) = self.offer(top.head);
            let next = list.last().map_or(f64::NEG_INFINITY, |t| t.0);
            if over + 1e-9 >= next {
                if fresh.worth <= 0.0 {
                    break;
                }
                won += fresh.worth;
                self.put(slot, fresh.head);
                next_free = free.next();
            } else {
                let at = list.partition_point(|t| t.0 < over);
                list.insert(at, (over, fresh));
            }
        }
        won
    }

    /// A try, and what it is worth over the price of its images beyond the first.
    fn offer(&mut self, place: Placed) -> (f64, Try) {
        let tried = self.fit(place, Asked::Place);
        let images = self.images_of(tried.head.at).len() as f64;
        let price = self.price_of(&tried.head) * (images - 1.0) / images;
        (tried.worth - price, tried)
    }

    fn undo(&mut self, before: &Before) {
        if let Some(fresh) = before.fresh {
            self.lift(fresh);
        }
        self.restore(&before.near);
    }
}

/// How a layout stands with its targets.
#[derive(Clone, Copy)]
struct Standing {
    /// Heads, counted dearer for what is missed; `None` where J decides.
    score: Option<f64>,
    meets: bool,
}
