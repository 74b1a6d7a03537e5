//! The part of a design that is bought and dug, where some of it lies in the ground already.

use super::joints::Joint;
use crate::design::model::{Design, HeadWork, Lying, Section};
use std::collections::BTreeMap;

/// Joints by node and section.
pub type Joints = BTreeMap<(usize, Section), Joint>;

/// What is left to do of a design.
pub struct ToLay {
    /// The design without what lies already. Heads that are only set or moved are in it, so that they are counted as work.
    pub design: Design,
    /// New place of each pipe of the whole design.
    pipes: Vec<Option<usize>>,
}

impl ToLay {
    /// What is left of a design that partly lies.
    pub fn of(design: &Design, lying: &Lying) -> Self {
        let mut left = design.clone();
        let trenches = numbered(&lying.trenches, design.trenches.len());
        let pipes = numbered(&lying.pipes, design.pipes.len());
        retain(&mut left.trenches, &trenches);
        retain(&mut left.pipes, &pipes);
        for pipe in &mut left.pipes {
            pipe.trenches = pipe.trenches.iter().filter_map(|t| trenches[*t]).collect();
        }
        retain(
            &mut left.valves,
            &numbered(&lying.valves, design.valves.len()),
        );
        retain(
            &mut left.drains,
            &numbered(&lying.drains, design.drains.len()),
        );
        retain(
            &mut left.air_valves,
            &numbered(&lying.air_valves, design.air_valves.len()),
        );
        let stays = |head: usize| lying.heads.get(head) == Some(&HeadWork::Kept);
        left.heads = (0..design.heads.len())
            .filter(|head| !stays(*head))
            .map(|head| design.heads[head].clone())
            .collect();
        // Heads that stay have the check valves that they have.
        left.check_valves.retain(|head| !stays(*head));
        Self {
            design: left,
            pipes,
        }
    }

    /// Joints at which something new is laid.
    pub fn fitted(&self, all: &Joints) -> Joints {
        let new = |joint: &Joint| joint.arms.iter().any(|arm| self.pipes[arm.pipe].is_some());
        let joints = all.iter().filter(|(_, joint)| new(joint));
        joints
            .map(|(place, joint)| (*place, joint.clone()))
            .collect()
    }

    /// Joints of new pipe alone, its pipes numbered as in what is left.
    pub fn run_through(&self, all: &Joints) -> Joints {
        let mut joints = Joints::new();
        for (place, joint) in all {
            let mut joint = joint.clone();
            let new = joint.arms.iter_mut().all(|arm| match self.pipes[arm.pipe] {
                Some(pipe) => {
                    arm.pipe = pipe;
                    true
                }
                None => false,
            });
            if new {
                joints.insert(*place, joint);
            }
        }
        joints
    }

    /// Flags of new pipes, out of flags of all.
    pub fn of_pipes(&self, all: &[bool]) -> Vec<bool> {
        let new = all
            .iter()
            .zip(&self.pipes)
            .filter(|(_, pipe)| pipe.is_some());
        new.map(|(flag, _)| *flag).collect()
    }
}

/// New places of what does not lie already.
fn numbered(lies: &[bool], count: usize) -> Vec<Option<usize>> {
    let mut next = 0;
    let place = |index: usize| {
        if lies.get(index) == Some(&true) {
            return None;
        }
        next += 1;
        Some(next - 1)
    };
    (0..count).map(place).collect()
}

fn retain<T>(things: &mut Vec<T>, places: &[Option<usize>]) {
    let mut index = 0;
    things.retain(|_| {
        index += 1;
        places[index - 1].is_some()
    });
}
