//! The net that a survey is drawn into: joints, and the lines of pipe between them.

use geo::{Closest, ClosestPoint, Coord, Distance, Euclidean, Line, LineString, Point};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::collections::BTreeSet;

/// What a pipe belongs to, as far as the survey says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Part {
    /// Nobody says.
    Unknown,
    /// The main.
    Main,
    /// A station, by its place among the stations' names.
    Station(usize),
}

impl Part {
    /// Whether two may hang together.
    pub(super) fn suits(self, other: Self) -> bool {
        self == other || self == Self::Unknown || other == Self::Unknown
    }
}

/// A place where pipes end, or a head or valve stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Joint {
    pub(super) at: Coord<f64>,
    /// Name in the survey.
    pub(super) name: Option<String>,
    /// Head of the survey that stands here.
    pub(super) head: Option<usize>,
    /// Control valve of the survey that stands here.
    pub(super) valve: Option<usize>,
    /// What its pipes belong to.
    pub(super) parts: BTreeSet<Part>,
}

impl Joint {
    pub(super) fn suits(&self, part: Part) -> bool {
        self.parts.is_empty() || self.parts.iter().any(|own| own.suits(part))
    }
}

/// A pipe, or a piece of one, between two joints.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PipeLine {
    /// Its place in the survey.
    pub(super) survey: usize,
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) line: LineString<f64>,
    pub(super) part: Part,
    /// Inverts at both ends, m.
    pub(super) invert_m: (Option<f64>, Option<f64>),
    /// Length along the slope as surveyed, m.
    pub(super) length_m: Option<f64>,
    pub(super) minor_k: Option<f64>,
}

/// The net.
#[derive(Debug, Clone, Default)]
pub(super) struct SurveyNet {
    pub(super) joints: Vec<Joint>,
    pub(super) lines: Vec<PipeLine>,
    /// Names of the stations, sorted.
    pub(super) stations: Vec<String>,
}

/// The nearest place of the net to something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Nearest {
    /// A joint.
    Joint(usize),
    /// A place along a line.
    Along(usize, Coord<f64>),
}

type Boxed = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// Where the lines of a net lie, for as long as none is added or cut.
pub(super) struct Lines {
    tree: RTree<Boxed>,
}

impl Lines {
    pub(super) fn of(net: &SurveyNet) -> Self {
        let boxed = |index: usize| boxed(net, index);
        Self {
            tree: RTree::bulk_load((0..net.lines.len()).map(boxed).collect()),
        }
    }

    /// Takes in a line that was added.
    pub(super) fn add(&mut self, net: &SurveyNet, index: usize) {
        self.tree.insert(boxed(net, index));
    }

    /// Lines whose box comes within a distance of a place, by rising index.
    pub(super) fn near(&self, at: Coord<f64>, reach_m: f64) -> Vec<usize> {
        let window = AABB::from_corners(
            [at.x - reach_m, at.y - reach_m],
            [at.x + reach_m, at.y + reach_m],
        );
        let found = self.tree.locate_in_envelope_intersecting(&window);
        let mut found: Vec<usize> = found.map(|boxed| boxed.data).collect();
        found.sort_unstable();
        found
    }
}

/// A line with its box. A line that was cut lies within its old box still.
fn boxed(net: &SurveyNet, index: usize) -> Boxed {
    let points = || net.lines[index].line.0.iter();
    let low = |c: fn(&Coord<f64>) -> f64| points().map(c).fold(f64::INFINITY, f64::min);
    let high = |c: fn(&Coord<f64>) -> f64| points().map(c).fold(f64::NEG_INFINITY, f64::max);
    let corners = ([low(|c| c.x), low(|c| c.y)], [high(|c| c.x), high(|c| c.y)]);
    Boxed::new(Rectangle::from_corners(corners.0, corners.1), index)
}

impl SurveyNet {
    /// Number of pipe ends at each joint.
    pub(super) fn degrees(&self) -> Vec<usize> {
        let mut degrees = vec![0; self.joints.len()];
        for line in &self.lines {
            degrees[line.from] += 1;
            degrees[line.to] += 1;
        }
        degrees
    }

    /// Each joint's connected piece, by the lowest joint in it.
    pub(super) fn pieces(&self) -> Vec<usize> {
        let mut up: Vec<usize> = (0..self.joints.len()).collect();
        fn root(up: &mut [usize], mut at: usize) -> usize {
            while up[at] != at {
                up[at] = up[up[at]];
                at = up[at];
            }
            at
        }
        for line in &self.lines {
            let (a, b) = (root(&mut up, line.from), root(&mut up, line.to));
            up[a.max(b)] = a.min(b);
        }
        (0..self.joints.len())
            .map(|joint| root(&mut up, joint))
            .collect()
    }

