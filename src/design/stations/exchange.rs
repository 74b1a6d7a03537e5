//! Exchanges heads between stations: less pipe, flows more alike.
//!
//! Simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983, Science 220:671, from memory) over two moves: a head goes to
//! the station of a neighbour, or changes places with it. A station may be overdrawn on the way at a price that no
//! result is left with.

use super::sharing::Sharing;
use crate::design::trenches::graph::chance;

/// First and last temperature, in metres of lateral pipe.
const HEAT_M: (f64, f64) = (12.0, 0.3);
/// Price of a station overdrawn by its whole limit, in metres of lateral pipe: while there is much moving, then to the end.
const OVERDRAWN_M: [f64; 2] = [1500.0, 40_000.0];
/// Share of the moves after which the second price holds.
const SETTLING: f64 = 0.6;

/// Anneals the heads of some stations among them, with so many moves a head. Whether any of them is left overdrawn, at
/// no price at all, is seen from their sum.
pub fn anneal(sharing: &mut Sharing, stations: &[usize], each: usize, draws: &mut Draws) {
    let members = stations
        .iter()
        .flat_map(|station| &sharing.members[*station]);
    let heads: Vec<usize> = members.copied().collect();
    let mut open = vec![false; sharing.members.len()];
    stations.iter().for_each(|station| open[*station] = true);
    let trials = each * heads.len();
    let settling = (SETTLING * trials as f64) as usize;
    sharing.price_overdrawn(stations, OVERDRAWN_M[0]);
    for trial in 0..trials {
        if trial == settling {
            sharing.price_overdrawn(stations, OVERDRAWN_M[1]);
        }
        let share = trial as f64 / trials as f64;
        let heat_m = HEAT_M.0 * (HEAT_M.1 / HEAT_M.0).powf(share);
        let head = heads[draws.below(heads.len())];
        let near = &sharing.near[head];
        if near.is_empty() {
            continue;
        }
        let other = near[draws.below(near.len())];
        let to = sharing.station[other];
        if to != sharing.station[head] && open[to] {
            try_move(sharing, head, other, heat_m, draws);
        }
    }
    sharing.price_overdrawn(stations, f64::INFINITY);
}

/// Moves a head to the station of another, or exchanges the two; back again unless that is cheaper, or chance allows it.
fn try_move(sharing: &mut Sharing, head: usize, other: usize, heat_m: f64, draws: &mut Draws) {
    let both = [sharing.station[head], sharing.station[other]];
    let [from, to] = both;
    let before = sharing.sum(&both);
    let swap = draws.share() < 0.5;
    sharing.shift(head, to);
    if swap {
        sharing.shift(other, from);
    }
    sharing.price(&both);
    let change = sharing.sum(&both) - before;
    if change <= 0.0 || draws.share() < (-change / heat_m).exp() {
        return;
    }
    if swap {
        sharing.shift(other, to);
    }
    sharing.shift(head, from);
    sharing.price(&both);
}

/// Chances, the same in every run.
pub struct Draws {
    seed: u64,
    drawn: u64,
}

impl Draws {
    /// Those of a seed.
    pub fn of(seed: u64) -> Self {
        Self { seed, drawn: 0 }
    }

    /// A number from 0 to 1.
    fn share(&mut self) -> f64 {
        self.drawn += 1;
        chance(7 + self.seed, self.drawn, 0)
    }

    /// A whole number below `of`.
    fn below(&mut self, of: usize) -> usize {
        ((self.share() * of as f64) as usize).min(of - 1)
    }
}
