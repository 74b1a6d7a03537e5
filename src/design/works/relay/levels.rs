//! Inverts of new pipe, which drains to what lies or has drains of its own, and the drains of every section.

use super::compact::Lying;
use super::{Fixed, Ground};
use crate::design::drainage::{
    Basin, DrainPoint, LevelPipe, basins, drains, flush_point, grade, grade_together, highs,
};
use crate::design::model::{Drain, DrainKind, Section};
use crate::design::settle::inverts::section::SectionLevels;
use crate::design::settle::inverts::{grade_rules, set_covers_of, set_length};

impl Lying {
    fn sections(&self) -> impl Iterator<Item = Section> + use<> {
        let stations = 0..self.works.stations.len();
        std::iter::once(Section::Main).chain(stations.map(Section::Station))
    }

    /// A section as the drainage room wants it, with the inverts that are known.
    fn levels(&self, section: Section, ground: &Ground) -> SectionLevels {
        let terrain = &ground.parcel.terrain;
        let work = &self.works.pipework;
        let mut levels = SectionLevels::of(work, section, terrain, ground.catalogue, ground.rules);
        for (level, node) in levels.nodes.iter_mut().zip(&levels.ours) {
            level.fixed_invert_m = self.level_known[*node].then_some(work.nodes[*node].invert_m);
        }
        levels
    }

    /// Sets the inverts that are not known yet, with the lengths and covers that follow. Main and stations together.
    pub fn set_inverts(&mut self, ground: &Ground) {
        if self.level_known.iter().any(|known| !known) {
            self.grade(ground);
        }
        let work = &mut self.works.pipework;
        for &pipe in &self.relaid {
            set_length(work, pipe);
        }
        set_covers_of(work, &ground.parcel.terrain, |t| self.recut.contains(&t));
    }

    fn grade(&mut self, ground: &Ground) {
        let rules = grade_rules(ground.rules);
        let main = falling_back(self.levels(Section::Main, ground), rules.grade);
        let unknown = |levels: &SectionLevels| {
            let mut ours = levels.ours.iter();
            ours.any(|node| !self.level_known[*node])
        };
        let behind: Vec<SectionLevels> = self
            .sections()
            .skip(1)
            .map(|section| self.levels(section, ground))
            .filter(unknown)
            .map(|levels| falling_back(levels, rules.grade))
            .collect();
        let branches: Vec<_> = behind.iter().map(|levels| levels.behind(&main)).collect();
        let (of_main, of_stations) = grade_together(&main.nodes, &main.pipes, &branches, &rules);
        self.take(&main, &of_main.invert_m);
        for (levels, result) in behind.iter().zip(of_stations) {
            if result.invert_m.len() == levels.nodes.len() {
                self.take(levels, &result.invert_m);
            } else {
                self.take(
                    levels,
                    &grade(&levels.nodes, &levels.pipes, &rules).invert_m,
                );
            }
        }
    }

    fn take(&mut self, levels: &SectionLevels, invert_m: &[f64]) {
        for (node, invert_m) in levels.ours.iter().zip(invert_m) {
            if !std::mem::replace(&mut self.level_known[*node], true) {
                self.works.pipework.nodes[*node].invert_m = *invert_m;
            }
        }
    }

    /// Puts a drain at every low point that has none, and an air valve at every summit of the main.
    pub fn set_drains(&mut self, ground: &Ground, fixed: &Fixed) {
        for section in self.sections() {
            let levels = self.levels(section, ground);
            let low = Lows::of(&levels, &self.works.pipework.nodes, ground);
            if self.touched.contains(&section) {
                self.empty_anew(section, &levels, &low, fixed);
            }
            self.add_drains(section, &levels, &low, ground);
            if section == Section::Main {
                for node in low.summits.iter().map(|node| levels.ours[*node]) {
                    if !self.works.air_valves.contains(&node) {
                        self.works.air_valves.push(node);
                    }
                }
            }
        }
    }

    /// What kept drains of a section that changed let out now.
    fn empty_anew(&mut self, section: Section, levels: &SectionLevels, low: &Lows, fixed: &Fixed) {
        let origin = &self.origin.drains;
        for (drain, from) in self.works.drains.iter_mut().zip(origin) {
            let pinned = from.is_some_and(|old| fixed.drains.contains(&old));
            let point = low
                .points
                .iter()
                .find(|p| levels.ours[p.node] == drain.node);
            if let Some(point) = point.filter(|_| drain.section == section && !pinned) {
                (drain.drained_l, drain.gravel_l) = (point.drained_l, point.gravel_l);
            }
        }
    }

