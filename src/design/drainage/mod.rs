//! Drainage: how deep each pipe of one valved section lies, so that it empties at as few low points as can be.
//!
//! `levels.rs` chooses the inverts on a grid of absolute elevations, `polish.rs` brings them to whole millimetres at
//! full grade, `lows.rs` reads low points, summits and drained volumes off the result, `profile.rs` says where a long
//! pipe must bend with the ground. Metres and litres. Which valve stands at a low point is the caller's business.

mod levels;
mod lows;
mod polish;
mod profile;
mod weeping;

pub use lows::{Basin, basins, drains, flush_point, highs};
pub use profile::break_points;
pub use weeping::{LowHead, standing_above_m};

/// A node of the section whose invert is wanted. Values that are not finite count as 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelNode {
    /// Height of the ground, m.
    pub ground_m: f64,
    /// Least depth of the invert below the ground, m.
    pub cover_min_m: f64,
    /// Greatest depth of the invert below the ground, m; a value below `cover_min_m` counts as that.
    pub cover_max_m: f64,
    /// The invert, where something else has fixed it, m; cover is not looked at then.
    pub fixed_invert_m: Option<f64>,
}

/// A pipe between two nodes. Together the pipes are a tree; a pipe that closes a ring is levelled by its ends alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelPipe {
    /// One end; which end is up the line does not matter here.
    pub from: usize,
    /// The other end.
    pub to: usize,
    /// Length, m.
    pub length_m: f64,
    /// Area of the bore, m².
    pub bore_area_m2: f64,
}

/// What the trench must keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradeRules {
    /// Least grade at which pipe drains, m/m.
    pub grade: f64,
    /// Step of the grid of elevations the inverts are searched on, m. Kept within 0.00025 to 0.05; coarser where a node's cover has a very wide range.
    pub step_m: f64,
    /// Low points shallower than this are levelled in the trench and are none, m.
    pub tolerance_m: f64,
    /// Share of a gravel pit that water can fill, above 0 to 1.
    pub gravel_voids: f64,
    /// Whether the pipe must drain by gravity. If not, it lies at its least cover and has one point to flush it at.
    pub must_drain: bool,
}

impl Default for GradeRules {
    /// Common practice, no source: 0.2 %, 2 cm, voids 0.35. The step: see `docs/methods/drainage.md`.
    fn default() -> Self {
        Self {
            grade: 0.002,
            step_m: 0.0005,
            tolerance_m: 0.02,
            gravel_voids: 0.35,
            must_drain: true,
        }
    }
}

/// A low point with the water that leaves there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrainPoint {
    /// Node it stands at.
    pub node: usize,
    /// Litres in the pipe between it and the next summits.
    pub drained_l: f64,
    /// Litres of gravel whose voids take that up.
    pub gravel_l: f64,
}

/// Inverts of a section and what follows from them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Grading {
    /// Invert of each node, m, whole millimetres.
    pub invert_m: Vec<f64>,
    /// The low points, by rising node; exactly those that [`basins`] finds in `invert_m`. Where the pipe need not drain,
    /// the lowest alone: there it is flushed.
    pub drains: Vec<DrainPoint>,
    /// Summits that are neither a dead end nor node 0, by rising node: mains get an air valve there.
    pub highs: Vec<usize>,
    /// Pipes that could not fall by the grade, because fixed inverts or the cover's range did not let them.
    pub relaxed: usize,
}

/// A section behind a valve that lies in another section: its node 0 is that section's node `at`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch<'a> {
    /// The valve's node in the section before it.
    pub at: usize,
    /// Nodes; what node 0 says of its own is not looked at.
    pub nodes: &'a [LevelNode],
    /// Pipes.
    pub pipes: &'a [LevelPipe],
}

/// Chooses the inverts of a section, a tree rooted at node 0: fewest drains first, least digging second.
///
/// Every pipe falls one way or the other by at least `grade` over its length, taken along the line from node 0 so that
/// pieces too short to show a step of the grid do not add up to more than a step. Where no choice keeps the grade, as
/// few pipes as possible give it up; they are counted in [`Grading::relaxed`]. Never fails: pipes that name no node are
/// passed over, parts not joined to node 0 are levelled on their own.
pub fn grade(nodes: &[LevelNode], pipes: &[LevelPipe], rules: &GradeRules) -> Grading {
    grade_together(nodes, pipes, &[], rules).0
}

/// As [`grade`], for a section and those behind the valves in it: drains and digging are least over all of them.
///
/// The valves stay shut while the pipe drains, so each section needs a low point of its own; what they share is how
/// deep each valve lies. Branches at nodes that do not exist get empty gradings.
pub fn grade_together(
    nodes: &[LevelNode],
    pipes: &[LevelPipe],
    branches: &[Branch],
    rules: &GradeRules,
) -> (Grading, Vec<Grading>) {
    let rules = &GradeRules {
        grade: finite(rules.grade).clamp(0.0, 1.0),
        ..*rules
    };
    let main = Section::of(nodes, pipes);
    let behind: Vec<Section> = branches
        .iter()
        .map(|branch| Section::behind(branch, nodes))
        .collect();
    let every = std::iter::once(&main)
        .chain(&behind)
        .flat_map(|section| &section.bands);
    let step_m = levels::step_m(every, rules);
    let mut hanging = Vec::new();
    if rules.must_drain {
        let hang = |(section, branch): (&Section, &Branch)| {
            levels::hung_on(branch.at, &section.bands, &section.pipes, rules, step_m)
        };
        hanging.extend(behind.iter().zip(branches).filter_map(hang));
    }
    let graded = main.graded(rules, step_m, &hanging);
    let of_branch = |(mut section, branch): (Section, &Branch)| match section.bands.first_mut() {
        Some(band) => {
            *band = Band::fixed(graded.invert_m[branch.at]);
            section.graded(rules, step_m, &[])
        }
        None => Grading::default(),
    };
    let branches = behind.into_iter().zip(branches).map(of_branch).collect();
    (graded, branches)
}

