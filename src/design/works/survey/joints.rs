//! Joins what lies together: ends of pipe by their names or by where they are, heads and valves to the pipe they stand on.

use super::goods::{Goods, of};
use super::lines::{Joint, Lines, Part, PipeLine, SurveyNet};
use crate::brief::Rules;
use crate::finding::Finding;
use crate::site::Parcel;
use crate::site::existing::{ExistingPipe, ExistingValveKind, Surveyed};
use geo::Coord;
use rstar::RTree;
use rstar::primitives::GeomWithData;
use std::collections::{BTreeMap, BTreeSet};

/// The net of a survey, heads and control valves in place.
pub(super) fn join(
    parcel: &Parcel,
    goods: &Goods,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) -> SurveyNet {
    let mut joining = Joining {
        parcel,
        rules,
        findings,
        named: BTreeMap::new(),
        net: SurveyNet {
            stations: station_names(parcel),
            ..SurveyNet::default()
        },
    };
    let pipes = joining.without_doubles();
    joining.join_ends(&pipes);
    joining.snap_loose();
    let mut lines = Lines::of(&joining.net);
    joining.tees(&mut lines);
    joining.set_valves(&mut lines);
    joining.join_without_valve(&mut lines);
    joining.set_heads(&mut lines, goods);
    joining.net
}

/// Every station that a pipe, a head or a control valve names, and every control valve that names none.
fn station_names(parcel: &Parcel) -> Vec<String> {
    let existing = &parcel.existing;
    let pipes = existing
        .pipes
        .iter()
        .filter_map(|pipe| pipe.station.clone());
    let valves = existing.valves.iter();
    let valves = valves
        .filter(|valve| valve.kind == ExistingValveKind::Control)
        .map(|valve| {
            valve
                .station
                .clone()
                .unwrap_or_else(|| valve.from.id.clone())
        });
    let names: BTreeSet<String> = pipes.chain(valves).collect();
    names.into_iter().collect()
}

pub(super) struct Joining<'a> {
    pub(super) parcel: &'a Parcel,
    pub(super) rules: &'a Rules,
    pub(super) findings: &'a mut Vec<Finding>,
    pub(super) named: BTreeMap<String, usize>,
    pub(super) net: SurveyNet,
}

/// Ends no farther apart than this meet, m.
pub(super) const AT_PLACE_M: f64 = 0.01;

pub(super) type Indexed = GeomWithData<[f64; 2], usize>;

pub(super) fn far_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

