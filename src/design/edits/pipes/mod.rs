//! Pipes, trenches, nodes, valves and drains as a person left them, held against those of the design without edits.

mod lines;
mod match_up;
mod points;
mod shifts;

use super::places::Places;
use crate::brief::Project;
use crate::design::model::{Design, Pins};
use crate::design::trenches::surfaces::Surfaces;
use crate::design::works::Works;
use crate::design::works::relay::{Fixed, Origin, Shifts};
use crate::finding::Finding;
use crate::site::{Edits, Parcel};
use geo::Coord;
use std::collections::{BTreeMap, BTreeSet};

/// What a person's hand makes of the pipework.
#[derive(Debug, Clone, Default)]
pub(super) struct AskedPipes {
    /// The works of the design, with the sizes and drains that were set by hand.
    pub(super) works: Works,
    /// What of them must stay.
    pub(super) fixed: Fixed,
    /// What of them is to lie elsewhere.
    pub(super) shifts: Shifts,
    /// What of them is pinned, by index in the design.
    pub(super) pins: Pins,
    pub(super) findings: Vec<Finding>,
    /// Whether a size was set or a drain moved.
    resized: bool,
}

impl AskedPipes {
    /// Whether anything is not as the design has it.
    pub(super) fn changes_any(&self) -> bool {
        self.resized || !self.shifts.is_empty()
    }

    /// What is pinned, in the works that came of it.
    pub(super) fn pins_after(&self, origin: &Origin) -> Pins {
        let after = |pinned: &BTreeSet<usize>, from: &[Option<usize>]| {
            let held = |index: &usize| from[*index].is_some_and(|old| pinned.contains(&old));
            (0..from.len()).filter(held).collect()
        };
        Pins {
            heads: BTreeSet::new(),
            nodes: after(&self.pins.nodes, &origin.nodes),
            pipes: after(&self.pins.pipes, &origin.pipes),
            trenches: after(&self.pins.trenches, &origin.trenches),
            valves: after(&self.pins.valves, &origin.valves),
            drains: after(&self.pins.drains, &origin.drains),
        }
    }
}

/// Makes the edits to pipework: all is fixed that a person pinned or changed.
pub(super) fn ask(
    edits: &Edits,
    base: &Design,
    (parcel, surfaces, project): (&Parcel, &Surfaces, &Project),
    belongs: bool,
) -> AskedPipes {
    let mut asking = Asking {
        edits,
        base,
        surfaces,
        project,
        belongs,
        places: Places::of(parcel),
        wanted: BTreeMap::new(),
        courses: BTreeMap::new(),
        unmatched: BTreeMap::new(),
        asked: AskedPipes {
            works: Works::of(base),
            ..AskedPipes::default()
        },
    };
    asking.points();
    asking.lines();
    asking.shift();
    asking.tell_unmatched();
    asking.tell_deleted();
    asking.asked
}

struct Asking<'a> {
    edits: &'a Edits,
    base: &'a Design,
    surfaces: &'a Surfaces,
    project: &'a Project,
    belongs: bool,
    places: Places<'a>,
    /// Where nodes are to stand, with the id of what says so.
    wanted: BTreeMap<usize, (Coord<f64>, String)>,
    /// Other courses of pipes, with their ids.
    courses: BTreeMap<usize, (geo::LineString<f64>, String)>,
    /// Ids of what is in the layers and not in the design: by kind, and whether it is pinned.
    unmatched: BTreeMap<(&'static str, bool), Vec<String>>,
    asked: AskedPipes,
}

impl Asking<'_> {
    fn tell(&mut self, finding: Finding, id: &str, at: Coord<f64>) {
        let finding = finding.in_file(&self.edits.file).of(id).at(at);
        self.asked.findings.push(finding);
    }
}
