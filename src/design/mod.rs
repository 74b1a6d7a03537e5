//! The whole job, read from top to bottom: from a clean parcel and a brief to a complete design.

pub mod audit;
pub mod coverage;
pub mod drainage;
pub mod edits;
pub mod heads;
pub mod hydraulics;
pub mod model;
pub mod pipework;
pub mod retrofit;
pub mod schedule;
pub mod settle;
pub mod sizing;
pub mod source;
pub mod stations;
pub mod supply;
pub mod takeoff;
pub mod trenches;
pub mod works;

mod assemble;
mod bounds;
mod finished;
mod island;
mod review;

pub use assemble::timetable;
pub use finished::{Finished, audit_only, finish};

use crate::brief::Project;
use crate::finding::Finding;
use crate::site::Parcel;
use hydraulics::pipe_friction::under_rules;
use model::{Design, Ids};
use settle::{Setting, settle};
use trenches::surfaces::Surfaces;

/// Designs one parcel. Never fails: what cannot be made is missing, and `findings` says what, where and by how much.
pub fn design(parcel: &Parcel, project: &Project) -> Design {
    let project = &with_law_of_friction(project);
    let (catalogue, rules) = (&project.catalogue, &project.rules);
    let mut findings: Vec<Finding> = parcel.findings.clone();

    let mut layout = heads::place(parcel, catalogue, rules);
    findings.append(&mut layout.findings);
    lay_for(parcel, project, layout, findings)
}

/// Lays a network for heads that are placed. The law of friction of the rules must be in the project's pipe.
fn lay_for(
    parcel: &Parcel,
    project: &Project,
    layout: heads::Layout,
    mut findings: Vec<Finding>,
) -> Design {
    let (catalogue, rules) = (&project.catalogue, &project.rules);

    let surfaces = Surfaces::of(parcel);
    let chosen = source::choose(parcel, &layout.heads, catalogue, rules);
    findings.extend(chosen.findings);
    let Some(source) = chosen.source else {
        return assemble::without_water(parcel, project, layout, findings);
    };

    let positions: Vec<_> = layout.heads.iter().map(|head| head.position).collect();
    let tree = trenches::route(parcel, &surfaces, source.position, &positions, rules);
    let (heads, tree) = island::drop_unreachable(layout.heads, tree, &parcel.turf, &mut findings);

    let setting = Setting {
        heads: &heads,
        tree: &tree,
        surfaces: &surfaces,
        terrain: &parcel.terrain,
        supply: &source.curve,
        catalogue,
        rules,
    };
    let heads_alone = |heads, findings| {
        let layout = heads::Layout {
            heads,
            ..heads::Layout::default()
        };
        assemble::without_water(parcel, project, layout, findings)
    };
    if heads.is_empty() {
        return heads_alone(heads, findings);
    }
    match settle(&setting) {
        Ok(settled) => assemble::whole(
            parcel,
            project,
            heads,
            &tree,
            &source,
            settled,
            Ids::default(),
            findings,
        ),
        Err(error) => {
            let message =
                format!("the pipe network has no solution ({error}); look at supply and catalogue");
            findings.push(Finding::error("network_unsolved", message));
            heads_alone(heads, findings)
        }
    }
}

/// The project with the law of friction that its rules choose in every pipe of the catalogue.
fn with_law_of_friction(project: &Project) -> Project {
    let mut project = project.clone();
    project.catalogue = under_rules(&project.catalogue, &project.rules);
    project
}
