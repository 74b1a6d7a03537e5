//! Loose ends of pipe: joined to what they nearly meet, unless a head, a valve or the water point says that they end there.

use super::joints::{AT_PLACE_M, Indexed, Joining, far_m};
use super::lines::{Lines, Nearest, PipeLine};
use crate::site::Parcel;
use geo::Coord;
use rstar::RTree;

/// Places where pipe rightly ends.
struct Ends(RTree<[f64; 2]>);

impl Ends {
    fn of(parcel: &Parcel) -> Self {
        let existing = &parcel.existing;
        let heads = existing.heads.iter().map(|head| head.position);
        let valves = existing.valves.iter().map(|valve| valve.position);
        let points = parcel.water_points.iter().map(|point| point.position);
        let all = heads.chain(valves).chain(points);
        Self(RTree::bulk_load(all.map(|at| [at.x, at.y]).collect()))
    }

    fn hold(&self, at: Coord<f64>) -> bool {
        let mut here = self
            .0
            .locate_within_distance([at.x, at.y], AT_PLACE_M * AT_PLACE_M);
        here.next().is_some()
    }
}

impl Joining<'_> {
    /// Loose ends are joined to the nearest joint of their part within the tolerance; ends that meet well stay as they are.
    pub(super) fn snap_loose(&mut self) {
        let joints = self.net.joints.iter().enumerate();
        let unnamed = joints.filter(|(_, joint)| joint.name.is_none());
        let unnamed = unnamed.map(|(index, joint)| Indexed::new([joint.at.x, joint.at.y], index));
        let tree: RTree<Indexed> = RTree::bulk_load(unnamed.collect());
        let snap_m = self.rules.existing_snap_m;
        let ends = Ends::of(self.parcel);
        let mut degrees = self.net.degrees();
        for joint in 0..degrees.len() {
            let here = &self.net.joints[joint];
            if degrees[joint] != 1 || here.name.is_some() || ends.hold(here.at) {
                continue;
            }
            let own = self.net.lines.iter();
            let mut own = own.filter(|line| line.from == joint || line.to == joint);
            let own_ends = own
                .next()
                .map(|line| [line.from, line.to])
                .unwrap_or_default();
            let near = tree.locate_within_distance([here.at.x, here.at.y], snap_m * snap_m);
            let near = near.map(|near| near.data).filter(|other| {
                let there = &self.net.joints[*other];
                degrees[*other] > 0
                    && !own_ends.contains(other)
                    && there.parts.iter().any(|part| here.suits(*part))
            });
            let far = |other: usize| far_m(self.net.joints[other].at, here.at);
            let nearest = near.min_by(|&a, &b| far(a).total_cmp(&far(b)).then(a.cmp(&b)));
            if let Some(other) = nearest {
                self.net.merge(other, joint);
                degrees[other] += 1;
                degrees[joint] = 0;
            }
        }
    }

    /// Loose ends that lie on another pipe of their part are tees.
    pub(super) fn tees(&mut self, lines: &mut Lines) {
        let degrees = self.net.degrees();
        let snap_m = self.rules.existing_snap_m;
        let ends = Ends::of(self.parcel);
        for (joint, degree) in degrees.into_iter().enumerate() {
            let here = &self.net.joints[joint];
            if degree != 1 || here.name.is_some() || ends.hold(here.at) {
                continue;
            }
            let here = &self.net.joints[joint];
            let own = |line: &PipeLine| line.from == joint || line.to == joint;
            let found = self.net.nearest(
                lines,
                here.at,
                snap_m,
                |line| !own(line) && here.suits(line.part),
                |_| false,
            );
            if let Some((_, Nearest::Along(line, at))) = found {
                let tee = self.net.cut(lines, line, at);
                self.net.merge(tee, joint);
            }
        }
    }
}
