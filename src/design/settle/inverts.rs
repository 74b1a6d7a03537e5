//! Inverts of main and laterals: each section is graded for itself; a valve's node is fixed by the main before its laterals.

use crate::brief::{Catalogue, Rules};
use crate::design::drainage::{DrainPoint, GradeRules, Grading, LevelNode, LevelPipe, grade};
use crate::design::model::{Drain, DrainKind, Node, NodeKind, Pipe, Section};
use crate::design::pipework::Pipework;
use crate::site::Terrain;

/// Step of the grid of elevations inverts are searched on, m.
const STEP_M: f64 = 0.002;
/// Spacing of the ground samples that tell how far the ground departs from straight pipe, m.
const SAMPLE_M: f64 = 1.0;

/// What grading leaves beside the inverts, which are set on the nodes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Graded {
    /// Drains of every section.
    pub drains: Vec<Drain>,
    /// Summits of the main.
    pub air_valves: Vec<usize>,
    /// Pipes that could not keep the grade.
    pub relaxed: usize,
}

/// One section as the drainage room wants it: its own node numbers, and ours for each.
struct SectionLevels {
    ours: Vec<usize>,
    nodes: Vec<LevelNode>,
    /// Cover each node may have before the ground between nodes is looked at, m.
    ranges: Vec<(f64, f64)>,
    pipes: Vec<LevelPipe>,
}

/// Grades every section, sets inverts, slope lengths and trench covers, and says where water stands and air gathers.
pub fn grade_sections(
    work: &mut Pipework,
    stations: usize,
    terrain: &Terrain,
    catalogue: &Catalogue,
    rules: &Rules,
) -> Graded {
    let mut graded = Graded::default();
    let sections = std::iter::once(Section::Main).chain((0..stations).map(Section::Station));
    for section in sections {
        let levels = SectionLevels::of(work, section, terrain, catalogue, rules);
        if levels.nodes.is_empty() {
            continue;
        }
        let result = grade(&levels.nodes, &levels.pipes, &grade_rules(rules));
        for (node, invert_m) in levels.ours.iter().zip(&result.invert_m) {
            work.nodes[*node].invert_m = *invert_m;
        }
        graded.take(section, &levels, &result);
    }
    set_lengths(work);
    set_covers(work);
    graded
}

fn grade_rules(rules: &Rules) -> GradeRules {
    GradeRules {
        grade: rules.drain_grade,
        step_m: STEP_M,
        tolerance_m: rules.vertical_tolerance_m,
        gravel_voids: rules.gravel_voids,
        must_drain: rules.drain > 0.5,
    }
}

impl Graded {
    fn take(&mut self, section: Section, levels: &SectionLevels, result: &Grading) {
        let kind = if section == Section::Main {
            DrainKind::Manual
        } else {
            DrainKind::Automatic
        };
        let drain = |d: &DrainPoint| Drain {
            kind,
            section,
            node: levels.ours[d.node],
            drained_l: d.drained_l,
            gravel_l: d.gravel_l,
        };
        self.drains.extend(result.drains.iter().map(drain));
        if section == Section::Main {
            self.air_valves
                .extend(result.highs.iter().map(|node| levels.ours[*node]));
        }
        self.relaxed += result.relaxed;
    }
}

impl SectionLevels {
    fn of(
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
        for pipe in work.pipes.iter().filter(|pipe| pipe.section == section) {
            for node in [pipe.from, pipe.to] {
                if theirs[node] == usize::MAX {
                    theirs[node] = levels.nodes.len();
                    levels.ours.push(node);
                    levels
                        .nodes
                        .push(level_node(&work.nodes[node], section, rules));
                    levels
                        .ranges
                        .push(cover_range(&work.nodes[node], section, rules));
                }
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

    /// Keeps the cover along a pipe in range by narrowing the range at its ends.
    fn narrow(&mut self, node: usize, below_m: f64, above_m: f64) {
        let (least_m, most_m) = self.ranges[node];
        let middle_m = (least_m + most_m) / 2.0;
        let level = &mut self.nodes[node];
        level.cover_min_m = level.cover_min_m.max((least_m + below_m).min(middle_m));
        level.cover_max_m = level.cover_max_m.min((most_m - above_m).max(middle_m));
    }
}

fn level_node(node: &Node, section: Section, rules: &Rules) -> LevelNode {
    let fixed = matches!(section, Section::Station(_)) && node.kind == NodeKind::Valve;
    let (cover_min_m, cover_max_m) = cover_range(node, section, rules);
    LevelNode {
        ground_m: node.ground_m,
        cover_min_m,
        cover_max_m,
        fixed_invert_m: fixed.then_some(node.invert_m),
    }
}

/// A valve lies where both its main and its laterals may.
fn cover_range(node: &Node, section: Section, rules: &Rules) -> (f64, f64) {
    match section {
        Section::Main if node.kind == NodeKind::Valve => (
            rules.main_cover_min_m,
            rules
                .main_cover_max_m
                .min(rules.lateral_cover_max_m.max(rules.main_cover_min_m)),
        ),
        Section::Main => (rules.main_cover_min_m, rules.main_cover_max_m),
        Section::Station(_) => (rules.lateral_cover_min_m, rules.lateral_cover_max_m),
    }
}

fn plan_m(pipe: &Pipe) -> f64 {
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
    let mut range = (0.0f64, 0.0f64);
    for i in 1..steps {
        let share = i as f64 / steps as f64;
        let Some(ground_m) =
            terrain.height_m(from.position + (to.position - from.position) * share)
        else {
            continue;
        };
        let off_m = ground_m - (from.ground_m + (to.ground_m - from.ground_m) * share);
        range = (range.0.max(-off_m), range.1.max(off_m));
    }
    range
}

/// Lengths along the pipe, rise included.
fn set_lengths(work: &mut Pipework) {
    for pipe in &mut work.pipes {
        let rise_m = work.nodes[pipe.to].invert_m - work.nodes[pipe.from].invert_m;
        pipe.length_m = plan_m(pipe).hypot(rise_m);
    }
}

/// Least and greatest cover of every trench, from the pipes in it.
fn set_covers(work: &mut Pipework) {
    for trench in &mut work.trenches {
        (trench.cover_min_m, trench.cover_max_m) = (f64::INFINITY, 0.0);
    }
    for pipe in &work.pipes {
        for end in [pipe.from, pipe.to] {
            let cover_m = work.nodes[end].ground_m - work.nodes[end].invert_m;
            for &trench in &pipe.trenches {
                let trench = &mut work.trenches[trench];
                trench.cover_min_m = trench.cover_min_m.min(cover_m);
                trench.cover_max_m = trench.cover_max_m.max(cover_m);
            }
        }
    }
    for trench in work.trenches.iter_mut().filter(|trench| trench.pipes == 0) {
        trench.cover_min_m = 0.0;
    }
}
