//! An audit: what an existing system does well and badly, where, and how good each turf area is.
//!
//! The survey is rebuilt and reckoned as it lies; then stations, pipes, drains and heads are each held against the rules.
//! A fault that another explains is told with that one, not again: an undersized pipe with the heads that it starves, a
//! wrong arc with the ground that it leaves dry.

mod drains;
mod field;
mod grades;
mod heads;
mod pipes;
mod search;
mod settings;
mod standing;
mod stations;
mod wording;

use crate::brief::Project;
use crate::design::assemble::as_it_lies;
use crate::design::heads::Layout;
use crate::design::hydraulics::pipe_friction::under_rules;
use crate::design::model::Design;
use crate::design::source;
use crate::design::works::survey::{Rebuilt, rebuild};
use crate::finding::Finding;
use crate::site::Parcel;

/// Findings on how a system is to be built, which say nothing of one that lies already.
const OF_BUILDING: [&str; 5] = [
    "stations_uneven",
    "grade_not_kept",
    "hand_dug_roots",
    "drain_great",
    "velocity_high",
];
/// Findings of a whole turf area that a fault of one of its heads explains.
const OF_AREA: [&str; 4] = ["du_low", "dry_high", "overspray_high", "du_by_pressure"];
/// Findings on the water of the whole year that such faults explain.
const OF_YEAR: [&str; 1] = ["water_sinks"];
/// Findings on the pressures of a station, which a fault on its way explains.
const OF_PRESSURE: [&str; 3] = ["pressure_short", "pressure_over", "pressure_spread"];

/// An existing system judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Audited {
    /// The system as a design, with grades on its turf and its findings.
    pub design: Design,
    /// The survey it rests on.
    pub rebuilt: Rebuilt,
    /// The project with a catalogue that holds the sizes in the ground.
    pub project: Project,
}

/// Audits what lies on a parcel; `None` where nothing does.
pub fn audit(parcel: &Parcel, project: &Project) -> Option<Audited> {
    if parcel.existing.is_empty() {
        return None;
    }
    let rules = &project.rules;
    let rebuilt = rebuild(parcel, &under_rules(&project.catalogue, rules), rules);
    let mut project = project.clone();
    project.catalogue = rebuilt.catalogue(&project.catalogue, rules);
    let mut findings = parcel.findings.clone();
    findings.extend(rebuilt.findings.iter().cloned());
    let mut design = reckoned(parcel, &project, &rebuilt, findings);
    judge(parcel, &project, &rebuilt, &mut design);
    design.survey_ids = Some(rebuilt.ids.clone());
    Some(Audited {
        design,
        rebuilt,
        project,
    })
}

/// The system as a design; heads alone where nothing feeds it or it has no solution.
fn reckoned(
    parcel: &Parcel,
    project: &Project,
    rebuilt: &Rebuilt,
    mut findings: Vec<Finding>,
) -> Design {
    let fed = rebuilt
        .source
        .as_ref()
        .filter(|_| !rebuilt.works.stations.is_empty());
    if let Some(source) = fed {
        match as_it_lies(parcel, project, &rebuilt.works, source, findings.clone()) {
            Ok(design) => return design,
            Err(error) => {
                let message = format!(
                    "the network as it lies has no solution ({error}); its heads are judged as if they worked"
                );
                findings.push(Finding::error("network_unsolved", message));
            }
        }
    } else {
        let chosen = source::choose(
            parcel,
            &rebuilt.works.heads,
            &project.catalogue,
            &project.rules,
        );
        findings.extend(chosen.findings);
    }
    let layout = Layout {
        heads: rebuilt.works.heads.clone(),
        ..Layout::default()
    };
    crate::design::assemble::without_water(parcel, project, layout, findings)
}

/// Holds a reckoned system against the rules: its findings are made and thinned, its turf is graded.
fn judge(parcel: &Parcel, project: &Project, rebuilt: &Rebuilt, design: &mut Design) {
    let mixed = stations::mixed(design, project, rebuilt);
    let of_heads = heads::faults(parcel, project, rebuilt, design, &mixed);
    let mut excess_lpm = vec![0.0; design.heads.len()];
    for fault in &of_heads {
        excess_lpm[fault.head] = fault.excess_lpm;
    }
    for (head, lpm) in mixed.iter().flat_map(|mixed| &mixed.excess_lpm) {
        excess_lpm[*head] = *lpm;
    }
    let fast = pipes::fast(design, project, rebuilt, &excess_lpm);
    let lows = drains::missing(design, project, parcel, rebuilt);
    design.findings.retain(|finding| {
        let code = &finding.code;
        !OF_BUILDING.contains(code) && *code != "rate_departs"
    });
    grades::set(design, project, &of_heads, &mixed);
    stations::explain(design, &fast, &mixed);
    let explained = heads::explained(design, rebuilt, &of_heads, &mixed, &fast);
    heads::explain(parcel, design, &explained);
    design
        .findings
        .extend(of_heads.into_iter().map(|fault| fault.finding));
    design
        .findings
        .extend(mixed.into_iter().map(|mixed| mixed.finding));
    design
        .findings
        .extend(fast.into_iter().map(|fast| fast.finding));
    design.findings.extend(lows);
}
