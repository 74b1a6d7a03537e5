//! Mending: heads that stand already are kept where they are good, and changed at least cost where they are not.
//!
//! For the retrofit of an old system, and for a layout that a person pinned, moved, took from or added to by hand. Turf
//! area by turf area: faults first; then, where a floor or limit of the rules fails, settings, other models, other places
//! and new heads, in that order and no further than needed; at last the area laid out anew. Judged with every head at its
//! rated pressure.

mod aim;
mod anew;
mod area;
mod changes;
mod classes;
mod crew;
mod faults;
mod goal;
mod piece;
mod rain;
mod settings;
mod stages;
#[cfg(test)]
mod tests;
mod undo;
mod verdict;
mod yard;

use crate::brief::{Catalogue, Rules};
use crate::design::model::Head;
use crate::finding::Finding;
use crate::site::Parcel;
use area::{Area, Seat};
use geo::Coord;
use goal::Goal;
use verdict::Verdict;
use yard::{Job, Yard};

/// What may be done to a head that stands already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Freedom {
    /// Nothing.
    Fixed,
    /// Nozzle, sector and radius may be set, and another model may stand in the same place.
    Set,
    /// It may also be moved or taken out.
    Moved,
}

/// A head that stands already.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The head.
    pub head: Head,
    /// What may be done to it.
    pub freedom: Freedom,
}

/// What a change of one head costs, in any one currency; below 0 counts as 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChangePrices {
    /// Another nozzle, sector or radius.
    pub set: f64,
    /// Another model in the same place.
    pub replace: f64,
    /// Taking it out.
    pub remove: f64,
    /// Another place, newly set.
    pub moved: f64,
    /// A new head.
    pub added: f64,
}

/// What is to be mended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MendTask<'a> {
    /// The heads that stand, on all turf of the parcel.
    pub standing: &'a [Standing],
    /// What changes cost.
    pub prices: ChangePrices,
    /// Whether heads may be added.
    pub may_add: bool,
    /// Places where a person took a head away: none comes to stand within half its radius of one.
    pub keep_clear: &'a [Coord<f64>],
    /// Whether turf that meets floor and limits is left alone but for faults of single heads; else ground that stays dry
    /// somewhere on it, where a head was taken away or moved, is mended too.
    pub only_where_needed: bool,
}

/// Heads as mended.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mended {
    /// The heads: those kept in the order in which they stood, then those added.
    pub heads: Vec<Head>,
    /// The standing head that each was, as its place in the task; `None` for one added.
    pub from: Vec<Option<usize>>,
    /// Turf that stays short of the rules (`mend_short`), and faults of heads that may not be changed.
    pub findings: Vec<Finding>,
}

/// Times over all turf areas: heads of one water another.
const ROUNDS: usize = 2;

/// Mends the heads that stand on a parcel.
pub fn mend(parcel: &Parcel, catalogue: &Catalogue, rules: &Rules, task: &MendTask) -> Mended {
    let rules = &super::roots_weight::weighed(rules, parcel);
    let classes = super::classes::classes(catalogue);
    let task = &MendTask {
        prices: task.prices.sane(),
        ..*task
    };
    let job = Job {
        parcel,
        catalogue,
        rules,
        classes: &classes,
        task,
    };
    let mut state = State::of(&job);
    for round in 0..ROUNDS {
        let mut changed = false;
        for turf in 0..parcel.turf.len() {
            if round == 0 || state.fell_short(&job, turf) {
                changed |= state.mend_area(&job, turf);
            }
        }
        if !changed {
            break;
        }
    }
    state.finished(&job)
}

impl ChangePrices {
    /// Without what is no price.
    fn sane(self) -> Self {
        let sane = |price: f64| {
            if price.is_finite() {
                price.max(0.0)
            } else {
                0.0
            }
        };
        Self {
            set: sane(self.set),
            replace: sane(self.replace),
            remove: sane(self.remove),
            moved: sane(self.moved),
            added: sane(self.added),
        }
    }
}

/// The parcel's heads while area after area is mended.
struct State {
    /// Seats of each turf area; heads of no turf area stand in the last.
    seats: Vec<Vec<Seat>>,
    /// Whether each area met floor and limits when it was mended, and what was told of it.
    verdicts: Vec<Option<Verdict>>,
    findings: Vec<Vec<Finding>>,
}

impl State {
    fn of(job: &Job) -> Self {
        let areas = job.parcel.turf.len();
        let mut seats: Vec<Vec<Seat>> = vec![Vec::new(); areas + 1];
        for (index, standing) in job.task.standing.iter().enumerate() {
            let turf = standing.head.turf.min(areas);
            seats[turf].push(Seat::standing(index, &standing.head, standing.freedom));
        }
        Self {
            seats,
            verdicts: vec![None; areas],
            findings: vec![Vec::new(); areas],
        }
    }

