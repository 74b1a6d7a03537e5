//! The last resort: the area is laid out anew round the heads that stay, and standing heads are used again.

use super::Freedom;
use super::area::Area;
use super::changes;
use super::crew::Models;
use super::seat::Seat;
use crate::design::heads;
use crate::design::model::Head;

/// A standing head within this of a new place is used there without being moved, m.
const SAME_M: f64 = 0.3;

/// The area with heads laid out anew; `None` where they cannot be had from those that stand and may be added.
pub fn laid_out<'a>(area: &Area<'a>) -> Option<Area<'a>> {
    let job = area.yard.job;
    let stays = |seat: &&Seat| seat.freedom != Freedom::Moved;
    let fixed: Vec<Head> = (area.seats.iter().filter(stays))
        .filter_map(|seat| seat.head.clone())
        .filter(|head| job.sound(head))
        .collect();
    let new = only_here(area, &fixed);
    if new.is_empty() {
        return None;
    }
    let mut seats: Vec<Seat> = area
        .seats
        .iter()
        .filter(|seat| seat.was.is_some())
        .cloned()
        .collect();
    let mut left: Vec<Head> = (new.into_iter())
        .filter(|head| !area.yard.kept_clear(head.position, head.radius_m))
        .collect();
    let free: Vec<usize> = (0..seats.len())
        .filter(|&index| seats[index].freedom == Freedom::Moved)
        .collect();
    let mut open = free;
    let prices = &job.task.prices;
    take(&mut seats, &mut open, &mut left, SAME_M, true);
    if prices.moved < prices.remove + prices.added || !job.task.may_add {
        take(&mut seats, &mut open, &mut left, f64::INFINITY, false);
    }
    for index in open {
        seats[index].head = None;
    }
    if !job.task.may_add && !left.is_empty() {
        return None;
    }
    let mut laid = Area::new(area.yard, seats, area.others);
    for head in left {
        laid.add(head);
    }
    set_again(&mut laid);
    Some(laid)
}

/// The heads that are placed on this turf area round those that stay on it and those of others.
fn only_here(area: &Area, fixed: &[Head]) -> Vec<Head> {
    let job = area.yard.job;
    let here = area.yard.turf;
    let mut given = fixed.to_vec();
    given.extend(area.others.iter().filter(|head| job.sound(head)).cloned());
    let layout = heads::laid_out(job.parcel, job.catalogue, job.rules, &given, here..here + 1);
    layout.heads.into_iter().skip(given.len()).collect()
}

/// Gives new places to standing heads within `reach_m`, the nearest pair first; in place they stay where they are.
fn take(
    seats: &mut [Seat],
    open: &mut Vec<usize>,
    left: &mut Vec<Head>,
    reach_m: f64,
    in_place: bool,
) {
    loop {
        let mut best: Option<(f64, usize, usize)> = None;
        for (i, &index) in open.iter().enumerate() {
            let Some((_, was)) = &seats[index].was else {
                continue;
            };
            for (k, head) in left.iter().enumerate() {
                let far_m =
                    (was.position.x - head.position.x).hypot(was.position.y - head.position.y);
                if far_m <= reach_m && best.is_none_or(|(least, ..)| far_m < least) {
                    best = Some((far_m, i, k));
                }
            }
        }
        let Some((_, i, k)) = best else { break };
        let index = open.remove(i);
        let mut head = left.remove(k);
        if in_place && let Some((_, was)) = &seats[index].was {
            head.position = was.position;
            head.ground_m = was.ground_m;
        }
        seats[index].head = Some(head);
    }
}

/// Sets the heads that may be set but not moved to suit the new ones.
fn set_again(area: &mut Area) {
    for index in 0..area.seats.len() {
        if area.seats[index].freedom != Freedom::Set {
            continue;
        }
        let lifted = area.lift(index);
        let found = lifted.head.as_ref().and_then(|head| {
            let stays = area.gain(lifted.rain.as_ref()?);
            let (other, gain) = changes::best_in_place(area, head, Models::Only(head.model))?;
            (gain > stays + 0.02 * head.radius_m * head.radius_m).then_some(other)
        });
        area.put_back(index, lifted);
        if let Some(head) = found {
            area.change(index, Some(head));
        }
    }
}
