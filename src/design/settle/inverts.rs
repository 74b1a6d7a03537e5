//! Inverts of main and laterals: graded together, each valved section with low points of its own.

pub(in crate::design) mod section;

use crate::brief::{Catalogue, Rules};
use crate::design::drainage::{Branch, DrainPoint, GradeRules, Grading, grade, grade_together};
use crate::design::model::{Drain, DrainKind, Section};
use crate::design::pipework::Pipework;
use crate::site::Terrain;
use section::{SectionLevels, laying_m, plan_m};

/// What grading leaves beside the inverts, which are set on the nodes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Graded {
    /// Drains of every section.
    pub drains: Vec<Drain>,
    /// Summits of the main.
    pub air_valves: Vec<usize>,
    /// Pipes that could not keep the grade.
    pub relaxed: usize,
    /// Whether the pipe is laid to run empty.
    pub(in crate::design) must_drain: bool,
}

/// Grades every section, sets inverts, slope lengths and trench covers, and says where water stands and air gathers.
pub fn grade_sections(
    work: &mut Pipework,
    stations: usize,
    terrain: &Terrain,
    catalogue: &Catalogue,
    rules: &Rules,
) -> Graded {
    let of = |section| SectionLevels::of(work, section, terrain, catalogue, rules);
    let main = of(Section::Main);
    let behind: Vec<SectionLevels> = (0..stations).map(|s| of(Section::Station(s))).collect();
    let branches: Vec<Branch> = behind.iter().map(|levels| levels.behind(&main)).collect();
    let grade_rules = grade_rules(rules);
    let (of_main, of_stations) = grade_together(&main.nodes, &main.pipes, &branches, &grade_rules);
    let mut graded = Graded {
        must_drain: grade_rules.must_drain,
        ..Graded::default()
    };
    graded.take(work, Section::Main, &main, &of_main);
    for (station, (levels, result)) in behind.iter().zip(of_stations).enumerate() {
        let alone = result.invert_m.len() != levels.nodes.len();
        let result = if alone {
            grade(&levels.nodes, &levels.pipes, &grade_rules)
        } else {
            result
        };
        graded.take(work, Section::Station(station), levels, &result);
    }
    set_lengths(work);
    set_covers(work, terrain);
    graded
}

/// How pipe must fall under the rules.
pub fn grade_rules(rules: &Rules) -> GradeRules {
    GradeRules {
        grade: rules.drain_grade,
        tolerance_m: rules.vertical_tolerance_m,
        gravel_voids: rules.gravel_voids,
        must_drain: rules.drain > 0.5,
        ..GradeRules::default()
    }
}

impl Graded {
    fn take(
        &mut self,
        work: &mut Pipework,
        section: Section,
        levels: &SectionLevels,
        result: &Grading,
    ) {
        for (node, invert_m) in levels.ours.iter().zip(&result.invert_m) {
            work.nodes[*node].invert_m = *invert_m;
        }
        let kind = match section {
            _ if !self.must_drain => DrainKind::Flush,
            Section::Main => DrainKind::Manual,
            Section::Station(_) => DrainKind::Automatic,
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

/// Lengths along the pipe, rise included.
fn set_lengths(work: &mut Pipework) {
    for pipe in 0..work.pipes.len() {
        set_length(work, pipe);
    }
}

/// The length of one pipe along it, rise included.
pub fn set_length(work: &mut Pipework, pipe: usize) {
    let pipe = &mut work.pipes[pipe];
    let rise_m = work.nodes[pipe.to].invert_m - work.nodes[pipe.from].invert_m;
    pipe.length_m = plan_m(pipe).hypot(rise_m);
}

/// Least and greatest cover of every trench, from the pipes in it.
fn set_covers(work: &mut Pipework, terrain: &Terrain) {
    set_covers_of(work, terrain, |_| true);
}

/// The same for the trenches that are `asked` for.
pub fn set_covers_of(work: &mut Pipework, terrain: &Terrain, asked: impl Fn(usize) -> bool) {
    for (_, trench) in work
        .trenches
        .iter_mut()
        .enumerate()
        .filter(|(i, _)| asked(*i))
    {
        (trench.cover_min_m, trench.cover_max_m) = (f64::INFINITY, 0.0);
    }
    for pipe in &work.pipes {
        for end in [pipe.from, pipe.to] {
            let node = &work.nodes[end];
            let cover_m = laying_m(node, terrain) - node.invert_m;
            for &trench in pipe.trenches.iter().filter(|trench| asked(**trench)) {
                let trench = &mut work.trenches[trench];
                trench.cover_min_m = trench.cover_min_m.min(cover_m);
                trench.cover_max_m = trench.cover_max_m.max(cover_m);
            }
        }
    }
    for (_, trench) in work
        .trenches
        .iter_mut()
        .enumerate()
        .filter(|(i, _)| asked(*i))
    {
        if trench.pipes == 0 {
            trench.cover_min_m = 0.0;
        }
    }
}

#[cfg(test)]
mod tests;