    /// The nearest joint or place along a line that `fits`, within a distance. A joint goes before its own line.
    pub(super) fn nearest(
        &self,
        lines: &Lines,
        at: Coord<f64>,
        reach_m: f64,
        fits: impl Fn(&PipeLine) -> bool,
        joint_fits: impl Fn(usize) -> bool,
    ) -> Option<(f64, Nearest)> {
        let mut best: Option<(f64, Nearest)> = None;
        let mut offer = |far_m: f64, place: Nearest| {
            if far_m <= reach_m && best.is_none_or(|(known_m, _)| far_m < known_m - 1e-9) {
                best = Some((far_m, place));
            }
        };
        for index in lines.near(at, reach_m) {
            let line = &self.lines[index];
            if !fits(line) {
                continue;
            }
            for joint in [line.from, line.to] {
                let off = self.joints[joint].at - at;
                if joint_fits(joint) {
                    offer(off.x.hypot(off.y), Nearest::Joint(joint));
                }
            }
            if let Some(on) = closest_on(&line.line, at) {
                offer(
                    Euclidean.distance(Point(on), Point(at)),
                    Nearest::Along(index, on),
                );
            }
        }
        best
    }

    /// The nearest joint of a line that `fits`, within a distance.
    pub(super) fn nearest_joint(
        &self,
        lines: &Lines,
        at: Coord<f64>,
        reach_m: f64,
        fits: impl Fn(&PipeLine) -> bool,
        joint_fits: impl Fn(usize) -> bool,
    ) -> Option<(f64, usize)> {
        let near = lines.near(at, reach_m);
        let near = near.into_iter().map(|line| &self.lines[line]);
        let joints = near
            .filter(|line| fits(line))
            .flat_map(|line| [line.from, line.to]);
        let far = |joint: usize| {
            let off = self.joints[joint].at - at;
            (off.x.hypot(off.y), joint)
        };
        let joints = joints.filter(|joint| joint_fits(*joint)).map(far);
        let within = joints.filter(|(far_m, _)| *far_m <= reach_m);
        within.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
    }

    /// A joint at a place along a line, which is cut there.
    pub(super) fn cut(&mut self, lines: &mut Lines, index: usize, at: Coord<f64>) -> usize {
        let joint = self.joints.len();
        let line = self.lines[index].clone();
        self.joints.push(Joint {
            at,
            parts: BTreeSet::from([line.part]),
            ..Joint::default()
        });
        let (before, after) = parted(&line.line, at);
        let (before_m, after_m) = (plan_m(&before), plan_m(&after));
        let share = before_m / (before_m + after_m).max(1e-9);
        let invert_m = match line.invert_m {
            (Some(from_m), Some(to_m)) => Some(from_m + (to_m - from_m) * share),
            _ => None,
        };
        self.lines[index] = PipeLine {
            to: joint,
            line: before,
            invert_m: (line.invert_m.0, invert_m),
            length_m: line.length_m.map(|m| m * share),
            minor_k: None,
            ..line.clone()
        };
        self.lines.push(PipeLine {
            from: joint,
            line: after,
            invert_m: (invert_m, line.invert_m.1),
            length_m: line.length_m.map(|m| m * (1.0 - share)),
            minor_k: None,
            ..line
        });
        lines.add(self, self.lines.len() - 1);
        joint
    }

    /// Puts the second joint into the first.
    pub(super) fn merge(&mut self, kept: usize, gone: usize) {
        for line in &mut self.lines {
            for end in [&mut line.from, &mut line.to] {
                if *end == gone {
                    *end = kept;
                }
            }
        }
        let gone = std::mem::take(&mut self.joints[gone]);
        let joint = &mut self.joints[kept];
        joint.head = joint.head.or(gone.head);
        joint.valve = joint.valve.or(gone.valve);
        joint.parts.extend(gone.parts);
    }
}

fn closest_on(line: &LineString<f64>, at: Coord<f64>) -> Option<Coord<f64>> {
    match line.closest_point(&Point(at)) {
        Closest::SinglePoint(point) | Closest::Intersection(point) => Some(point.0),
        Closest::Indeterminate => None,
    }
}

/// Length in plan, m.
pub(super) fn plan_m(line: &LineString<f64>) -> f64 {
    let pieces = line.0.windows(2);
    pieces
        .map(|pair| (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y))
        .sum()
}

/// A line in two at a place on it.
fn parted(line: &LineString<f64>, at: Coord<f64>) -> (LineString<f64>, LineString<f64>) {
    let far = |pair: &[Coord<f64>]| Euclidean.distance(&Point(at), &Line::new(pair[0], pair[1]));
    let pieces = line.0.windows(2).enumerate();
    let nearest = pieces
        .min_by(|a, b| far(a.1).total_cmp(&far(b.1)))
        .map_or(0, |piece| piece.0);
    let mut before = line.0[..=nearest].to_vec();
    before.push(at);
    let mut after = vec![at];
    after.extend_from_slice(&line.0[nearest + 1..]);
    (LineString::new(before), LineString::new(after))
}
