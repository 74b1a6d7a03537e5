//! Fittings by what meets at each node, and the elbows at bends between nodes.
//!
//! Couplings between coils are counted with the pipe.

use super::Job;
use super::joints::{Elbows, Joint, inner_turns, turn_deg};
use super::ledger::{Group, Ledger, Line};
use crate::design::model::Section;
use std::collections::BTreeMap;

/// A fitting's name and its place in the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fitting {
    /// Four ways.
    Cross,
    /// Three ways.
    Tee,
    /// A turn of a quarter.
    Elbow90,
    /// A turn of an eighth.
    Elbow45,
    /// Straight, joins two lengths.
    Coupling,
    /// From one size to another.
    Reducer,
    /// A threaded outlet clamped on uncut pipe.
    Saddle,
    /// A threaded outlet at the end of a pipe.
    EndOutlet,
    /// Closes a pipe.
    EndCap,
    /// From pipe to a valve's thread.
    ValveConnector,
    /// From pipe to the point of connection.
    SupplyConnector,
}

impl Fitting {
    /// Every fitting.
    pub const ALL: [Self; 11] = [
        Self::Cross,
        Self::Tee,
        Self::Elbow90,
        Self::Elbow45,
        Self::Coupling,
        Self::Reducer,
        Self::Saddle,
        Self::EndOutlet,
        Self::EndCap,
        Self::ValveConnector,
        Self::SupplyConnector,
    ];

    /// What it is called.
    pub fn word(self) -> &'static str {
        match self {
            Self::Cross => "cross",
            Self::Tee => "tee",
            Self::Elbow90 => "elbow 90°",
            Self::Elbow45 => "elbow 45°",
            Self::Coupling => "coupling",
            Self::Reducer => "reducer",
            Self::Saddle => "saddle with threaded outlet",
            Self::EndOutlet => "end elbow with threaded outlet",
            Self::EndCap => "end cap",
            Self::ValveConnector => "valve connector",
            Self::SupplyConnector => "supply connector",
        }
    }
}

/// Counts every fitting but couplings.
pub fn count(job: &Job, joints: &BTreeMap<(usize, Section), Joint>, ledger: &mut Ledger) {
    for joint in joints.values() {
        count_joint(job, joint, ledger);
    }
    for pipe in &job.design.pipes {
        for (_, turn_deg) in inner_turns(&pipe.line) {
            add_elbows(job, turn_deg, pipe.size, ledger);
        }
    }
}

/// Adds fittings of one size.
pub fn add(job: &Job, fitting: Fitting, size: usize, number: usize, ledger: &mut Ledger) {
    let (material, nominal) = named(job, size);
    let line = line(fitting, [size, 0], &material).sized(nominal);
    ledger.add(line, number as f64, job.prices.fitting);
}

fn add_reducer(job: &Job, wide: usize, narrow: usize, ledger: &mut Ledger) {
    let (material, wide_nominal) = named(job, wide);
    let (narrow_material, narrow_nominal) = named(job, narrow);
    let mut line = line(Fitting::Reducer, [wide, narrow], &material)
        .sized(format!("{wide_nominal} x {narrow_nominal}"));
    if narrow_material != material {
        line = line.onto(&narrow_material);
    }
    ledger.add(line, 1.0, job.prices.fitting);
}

fn line(fitting: Fitting, [wide, narrow]: [usize; 2], material: &str) -> Line {
    let item = format!("{material} {}", fitting.word());
    Line::new(
        Group::Fittings,
        [fitting as usize, wide, narrow],
        item,
        "each",
    )
}

/// Material and nominal size.
pub fn named(job: &Job, size: usize) -> (String, String) {
    job.catalogue.pipes.get(size).map_or_else(
        || ("pipe".to_owned(), "not in the catalogue".to_owned()),
        |pipe| (pipe.material.clone(), pipe.nominal.clone()),
    )
}

fn add_elbows(job: &Job, turn_deg: f64, size: usize, ledger: &mut Ledger) {
    let elbows = Elbows::of(turn_deg, job.catalogue.pipes.get(size));
    add(job, Fitting::Elbow90, size, elbows.quarter as usize, ledger);
    add(job, Fitting::Elbow45, size, elbows.eighth as usize, ledger);
}

fn count_joint(job: &Job, joint: &Joint, ledger: &mut Ledger) {
    let Some(largest) = joint.largest() else {
        return;
    };
    for narrow in joint
        .arms
        .iter()
        .map(|arm| arm.size)
        .filter(|size| *size < largest)
    {
        add_reducer(job, largest, narrow, ledger);
    }
    match joint.ways() {
        0 | 1 => {}
        2 => count_bend(job, joint, largest, ledger),
        3 => count_tee(job, joint, largest, ledger),
        ways => {
            add(job, Fitting::Cross, largest, 1, ledger);
            add(job, Fitting::Tee, largest, ways - 4, ledger);
        }
    }
    count_connectors(job, joint, largest, ledger);
    count_outlets(job, joint, largest, ledger);
}

fn count_bend(job: &Job, joint: &Joint, largest: usize, ledger: &mut Ledger) {
    if let [a, b] = joint.arms.as_slice() {
        add_elbows(job, turn_deg(a.direction, b.direction), largest, ledger);
    }
}

/// A tee, and elbows where its run is not straight or its branch not square.
fn count_tee(job: &Job, joint: &Joint, largest: usize, ledger: &mut Ledger) {
    add(job, Fitting::Tee, largest, 1, ledger);
    let arms = &joint.arms;
    let turn = |a: usize, b: usize| turn_deg(arms[a].direction, arms[b].direction);
    let pairs: &[[usize; 3]] = match arms.len() {
        3 => &[[0, 1, 2], [0, 2, 1], [1, 2, 0]],
        2 => return add_elbows(job, turn(0, 1), largest, ledger),
        _ => return,
    };
    let straightest = pairs
        .iter()
        .min_by(|p, q| turn(p[0], p[1]).total_cmp(&turn(q[0], q[1])));
    if let Some(&[a, b, branch]) = straightest {
        add_elbows(job, turn(a, b), largest, ledger);
        add_elbows(
            job,
            (turn(a, branch) - 90.0).abs(),
            arms[branch].size,
            ledger,
        );
    }
}

fn count_connectors(job: &Job, joint: &Joint, largest: usize, ledger: &mut Ledger) {
    let valves = usize::from(joint.at_valve) + 2 * joint.valves_in_pipe;
    add(job, Fitting::ValveConnector, largest, valves, ledger);
    add(
        job,
        Fitting::SupplyConnector,
        largest,
        usize::from(joint.at_source),
        ledger,
    );
}

/// The first outlet at a dead end closes it; others are clamped on.
fn count_outlets(job: &Job, joint: &Joint, largest: usize, ledger: &mut Ledger) {
    let dead_end = joint.ways() == 1 && !joint.at_valve && !joint.at_source;
    let closing = usize::from(dead_end && joint.outlets > 0);
    add(job, Fitting::EndOutlet, largest, closing, ledger);
    add(
        job,
        Fitting::Saddle,
        largest,
        joint.outlets - closing,
        ledger,
    );
    add(
        job,
        Fitting::EndCap,
        largest,
        usize::from(dead_end && joint.outlets == 0),
        ledger,
    );
}
