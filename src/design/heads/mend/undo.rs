//! Changes that turn out needless are undone, the dearest first.

use super::area::Area;
use super::changes;
use super::crew::Models;
use super::goal::Goal;
use crate::design::model::Head;

/// By how much what is missing may grow where it cannot be had anyway.
const WORSE_MOST: f64 = 2e-3;
/// Times over all changes: one undone may let another go.
const ROUNDS: usize = 3;

/// Undoes what the goal does not need, or makes it cheaper.
pub fn needless(area: &mut Area, goal: &Goal) {
    for _ in 0..ROUNDS {
        let short = goal.short(area);
        let allowed = if short > 0.0 { short + WORSE_MOST } else { 0.0 };
        let prices = area.yard.job.task.prices;
        let mut changed: Vec<(usize, f64)> = (0..area.seats.len())
            .filter(|&index| area.seats[index].head != area.seats[index].base)
            .map(|index| (index, area.seats[index].price(&prices)))
            .collect();
        changed.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let mut undone = false;
        for (index, price) in changed {
            undone |= cheaper(area, index, price, goal, allowed);
        }
        if !undone {
            break;
        }
    }
}

/// Puts the cheapest head on a seat with which no more is missing than is allowed; whether it is another.
fn cheaper(area: &mut Area, index: usize, price: f64, goal: &Goal, allowed: f64) -> bool {
    let prices = area.yard.job.task.prices;
    let mut others = vec![area.seats[index].base.clone()];
    others.extend(settings_in_base(area, index).into_iter().map(Some));
    for other in others {
        let same = other == area.seats[index].head;
        let dearer = area.seats[index].price_with(other.as_ref(), &prices) >= price;
        let base = other == area.seats[index].base;
        if same || (dearer && !base) {
            continue;
        }
        let was = area.change(index, other);
        if goal.short(area) <= allowed {
            return true;
        }
        area.lift(index);
        area.put_back(index, was);
    }
    false
}

/// The head in its own place again, set as is best, first of its own model.
fn settings_in_base(area: &mut Area, index: usize) -> Vec<Head> {
    let Some(base) = area.seats[index].base.clone() else {
        return Vec::new();
    };
    let job = area.yard.job;
    let Some(class) = job.class_of(base.model) else {
        return Vec::new();
    };
    let lifted = area.lift(index);
    let kinds = [Models::Only(base.model), Models::Class(class)];
    let found = kinds
        .into_iter()
        .filter_map(|models| changes::best_in_place(area, &base, models).map(|(head, _)| head));
    let found = found.collect();
    area.put_back(index, lifted);
    found
}