impl Joining<'_> {
    /// What something of a station belongs to.
    pub(super) fn part_of(&self, station: Option<&str>, is_main: Option<bool>) -> Part {
        let known = station.and_then(|name| {
            let stations = &self.net.stations;
            stations
                .binary_search_by(|known| known.as_str().cmp(name))
                .ok()
        });
        match (known, is_main) {
            (_, Some(true)) => Part::Main,
            (Some(station), _) => Part::Station(station),
            (None, _) => Part::Unknown,
        }
    }

    fn part(&self, pipe: &ExistingPipe) -> Part {
        self.part_of(pipe.station.as_deref(), pipe.is_main)
    }

    /// Pipes drawn once: a second one between the same places, of the same part, is told and left out.
    fn without_doubles(&mut self) -> Vec<usize> {
        let pipes = &self.parcel.existing.pipes;
        let snap_m = self.rules.existing_snap_m;
        let mut seen: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
        let mut kept = Vec::new();
        for (index, pipe) in pipes.iter().enumerate() {
            let (a, b) = (pipe.line.0[0], pipe.line.0[pipe.line.0.len() - 1]);
            let middle = (a + b) / 2.0;
            let cell = |value: f64| (value / snap_m).round() as i64;
            let (column, row) = (cell(middle.x), cell(middle.y));
            let beside = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (column + i, row + j)));
            let twin = beside
                .filter_map(|cell| seen.get(&cell))
                .flatten()
                .copied()
                .find(|&other| {
                    let line = &pipes[other].line.0;
                    let (c, d) = (line[0], line[line.len() - 1]);
                    let same = |a, b| far_m(a, b) <= snap_m;
                    let length_m = super::lines::plan_m(&pipe.line);
                    let as_long =
                        (length_m - super::lines::plan_m(&pipes[other].line)).abs() <= snap_m;
                    let one_way = same(a, c) && same(b, d);
                    let named = pipe.nodes.0.is_some() && pipe.nodes != pipes[other].nodes;
                    self.part(pipe) == self.part(&pipes[other])
                        && as_long
                        && !(named && length_m <= snap_m)
                        && (one_way || same(a, d) && same(b, c))
                });
            match twin {
                Some(twin) => {
                    let message = format!(
                        "lies where {} lies and is left out: draw each pipe once, or name the stations of two in one trench.",
                        pipes[twin].from.id
                    );
                    let finding = of(Finding::warning("existing_pipe_twice", message), &pipe.from);
                    self.findings.push(finding.at(middle));
                }
                None => {
                    seen.entry((column, row)).or_default().push(index);
                    kept.push(index);
                }
            }
        }
        kept
    }

    fn join_ends(&mut self, pipes: &[usize]) {
        let mut tree: RTree<Indexed> = RTree::new();
        for &index in pipes {
            let pipe = &self.parcel.existing.pipes[index];
            let part = self.part(pipe);
            let (first, last) = (pipe.line.0[0], pipe.line.0[pipe.line.0.len() - 1]);
            let from = self.end(
                &mut tree,
                first,
                pipe.nodes.0.as_deref(),
                part,
                None,
                &pipe.from,
            );
            let to = self.end(
                &mut tree,
                last,
                pipe.nodes.1.as_deref(),
                part,
                Some(from),
                &pipe.from,
            );
            if from == to {
                let message = "begins and ends at one place, and is left out.";
                self.findings
                    .push(of(Finding::note("existing_pipe_short", message), &pipe.from).at(first));
                continue;
            }
            self.net.lines.push(PipeLine {
                survey: index,
                from,
                to,
                line: pipe.line.clone(),
                part,
                invert_m: pipe.invert_m,
                length_m: pipe.length_m,
                minor_k: pipe.minor_k,
            });
        }
    }

    /// The joint of a pipe's end: the one of its name, else the nearest of its part at its place, else a new one.
    fn end(
        &mut self,
        tree: &mut RTree<Indexed>,
        at: Coord<f64>,
        name: Option<&str>,
        part: Part,
        not: Option<usize>,
        from: &Surveyed,
    ) -> usize {
        let snap_m = self.rules.existing_snap_m;
        let known = match name {
            Some(name) => self.named.get(name).copied(),
            None => {
                let here = tree.locate_within_distance([at.x, at.y], AT_PLACE_M * AT_PLACE_M);
                let near = here.map(|near| near.data);
                let near =
                    near.filter(|&joint| Some(joint) != not && self.net.joints[joint].suits(part));
                near.min_by(|&a, &b| {
                    let far = |joint: usize| far_m(self.net.joints[joint].at, at);
                    far(a).total_cmp(&far(b)).then(a.cmp(&b))
                })
            }
        };
        if let Some(joint) = known {
            let gap_m = far_m(self.net.joints[joint].at, at);
            if gap_m > snap_m {
                let there = self.net.joints[joint].at;
                let message = format!(
                    "there is a gap of {gap_m:.2} m between its end and the rest of node {}; it is reckoned as joined. Look whether it is on the ground.",
                    name.unwrap_or_default()
                );
                let finding = of(Finding::warning("existing_gap", message), from);
                self.findings.push(finding.at((there + at) / 2.0));
            }
            self.net.joints[joint].parts.insert(part);
            return joint;
        }
        let joint = self.net.joints.len();
        self.net.joints.push(Joint {
            at,
            name: name.map(str::to_owned),
            parts: BTreeSet::from([part]),
            ..Joint::default()
        });
        match name {
            Some(name) => {
                self.named.insert(name.to_owned(), joint);
            }
            // What has a name is joined by it alone.
            None => tree.insert(Indexed::new([at.x, at.y], joint)),
        }
        joint
    }
}
