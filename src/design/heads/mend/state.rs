//! The heads of all turf areas while one after another is mended.

use super::Mended;
use super::area::Area;
use super::order::mended;
use super::seat::Seat;
use super::verdict::Verdict;
use super::yard::{Job, Yard};
use crate::design::model::Head;
use crate::finding::Finding;

/// The parcel's heads while area after area is mended.
pub struct State {
    /// Seats of each turf area; heads of no turf area stand in the last.
    seats: Vec<Vec<Seat>>,
    /// Whether each area met floor and limits when it was mended, and what was told of it.
    verdicts: Vec<Option<Verdict>>,
    findings: Vec<Vec<Finding>>,
}

impl State {
    /// The heads as they stand.
    pub fn of(job: &Job) -> Self {
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
    pub fn fell_short(&self, job: &Job, turf: usize) -> bool {
        let met = self.verdicts[turf].is_some_and(|verdict| verdict.met());
        let heads = self.seats[turf].iter().filter_map(|seat| seat.head.clone());
        met && !Verdict::of(job, turf, heads, &self.others(turf)).met()
    }

    /// Mends one turf area; whether anything was changed.
    pub fn mend_area(&mut self, job: &Job, turf: usize) -> bool {
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

    /// All heads, and what is told of them.
    pub fn finished(self, job: &Job) -> Mended {
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
