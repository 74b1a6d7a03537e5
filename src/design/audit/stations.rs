//! Stations: heads of different rates on one, and pressures that a fault elsewhere explains.

use super::OF_PRESSURE;
use super::pipes::Fast;
use crate::brief::Project;
use crate::design::model::Design;
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use std::collections::BTreeMap;

/// A station whose heads apply different rates.
pub(super) struct Mixed {
    pub(super) station: usize,
    /// Its heads of another class than most.
    pub(super) heads: Vec<usize>,
    /// Flow that each of them has over what one of the right class would have, L/min.
    pub(super) excess_lpm: Vec<(usize, f64)>,
    pub(super) finding: Finding,
}

/// Every station with heads of more than one precipitation class.
pub(super) fn mixed(design: &Design, project: &Project, rebuilt: &Rebuilt) -> Vec<Mixed> {
    let class = |head: usize| {
        project.catalogue.heads[design.heads[head].model]
            .rate_class
            .as_str()
    };
    let mut found = Vec::new();
    for (station, of_design) in design.stations.iter().enumerate() {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for &head in &of_design.heads {
            *counts.entry(class(head)).or_default() += 1;
        }
        let Some((main, _)) = counts.iter().max_by_key(|(_, count)| **count) else {
            continue;
        };
        let main = *main;
        let heads: Vec<usize> = of_design
            .heads
            .iter()
            .copied()
            .filter(|&head| class(head) != main)
            .collect();
        let Some(&first) = heads.first() else {
            continue;
        };
        let rate = |name: &str| {
            let mut models = project.catalogue.heads.iter();
            models
                .find(|model| model.rate_class == name)
                .map_or(0.0, |model| model.rate_mm_h)
        };
        let ids: Vec<&str> = heads
            .iter()
            .map(|&head| rebuilt.ids.heads[head].as_str())
            .collect();
        let message = format!(
            "{} of the {} heads on station {} apply {:.0} mm/h, the others {:.0} mm/h ({}): while these are watered right, those get too much or too little. Exchange them for heads of class {main}, or give them a station of their own.",
            heads.len(),
            of_design.heads.len(),
            rebuilt.ids.stations[station],
            rate(class(first)),
            rate(main),
            ids.join(", ")
        );
        let finding = Finding::warning("mixed_station", message)
            .of(rebuilt.ids.heads[first].clone())
            .at(design.heads[first].position);
        let excess = |&head: &usize| {
            let of_design = &design.heads[head];
            let served_m2 = of_design.radius_m.powi(2) * of_design.arc.sweep_deg / 360.0;
            let matched_lpm = rate(main) * served_m2 / 60.0;
            let flow_lpm = design.working.get(head).map_or(0.0, |work| work.flow_lpm);
            (head, (flow_lpm - matched_lpm).max(0.0))
        };
        found.push(Mixed {
            station,
            excess_lpm: heads.iter().map(excess).collect(),
            heads,
            finding,
        });
    }
    found
}

/// Takes out findings on the pressures of stations that an undersized pipe on their way, or mixed heads, explain.
pub(super) fn explain(design: &mut Design, fast: &[Fast], mixed: &[Mixed]) {
    let explained: Vec<String> = (0..design.stations.len())
        .filter(|&station| {
            let by_pipe = fast.iter().any(|fast| fast.feeds(station));
            by_pipe || mixed.iter().any(|mixed| mixed.station == station)
        })
        .map(|station| design.ids.station(station))
        .collect();
    design.findings.retain(|finding| {
        let of_station = finding
            .feature
            .as_ref()
            .is_some_and(|of| explained.contains(of));
        !(of_station && OF_PRESSURE.contains(&finding.code))
    });
}
