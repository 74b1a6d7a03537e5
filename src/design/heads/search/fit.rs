//! What a head would be worth in a place, and the arc it should have there.

use super::super::arcs;
use super::super::field::{BINS, Gains, Stand, Sweep, bin_of};
use super::super::stencil::tilt_of;
use super::neighbours::{REACH_SHARE, REACH_SHARE_UPHILL, REACHED_BY};
use super::{Placed, Search};
use geo::Coord;

/// Heads nearer than this share of the smaller radius crowd one another.
const CROWD_REACH: f64 = 0.65;
/// A head inside belongs this share of its radius off the edge: nearer, one on the edge would not throw over it.
const INNER_FROM: f64 = 0.5;
/// Gain of a direction in which no water may go, m².
const FORBIDDEN: f32 = -1e4;
/// No throw into a wall nearer than this share of the radius; what is left is kept off walls when heads are set.
const WALL_SHARE: f64 = 0.97;
/// The same where water on walls is only weighed.
const WET_WALL_SHARE: f64 = 0.55;
/// A head on an edge that is no corner is not set to less, degrees: it would water a sliver. Common practice, no source.
const ARC_LEAST_DEG: f64 = 60.0;
/// What a place too near to another head costs, in shares of the square of the radius.
const TOO_NEAR: f64 = 100.0;

/// A try: how a head would stand there, and what it and its images are worth, m².
#[derive(Debug, Clone, Copy)]
pub struct Try {
    /// The head.
    pub head: Placed,
    /// What J falls by, less what the place itself costs.
    pub worth: f64,
}

/// What a worth is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Which place is best for a head that stands anyway: one that others reach and without roots is better.
    Place,
    /// Whether a head shall stand at all: that none reaches it is no reason to do without it.
    Head,
}

