//! Rounds of small moves: each head tries its neighbours' places and radii and keeps the best.

use super::fit::{Asked, Try};
use super::{Placed, Search};
use geo::Coord;

/// A head's radius stays within these shares of what the width asks for.
const RADIUS_SHARES: (f64, f64) = (0.6, 1.25);
/// A head nearer to a mirror's line than this share of its radius tries the line itself.
const LINE_SHARE: f64 = 0.3;
/// A head that moved sets those within this many radii to try again.
const RESTLESS_REACH: f64 = 1.5;
/// Least gain worth a move, in shares of the square of the radius.
const GAIN_LEAST: f64 = 1e-4;

impl Search<'_> {
    /// One round over all heads, in shuffled order. Returns by how much J fell, m².
    pub fn round(&mut self, step_share: f64) -> f64 {
        let mut order = self.used();
        self.shuffle(&mut order);
        self.round_of(&order, step_share)
    }

    /// One round over some heads in their order.
    pub fn round_of(&mut self, slots: &[usize], step_share: f64) -> f64 {
        slots
            .iter()
            .map(|&index| self.improve(index, step_share))
            .sum()
    }

    /// A round over those of some heads that have a neighbour that moved lately; `restless` tells which, and is brought up
    /// to date. Returns by how much J fell, m².
    pub fn round_of_restless(
        &mut self,
        slots: &[usize],
        step_share: f64,
        restless: &mut Vec<usize>,
    ) -> f64 {
        let mut fell = 0.0;
        let mut moved = Vec::new();
        for &index in slots {
            if restless.binary_search(&index).is_err() {
                continue;
            }
            let won = self.improve(index, step_share);
            if won > 0.0 {
                fell += won;
                moved.push(index);
            }
        }
        restless.clear();
        for index in moved {
            if let Some(head) = self.slots[index].as_ref().map(|slot| slot.head) {
                restless.extend(self.slots_near(&head, RESTLESS_REACH * self.radius_m(&head)));
            }
        }
        restless.sort_unstable();
        restless.dedup();
        fell
    }

    /// Rounds with shrinking steps; a step is repeated while it pays.
    pub fn settle(&mut self, steps: &[f64]) {
        for &step in steps {
            self.round(step);
        }
    }

    /// Lets one head try its moves and keep the best. Returns by how much J fell.
    pub fn improve(&mut self, index: usize, step_share: f64) -> f64 {
        let Some(head) = self.lift(index) else {
            return 0.0;
        };
        let radius_m = self.radius_m(&head);
        let (stays, here) = self.stay_or_turn(head);
        let mut best = Try {
            head,
            worth: stays + GAIN_LEAST * radius_m * radius_m,
        };
        if here.worth > best.worth {
            best = here;
        }
        for other in self.moves(&head, step_share) {
            let tried = self.fit(other, Asked::Place);
            if tried.worth > best.worth {
                best = tried;
            }
        }
        let moved = best.head != head;
        self.put(index, best.head);
        if moved { best.worth - stays } else { 0.0 }
    }

    /// Lets one head turn and reset its radius where it stands. Returns by how much J fell.
    pub fn turn(&mut self, index: usize) -> f64 {
        let Some(head) = self.lift(index) else {
            return 0.0;
        };
        let (stays, mut best) = self.stay_or_turn(head);
        for other in self.radius_moves(&head, 0.1) {
            let tried = self.fit(other, Asked::Place);
            if tried.worth > best.worth {
                best = tried;
            }
        }
        self.put(index, best.head);
        best.worth - stays
    }

    fn moves(&self, head: &Placed, step_share: f64) -> Vec<Placed> {
        let step_m = step_share * self.radius_m(head);
        let mut moves = self.radius_moves(head, step_share);
        match head.edge {
            _ if head.corner => {}
            Some((ring, run_m)) => {
                let runs = [run_m - step_m, run_m + step_m];
                moves.extend(runs.iter().filter_map(|&run| self.on_edge(head, ring, run)));
            }
            None => {
                let steps = [(step_m, 0.0), (-step_m, 0.0), (0.0, step_m), (0.0, -step_m)];
                for (dx, dy) in steps {
                    let at = Coord {
                        x: head.at.x + dx,
                        y: head.at.y + dy,
                    };
                    if self.site.ground.holds_head(at) {
                        moves.push(Placed { at, ..*head });
                    }
                }
            }
        }
        if !head.corner {
            moves.extend(self.onto_lines(head));
        }
        moves
    }

    /// The head elsewhere on its edge, unless a pit is there or it is to stay on a side.
    pub fn on_edge(&self, head: &Placed, ring: usize, run_m: f64) -> Option<Placed> {
        let at = self.site.rings[ring].at(run_m);
        let free = self.site.lets_stand(ring, run_m) && !self.site.ground.in_pit(at);
        free.then_some(Placed {
            at,
            edge: Some((ring, run_m)),
            ..*head
        })
    }

    /// The head moved onto mirror lines near by.
    fn onto_lines(&self, head: &Placed) -> Vec<Placed> {
        let near_m = LINE_SHARE * self.radius_m(head);
        let mut moves = Vec::new();
        for map in &self.maps {
            let image = map.place(head.at);
            let gap = (image.x - head.at.x).hypot(image.y - head.at.y);
            if map.line_deg().is_none() || gap < 1e-6 || gap > 2.0 * near_m {
                continue;
            }
            let at = Coord {
                x: 0.5 * (image.x + head.at.x),
                y: 0.5 * (image.y + head.at.y),
            };
            match head.edge {
                // On an edge that crosses the line squarely the middle between head and image lies on the edge.
                Some((ring, run_m)) => {
                    let run_m = run_m + self.run_towards(ring, run_m, at);
                    let there = self.site.rings[ring].at(run_m);
                    if (there.x - at.x).hypot(there.y - at.y) < 0.02 {
                        moves.push(Placed {
                            at,
                            edge: Some((ring, run_m)),
                            ..*head
                        });
                    }
                }
                None if self.site.ground.holds_head(at) => moves.push(Placed { at, ..*head }),
                None => {}
            }
        }
        moves
    }

    /// How far along the ring, forward or back, the place nearest to `at` lies within a few steps.
    fn run_towards(&self, ring: usize, run_m: f64, at: Coord<f64>) -> f64 {
        let here = self.site.rings[ring].at(run_m);
        let gap = (here.x - at.x).hypot(here.y - at.y);
        let off = |run: f64| {
            let there = self.site.rings[ring].at(run_m + run);
            (there.x - at.x).hypot(there.y - at.y)
        };
        if off(gap) < off(-gap) { gap } else { -gap }
    }

    fn radius_moves(&self, head: &Placed, step_share: f64) -> Vec<Placed> {
        let radius_m = self.radius_m(head);
        let step = 0.6 * step_share.max(0.06);
        [1.0 - step, 1.0 + step]
            .iter()
            .map(|share| radius_m * share)
            .filter(|&r| r >= RADIUS_SHARES.0 * head.aim_m && r <= RADIUS_SHARES.1 * head.aim_m)
            .map(|r| self.site.class.nearest_radius(r))
            .filter(|&radius| radius != head.radius)
            .map(|radius| Placed { radius, ..*head })
            .collect()
    }
}
