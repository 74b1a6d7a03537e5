//! Stations, pipe and pressures, settled together: what a station may draw is only known once its pipes are sized and solved.
//!
//! A round groups the heads, lays and grades the pipe, chooses sizes and solves every station. Heads of stations that
//! fall short may draw less of the supply in the next round. The best round is kept.

pub mod demand;
pub mod inverts;
pub(in crate::design) mod pressures;
pub mod remedy;
pub(in crate::design) mod sizes;

pub use pressures::Solved;

use crate::brief::{Catalogue, Rules};
use crate::design::hydraulics::StationError;
use crate::design::model::Head;
use crate::design::pipework::{self, Pipework};
use crate::design::stations::{self, Count, Group, HeadNeed, Limits};
use crate::design::supply::SupplyCurve;
use crate::design::trenches::TrenchTree;
use crate::design::trenches::surfaces::Surfaces;
use crate::site::Terrain;
use crate::units::head_m_from_kpa;
use demand::Allowance;
use inverts::Graded;
use pressures::Plant;
use remedy::{Remedy, remedies};
use sizes::FrontCache;
use std::collections::BTreeMap;

/// Groupings that are settled at effort 1, of which the best is kept.
const GROUPINGS: f64 = 2.0;
/// Price of a station's valve, box, wire and output of the controller, in catalogue prices. Common practice, no source.
const STATION_PRICE: f64 = 150.0;
/// Sums of faults that differ by less are equal.
const EQUAL_FAULT: f64 = 1.0;
/// Rounds at most.
const ROUNDS: usize = 6;
/// Rounds that bring nothing before settling ends.
const IDLE_ROUNDS: usize = 2;
/// What a station that fell short may draw in the next round, of what it drew in this one: the less, the shorter it fell.
const FLOW_KEPT: (f64, f64) = (0.97, 0.75);
/// Share of the height allowed from which an uneven station is mended by less height, not by less flow.
const HEIGHT_COUNTS: f64 = 0.6;
/// What is kept of such a station's height at least, as a share.
const HEIGHT_KEPT: f64 = 0.75;
/// Height taken off over what was uneven, m.
const HEIGHT_MARGIN_M: f64 = 0.2;
/// Shortfall at which the least of that is kept, kPa.
const GREAT_FAULT_KPA: f64 = 8.0;
/// Pressure by which heads that got too much wish for less than would just do, kPa.
const OVER_MARGIN_KPA: f64 = 1.0;
/// Pressure a head may be out of its range before a round counts as short, kPa.
const TOLERANCE_KPA: f64 = 0.25;

/// What is settled on.
pub struct Settled {
    /// Stations, in order.
    pub groups: Vec<Group>,
    /// Pipework with sizes, inverts, flows and pressures.
    pub work: Pipework,
    /// Drains and air valves.
    pub graded: Graded,
    /// Solutions, in the order of the stations.
    pub solved: Vec<Solved>,
    /// Stations of each class, and the fewest there could be for what heads asked for when they were grouped.
    pub counts: BTreeMap<usize, Count>,
    /// What each head asks for on its station.
    pub needs: Vec<HeadNeed>,
    /// Cost of pipe, and the least it could be for these stations and trenches.
    pub pipe_cost: f64,
    /// See `pipe_cost`.
    pub pipe_cost_bound: f64,
    /// What would mend the stations that still break a rule on pressure.
    pub remedies: Vec<Remedy>,
}

/// The ground and brief that settling works with.
#[derive(Clone, Copy)]
pub struct Setting<'a> {
    /// Heads as placed.
    pub heads: &'a [Head],
    /// The trench tree.
    pub tree: &'a TrenchTree,
    /// What lies on the ground.
    pub surfaces: &'a Surfaces,
    /// The ground.
    pub terrain: &'a Terrain,
    /// The supply.
    pub supply: &'a SupplyCurve,
    /// The catalogue.
    pub catalogue: &'a Catalogue,
    /// The rules.
    pub rules: &'a Rules,
}

/// Settles stations, pipe and pressures: from several groupings, since what pipe costs is only known once it is sized.
///
/// # Errors
/// [`StationError`] where in every grouping some station's network has no solution at all.
pub fn settle(setting: &Setting) -> Result<Settled, StationError> {
    // Stations that come back in another grouping are sized once.
    let mut cache = FrontCache::default();
    let mut best = settle_from(setting, 0, &mut cache);
    let groupings = (GROUPINGS * setting.rules.search_effort).ceil() as u64;
    for seed in 1..groupings {
        let other = settle_from(setting, seed, &mut cache);
        // A grouping whose network has no solution leaves the others as they are.
        best = match (best, other) {
            (Ok(best), Ok(other)) if other.is_better_than(&best) => Ok(other),
            (Err(_), Ok(other)) => Ok(other),
            (best, _) => best,
        };
    }
    let mut best = best?;
    let plant = plant(setting, &best.needs);
    best.remedies = remedies(&plant, &best.work, &best.groups, &best.solved);
    Ok(best)
}

fn plant<'a>(setting: &Setting<'a>, needs: &'a [HeadNeed]) -> Plant<'a> {
    Plant {
        heads: setting.heads,
        needs,
        supply: setting.supply,
        catalogue: setting.catalogue,
        rules: setting.rules,
    }
}