impl Search<'_> {
    /// The head with the best arc on the water as it is, itself taken off.
    pub fn fit(&mut self, head: Placed, asked: Asked) -> Try {
        let radius_m = self.radius_m(&head);
        let stand = self.stand(head.at, radius_m);
        if head.edge.is_none() {
            return self.inside(head, &stand, asked);
        }
        let gains = self.gains(&head, &stand, radius_m);
        self.turned(head, &stand, &gains, asked)
    }

    /// Worth of a place for a head as it is, and the same head with its best arc.
    pub fn stay_or_turn(&mut self, head: Placed) -> (f64, Try) {
        let radius_m = self.radius_m(&head);
        let stand = self.stand(head.at, radius_m);
        if head.edge.is_none() {
            let stays = self.inside(head, &stand, Asked::Place);
            return (stays.worth, stays);
        }
        let gains = self.gains(&head, &stand, radius_m);
        let gain = arcs::gain_of(&gains, head.sweep);
        let stays = self.with_images(&head, &stand, f64::from(gain), Asked::Place);
        let turned = self.turned(head, &stand, &gains, Asked::Place);
        (stays, turned)
    }

    /// A head inside, a full circle.
    fn inside(&mut self, head: Placed, stand: &Stand, asked: Asked) -> Try {
        let head = Placed {
            sweep: Sweep::FULL,
            ..head
        };
        let gain = self.gain_of_circle(&head, stand);
        let worth = self.with_images(&head, stand, gain, asked);
        Try { head, worth }
    }

    fn turned(&mut self, head: Placed, stand: &Stand, gains: &Gains, asked: Asked) -> Try {
        let least_deg = if head.corner { 0.0 } else { ARC_LEAST_DEG };
        let least_deg = self.site.class.sweep_min_deg.max(least_deg);
        let least = ((least_deg * BINS as f64 / 360.0).ceil() as usize).max(1);
        let (sweep, gain) = match self.held_by(&head) {
            Hold::Arc => (head.sweep, arcs::gain_of(gains, head.sweep)),
            Hold::Free => arcs::best(gains, least, 0.0),
            Hold::Line(line_deg) => arcs::best_mirrored(gains, line_deg, least, 0.0),
            Hold::Centre => {
                let full = Sweep {
                    first: 0,
                    count: BINS,
                };
                (full, arcs::gain_of(gains, full))
            }
        };
        let head = Placed { sweep, ..head };
        let worth = self.with_images(&head, stand, f64::from(gain), asked);
        Try { head, worth }
    }

    /// What a head is worth with the arc it has, itself taken off.
    pub fn worth(&mut self, head: &Placed) -> f64 {
        let radius_m = self.radius_m(head);
        let stand = self.stand(head.at, radius_m);
        if head.edge.is_none() {
            return self.inside(*head, &stand, Asked::Head).worth;
        }
        let gains = self.gains(head, &stand, radius_m);
        let gain = arcs::gain_of(&gains, head.sweep);
        self.with_images(head, &stand, f64::from(gain), Asked::Head)
    }

    /// Gains by direction: water, walls, and neighbours that lack a head to reach them.
    fn gains(&mut self, head: &Placed, stand: &Stand, radius_m: f64) -> Gains {
        let mut gains = self.field.gains(stand, head.radius);
        if let Some(free) = &stand.free {
            let near = self.nearest_wall(radius_m);
            for (gain, free) in gains.iter_mut().zip(free.iter()) {
                if *free < near {
                    *gain = FORBIDDEN;
                }
            }
        }
        self.each_wanting(head, stand, radius_m, |bin, gain| gains[bin] += gain as f32);
        gains
    }

    /// The gain of a full circle: water, walls, and neighbours that lack a head to reach them, m².
    fn gain_of_circle(&mut self, head: &Placed, stand: &Stand) -> f64 {
        let radius_m = self.radius_m(head);
        if let Some(free) = &stand.free {
            let near = self.nearest_wall(radius_m);
            let walled = free.iter().filter(|free| **free < near).count();
            if walled > 0 {
                return walled as f64 * f64::from(FORBIDDEN);
            }
        }
        let mut gain = f64::from(self.field.gain_of_circle(stand, head.radius));
        self.each_wanting(head, stand, radius_m, |_, more| gain += more);
        gain
    }

    /// The nearest that a wall may stand in the way of a throw, in cells.
    fn nearest_wall(&self, radius_m: f64) -> f32 {
        let share = if self.site.walls_dry {
            WALL_SHARE
        } else {
            WET_WALL_SHARE
        };
        (share * radius_m / self.site.ground.grid.cell_m) as f32
    }

    /// Tells the bin of each neighbour in reach that lacks a head to reach it, and what reaching it is worth, m².
    fn each_wanting(
        &self,
        head: &Placed,
        stand: &Stand,
        radius_m: f64,
        mut tell: impl FnMut(usize, f64),
    ) {
        let near = self.neighbours.near(head.at, REACH_SHARE * radius_m);
        let wanting = near.filter(|(_, other)| other.slot.is_some() && other.reached < REACHED_BY);
        wanting.for_each(|(_, other)| {
            let (dx, dy) = (other.at.x - head.at.x, other.at.y - head.at.y);
            if tilt_of(stand.tilt).effective_m(dx, dy) > REACH_SHARE_UPHILL * radius_m {
                return;
            }
            let bin = bin_of(dx, dy);
            let far = (dx.hypot(dy) / self.site.ground.grid.cell_m) as f32;
            if stand.free.as_ref().is_none_or(|free| free[bin] >= far) {
                tell(bin, self.weights.reach * other.radius_m * other.radius_m);
            }
        });
    }

    /// Worth of a head together with its images, whose water may meet on the line between them.
    fn with_images(&mut self, head: &Placed, stand: &Stand, gain: f64, asked: Asked) -> f64 {
        let radius_m = self.radius_m(head);
        let images = self.images_of(head.at);
        let places: Vec<Coord<f64>> = images.iter().map(|(at, _)| *at).collect();
        let mut site = self.crowd_cost(head, radius_m, &places);
        if asked == Asked::Place {
            site += self.unreached_cost(head, radius_m, &places);
        }
        site += self.weights.roots * self.site.ground.roots_at(head.at) * radius_m * radius_m;
        let count = images.len() as f64;
        let meet = |at: &Coord<f64>| (at.x - head.at.x).hypot(at.y - head.at.y) < 2.0 * radius_m;
        if !images.iter().skip(1).any(|(at, _)| meet(at)) {
            return count * (gain - site);
        }
        let mut sum = gain;
        let mut raining = vec![(stand.clone(), head.sweep)];
        self.field.rain(stand, head.radius, head.sweep, 1.0);
        for (at, map) in images.iter().skip(1) {
            let there = self.stand(*at, radius_m);
            let sweep = map.sweep(head.sweep);
            let image = Placed { at: *at, ..*head };
            sum += if head.edge.is_none() {
                self.gain_of_circle(&image, &there)
            } else {
                let gains = self.gains(&image, &there, radius_m);
                f64::from(arcs::gain_of(&gains, sweep))
            };
            self.field.rain(&there, head.radius, sweep, 1.0);
            raining.push((there, sweep));
        }
        for (there, sweep) in raining.iter().rev() {
            self.field.rain(there, head.radius, *sweep, -1.0);
        }
        sum - count * site
    }

    /// What heads too near cost one head, and an edge too near one that does not stand on it.
    fn crowd_cost(&self, head: &Placed, radius_m: f64, images: &[Coord<f64>]) -> f64 {
        let square = radius_m * radius_m;
        let mut crowd = 0.0;
        let mut press = |at: Coord<f64>, other_m: f64| {
            let smaller = radius_m.min(other_m);
            let (dx, dy) = (at.x - head.at.x, at.y - head.at.y);
            let far = (dx * dx + dy * dy).sqrt();
            crowd += self.weights.crowd * (1.0 - far / (CROWD_REACH * smaller)).max(0.0);
            if far < self.site.apart * smaller && !head.corner {
                crowd += TOO_NEAR * (1.0 - far / (self.site.apart * smaller));
            }
        };
        self.neighbours
            .near(head.at, CROWD_REACH * radius_m)
            .for_each(|(_, other)| press(other.at, other.radius_m));
        for at in images.iter().skip(1) {
            press(*at, radius_m);
        }
        if head.edge.is_none() {
            let off_share = self.site.ground.reach_at(head.at) / radius_m;
            crowd += self.weights.beside * (1.0 - off_share / INNER_FROM).max(0.0);
        }
        square * crowd
    }

    /// What it costs that fewer than two others reach a place.
    fn unreached_cost(&self, head: &Placed, radius_m: f64, images: &[Coord<f64>]) -> f64 {
        let others = images.iter().skip(1).filter(|at| {
            let far = (at.x - head.at.x).hypot(at.y - head.at.y);
            far <= REACH_SHARE * radius_m
        });
        let reached = self.neighbours.reached_at(head.at) + others.count() as i32;
        let missing = f64::from((REACHED_BY - reached).max(0));
        self.weights.reach * missing * radius_m * radius_m
    }

    /// What the place asks of the arc of a head: in the middle of the turf nothing but full circles, which need no setting.
    fn held_by(&self, head: &Placed) -> Hold {
        if head.edge.is_none() {
            return Hold::Centre;
        }
        if head.locked {
            return Hold::Arc;
        }
        let at = head.at;
        let mut hold = Hold::Free;
        for map in self.maps.iter().filter(|map| !map.is_same()) {
            let image = map.place(at);
            if (image.x - at.x).abs() + (image.y - at.y).abs() <= 1e-6 {
                hold = match (map.line_deg(), hold) {
                    (Some(line_deg), Hold::Free) => Hold::Line(line_deg),
                    _ => Hold::Centre,
                };
            }
        }
        hold
    }
}

/// How the symmetry binds the arc of a head.
enum Hold {
    /// Not at all.
    Free,
    /// It is the corner's own.
    Arc,
    /// It stands on a mirror's line: its arc must lie even about it.
    Line(f64),
    /// It stands in the middle of the turf: full circle.
    Centre,
}
