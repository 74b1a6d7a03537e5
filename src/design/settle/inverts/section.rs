//! One valved section as the drainage room wants it: its nodes with the cover each may have, and its pipes.

use crate::brief::{Catalogue, Rules};
use crate::design::drainage::{Branch, LevelNode, LevelPipe};
use crate::design::model::{Node, NodeKind, Pipe, Section};
use crate::design::pipework::Pipework;
use crate::site::Terrain;

/// Spacing of the ground samples that tell how far the ground departs from straight pipe, m.
const SAMPLE_M: f64 = 1.0;

/// One section as the drainage room wants it: its own node numbers, and ours for each.
pub(in crate::design) struct SectionLevels {
    pub(in crate::design) ours: Vec<usize>,
    pub(in crate::design) nodes: Vec<LevelNode>,
    /// Cover each node may have before the ground between nodes is looked at, m.
    ranges: Vec<(f64, f64)>,
    pub(in crate::design) pipes: Vec<LevelPipe>,
}

impl SectionLevels {
    pub(in crate::design) fn of(
        work: &Pipework,
        section: Section,
        terrain: &Terrain,
        catalogue: &Catalogue,
        rules: &Rules,
    ) -> Self {
        let mut levels = Self {
            ours: Vec::new(),
            nodes: Vec::new(),
            ranges: Vec::new(),
            pipes: Vec::new(),
        };
        let mut theirs = vec![usize::MAX; work.nodes.len()];
        let place = |node: usize, levels: &mut Self, theirs: &mut Vec<usize>| {
            if theirs[node] == usize::MAX {
                theirs[node] = levels.nodes.len();
                levels.ours.push(node);
                let node = &work.nodes[node];
                let range = cover_range(node, section, terrain, rules);
                levels
                    .nodes
                    .push(level_node(laying_m(node, terrain), range));
                levels.ranges.push(range);
            }
        };
        if let Some(first) = first_node(work, section) {
            place(first, &mut levels, &mut theirs);
        }
        for pipe in work.pipes.iter().filter(|pipe| pipe.section == section) {
            for node in [pipe.from, pipe.to] {
                place(node, &mut levels, &mut theirs);
            }
            let bore_area_m2 = catalogue.pipes.get(pipe.size).map_or(0.0, |size| {
                std::f64::consts::PI * (size.inside_mm / 1000.0).powi(2) / 4.0
            });
            levels.pipes.push(LevelPipe {
                from: theirs[pipe.from],
                to: theirs[pipe.to],
                length_m: plan_m(pipe),
                bore_area_m2,
            });
            let (below_m, above_m) = departures_m(pipe, work, terrain);
            for node in [theirs[pipe.from], theirs[pipe.to]] {
                levels.narrow(node, below_m, above_m);
            }
        }
        levels
    }

    /// These levels as a branch of the main's; at no node of it where the main does not come to the valve.
    pub(in crate::design) fn behind(&self, main: &Self) -> Branch<'_> {
        let valve = self.ours.first();
        let at = main.ours.iter().position(|node| Some(node) == valve);
        Branch {
            at: at.unwrap_or(usize::MAX),
            nodes: &self.nodes,
            pipes: &self.pipes,
        }
    }

    /// Keeps the cover along a pipe in range by narrowing the range at its ends.
    fn narrow(&mut self, node: usize, below_m: f64, above_m: f64) {
        let (least_m, most_m) = self.ranges[node];
        let middle_m = (least_m + most_m) / 2.0;
        let level = &mut self.nodes[node];
        level.cover_min_m = level.cover_min_m.max((least_m + below_m).min(middle_m));
        level.cover_max_m = level.cover_max_m.min((most_m - above_m).max(middle_m));
    }
}

/// The source of the main, the valve of a station.
fn first_node(work: &Pipework, section: Section) -> Option<usize> {
    let mut pipes = work.pipes.iter().filter(|pipe| pipe.section == section);
    let kind = match section {
        Section::Main => NodeKind::Source,
        Section::Station(_) => NodeKind::Valve,
    };
    pipes.find_map(|pipe| {
        let mut ends = [pipe.from, pipe.to].into_iter();
        ends.find(|node| work.nodes[*node].kind == kind)
    })
}

/// Height of the ground that a node is laid by, m.
pub(in crate::design) fn laying_m(node: &Node, terrain: &Terrain) -> f64 {
    terrain
        .laying_height_m(node.position)
        .unwrap_or(node.ground_m)
}

fn level_node(ground_m: f64, (cover_min_m, cover_max_m): (f64, f64)) -> LevelNode {
    LevelNode {
        ground_m,
        cover_min_m,
        cover_max_m,
        fixed_invert_m: None,
    }
}

/// A valve lies where both its main and its laterals may. Where noise is left in the ground, the least cover is more by
/// twice its standard deviation, so that one place in forty has less than was asked.
fn cover_range(node: &Node, section: Section, terrain: &Terrain, rules: &Rules) -> (f64, f64) {
    let (least_m, most_m) = match section {
        Section::Main if node.kind == NodeKind::Valve => (
            rules.main_cover_min_m,
            rules
                .main_cover_max_m
                .min(rules.lateral_cover_max_m.max(rules.main_cover_min_m)),
        ),
        Section::Main => (rules.main_cover_min_m, rules.main_cover_max_m),
        Section::Station(_) => (rules.lateral_cover_min_m, rules.lateral_cover_max_m),
    };
    let middle_m = f64::midpoint(least_m, most_m);
    (
        (least_m + 2.0 * terrain.laying_noise_m()).min(middle_m),
        most_m,
    )
}

pub(in crate::design) fn plan_m(pipe: &Pipe) -> f64 {
    pipe.line
        .0
        .windows(2)
        .map(|pair| (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y))
        .sum()
}

/// How far the ground lies below and above the straight line between the ground at a pipe's ends, m.
fn departures_m(pipe: &Pipe, work: &Pipework, terrain: &Terrain) -> (f64, f64) {
    let (from, to) = (&work.nodes[pipe.from], &work.nodes[pipe.to]);
    let steps = (plan_m(pipe) / SAMPLE_M).ceil() as usize;
    let (from_m, to_m) = (laying_m(from, terrain), laying_m(to, terrain));
    let mut range = (0.0f64, 0.0f64);
    for i in 1..steps {
        let share = i as f64 / steps as f64;
        let Some(ground_m) =
            terrain.laying_height_m(from.position + (to.position - from.position) * share)
        else {
            continue;
        };
        let off_m = ground_m - (from_m + (to_m - from_m) * share);
        range = (range.0.max(-off_m), range.1.max(off_m));
    }
    range
}
