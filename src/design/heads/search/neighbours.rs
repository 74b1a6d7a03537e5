//! Who throws onto whom: heads by place, and for each by how many others it is reached.

use super::super::field::{BINS, Sweep, bin_of};
use crate::design::coverage::Tilt;
use geo::Coord;
use std::rc::Rc;

/// A head counts as reached out to this share of the other's throw; what the measure allows more stays in hand for what
/// nozzle and pressure take off the radius.
pub const REACH_SHARE: f64 = 1.02;
/// The same along the slope, where the throw is less sure anyway: all that the measure allows.
pub const REACH_SHARE_UPHILL: f64 = 1.05;
/// Others that must reach a head: head to head.
pub const REACHED_BY: i32 = 2;

/// A head as its neighbours see it.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Where it stands.
    pub at: Coord<f64>,
    /// How far it throws, m.
    pub radius_m: f64,
    /// Tilt of the ground it stands on: it throws less far uphill.
    pub tilt: Tilt,
    /// Its sector.
    pub sweep: Sweep,
    /// Free distance by bin, m, where walls are near.
    pub free_m: Option<Rc<[f32]>>,
    /// Slot of the search; `None` for a head of other turf.
    pub slot: Option<usize>,
    /// Heads that reach it.
    pub reached: i32,
}

impl Entry {
    /// Whether its water comes to a place. A bin beyond each stop counts: a neighbour along the edge is reached.
    pub fn reaches(&self, at: Coord<f64>) -> bool {
        let (dx, dy) = (at.x - self.at.x, at.y - self.at.y);
        let far = (dx * dx + dy * dy).sqrt();
        if far > REACH_SHARE * self.radius_m
            || far + self.tilt.rise(dx, dy) > REACH_SHARE_UPHILL * self.radius_m
        {
            return false;
        }
        let full = self.sweep.count >= BINS;
        if full && self.free_m.is_none() {
            return true;
        }
        let bin = bin_of(dx, dy);
        let inside = full || (bin + BINS + 1 - self.sweep.first) % BINS < self.sweep.count + 2;
        inside
            && self
                .free_m
                .as_ref()
                .is_none_or(|free| f64::from(free[bin]) >= far)
    }
}

/// A head in its bucket: its number, and where it stands.
#[derive(Debug, Clone, Copy)]
struct Spot {
    id: usize,
    at: Coord<f64>,
}

/// All heads of a piece, and those of other turf that reach it, by place.
#[derive(Clone)]
pub struct Neighbours {
    size_m: f64,
    corner: Coord<f64>,
    columns: i64,
    rows: i64,
    buckets: Vec<Vec<Spot>>,
    entries: Vec<Option<Entry>>,
    spare: Vec<usize>,
    longest_m: f64,
}

impl Neighbours {
    /// No heads yet, in buckets of `size_m` over the ground from `corner` to `far`; none throws over `longest_m`.
    pub fn new(corner: Coord<f64>, far: Coord<f64>, size_m: f64, longest_m: f64) -> Self {
        let size_m = size_m.max(0.5);
        let columns = ((far.x - corner.x) / size_m).ceil().max(1.0) as i64;
        let rows = ((far.y - corner.y) / size_m).ceil().max(1.0) as i64;
        Self {
            size_m,
            corner,
            columns,
            rows,
            buckets: vec![Vec::new(); (columns * rows) as usize],
            entries: Vec::new(),
            spare: Vec::new(),
            longest_m,
        }
    }

    fn bucket(&self, at: Coord<f64>) -> (i64, i64) {
        let cell = |v: f64, corner: f64, most: i64| {
            (((v - corner) / self.size_m).floor() as i64).clamp(0, most - 1)
        };
        (
            cell(at.x, self.corner.x, self.columns),
            cell(at.y, self.corner.y, self.rows),
        )
    }

