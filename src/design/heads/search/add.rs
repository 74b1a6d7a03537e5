//! Putting heads in.

use super::super::edges::radius_for;
use super::super::field::{BINS, Sweep};
use super::{Placed, Search, Try};
use geo::Coord;

impl Search<'_> {
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
}
