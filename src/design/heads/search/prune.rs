//! Taking heads out.

use super::super::arcs;
use super::Search;
use geo::Coord;

/// Share of the worth asked of other heads that keeps a corner: a foreman looks for it.
const CORNER_SHARE: f64 = 0.1;

impl Search<'_> {
    /// Takes out heads that are worth less than they cost, the least useful first. Returns how many went.
    pub fn prune(&mut self) -> usize {
        let mut useful: Vec<(f64, usize)> = (0..self.heads.len())
            .map(|index| (self.worth_of(index), index))
            .collect();
        useful.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut gone: Vec<usize> = Vec::new();
        for (worth, index) in useful {
            let least = if self.heads[index].corner {
                CORNER_SHARE
            } else {
                1.0
            } * self.weights.keep;
            // Each that goes makes its neighbours dearer, so each is asked anew.
            if worth < least && self.worth_of(index) < least {
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
}
