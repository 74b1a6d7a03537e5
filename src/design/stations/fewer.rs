//! Fewer stations: one after another is taken away, its heads going to those round it, where that pays.

use super::Limits;
use super::exchange::{Draws, anneal};
use super::sharing::Sharing;

/// Moves tried for each head in one annealing, on classes of so many heads and more; the fewer heads, the more moves.
const TRIALS: f64 = 40.0;
const MANY_HEADS: f64 = 900.0;
/// Most times as many moves.
const MORE_MOST: f64 = 9.0;
/// Stations asked in each pass, those with least flow first; times as many moves; and how much of a station's flow those
/// round it must have free, for it to be asked at all.
const PASSES: [(usize, f64, f64); 3] = [(usize::MAX, 1.0, 1.2), (6, 3.0, 1.0), (6, 3.0, 1.0)];

/// Improves a grouping, and takes stations away while that pays, down to `fewest`.
pub fn fewer(sharing: &mut Sharing, limits: &Limits, fewest: usize, seed: u64) {
    let trials = TRIALS * (MANY_HEADS / sharing.heads().max(1) as f64).clamp(1.0, MORE_MOST);
    let mut draws = Draws::of(seed);
    improve(sharing, trials as usize, &mut draws);
    for (asked, more, free) in PASSES {
        for station in sharing.by_flow().into_iter().take(asked) {
            if sharing.used() <= fewest {
                break;
            }
            let spare_m = if sharing.used() > fewest + 1 {
                limits.spare_m
            } else {
                0.0
            };
            let ask = Ask {
                station,
                spare_m,
                free,
                trials: (more * trials) as usize,
            };
            ask.take_away(sharing, &mut draws);
        }
    }
    improve(sharing, trials as usize, &mut draws);
}

/// Anneals all stations together; leaves them as they are where that brings nothing.
fn improve(sharing: &mut Sharing, trials: usize, draws: &mut Draws) {
    let all: Vec<usize> = (0..sharing.members.len()).collect();
    let (saved, before) = (sharing.save(&all), sharing.sum(&all));
    anneal(sharing, &all, trials, draws);
    if sharing.sum(&all) > before {
        sharing.put_back(saved);
    }
}

/// A station that may be taken away.
struct Ask {
    station: usize,
    /// What is saved by its going, beside its own price, in metres of lateral pipe.
    spare_m: f64,
    free: f64,
    trials: usize,
}

impl Ask {
    /// Makes room for the station's heads on those round it, if that is cheaper.
    fn take_away(&self, sharing: &mut Sharing, draws: &mut Draws) {
        let round = sharing.round(sharing.round(vec![self.station]));
        let others = round.iter().copied().filter(|other| *other != self.station);
        let others: Vec<usize> = others.collect();
        let free_lpm: f64 = others.iter().map(|other| sharing.free_lpm(*other)).sum();
        let Some(load) = sharing.load(self.station) else {
            return;
        };
        if self.free * load.flow_lpm > free_lpm {
            return;
        }
        let (saved, before) = (sharing.save(&round), sharing.sum(&round));
        self.dissolve(sharing, &others);
        anneal(sharing, &others, self.trials, draws);
        sharing.price(&[self.station]);
        if sharing.sum(&round) >= before + self.spare_m {
            sharing.put_back(saved);
        }
    }

    /// Gives the station's heads to others, each to the one it needs least pipe for, whatever that can carry.
    fn dissolve(&self, sharing: &mut Sharing, others: &[usize]) {
        for head in sharing.members[self.station].clone() {
            let spurs = others
                .iter()
                .map(|other| (sharing.spur_m(head, *other), *other));
            if let Some((_, to)) = spurs.min_by(|a, b| a.0.total_cmp(&b.0)) {
                sharing.shift(head, to);
            }
        }
    }
}
