//! A retrofit: what lies in the ground is kept where it serves, the rest is made good at least cost.
//!
//! The old system is audited; its heads are mended (`heads::mend`), its pipe is relaid for them (`works::relay`), and the
//! whole is reckoned like any design. Beside it a design on bare ground is made, so that it is seen what keeping saves.

mod compare;
mod kept;

pub use compare::{Comparison, Side};

use super::audit::{Audited, audit};
use super::finished::Finished;
use crate::brief::{KeepHeads, Project, Retrofit};
use crate::design::assemble::as_it_lies;
use crate::design::heads::mend::{Freedom, MendTask, Mended, Standing, mend};
use crate::design::heads::{self};
use crate::design::model::{Design, Lying};
use crate::design::source::Source;
use crate::design::trenches::surfaces::Surfaces;
use crate::design::works::Works;
use crate::design::works::relay::{Fixed, Ground, relay};
use crate::design::{design, lay_for, takeoff};
use crate::finding::Finding;
use crate::site::Parcel;
use kept::{lying, prices, shorn};

/// Times that heads are mended for more evenness, where solved pressures leave an area below its floor.
const TRIES: usize = 3;
/// Evenness aimed at above what was missing.
const DU_IN_HAND: f64 = 0.02;

/// Makes good what lies on a parcel; a new design where nothing does, or where that is cheaper.
pub fn retrofit(parcel: &Parcel, project: &Project, keep: Retrofit) -> Finished {
    let anew = design(parcel, project);
    let Some(before) = audit(parcel, project) else {
        return Finished::new(anew);
    };
    let anything = keep.mains || keep.heads != KeepHeads::None;
    let source = before.rebuilt.source.clone().filter(|_| anything);
    let made = source.and_then(|source| {
        let old = shorn(&before.rebuilt.works, keep);
        let at_work = AtWork {
            parcel,
            project: &before.project,
            source: &source,
            keep,
        };
        at_work.best(&old, before.rebuilt.works.heads.len())
    });
    finished(before, made, anew)
}

/// The cheaper of what was made good and a design anew, with the comparison.
fn finished(before: Audited, made: Option<Design>, anew: Design) -> Finished {
    let rules = &before.project.rules;
    let sound = |made: &Design| compare::keeps_floor(made, &anew, rules);
    let keeps = made.filter(|made| sound(made) && compare::costs_less(made, &anew));
    let kept = keeps.is_some();
    let mut finished = match keeps {
        Some(made) => Finished {
            design: made,
            project: Some(before.project.clone()),
            before: None,
            comparison: None,
        },
        None => Finished::new(anew.clone()),
    };
    let comparison = Comparison::of(&before, &finished.design, &anew, kept);
    finished.design.findings.push(comparison.finding());
    finished.comparison = Some(comparison);
    finished.before = Some(Box::new(before));
    finished
}

/// What a retrofit is made with.
struct AtWork<'a> {
    parcel: &'a Parcel,
    project: &'a Project,
    source: &'a Source,
    keep: Retrofit,
}

impl AtWork<'_> {
    /// The cheapest of several tries that keeps every turf area above its floor; else the one that comes nearest.
    fn best(&self, old: &Works, old_heads: usize) -> Option<Design> {
        let mut rules = self.project.rules.clone();
        let mut best: Option<(f64, Design)> = None;
        for _ in 0..TRIES {
            let mended = self.mended(old, &rules);
            let made = if self.keep.mains {
                self.relaid(old, mended, old_heads)
            } else {
                Some(self.laid_anew(old, mended, old_heads))
            };
            let Some(made) = made else {
                break;
            };
            let missing = compare::missing_du(&made, &self.project.rules);
            if best.as_ref().is_none_or(|(known, _)| missing < *known) {
                best = Some((missing, made));
            }
            if missing <= 0.0 {
                break;
            }
            rules.du_least = (rules.du_least + missing + DU_IN_HAND).min(0.95);
            rules.du_one_row_least = (rules.du_one_row_least + missing + DU_IN_HAND).min(0.95);
        }
        best.map(|(_, made)| made)
    }

    fn mended(&self, old: &Works, rules: &crate::brief::Rules) -> Mended {
        let catalogue = &self.project.catalogue;
        let freedom = match self.keep.heads {
            KeepHeads::None => {
                let layout = heads::place(self.parcel, catalogue, rules);
                return Mended {
                    from: vec![None; layout.heads.len()],
                    heads: layout.heads,
                    findings: layout.findings,
                };
            }
            KeepHeads::Good => Freedom::Moved,
            KeepHeads::All => Freedom::Set,
        };
        let standing: Vec<Standing> = old
            .heads
            .iter()
            .map(|head| Standing {
                head: head.clone(),
                freedom,
            })
            .collect();
        let task = MendTask {
            standing: &standing,
            prices: prices(self.project),
            may_add: true,
            keep_clear: &[],
            only_where_needed: true,
        };
        mend(self.parcel, catalogue, rules, &task)
    }

    /// A new network for the mended heads.
    fn laid_anew(&self, old: &Works, mended: Mended, old_heads: usize) -> Design {
        let project = self.project;
        let mut findings = self.parcel.findings.clone();
        findings.extend(mended.findings);
        let layout = heads::Layout {
            heads: mended.heads.clone(),
            ..heads::Layout::default()
        };
        let mut made = lay_for(self.parcel, project, layout, findings);
        // Heads that no trench reaches are gone; places tell which are left.
        let from = kept::found_again(&made.heads, &mended.heads, &mended.from);
        made.lying = Some(Lying {
            heads: kept::works(&old.heads, &made.heads, &from),
            heads_removed: old_heads.saturating_sub(from.iter().flatten().count()),
            ..Lying::default()
        });
        made.takeoff = takeoff::count(&made, &project.catalogue, &project.prices, &project.rules);
        made
    }

    /// The old pipe led to the mended heads, all of it reckoned; `None` where that cannot be.
    fn relaid(&self, old: &Works, mended: Mended, old_heads: usize) -> Option<Design> {
        let (catalogue, rules) = (&self.project.catalogue, &self.project.rules);
        let surfaces = Surfaces::of(self.parcel);
        let ground = Ground {
            parcel: self.parcel,
            surfaces: &surfaces,
            supply: &self.source.curve,
            catalogue,
            rules,
        };
        let heads = mended.heads.clone();
        let relaid = relay(&ground, old, heads, &mended.from, &Fixed::default()).ok()?;
        let mut findings = self.parcel.findings.clone();
        findings.extend(mended.findings);
        findings.extend(relaid.findings);
        let works = &relaid.works;
        // Relaying takes out stations without heads.
        let served = !works.stations.is_empty()
            && works
                .stations
                .iter()
                .all(|station| !station.heads.is_empty());
        if !served {
            return None;
        }
        let lying: Lying = lying(old, works, &mended.from, &relaid.origin, old_heads);
        self.reckoned(works, Some(lying), findings)
    }

    fn reckoned(
        &self,
        works: &Works,
        lying: Option<Lying>,
        findings: Vec<Finding>,
    ) -> Option<Design> {
        let project = self.project;
        let mut made = as_it_lies(self.parcel, project, works, self.source, findings).ok()?;
        made.lying = lying;
        made.takeoff = takeoff::count(&made, &project.catalogue, &project.prices, &project.rules);
        Some(made)
    }
}