/// One valved section, fit to be computed with.
struct Section {
    bands: Vec<Band>,
    pipes: Vec<LevelPipe>,
}

impl Section {
    fn of(nodes: &[LevelNode], pipes: &[LevelPipe]) -> Self {
        Self {
            bands: nodes.iter().map(Band::of).collect(),
            pipes: sound(pipes, nodes.len()),
        }
    }

    fn behind(branch: &Branch, nodes: &[LevelNode]) -> Self {
        let Some(valve) = nodes.get(branch.at) else {
            return Self::of(&[], &[]);
        };
        let mut section = Self::of(branch.nodes, branch.pipes);
        if let Some(band) = section.bands.first_mut() {
            *band = Band::of(valve);
        }
        section
    }

    fn graded(&self, rules: &GradeRules, step_m: f64, hanging: &[levels::Hanging]) -> Grading {
        let Self { bands, pipes } = self;
        let edges: Vec<(usize, usize)> = pipes.iter().map(|pipe| (pipe.from, pipe.to)).collect();
        let (invert_m, relaxed) = if rules.must_drain {
            let chosen = levels::choose(bands, pipes, rules, step_m, hanging);
            let bands = held_at_valves(bands, &chosen, hanging);
            let invert_m = polish::to_millimetres(&bands, pipes, rules, &chosen);
            (invert_m, chosen.relaxed)
        } else {
            (bands.iter().map(|band| band.top_m).collect(), 0)
        };
        let drains = if rules.must_drain {
            lows::drains(&invert_m, pipes, rules)
        } else {
            lows::flush_point(&invert_m, pipes, rules)
                .into_iter()
                .collect()
        };
        let highs = lows::highs(&invert_m, &edges, rules.tolerance_m);
        Grading {
            invert_m,
            drains,
            highs,
            relaxed,
        }
    }
}

/// A valve rises no higher than was chosen with what lies behind it in view.
fn held_at_valves(
    bands: &[Band],
    chosen: &levels::Chosen,
    hanging: &[levels::Hanging],
) -> Vec<Band> {
    let mut bands = bands.to_vec();
    for hung in hanging {
        let band = &mut bands[hung.node];
        let level_m = millimetre(chosen.level[hung.node] as f64 * chosen.step_m * 1000.0);
        band.top_m = band.top_m.min(level_m.max(band.bottom_m));
    }
    bands
}

/// The pipes that join two nodes that exist, with lengths and areas that can be computed with.
fn sound(pipes: &[LevelPipe], nodes: usize) -> Vec<LevelPipe> {
    pipes
        .iter()
        .filter(|pipe| pipe.from < nodes && pipe.to < nodes && pipe.from != pipe.to)
        .map(|pipe| LevelPipe {
            length_m: finite(pipe.length_m).max(0.0),
            bore_area_m2: finite(pipe.bore_area_m2).max(0.0),
            ..*pipe
        })
        .collect()
}

/// Where a node's invert may lie, whole millimetres.
#[derive(Debug, Clone, Copy)]
struct Band {
    bottom_m: f64,
    top_m: f64,
    fixed: bool,
}

impl Band {
    fn fixed(invert_m: f64) -> Self {
        let level_m = millimetre(finite(invert_m) * 1000.0);
        Self {
            bottom_m: level_m,
            top_m: level_m,
            fixed: true,
        }
    }

    fn of(node: &LevelNode) -> Self {
        if let Some(fixed_m) = node.fixed_invert_m.filter(|value| value.is_finite()) {
            return Self::fixed(fixed_m);
        }
        let ground_m = finite(node.ground_m);
        let least_m = finite(node.cover_min_m);
        let most_m = finite(node.cover_max_m).max(least_m);
        // A hair of room, or 0.3 m of cover under 10.3 m of ground would round to 0.301 m.
        let top_m = millimetre(((ground_m - least_m) * 1000.0 + 1e-6).floor());
        let bottom_m = millimetre(((ground_m - most_m) * 1000.0 - 1e-6).ceil());
        Self {
            bottom_m: bottom_m.min(top_m),
            top_m,
            fixed: false,
        }
    }
}

/// The nearest whole millimetre, as the decimal fraction that a file shows.
fn millimetre(millimetres: f64) -> f64 {
    // Adding 0 turns a negative zero into a plain one.
    (millimetres.round() + 0.0) / 1000.0
}

/// Heights and lengths beyond a thousand kilometres are no pipe; held there, no step of the grid can overflow.
const FARTHEST_M: f64 = 1e6;

fn finite(value: f64) -> f64 {
    if value.is_finite() {
        value.clamp(-FARTHEST_M, FARTHEST_M)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests;