/// Settles what one seed's groupings lead to.
fn settle_from(
    setting: &Setting,
    seed: u64,
    cache: &mut FrontCache,
) -> Result<Settled, StationError> {
    let source_m = setting
        .terrain
        .height_m(setting.tree.positions[0])
        .unwrap_or(0.0);
    let allowance = Allowance::new(setting.supply, source_m, setting.catalogue, setting.rules);
    let mut needs = demand::needs(
        setting.heads,
        setting.tree,
        &allowance,
        setting.catalogue,
        setting.rules,
    );
    let mut best = round(setting, &needs, seed, cache)?;
    let mut learned = learn(&mut needs, &best, setting, &allowance);
    let mut idle = 0;
    for _ in 1..ROUNDS {
        if !learned || idle == IDLE_ROUNDS {
            break;
        }
        let next = round(setting, &needs, seed, cache)?;
        learned = learn(&mut needs, &next, setting, &allowance);
        idle = if next.fault() < 0.95 * best.fault() {
            0
        } else {
            idle + 1
        };
        if next.suits_better_than(&best) {
            best = next;
        }
    }
    Ok(best)
}

impl Settled {
    /// How badly the rules on pressure are broken, over all stations.
    fn fault(&self) -> f64 {
        self.solved.iter().map(Solved::fault).sum()
    }

    /// Stations beyond one more than the fewest, over all classes.
    fn spare_stations(&self) -> usize {
        let counts = self.counts.values();
        counts
            .map(|count| count.stations.saturating_sub(count.bound + 1))
            .sum()
    }

    /// Price of pipe and stations, in catalogue prices.
    fn price(&self) -> f64 {
        self.pipe_cost + STATION_PRICE * self.groups.len() as f64
    }

    /// Whether it breaks rules on pressure clearly less, or as much and costs less.
    fn suits_better_than(&self, other: &Self) -> bool {
        // Faults that differ by less are the solver's last digits.
        if (self.fault() - other.fault()).abs() > EQUAL_FAULT {
            return self.fault() < other.fault();
        }
        self.price() < other.price()
    }

    /// Whether it has fewer stations too many, or breaks rules on pressure clearly less, or costs less.
    fn is_better_than(&self, other: &Self) -> bool {
        if self.spare_stations() != other.spare_stations() {
            return self.spare_stations() < other.spare_stations();
        }
        self.suits_better_than(other)
    }
}

/// Lets heads of stations that broke a rule ask for less next time; `false` when there is nothing left to learn.
fn learn(
    needs: &mut [HeadNeed],
    settled: &Settled,
    setting: &Setting,
    allowance: &Allowance,
) -> bool {
    let mut learned = false;
    for (group, solved) in settled.groups.iter().zip(&settled.solved) {
        let over_kpa = solved.over_kpa.max(0.0);
        for &head in &group.heads {
            let model = &setting.catalogue.heads[setting.heads[head].model];
            let need = &mut needs[head];
            let least_kpa = demand::least_kpa(model, setting.rules);
            if over_kpa > TOLERANCE_KPA && need.pressure_kpa > least_kpa {
                need.pressure_kpa =
                    (settled.needs[head].pressure_kpa - over_kpa - OVER_MARGIN_KPA).max(least_kpa);
                need.left_lpm = allowance.left_lpm(need);
                learned = true;
            }
            let spread_kpa = solved.spread_over_kpa;
            let reach_m = group.load.high_m - group.load.low_m;
            if spread_kpa > TOLERANCE_KPA && reach_m > HEIGHT_COUNTS * need.spread_most_m {
                let less_m = head_m_from_kpa(spread_kpa) + HEIGHT_MARGIN_M;
                need.spread_most_m = (reach_m - less_m).max(HEIGHT_KEPT * reach_m);
                learned = true;
                continue;
            }
            let fault_kpa = solved.short_kpa.max(spread_kpa);
            if fault_kpa > TOLERANCE_KPA && group.heads.len() > 1 {
                let great = (fault_kpa / GREAT_FAULT_KPA).min(1.0);
                let kept = FLOW_KEPT.0 + (FLOW_KEPT.1 - FLOW_KEPT.0) * great;
                need.flow_most_lpm = kept * group.load.flow_lpm;
                learned = true;
            }
        }
    }
    learned
}

fn round(
    setting: &Setting,
    needs: &[HeadNeed],
    seed: u64,
    cache: &mut FrontCache,
) -> Result<Settled, StationError> {
    let rules = setting.rules;
    let limits = Limits::of(rules);
    let groups = stations::group(setting.tree, needs, &limits, seed);
    let counts = stations::counts(&groups, needs, &limits);
    let needs = &demand::shared_wishes(needs, &groups, setting.heads, setting.catalogue);
    let mut work = pipework::lay(
        setting.tree,
        &groups,
        setting.heads,
        setting.surfaces,
        setting.terrain,
        rules,
    );
    inverts::grade_sections(
        &mut work,
        groups.len(),
        setting.terrain,
        setting.catalogue,
        rules,
    );
    let plant = plant(setting, needs);
    sizes::choose(&mut work, &groups, &plant, None, cache);
    let first = solve_all(&plant, &work, &groups)?;
    // Once more with the flows that the solved pressures give.
    let sized = sizes::choose(&mut work, &groups, &plant, Some(&first), cache);
    let solved = solve_all(&plant, &work, &groups)?;
    let graded = inverts::grade_sections(
        &mut work,
        groups.len(),
        setting.terrain,
        setting.catalogue,
        rules,
    );
    pressures::write_back(&mut work, &solved, setting.supply, setting.catalogue);
    Ok(Settled {
        groups,
        work,
        graded,
        solved,
        counts,
        needs: needs.to_vec(),
        pipe_cost: sized.cost,
        pipe_cost_bound: sized.bound,
        remedies: Vec::new(),
    })
}

fn solve_all(
    plant: &Plant,
    work: &Pipework,
    groups: &[Group],
) -> Result<Vec<Solved>, StationError> {
    groups
        .iter()
        .enumerate()
        .map(|(station, group)| plant.solve(work, station, group))
        .collect()
}
