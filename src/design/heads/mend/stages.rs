//! Change by change, the one first that gains most for its price, until the area reaches its goal.

use super::area::Area;
use super::changes::{self, Change, Level};
use super::goal::Goal;
use super::spots::{self, Spot};
use crate::design::model::Head;

/// Least gain worth a change, in shares of the square of the radius.
const GAIN_LEAST: f64 = 0.02;
/// A change that costs nothing counts as this share of the cheapest.
const FREE_SHARE: f64 = 0.2;
/// By how much a change may worsen what is missing, for what it gains elsewhere.
const WORSE_MOST: f64 = 2e-3;
/// Weight of overspray: steps up and down, and how far it may go from where it started.
const HARM_UP: f64 = 1.5;
const HARM_DOWN: f64 = 0.7;
const HARM_RANGE: (f64, f64) = (0.45, 4.0);

/// Improves an area with changes up to a level until the goal is met or nothing helps.
pub fn improve(area: &mut Area, level: Level, goal: &Goal) {
    let harm = area.harm;
    let mut list = List::new(area, level);
    let most = 4 * area.seats.len() + 40;
    for _ in 0..most {
        let figures = area.figures();
        let short = goal.short_of(area, &figures);
        if short <= 0.0 {
            break;
        }
        list.freshen(area);
        if let Some(change) = list.best() {
            list.try_change(area, change, goal, short);
            continue;
        }
        let over = figures.over > goal.aim.over;
        let step = if over { HARM_UP } else { HARM_DOWN };
        let weight = area.harm * step;
        if !(HARM_RANGE.0 * harm..=HARM_RANGE.1 * harm).contains(&weight) {
            break;
        }
        area.harm = weight;
        list.all_stale();
    }
    area.harm = harm;
}

/// What is known of a seat or spot.
#[derive(Clone)]
struct Known {
    change: Option<Change>,
    stale: bool,
    /// Tried, and found to make things worse.
    spent: bool,
}

impl Known {
    const NEW: Self = Self {
        change: None,
        stale: true,
        spent: false,
    };
}

/// The best change of each seat and spot.
struct List {
    level: Level,
    least_price: f64,
    seats: Vec<Known>,
    spots: Vec<(Spot, Known)>,
}

impl List {
    fn new(area: &Area, level: Level) -> Self {
        let task = area.yard.job.task;
        let prices = [task.prices.set, task.prices.replace, task.prices.moved];
        let cheapest = prices.into_iter().fold(task.prices.added, f64::min);
        let spots = if level >= Level::Add && task.may_add {
            spots::all(area)
        } else {
            Vec::new()
        };
        Self {
            level,
            least_price: (FREE_SHARE * cheapest).max(1e-9),
            seats: vec![Known::NEW; area.seats.len()],
            spots: spots.into_iter().map(|spot| (spot, Known::NEW)).collect(),
        }
    }

    fn all_stale(&mut self) {
        let spots = self.spots.iter_mut().map(|(_, known)| known);
        for known in self.seats.iter_mut().chain(spots) {
            *known = Known::NEW;
        }
    }

    /// Asks anew what has changed.
    fn freshen(&mut self, area: &mut Area) {
        for index in 0..self.seats.len() {
            if self.seats[index].stale {
                let all = changes::of_seat(area, index, self.level);
                self.seats[index].change = self.pick(all);
                self.seats[index].stale = false;
            }
        }
        for (spot, known) in &mut self.spots {
            if known.stale {
                let worth = |change: &Change| enough(change);
                known.change = spots::gained(area, spot).filter(worth);
                known.stale = false;
            }
        }
    }

    fn pick(&self, all: Vec<Change>) -> Option<Change> {
        all.into_iter()
            .filter(enough)
            .max_by(|a, b| (a.worth(self.least_price)).total_cmp(&b.worth(self.least_price)))
    }

    fn best(&self) -> Option<Change> {
        let seats = self.seats.iter();
        let spots = self.spots.iter().map(|(_, known)| known);
        let known = seats.chain(spots).filter(|known| !known.spent);
        self.pick(known.filter_map(|known| known.change.clone()).collect())
    }

    /// Makes a change, and undoes it where it worsens what is missing.
    fn try_change(&mut self, area: &mut Area, change: Change, goal: &Goal, short: f64) {
        let reach: Vec<Head> = (change.seat)
            .and_then(|index| area.seats[index].head.clone())
            .into_iter()
            .chain(change.head.clone())
            .collect();
        let allowed = match change.seat {
            Some(_) => short + WORSE_MOST,
            None => short - 1e-9,
        };
        match (change.seat, change.head) {
            (Some(index), head) => {
                let was = area.change(index, head);
                if goal.short(area) > allowed {
                    area.lift(index);
                    area.put_back(index, was);
                    self.seats[index].spent = true;
                    return;
                }
            }
            (None, Some(head)) => {
                let at = head.position;
                let index = area.add(head);
                if goal.short(area) > allowed {
                    area.lift(index);
                    area.seats.pop();
                    for (spot, known) in &mut self.spots {
                        known.spent |= spot.at == at;
                    }
                    return;
                }
                self.seats.push(Known::NEW);
            }
            (None, None) => return,
        }
        self.stir(area, &reach);
    }

    /// What lies in reach of a change must be asked anew.
    fn stir(&mut self, area: &Area, reach: &[Head]) {
        let touches = |at: geo::Coord<f64>, radius_m: f64| {
            reach.iter().any(|head| {
                let far_m = (head.position.x - at.x).hypot(head.position.y - at.y);
                far_m < 1.2 * (head.radius_m + radius_m)
            })
        };
        for (seat, known) in area.seats.iter().zip(&mut self.seats) {
            let near = |head: &Head| touches(head.position, head.radius_m);
            if seat.head.as_ref().is_some_and(near) {
                *known = Known::NEW;
            }
        }
        for (spot, known) in &mut self.spots {
            if touches(spot.at, spot.aim_m) {
                *known = Known::NEW;
            }
        }
    }
}

fn enough(change: &Change) -> bool {
    let radius_m = change.head.as_ref().map_or(0.0, |head| head.radius_m);
    change.gain > GAIN_LEAST * radius_m * radius_m
}