    fn add_drains(
        &mut self,
        section: Section,
        levels: &SectionLevels,
        low: &Lows,
        ground: &Ground,
    ) {
        let must_drain = grade_rules(ground.rules).must_drain;
        let own: Vec<usize> = self
            .works
            .drains
            .iter()
            .filter(|drain| drain.section == section)
            .map(|drain| drain.node)
            .collect();
        for point in &low.points {
            let served = if must_drain {
                low.is_drained(point.node, |node| own.contains(&levels.ours[node]))
            } else {
                !own.is_empty()
            };
            if served {
                continue;
            }
            self.works.drains.push(Drain {
                kind: match section {
                    _ if !must_drain => DrainKind::Flush,
                    Section::Main => DrainKind::Manual,
                    Section::Station(_) => DrainKind::Automatic,
                },
                section,
                node: levels.ours[point.node],
                drained_l: point.drained_l,
                gravel_l: point.gravel_l,
            });
            self.origin.drains.push(None);
        }
    }
}

/// A section whose new pipe falls back to what lies, wherever its cover lets it: then it needs no drain of its own.
fn falling_back(mut levels: SectionLevels, grade: f64) -> SectionLevels {
    let mut beside = vec![Vec::new(); levels.nodes.len()];
    for pipe in &levels.pipes {
        beside[pipe.from].push((pipe.to, pipe.length_m));
        beside[pipe.to].push((pipe.from, pipe.length_m));
    }
    let known = |node: usize| levels.nodes[node].fixed_invert_m;
    let mut least_m: Vec<Option<f64>> = (0..levels.nodes.len()).map(known).collect();
    let mut open: Vec<usize> = (0..least_m.len())
        .filter(|i| least_m[*i].is_some())
        .collect();
    while let Some(node) = open.pop() {
        let Some(from_m) = least_m[node] else {
            continue;
        };
        for &(next, length_m) in &beside[node] {
            if least_m[next].is_none() {
                least_m[next] = Some(from_m + grade * length_m);
                open.push(next);
            }
        }
    }
    for (level, least_m) in levels.nodes.iter_mut().zip(least_m) {
        let most_m = level.ground_m - least_m.unwrap_or(f64::NEG_INFINITY);
        if level.fixed_invert_m.is_none() && most_m >= level.cover_min_m {
            level.cover_max_m = level.cover_max_m.min(most_m);
        }
    }
    levels
}

/// Low points and summits of a section as it lies.
struct Lows {
    level_m: Vec<f64>,
    tolerance_m: f64,
    basins: Vec<Basin>,
    points: Vec<DrainPoint>,
    summits: Vec<usize>,
}

impl Lows {
    fn of(levels: &SectionLevels, nodes: &[crate::design::model::Node], ground: &Ground) -> Self {
        let rules = grade_rules(ground.rules);
        let level_m: Vec<f64> = levels.ours.iter().map(|n| nodes[*n].invert_m).collect();
        let sound = |pipe: &&LevelPipe| pipe.length_m.is_finite();
        let pipes: Vec<LevelPipe> = levels.pipes.iter().filter(sound).copied().collect();
        let edges: Vec<(usize, usize)> = pipes.iter().map(|p| (p.from, p.to)).collect();
        let points = if rules.must_drain {
            drains(&level_m, &pipes, &rules)
        } else {
            flush_point(&level_m, &pipes, &rules).into_iter().collect()
        };
        Self {
            basins: basins(&level_m, &edges, rules.tolerance_m),
            points,
            summits: highs(&level_m, &edges, rules.tolerance_m),
            tolerance_m: rules.tolerance_m,
            level_m,
        }
    }

    /// Whether a drain empties the basin of a low point: one that lies no higher than the tolerance above it.
    fn is_drained(&self, low: usize, has_drain: impl Fn(usize) -> bool) -> bool {
        let basin = self.basins.iter().find(|basin| basin.low == low);
        let near = |node: &&usize| self.level_m[**node] - self.level_m[low] < self.tolerance_m;
        let mut members = basin
            .into_iter()
            .flat_map(|basin| &basin.members)
            .filter(near);
        members.any(|node| has_drain(*node))
    }
}
