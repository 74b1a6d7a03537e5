//! What people call the things of a design, and what of it a person's hand holds.

use super::Design;
use std::collections::BTreeSet;

/// The numbers in the ids of a design's things, in the order of its vectors. Where a vector is empty they count from 1.
///
/// A design made from an earlier one keeps the numbers of what is the same, so that they may have gaps and be in any order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Ids {
    /// Heads.
    pub heads: Vec<usize>,
    /// Stations.
    pub stations: Vec<usize>,
    /// Nodes.
    pub nodes: Vec<usize>,
    /// Pipes; mains and laterals are counted apart.
    pub pipes: Vec<usize>,
    /// Trenches.
    pub trenches: Vec<usize>,
    /// Valves.
    pub valves: Vec<usize>,
    /// Drains.
    pub drains: Vec<usize>,
    /// Air valves.
    pub air_valves: Vec<usize>,
    /// Mark of the design that these numbers count on from.
    pub base: Option<String>,
}

impl Ids {
    /// The number of the thing at `index` in a list of numbers.
    pub fn number(numbers: &[usize], index: usize) -> usize {
        numbers.get(index).copied().unwrap_or(index + 1)
    }

    /// The id of a head by its index, e.g. `head-0012`.
    pub fn head(&self, head: usize) -> String {
        format!("head-{:04}", Self::number(&self.heads, head))
    }

    /// The id of a station by its index, e.g. `station-03`.
    pub fn station(&self, station: usize) -> String {
        format!("station-{:02}", Self::number(&self.stations, station))
    }
}

/// Things that a person pinned or changed: they stay as they are. Indices in the vectors of the design.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pins {
    /// Heads.
    pub heads: BTreeSet<usize>,
    /// Nodes.
    pub nodes: BTreeSet<usize>,
    /// Pipes.
    pub pipes: BTreeSet<usize>,
    /// Trenches.
    pub trenches: BTreeSet<usize>,
    /// Valves.
    pub valves: BTreeSet<usize>,
    /// Drains.
    pub drains: BTreeSet<usize>,
}

impl Pins {
    /// Whether nothing is pinned.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

impl Design {
    /// The number that people know a head by.
    pub fn head_number(&self, head: usize) -> usize {
        Ids::number(&self.ids.heads, head)
    }

    /// The number that people know a station by.
    pub fn station_number(&self, station: usize) -> usize {
        Ids::number(&self.ids.stations, station)
    }
}
