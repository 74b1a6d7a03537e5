//! The fewest stations that any grouping of a class could have, whatever the trenches.

use super::{HeadNeed, Limits};

/// What one head takes of a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Claim {
    /// Height of its ground, m.
    pub ground_m: f64,
    /// Its flow over the most that a station with it may carry, 0 to 1.
    pub share: f64,
    /// Greatest spread of height of a station with it, m.
    pub spread_most_m: f64,
}

impl Claim {
    /// The claim of a head whose station may carry `most_lpm`; a head that asks for more stands alone.
    pub fn of(need: &HeadNeed, most_lpm: f64) -> Self {
        let share = need.flow_lpm / most_lpm;
        Self {
            ground_m: need.ground_m,
            spread_most_m: need.spread_most_m,
            share: if share.is_finite() {
                share.min(1.0)
            } else {
                1.0
            },
        }
    }
}

/// A lower bound on the stations of heads of one class.
///
/// No station carries more than any of its heads allows, so the shares on it sum to at most one; no station has more
/// heads than the limit; none reaches over more height than the most that any head allows. With heads that could be split, filling stations
/// from the lowest head upward is best (an exchange of equal shares between two stations makes neither reach farther),
/// so no grouping of whole heads has fewer.
pub fn bound(claims: impl IntoIterator<Item = Claim>, limits: &Limits) -> usize {
    let mut claims: Vec<Claim> = claims.into_iter().collect();
    claims.sort_by(|a, b| a.ground_m.total_cmp(&b.ground_m));
    let spreads_m = claims.iter().map(|claim| claim.spread_most_m);
    let spread_m = spreads_m.fold(0.0, f64::max);
    let by_flow = filled(&claims, spread_m, |claim| claim.share);
    let by_count = filled(&claims, spread_m, |_| 1.0 / limits.heads.max(1) as f64);
    by_flow.max(by_count)
}

/// Stations filled from the lowest claim upward, claims split where a station is full.
fn filled(claims: &[Claim], spread_m: f64, share: impl Fn(&Claim) -> f64) -> usize {
    // Sums of shares may miss one by rounding.
    const HAIR: f64 = 1e-9;
    let (mut stations, mut free, mut lowest_m) = (0, 0.0, 0.0);
    for claim in claims {
        let mut rest = share(claim);
        let out_of_reach = claim.ground_m - lowest_m > spread_m;
        if !out_of_reach {
            let taken = rest.min(free);
            (rest, free) = (rest - taken, free - taken);
        }
        if stations == 0 || out_of_reach || rest > HAIR {
            stations += 1;
            (free, lowest_m) = (1.0 - rest, claim.ground_m);
        }
    }
    stations
}

#[cfg(test)]
mod tests {
    use super::*;

    fn claims(all: &[(f64, f64)]) -> Vec<Claim> {
        let claim = |&(ground_m, share)| Claim {
            ground_m,
            share,
            spread_most_m: 5.0,
        };
        all.iter().map(claim).collect()
    }

    fn limits(heads: usize) -> Limits {
        Limits {
            heads,
            station_m: 0.0,
            spare_m: 0.0,
            empty_m: 0.0,
        }
    }

    #[test]
    fn on_the_level_it_is_the_sum_of_the_shares_or_the_count() {
        let level = claims(&[(0.0, 0.4); 5]);
        assert_eq!(bound(level.clone(), &limits(40)), 2);
        assert_eq!(bound(level, &limits(2)), 3);
        assert_eq!(bound(claims(&[(0.0, 0.25); 8]), &limits(40)), 2);
        assert_eq!(bound(claims(&[]), &limits(40)), 0);
    }

    #[test]
    fn heights_out_of_reach_of_each_other_take_a_station_each() {
        let steps = claims(&[(0.0, 0.1), (4.0, 0.1), (6.0, 0.1), (12.0, 0.1)]);
        assert_eq!(bound(steps, &limits(40)), 3);
    }

    #[test]
    fn no_grouping_of_few_heads_beats_it() {
        let mut state = 5u64;
        let mut chance = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) as f64 / (1u64 << 31) as f64
        };
        for _ in 0..200 {
            let few: Vec<(f64, f64)> = (0..7)
                .map(|_| (12.0 * chance(), 0.1 + 0.6 * chance()))
                .collect();
            let few = claims(&few);
            let limits = limits(3);
            assert!(bound(few.clone(), &limits) <= fewest(&few, &limits, &mut Vec::new()));
        }
    }

    /// The fewest stations of whole heads, by trying every grouping.
    fn fewest(rest: &[Claim], limits: &Limits, stations: &mut Vec<Vec<Claim>>) -> usize {
        let Some((head, rest)) = rest.split_first() else {
            return stations.len();
        };
        let mut least = usize::MAX;
        for i in 0..=stations.len() {
            if i == stations.len() {
                stations.push(Vec::new());
            }
            stations[i].push(*head);
            let of = &stations[i];
            let heights = of.iter().map(|claim| claim.ground_m);
            let reach_m =
                heights.clone().fold(f64::MIN, f64::max) - heights.fold(f64::MAX, f64::min);
            let full = of.iter().map(|claim| claim.share).sum::<f64>() > 1.0;
            if of.len() <= limits.heads && reach_m <= 5.0 && !full {
                least = least.min(fewest(rest, limits, stations));
            }
            stations[i].pop();
            if stations[i].is_empty() {
                stations.pop();
            }
        }
        least
    }
}
