//! Pinned edits: a design that a person changed by hand is kept where it was changed and re-designed round that.
//!
//! The design without edits is made first; what the layers tell otherwise than it, or pin, is a person's hand. `heads` and
//! `pipes` find that out, `around` mends the heads near changes, relaying joins them to the pipe that lies, `numbers` lets
//! ids be the same where the thing is the same, `effect` says what it comes to.

mod around;
mod base;
mod effect;
mod gone;
mod heads;
mod numbers;
mod pipes;
mod places;
mod setting;
#[cfg(test)]
mod tests;

pub use base::base_mark;

use crate::brief::Project;
use crate::design::assemble::{as_it_lies, without_water};
use crate::design::heads::Layout;
use crate::design::hydraulics::StationError;
use crate::design::model::{Design, Head, Pins};
use crate::design::source::Source;
use crate::design::supply::SupplyCurve;
use crate::design::trenches::surfaces::Surfaces;
use crate::design::works::relay::{self, Ground, relay_shifted};
use crate::finding::Finding;
use crate::site::{Edits, Parcel};
use around::Around;
use heads::{AskedHeads, Held};
use pipes::AskedPipes;
use setting::Setter;

/// Designs one parcel round what a person pinned, moved, set, added or took away.
///
/// Edits that hold no change give the design without edits. Never fails: what cannot be followed is told.
pub fn edited(parcel: &Parcel, project: &Project, edits: &Edits) -> Design {
    let base = super::design(parcel, project);
    changed(parcel, project, edits, base)
}

/// The design without edits with the edits made.
fn changed(parcel: &Parcel, project: &Project, edits: &Edits, base: Design) -> Design {
    let project = &super::with_law_of_friction(project);
    let setter = Setter {
        parcel,
        catalogue: &project.catalogue,
        rules: &project.rules,
    };
    let belongs = heads::belongs(edits, &base, &setter);
    let mut asked = heads::ask(edits, &base, &setter, belongs);
    let surfaces = Surfaces::of(parcel);
    let mut pipes = pipes::ask(edits, &base, (parcel, &surfaces, project), belongs);
    let mut told = std::mem::take(&mut asked.findings);
    told.append(&mut pipes.findings);
    if !asked.changes_any() && !pipes.changes_any() {
        return pinned_only(base, &asked, pipes, told);
    }
    let job = Job {
        parcel,
        project,
        base: &base,
        surfaces: &surfaces,
    };
    told.extend(asked.left_out.iter().map(|at| left_out(*at)));
    let mut design = job.redesigned(&mut asked, &pipes, told);
    let effect = effect::told(parcel, &base, &design, &edits.file);
    design.findings.push(effect);
    design
}

/// The place of a head that a person took away: what is read again as such.
fn left_out(at: geo::Coord<f64>) -> Finding {
    let message = "a head was taken away here by hand; none is put here again";
    Finding::note("head_left_out", message).at(at)
}

/// The design as it is, with what is pinned.
fn pinned_only(
    mut design: Design,
    asked: &AskedHeads,
    pipes: AskedPipes,
    told: Vec<Finding>,
) -> Design {
    design.findings.extend(told);
    let held = asked.heads.iter().filter(|asked| asked.held != Held::Free);
    design.pins = Pins {
        heads: held.filter_map(|asked| asked.was).collect(),
        ..pipes.pins
    };
    design
}

/// What a design is edited on.
struct Job<'a> {
    parcel: &'a Parcel,
    project: &'a Project,
    base: &'a Design,
    surfaces: &'a Surfaces,
}

/// Heads as re-designed, with what each was in the design without edits and the number it came with.
struct Heads {
    heads: Vec<Head>,
    was: Vec<(Option<usize>, Option<usize>)>,
    pinned: Vec<usize>,
}

impl Job<'_> {
    fn redesigned(
        &self,
        asked: &mut AskedHeads,
        pipes: &AskedPipes,
        mut findings: Vec<Finding>,
    ) -> Design {
        let around = if asked.changes_any() {
            around::redesign(self.parcel, self.project, asked)
        } else {
            unchanged(asked)
        };
        findings.splice(0..0, self.parcel.findings.iter().cloned());
        findings.extend(around.findings);
        let of = |from: &Option<usize>| from.map(|from| &asked.heads[from]);
        let held =
            |index: &usize| of(&around.from[*index]).is_some_and(|asked| asked.held != Held::Free);
        let heads = Heads {
            was: around
                .from
                .iter()
                .map(|from| of(from).map_or((None, None), |asked| (asked.was, asked.number)))
                .collect(),
            pinned: (0..around.heads.len()).filter(held).collect(),
            heads: around.heads,
        };
        self.laid(&heads, pipes, findings)
    }

    /// The design with pipe to its heads; with the heads alone where there is no water or no solution.
    fn laid(&self, heads: &Heads, pipes: &AskedPipes, mut findings: Vec<Finding>) -> Design {
        let mut design = match self.source().filter(|_| !heads.heads.is_empty()) {
            None => self.heads_alone(heads, findings),
            Some(source) => match self.relaid(heads, pipes, &source, findings.clone()) {
                Ok(design) => design,
                Err(error) => {
                    let message = format!(
                        "the pipe network has no solution with the edits ({error}); the heads are shown alone. Take back the last edits, or pin less"
                    );
                    findings.push(Finding::error("edits_alone", message));
                    self.heads_alone(heads, findings)
                }
            },
        };
        design.pins.heads = heads.pinned.iter().copied().collect();
        design
    }

    fn relaid(
        &self,
        heads: &Heads,
        pipes: &AskedPipes,
        source: &Source,
        mut findings: Vec<Finding>,
    ) -> Result<Design, StationError> {
        let ground = Ground {
            parcel: self.parcel,
            surfaces: self.surfaces,
            supply: &source.curve,
            catalogue: &self.project.catalogue,
            rules: &self.project.rules,
        };
        let from: Vec<Option<usize>> = heads.was.iter().map(|was| was.0).collect();
        let held = (&pipes.fixed, &pipes.shifts);
        let mut relaid = relay_shifted(&ground, &pipes.works, heads.heads.clone(), &from, held)?;
        let ids = numbers::ids(self.base, &relaid.works, &relaid.origin, &heads.was);
        findings.extend(relay::told(&relaid.works, &relaid.findings, &ids));
        relaid.works.ids = ids;
        let mut design = as_it_lies(self.parcel, self.project, &relaid.works, source, findings)?;
        design.pins = pipes.pins_after(&relaid.origin);
        Ok(design)
    }

    fn heads_alone(&self, heads: &Heads, findings: Vec<Finding>) -> Design {
        let layout = Layout {
            heads: heads.heads.clone(),
            ..Layout::default()
        };
        let mut design = without_water(self.parcel, self.project, layout, findings);
        design.ids.heads = numbers::of_heads(self.base, &heads.was);
        design.ids.base = Some(base_mark(self.base));
        design
    }

    /// The water point of the design without edits; `None` where it had none.
    fn source(&self) -> Option<Source> {
        let supply = self.base.supply.as_ref()?;
        let points = &self.parcel.water_points;
        let point = points.iter().find(|point| point.id == supply.water_point)?;
        Some(Source {
            id: point.id.clone(),
            position: point.position,
            curve: SupplyCurve::of(point, &self.project.rules).ok()?,
        })
    }
}

/// The heads as they are asked for.
fn unchanged(asked: &AskedHeads) -> Around {
    Around {
        heads: asked.heads.iter().map(|asked| asked.head.clone()).collect(),
        from: (0..asked.heads.len()).map(Some).collect(),
        findings: Vec::new(),
    }
}