    fn others(&self, turf: usize) -> Vec<Head> {
        let others = self
            .seats
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != turf);
        others
            .flat_map(|(_, seats)| seats)
            .filter_map(|seat| seat.head.clone())
            .collect()
    }

    /// Whether an area met the rules when it was mended and does so no more.
    fn fell_short(&self, job: &Job, turf: usize) -> bool {
        let met = self.verdicts[turf].is_some_and(|verdict| verdict.met());
        let heads = self.seats[turf].iter().filter_map(|seat| seat.head.clone());
        met && !Verdict::of(job, turf, heads, &self.others(turf)).met()
    }

    /// Mends one turf area; whether anything was changed.
    fn mend_area(&mut self, job: &Job, turf: usize) -> bool {
        let others = self.others(turf);
        let seats = &self.seats[turf];
        let throws = seats.iter().filter_map(|seat| seat.head.as_ref());
        let sound = throws.filter(|head| job.sound(head));
        let least_m = sound
            .map(|head| head.radius_m)
            .fold(f64::INFINITY, f64::min);
        let Some(yard) = Yard::new(job, turf, least_m) else {
            return false;
        };
        let before: Vec<Option<Head>> = seats.iter().map(|seat| seat.head.clone()).collect();
        let area = Area::new(&yard, seats.clone(), &others);
        let (area, verdict, findings) = mended(area);
        let after = area.seats.iter().map(|seat| seat.head.clone());
        let changed = !before.into_iter().eq(after);
        self.findings[turf] = findings;
        self.verdicts[turf] = Some(verdict);
        self.seats[turf] = area.seats;
        changed
    }

    fn finished(self, job: &Job) -> Mended {
        let mut all: Vec<(Option<usize>, Head)> = self
            .seats
            .into_iter()
            .flatten()
            .filter_map(|seat| Some((seat.was.map(|(index, _)| index), seat.head?)))
            .collect();
        all.sort_by_key(|(from, _)| from.unwrap_or(usize::MAX));
        let (from, heads): (Vec<_>, Vec<_>) = all.into_iter().unzip();
        let mut mended = Mended {
            heads,
            from,
            findings: self.findings.into_iter().flatten().collect(),
        };
        for (turf, verdict) in self.verdicts.into_iter().enumerate() {
            let short = verdict.filter(|verdict| !verdict.met());
            mended
                .findings
                .extend(short.map(|verdict| verdict.told(job, turf, &mended.heads)));
        }
        mended
    }
}

/// Margins, as shares of floor and limits, with which an area is mended: its grid is not quite the judge's.
const IN_HAND: [f64; 2] = [0.004, 0.02];
/// What is missing must fall by so much to be worth changes that do not bring all.
const WORTH_CHANGING: f64 = 0.03;

/// Dry ground must become less than this share of what it was to be worth changes.
const DRY_LESS: f64 = 0.7;

/// An area mended, how it is judged, and what is told of its heads.
fn mended(area: Area) -> (Area, Verdict, Vec<Finding>) {
    let (area, verdict, findings) = up_to_floor(area);
    if area.yard.job.task.only_where_needed {
        return (area, verdict, findings);
    }
    match without_dry_ground(&area, verdict) {
        Some((better, verdict)) => (better, verdict, findings),
        None => (area, verdict, findings),
    }
}

/// An area without faults that meets floor and limits, if it can.
fn up_to_floor(mut area: Area) -> (Area, Verdict, Vec<Finding>) {
    let untouched = Verdict::of_area(&area);
    let mut findings = classes::unmix(&mut area);
    findings.extend(faults::mend(&mut area));
    area.rain_anew();
    let faultless = if area.price() > 0.0 {
        Verdict::of_area(&area)
    } else {
        untouched
    };
    if faultless.met() {
        return (area, faultless, findings);
    }
    let mut best = (area.clone(), faultless);
    for in_hand in IN_HAND {
        let tried = staged(area.clone(), in_hand);
        let verdict = Verdict::of_area(&tried);
        if verdict.met() || verdict.short < best.1.short - WORTH_CHANGING {
            best = (tried, verdict);
        }
        if best.1.met() {
            break;
        }
    }
    if !best.1.met() || best.0.price() > anew_least(&area) {
        let others = anew::laid_out(&area);
        let found = others.map(|mut other| {
            let goal = Goal::floor(aim_of(&other, IN_HAND[0]));
            undo::needless(&mut other, &goal);
            let verdict = Verdict::of_area(&other);
            (other, verdict)
        });
        if let Some((other, verdict)) = found
            && better(&other, verdict, &best)
        {
            best = (other, verdict);
        }
    }
    (best.0, best.1, findings)
}

fn aim_of(area: &Area, in_hand: f64) -> aim::Aim {
    aim::Aim::of(area.yard.job.rules, area.one_row(), in_hand)
}

/// Stage by stage until floor and limits hold, less what turns out needless.
fn staged(mut area: Area, in_hand: f64) -> Area {
    let goal = Goal::floor(aim_of(&area, in_hand));
    through_levels(&mut area, &goal);
    area
}

fn through_levels(area: &mut Area, goal: &Goal) {
    for level in changes::Level::ALL {
        if goal.short(area) <= 0.0 {
            break;
        }
        stages::improve(area, level, goal);
    }
    undo::needless(area, goal);
}

/// The area without dry ground where there is some that can be watered, if it loses nothing else.
fn without_dry_ground<'a>(area: &Area<'a>, verdict: Verdict) -> Option<(Area<'a>, Verdict)> {
    let goal = Goal::everywhere(aim_of(area, 0.0), area);
    let before = goal.dry(area);
    if before <= 0.0 {
        return None;
    }
    let mut tried = area.clone();
    through_levels(&mut tried, &goal);
    let found = Verdict::of_area(&tried);
    let drier = goal.dry(&tried) > DRY_LESS * before;
    (!drier && found.short <= verdict.short).then_some((tried, found))
}

/// What laying out anew costs at the very least: nearly every head is set again.
fn anew_least(area: &Area) -> f64 {
    let free = area
        .seats
        .iter()
        .filter(|seat| seat.freedom == Freedom::Moved);
    free.count() as f64 * area.yard.job.task.prices.set
}

/// Whether an area laid out anew is better: what is missing first, then the price.
fn better(other: &Area, verdict: Verdict, best: &(Area, Verdict)) -> bool {
    match (verdict.met(), best.1.met()) {
        (true, true) => other.price() < best.0.price(),
        (true, false) => true,
        (false, true) => false,
        (false, false) => verdict.short < best.1.short - WORTH_CHANGING,
    }
}
