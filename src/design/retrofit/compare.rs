//! Before and after, and a design anew beside them: heads, evenness, water, cost, and when the water saved has paid.

use crate::brief::Rules;
use crate::design::audit::Audited;
use crate::design::model::{Design, HeadWork, TurfResult};
use crate::design::takeoff::water_cost_a_year;
use crate::finding::Finding;

/// One system in figures.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Side {
    /// Heads.
    pub heads: usize,
    /// Stations.
    pub stations: usize,
    /// Evenness, the mean over turf areas weighed by their ground; `None` without water.
    pub du: Option<f64>,
    /// The least evenness of any turf area.
    pub du_least: Option<f64>,
    /// Ground that gets less than 0.3 of the mean, m².
    pub dry_m2: f64,
    /// Trench to be dug, m.
    pub trench_m: f64,
    /// Water in a year, m³.
    pub year_m3: f64,
    /// What the water of a year costs, where its price is given.
    pub water_cost: Option<f64>,
    /// What is to be bought and dug, where prices are given.
    pub cost: Option<f64>,
    /// Findings that are no notes.
    pub faults: usize,
}

/// A retrofit held against what lay there and against a design anew.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Comparison {
    /// What lay there.
    pub before: Side,
    /// What is handed over.
    pub after: Side,
    /// A design on bare ground.
    pub anew: Side,
    /// Whether the old system is kept; if not, what is handed over is the design anew.
    pub kept: bool,
    /// Heads by the work on them.
    pub heads: Vec<(HeadWork, usize)>,
    /// Heads taken out.
    pub heads_removed: usize,
    /// Old pipe that stays, m, and all pipe, m.
    pub pipe_kept_m: (f64, f64),
    /// Water saved in a year, m³; below 0 where more is needed.
    pub saved_m3: f64,
    /// Years after which the water saved has paid for the work; `None` where no water is saved or no price is given.
    pub payback_years: Option<f64>,
}

impl Comparison {
    pub(super) fn of(before: &Audited, after: &Design, anew: &Design, kept: bool) -> Self {
        let prices = &before.project.prices;
        let side = |design: &Design| Side::of(design, water_cost_a_year(&design.schedule, prices));
        let (was, is, new) = (side(&before.design), side(after), side(anew));
        let lying = after.lying.clone().unwrap_or_default();
        let length_m = |kept_only: bool| -> f64 {
            let pipes = after.pipes.iter().enumerate();
            let pipes = pipes.filter(|(i, _)| !kept_only || lying.pipes.get(*i) == Some(&true));
            pipes.map(|(_, pipe)| pipe.length_m).sum()
        };
        let saved_m3 = was.year_m3 - is.year_m3;
        let saved_cost = was.water_cost.zip(is.water_cost).map(|(was, is)| was - is);
        let payback = saved_cost.filter(|saved| *saved > 0.0).zip(is.cost);
        Self {
            heads: match &after.lying {
                Some(lying) => HeadWork::ALL.map(|work| (work, lying.count(work))).to_vec(),
                None => vec![(HeadWork::New, after.heads.len())],
            },
            heads_removed: if kept {
                lying.heads_removed
            } else {
                before.design.heads.len()
            },
            pipe_kept_m: (length_m(true), length_m(false)),
            saved_m3,
            payback_years: payback.map(|(saved, cost)| cost / saved),
            before: Side {
                cost: None,
                trench_m: 0.0,
                ..was
            },
            after: is,
            anew: new,
            kept,
        }
    }

