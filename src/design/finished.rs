//! What the job comes to for one parcel: a new design, an audit of what lies there, or what lies there made good.

use super::audit::{Audited, audit};
use super::design;
use super::edits::edited;
use super::model::Design;
use super::retrofit::{Comparison, retrofit};
use crate::brief::Project;
use crate::finding::Finding;
use crate::site::Parcel;

/// A parcel done.
#[derive(Debug, Clone, PartialEq)]
pub struct Finished {
    /// What is handed over.
    pub design: Design,
    /// The project with a catalogue that holds what lies in the ground; `None` where nothing does.
    pub project: Option<Project>,
    /// What lay there before, judged, where it was made good.
    pub before: Option<Box<Audited>>,
    /// Before and after, where it was made good.
    pub comparison: Option<Comparison>,
}

impl Finished {
    /// A design on bare ground.
    pub fn new(design: Design) -> Self {
        Self {
            design,
            project: None,
            before: None,
            comparison: None,
        }
    }
}

/// Does the job that the project asks for on one parcel.
pub fn finish(parcel: &Parcel, project: &Project) -> Finished {
    match (&parcel.edits, project.retrofit) {
        (Some(edits), _) => Finished::new(edited(parcel, project, edits)),
        (None, Some(keep)) => retrofit(parcel, project, keep),
        (None, None) => Finished::new(beside_old(parcel, design(parcel, project))),
    }
}

/// A new design, with a word on the old system that it takes no notice of.
fn beside_old(parcel: &Parcel, mut design: Design) -> Design {
    if !parcel.existing.is_empty() {
        let message = "an existing system lies here and nothing of it is kept, since the project has no [retrofit]: add one to make it good, or run `swardline audit` to judge it.";
        design
            .findings
            .push(Finding::note("existing_unused", message));
    }
    design
}

/// Judges what lies on one parcel, and changes nothing.
pub fn audit_only(parcel: &Parcel, project: &Project) -> Finished {
    match audit(parcel, project) {
        Some(audited) => Finished {
            design: audited.design,
            project: Some(audited.project),
            before: None,
            comparison: None,
        },
        None => {
            let message = "no existing system lies in this parcel: name existing_heads, existing_pipes and existing_valves under [inputs], and see that they lie in it";
            let mut findings = parcel.findings.clone();
            findings.push(Finding::error("nothing_to_audit", message));
            Finished::new(Design {
                findings,
                ..Design::default()
            })
        }
    }
}
