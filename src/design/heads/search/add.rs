//! Putting heads in.

use super::super::edges::radius_for;
use super::fit::{Asked, Try};
use super::neighbours::REACHED_BY;
use super::{Placed, Search};
use crate::geometry::SquareSums;
use geo::Coord;

impl Search<'_> {
    /// Puts heads in where they make J fall most, while they are worth their price. Returns how many came.
    ///
    /// Candidates stand a quarter of their radius apart. A gain only falls as water is added, so the list is kept by the
    /// last known gain and only its top is asked anew. They throw as far as the width asks for, times each of `shares`.
    pub fn add(&mut self, shares: &[f64], most: usize) -> usize {
        let shortage = self.field.shortage();
        let mut candidates = self.candidates(shares);
        candidates.retain(|head| self.may_pay(head, &shortage));
        let mut list: Vec<(f64, Try)> = candidates.into_iter().map(|c| self.rated(c)).collect();
        list.retain(|(over, _)| *over > 0.0);
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut added = 0;
        while let Some((_, top)) = list.pop() {
            let (over, fresh) = self.rated(top.head);
            if over <= 0.0 {
                continue;
            }
            let next = list.last().map_or(f64::NEG_INFINITY, |t| t.0);
            if over + 1e-6 >= next {
                self.push(fresh.head);
                added += 1;
                if added == most {
                    break;
                }
            } else {
                let place = list.partition_point(|t| t.0 < over);
                list.insert(place, (over, fresh));
            }
        }
        added
    }

    /// Whether a head could be worth its price: by the water that is short about it, or a neighbour that lacks reach.
    fn may_pay(&self, head: &Placed, shortage: &SquareSums) -> bool {
        let radius_m = self.radius_m(head);
        let price = self.price_m2(head);
        let cell_m = self.site.ground.grid.cell_m;
        shortage.within(head.at, radius_m) * cell_m * cell_m > price
            || self
                .neighbours
                .near(head.at, radius_m)
                .any(|(_, other)| other.slot.is_some() && other.reached < REACHED_BY)
    }

    /// A try and what it is worth over its price, m².
    fn rated(&mut self, head: Placed) -> (f64, Try) {
        let tried = self.fit(head, Asked::Head);
        (tried.worth - self.price_of(&tried.head), tried)
    }

    /// Places inside the turf and along its edges where a head could be put in.
    pub fn candidates(&self, shares: &[f64]) -> Vec<Placed> {
        let mut all = match self.site.side {
            None => self.inner_candidates(),
            Some(_) => Vec::new(),
        };
        for (index, ring) in self.site.rings.iter().enumerate() {
            let mut run_m = 0.0;
            while run_m < ring.length_m() {
                let at = ring.at(run_m);
                let width_m = self.site.ground.width_at(at);
                let aim_m = radius_for(width_m, self.site.class);
                if self.site.lets_stand(index, run_m)
                    && !self.site.ground.in_pit(at)
                    && width_m >= 0.5 * self.site.class.radius_least_m()
                    && self.first_of_images(at)
                {
                    all.push(Placed::full(
                        at,
                        Some((index, run_m)),
                        aim_m,
                        self.site.class,
                    ));
                }
                run_m += 0.3 * aim_m;
            }
        }
        shares
            .iter()
            .flat_map(|share| all.iter().map(move |place| (share, place)))
            .map(|(share, place)| Placed {
                radius: self.site.class.nearest_radius(share * place.aim_m),
                ..*place
            })
            .collect()
    }

    /// Whether a place is the one of its images to be tried: with room for those on a mirror's line.
    fn first_of_images(&self, at: Coord<f64>) -> bool {
        self.maps.iter().all(|map| {
            let image = map.place(at);
            (at.x, at.y) >= (image.x - 1e-6, image.y - 1e-6)
        })
    }

    fn inner_candidates(&self) -> Vec<Placed> {
        let ground = self.site.ground;
        let grid = ground.grid;
        let mut all = Vec::new();
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let cell = row * grid.columns + column;
                if ground.want[cell] <= 0.0 {
                    continue;
                }
                let aim_m = radius_for(f64::from(ground.width_m[cell]), self.site.class);
                let every = ((0.25 * aim_m / grid.cell_m) as usize).max(1);
                let (i, j) = (
                    column.abs_diff(grid.columns / 2),
                    row.abs_diff(grid.rows / 2),
                );
                let inner = f64::from(ground.reach_m[cell]) > 0.45 * aim_m * self.site.spacing;
                let at = grid.centre(column, row);
                if inner && i % every == 0 && j % every == 0 && self.first_of_images(at) {
                    all.push(Placed::full(at, None, aim_m, self.site.class));
                }
            }
        }
        all
    }
}