    /// The comparison in one sentence.
    pub(super) fn finding(&self) -> Finding {
        let percent = |du: Option<f64>| du.map_or_else(|| "–".to_owned(), |du| format!("{du:.2}"));
        let count = |work| {
            self.heads
                .iter()
                .find(|known| known.0 == work)
                .map_or(0, |known| known.1)
        };
        let money = |cost: Option<f64>| {
            cost.map_or_else(|| "not priced".to_owned(), |cost| format!("{cost:.0}"))
        };
        let message = if self.kept {
            format!(
                "of {} old heads {} stay as they are, {} are set anew, {} replaced, {} moved, {} taken out; {} are added. Evenness goes from {} to {}, water from {:.0} to {:.0} m³ a year; the work costs {}, a new system {}.",
                self.before.heads,
                count(HeadWork::Kept),
                count(HeadWork::Set),
                count(HeadWork::Replaced),
                count(HeadWork::Moved),
                self.heads_removed,
                count(HeadWork::New),
                percent(self.before.du),
                percent(self.after.du),
                self.before.year_m3,
                self.after.year_m3,
                money(self.after.cost),
                money(self.anew.cost)
            )
        } else {
            "nothing of the old system is kept: made good it would cost no less than a new one, or not water the turf as evenly as the rules ask.".to_owned()
        };
        Finding::note("retrofit", message)
    }
}

impl Side {
    fn of(design: &Design, water_cost: Option<f64>) -> Self {
        let watered = || design.turf.iter().filter(|turf| turf.heads > 0);
        let mean = |value: fn(&TurfResult) -> Option<f64>| {
            let weighed =
                watered().filter_map(|turf| Some((value(turf)? * turf.area_m2, turf.area_m2)));
            let (sum, area) = weighed.fold((0.0, 0.0), |sum, of| (sum.0 + of.0, sum.1 + of.1));
            (area > 0.0).then(|| sum / area)
        };
        let costs: Vec<f64> = design.takeoff.iter().filter_map(|row| row.cost).collect();
        Self {
            heads: design.heads.len(),
            stations: design.stations.len(),
            du: mean(|turf| turf.du_low_quarter),
            du_least: watered()
                .filter_map(|turf| turf.du_low_quarter)
                .reduce(f64::min),
            dry_m2: watered()
                .map(|turf| turf.dry_fraction.unwrap_or(0.0) * turf.area_m2)
                .sum(),
            trench_m: design.trench_to_dig_m(),
            year_m3: design.schedule.year_m3,
            water_cost,
            cost: (!costs.is_empty()).then(|| costs.iter().sum()),
            faults: design
                .findings
                .iter()
                .filter(|finding| finding.severity > crate::finding::Severity::Note)
                .count(),
        }
    }
}

/// By how much the worst turf area misses the least evenness of the rules; 0 or less where none does.
pub(super) fn missing_du(design: &Design, rules: &Rules) -> f64 {
    let missing = design
        .turf
        .iter()
        .filter(|turf| turf.heads > 0)
        .filter_map(|turf| {
            let least = if turf.one_row {
                rules.du_one_row_least
            } else {
                rules.du_least
            };
            Some(least - turf.du_low_quarter?)
        });
    missing.fold(f64::NEG_INFINITY, f64::max)
}

/// Whether every turf area keeps the least evenness, or as much of it as a design anew does, and none is left without heads
/// that such a design waters.
pub(super) fn keeps_floor(made: &Design, anew: &Design, rules: &Rules) -> bool {
    let short = |turf: &TurfResult| {
        let least = if turf.one_row {
            rules.du_one_row_least
        } else {
            rules.du_least
        };
        (least - turf.du_low_quarter.unwrap_or(0.0)).max(0.0)
    };
    made.turf.iter().zip(&anew.turf).all(|(made, anew)| {
        let watered = made.heads > 0 || anew.heads == 0;
        watered && (made.heads == 0 || short(made) <= short(anew) + 1e-9)
    })
}

/// Whether what was made good is cheaper: by cost where prices are given, else by trench.
pub(super) fn costs_less(made: &Design, anew: &Design) -> bool {
    let (made, anew) = (Side::of(made, None), Side::of(anew, None));
    match (made.cost, anew.cost) {
        (Some(made), Some(anew)) => made < anew,
        _ => made.trench_m < anew.trench_m,
    }
}
