//! Joints: what meets at each node, section by section, seen in plan.

use crate::brief::PipeSize;
use crate::design::model::{Design, NodeKind, Pipe, Section, ValveKind};
use geo::{Coord, LineString};
use std::collections::BTreeMap;

/// Coils of at least this length are of pipe that bends, shorter lengths are stiff bars, m (common practice, no source).
pub const COIL_LEAST_M: f64 = 20.0;

/// Below these turns, degrees, no elbow is set: pipe from a coil is bent, bars give a little (common practice, no source).
const BENT_DEG: (f64, f64) = (30.0, 10.0);

/// One pipe end at a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arm {
    /// Pipe.
    pub pipe: usize,
    /// Whether the pipe starts here.
    pub starts: bool,
    /// Its size in the catalogue.
    pub size: usize,
    /// Direction away from the joint, in plan.
    pub direction: Coord<f64>,
}

/// Everything of one section that meets at one node.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Joint {
    /// Pipe ends.
    pub arms: Vec<Arm>,
    /// Whether a control valve, on either of its sides, is one more arm.
    pub at_valve: bool,
    /// Whether the point of connection is one more arm.
    pub at_source: bool,
    /// Threaded outlets: heads, drains, air valves.
    pub outlets: usize,
    /// Valves set into the pipe here, away from source and control valves.
    pub valves_in_pipe: usize,
}

impl Joint {
    /// Pipe ends, and one for a control valve or the point of connection.
    pub fn ways(&self) -> usize {
        self.arms.len() + usize::from(self.at_valve || self.at_source)
    }

    /// The widest pipe here.
    pub fn largest(&self) -> Option<usize> {
        self.arms.iter().map(|arm| arm.size).max()
    }

    /// Whether pipe may run through here uncut.
    pub fn is_uncut(&self, sizes: &[PipeSize]) -> bool {
        let [a, b] = self.arms.as_slice() else {
            return false;
        };
        let alone = self.ways() == 2 && self.valves_in_pipe == 0;
        let turn_deg = turn_deg(a.direction, b.direction);
        alone && a.size == b.size && Elbows::of(turn_deg, sizes.get(a.size)) == Elbows::default()
    }
}

/// Elbows that make one turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Elbows {
    /// Of 90°.
    pub quarter: u32,
    /// Of 45°.
    pub eighth: u32,
}

impl Elbows {
    /// Elbows for a turn in pipe of that size.
    pub fn of(turn_deg: f64, size: Option<&PipeSize>) -> Self {
        let coiled = size.is_none_or(|size| size.coil_m >= COIL_LEAST_M);
        let bent_deg = if coiled { BENT_DEG.0 } else { BENT_DEG.1 };
        if turn_deg.is_nan() || turn_deg < bent_deg {
            return Self::default();
        }
        let (quarter, eighth) = match (turn_deg / 45.0).round() as u32 {
            0 | 1 => (0, 1),
            2 => (1, 0),
            3 => (1, 1),
            _ => (2, 0),
        };
        Self { quarter, eighth }
    }
}

/// How far pipe that comes in against `a` must turn to leave along `b`, degrees, 0 to 180.
pub fn turn_deg(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let cross = a.x * b.y - a.y * b.x;
    let dot = a.x * b.x + a.y * b.y;
    180.0 - cross.abs().atan2(dot).to_degrees()
}

/// Turns at the inner points of a line: share of the plan length before each, and degrees.
pub fn inner_turns(line: &LineString<f64>) -> Vec<(f64, f64)> {
    let mut points = line.0.clone();
    points.dedup();
    let length = |pair: &[Coord<f64>]| (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y);
    let total: f64 = points.windows(2).map(length).sum();
    let mut before = 0.0;
    points
        .windows(3)
        .map(|three| {
            before += length(&three[..2]);
            (
                before / total,
                turn_deg(three[0] - three[1], three[2] - three[1]),
            )
        })
        .collect()
}

/// Every joint, by node and section.
pub fn of(design: &Design) -> BTreeMap<(usize, Section), Joint> {
    let mut joints: BTreeMap<(usize, Section), Joint> = BTreeMap::new();
    for (index, pipe) in design.pipes.iter().enumerate() {
        for starts in [true, false] {
            let node = if starts { pipe.from } else { pipe.to };
            let joint = joints.entry((node, pipe.section)).or_default();
            joint.arms.push(arm(index, pipe, starts));
        }
    }
    for ((node, section), joint) in &mut joints {
        let Some(node) = design.nodes.get(*node) else {
            continue;
        };
        joint.at_valve = node.kind == NodeKind::Valve;
        joint.at_source = node.kind == NodeKind::Source;
        joint.outlets = usize::from(node.head.is_some() && *section == node.section);
    }
    set_outlets_and_valves(design, &mut joints);
    joints
}

fn arm(index: usize, pipe: &Pipe, starts: bool) -> Arm {
    let mut points: Vec<Coord<f64>> = pipe.line.0.clone();
    if !starts {
        points.reverse();
    }
    let here = points.first().copied().unwrap_or_default();
    let next = points
        .iter()
        .find(|point| **point != here)
        .copied()
        .unwrap_or(here);
    Arm {
        pipe: index,
        starts,
        size: pipe.size,
        direction: next - here,
    }
}

fn set_outlets_and_valves(design: &Design, joints: &mut BTreeMap<(usize, Section), Joint>) {
    for drain in &design.drains {
        if let Some(joint) = joints.get_mut(&(drain.node, drain.section)) {
            joint.outlets += 1;
        }
    }
    for node in &design.air_valves {
        let mut here =
            joints.range_mut((*node, Section::Main)..=(*node, Section::Station(usize::MAX)));
        if let Some((_, joint)) = here.next() {
            joint.outlets += 1;
        }
    }
    for valve in design
        .valves
        .iter()
        .filter(|valve| valve.kind != ValveKind::Control)
    {
        let section = design
            .nodes
            .get(valve.node)
            .map_or(Section::Main, |node| node.section);
        if let Some(joint) = joints.get_mut(&(valve.node, section)) {
            // at source and control valve such valves screw together and need no connectors of their own
            joint.valves_in_pipe += usize::from(!joint.at_valve && !joint.at_source);
        }
    }
}
