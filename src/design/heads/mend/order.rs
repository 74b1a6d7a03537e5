//! What is done to one turf area, in its order: faults, then stage by stage up to the floor, then dry ground.

use super::Freedom;
use super::aim::Aim;
use super::area::Area;
use super::changes::Level;
use super::goal::Goal;
use super::verdict::Verdict;
use super::{anew, classes, faults, stages, undo};
use crate::finding::Finding;

/// Margins, as shares of floor and limits, with which an area is mended: its grid is not quite the judge's.
const IN_HAND: [f64; 2] = [0.004, 0.02];
/// What is missing must fall by so much to be worth changes that do not bring all.
const WORTH_CHANGING: f64 = 0.03;

/// Dry ground must become less than this share of what it was to be worth changes.
const DRY_LESS: f64 = 0.7;

/// An area mended, how it is judged, and what is told of its heads.
pub fn mended(area: Area) -> (Area, Verdict, Vec<Finding>) {
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

fn aim_of(area: &Area, in_hand: f64) -> Aim {
    Aim::of(area.yard.job.rules, area.one_row(), in_hand)
}

/// Stage by stage until floor and limits hold, less what turns out needless.
fn staged(mut area: Area, in_hand: f64) -> Area {
    let goal = Goal::floor(aim_of(&area, in_hand));
    through_levels(&mut area, &goal);
    area
}

fn through_levels(area: &mut Area, goal: &Goal) {
    for level in Level::ALL {
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