    /// Heads within `reach_m` of a place.
    pub fn near(&self, at: Coord<f64>, reach_m: f64) -> impl Iterator<Item = (usize, &Entry)> {
        let far = Coord {
            x: reach_m,
            y: reach_m,
        };
        let (from, to) = (self.bucket(at - far), self.bucket(at + far));
        (from.1..=to.1)
            .flat_map(move |row| {
                (from.0..=to.0).map(move |column| (row * self.columns + column) as usize)
            })
            .flat_map(|bucket| self.buckets[bucket].iter())
            .filter(move |spot| {
                let (dx, dy) = (spot.at.x - at.x, spot.at.y - at.y);
                dx * dx + dy * dy <= reach_m * reach_m
            })
            .filter_map(|spot| self.entries[spot.id].as_ref().map(|entry| (spot.id, entry)))
    }

    /// By how many heads a place is reached.
    pub fn reached_at(&self, at: Coord<f64>) -> i32 {
        self.near(at, REACH_SHARE * self.longest_m)
            .filter(|(_, entry)| entry.reaches(at))
            .count() as i32
    }

    /// How many heads are wanting for head to head.
    pub fn missing(&self) -> i32 {
        let own = self
            .entries
            .iter()
            .flatten()
            .filter(|entry| entry.slot.is_some());
        own.map(|entry| (REACHED_BY - entry.reached).max(0)).sum()
    }

    /// A head.
    pub fn entry(&self, id: usize) -> Option<&Entry> {
        self.entries.get(id).and_then(Option::as_ref)
    }

    /// Puts a head in and counts it wherever it throws; returns its number.
    pub fn insert(&mut self, entry: Entry) -> usize {
        self.longest_m = self.longest_m.max(entry.radius_m);
        let entry = Entry {
            reached: self.reached_at(entry.at),
            ..entry
        };
        self.count(&entry, 1);
        let (column, row) = self.bucket(entry.at);
        let bucket = (row * self.columns + column) as usize;
        let id = self.spare.pop().unwrap_or_else(|| {
            self.entries.push(None);
            self.entries.len() - 1
        });
        self.buckets[bucket].push(Spot { id, at: entry.at });
        self.entries[id] = Some(entry);
        id
    }

    /// Takes a head out again.
    pub fn remove(&mut self, id: usize) {
        let Some(entry) = self.entries.get_mut(id).and_then(Option::take) else {
            return;
        };
        let (column, row) = self.bucket(entry.at);
        self.buckets[(row * self.columns + column) as usize].retain(|spot| spot.id != id);
        self.spare.push(id);
        self.count(&entry, -1);
    }

    fn count(&mut self, thrower: &Entry, by: i32) {
        let reached: Vec<usize> = self
            .near(thrower.at, REACH_SHARE * thrower.radius_m)
            .filter(|(_, other)| thrower.reaches(other.at))
            .map(|(id, _)| id)
            .collect();
        for id in reached {
            if let Some(entry) = &mut self.entries[id] {
                entry.reached += by;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(x: f64, y: f64, first: usize, count: usize) -> Entry {
        Entry {
            at: Coord { x, y },
            radius_m: 10.0,
            tilt: Tilt::default(),
            sweep: Sweep { first, count },
            free_m: None,
            slot: Some(0),
            reached: 0,
        }
    }

    #[test]
    fn counts_follow_heads_as_they_come_and_go() {
        let mut all = Neighbours::new(Coord { x: 0., y: 0. }, Coord { x: 50., y: 50. }, 10.0, 10.0);
        let west = all.insert(head(5.0, 5.0, 0, 90));
        let middle = all.insert(head(14.0, 5.0, 0, BINS));
        // Throws to the west only.
        let east = all.insert(head(23.0, 5.0, 90, 90));
        let reached = |all: &Neighbours, id| all.entry(id).unwrap().reached;
        assert_eq!(reached(&all, middle), 2);
        assert_eq!((reached(&all, west), reached(&all, east)), (1, 1));
        all.remove(east);
        assert_eq!(reached(&all, middle), 1);
        assert_eq!(all.reached_at(Coord { x: 14.0, y: 14.0 }), 1);
    }
}
