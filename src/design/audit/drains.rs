//! Low points without a drain, where the ground freezes.

use crate::brief::Project;
use crate::design::drainage::basins;
use crate::design::model::{Design, Section};
use crate::design::pipework::Pipework;
use crate::design::settle::inverts::grade_rules;
use crate::design::settle::inverts::section::SectionLevels;
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use crate::site::Parcel;

/// Low points of sections whose heights are known that have no drain; nothing where pipe need not drain.
pub(super) fn missing(
    design: &Design,
    project: &Project,
    parcel: &Parcel,
    rebuilt: &Rebuilt,
) -> Vec<Finding> {
    let rules = grade_rules(&project.rules);
    if !rules.must_drain {
        return Vec::new();
    }
    let work = Pipework::of(design);
    let stations = (0..design.stations.len()).map(Section::Station);
    let mut findings = Vec::new();
    for section in std::iter::once(Section::Main).chain(stations) {
        let levels = SectionLevels::of(
            &work,
            section,
            &parcel.terrain,
            &project.catalogue,
            &project.rules,
        );
        let assumed = |node: &usize| rebuilt.assumed_levels.contains(node);
        if levels.ours.len() < 2 || levels.ours.iter().any(assumed) {
            continue;
        }
        let invert_m: Vec<f64> = levels
            .ours
            .iter()
            .map(|node| work.nodes[*node].invert_m)
            .collect();
        let edges: Vec<(usize, usize)> = levels
            .pipes
            .iter()
            .map(|pipe| (pipe.from, pipe.to))
            .collect();
        for basin in basins(&invert_m, &edges, rules.tolerance_m) {
            let drained = basin.members.iter().any(|member| {
                let level = (invert_m[*member] - invert_m[basin.low]).abs() < rules.tolerance_m;
                level
                    && design
                        .drains
                        .iter()
                        .any(|drain| drain.section == section && drain.node == levels.ours[*member])
            });
            if drained {
                continue;
            }
            let node = &work.nodes[levels.ours[basin.low]];
            let name = match section {
                Section::Main => "main".to_owned(),
                Section::Station(station) => rebuilt.ids.stations[station].clone(),
            };
            let message = format!(
                "the {name} has a low point at {:.2} m without a drain: water stays in it and freezes. Set a drain valve there, in gravel.",
                node.invert_m
            );
            findings.push(
                Finding::warning("drain_missing", message)
                    .of(name)
                    .at(node.position),
            );
        }
    }
    findings
}
