//! Ids: every feature of a parcel gets one, and no two are the same in any of its layers.
//!
//! Turf and obstacles keep the id they came with; only where it clashes they get a suffix.

use crate::design::model::{Design, Ids, Section};
use crate::site::Parcel;
use std::collections::BTreeSet;

/// Id of the parcel's own feature.
pub(crate) const PARCEL: &str = "parcel";

/// The ids of one parcel's features, in the order of the vectors they name.
#[derive(Debug, Default)]
pub(crate) struct Names {
    pub(crate) turf: Vec<String>,
    pub(crate) obstacles: Vec<String>,
    pub(crate) heads: Vec<String>,
    pub(crate) throws: Vec<String>,
    pub(crate) nodes: Vec<String>,
    pub(crate) pipes: Vec<String>,
    pub(crate) trenches: Vec<String>,
    pub(crate) valves: Vec<String>,
    pub(crate) drains: Vec<String>,
    pub(crate) air_valves: Vec<String>,
    pub(crate) stations: Vec<String>,
    pub(crate) coverage: Vec<String>,
    pub(crate) attention: Vec<String>,
}

impl Names {
    /// Ids for all features of a parcel with `findings` places of attention.
    pub(crate) fn new(parcel: &Parcel, design: &Design, findings: usize) -> Self {
        let ids = &design.ids;
        let mut names = Self {
            heads: numbered("head", 4, design.heads.len(), &ids.heads),
            throws: numbered("throw", 4, design.throws.len(), &ids.heads),
            nodes: numbered("node", 4, design.nodes.len(), &ids.nodes),
            pipes: pipe_names(design),
            trenches: numbered("trench", 3, design.trenches.len(), &ids.trenches),
            valves: numbered("valve", 2, design.valves.len(), &ids.valves),
            drains: numbered("drain", 2, design.drains.len(), &ids.drains),
            air_valves: numbered("air", 2, design.air_valves.len(), &ids.air_valves),
            stations: numbered("station", 2, design.stations.len(), &ids.stations),
            coverage: numbered("coverage", 1, design.coverage.len(), &[]),
            attention: numbered("attention", 1, findings, &[]),
            ..Self::default()
        };
        let mut taken = names.made();
        names.turf = kept(
            parcel.turf.iter().map(|t| t.id.as_str()),
            "turf",
            &mut taken,
        );
        let obstacles = parcel.obstacles.iter().map(|o| o.id.as_str());
        names.obstacles = kept(obstacles, "obstacle", &mut taken);
        names
    }

    /// The ids made here, which ids from outside must not repeat.
    fn made(&self) -> BTreeSet<String> {
        [
            &self.heads,
            &self.throws,
            &self.nodes,
            &self.pipes,
            &self.trenches,
            &self.valves,
            &self.drains,
            &self.air_valves,
            &self.stations,
            &self.coverage,
            &self.attention,
        ]
        .into_iter()
        .flatten()
        .cloned()
        .chain([PARCEL.to_string()])
        .collect()
    }

    /// The word for a section: `main`, or the id of its station.
    pub(crate) fn section(&self, section: Section) -> String {
        self.station(section).unwrap_or_else(|| "main".to_string())
    }

    /// The id of a section's station; `None` on the main.
    pub(crate) fn station(&self, section: Section) -> Option<String> {
        match section {
            Section::Main => None,
            Section::Station(station) => self.stations.get(station).cloned(),
        }
    }
}

/// Ids by their numbers.
fn numbered(word: &str, digits: usize, count: usize, numbers: &[usize]) -> Vec<String> {
    (0..count)
        .map(|index| format!("{word}-{:0digits$}", Ids::number(numbers, index)))
        .collect()
}

/// Mains and laterals are counted apart.
fn pipe_names(design: &Design) -> Vec<String> {
    let (mut mains, mut laterals) = (0, 0);
    let given = |index: usize, counted: usize| {
        let number = design.ids.pipes.get(index);
        number.copied().unwrap_or(counted)
    };
    let name = |(index, section)| match section {
        Section::Main => {
            mains += 1;
            format!("main-{:03}", given(index, mains))
        }
        Section::Station(_) => {
            laterals += 1;
            format!("lateral-{:04}", given(index, laterals))
        }
    };
    let sections = design.pipes.iter().map(|pipe| pipe.section);
    sections.enumerate().map(name).collect()
}

/// The ids as they came, with a suffix where one is taken; `taken` grows by them.
fn kept<'a>(
    ids: impl Iterator<Item = &'a str>,
    suffix: &str,
    taken: &mut BTreeSet<String>,
) -> Vec<String> {
    ids.map(|id| {
        let free = free_name(id, suffix, taken);
        taken.insert(free.clone());
        free
    })
    .collect()
}

fn free_name(id: &str, suffix: &str, taken: &BTreeSet<String>) -> String {
    let mut name = id.to_string();
    let mut number = 1;
    while taken.contains(&name) {
        name = match number {
            1 => format!("{id}-{suffix}"),
            _ => format!("{id}-{suffix}-{number}"),
        };
        number += 1;
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_kept_unless_it_is_taken() {
        let mut taken = BTreeSet::from([PARCEL.to_string(), "head-0001".to_string()]);
        let ids = ["A", "parcel", "head-0001", "A", "A-turf"];
        let out = kept(ids.into_iter(), "turf", &mut taken);
        assert_eq!(
            out,
            [
                "A",
                "parcel-turf",
                "head-0001-turf",
                "A-turf",
                "A-turf-turf"
            ]
        );
        assert_eq!(taken.len(), 2 + 5);
    }
}
