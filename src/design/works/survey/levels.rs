//! How deep a surveyed system lies: inverts as told, checked against the ground, assumed where none are.

use super::Rebuilt;
use super::goods::listed;
use crate::brief::Rules;
use crate::design::model::{NodeKind, Section};
use crate::finding::Finding;
use crate::site::Parcel;
use std::collections::BTreeMap;

/// Inverts told for one node that differ by more are told, m.
const SAME_INVERT_M: f64 = 0.02;
/// Pipe deeper than this was told wrongly, m.
const DEPTH_MOST_M: f64 = 6.0;
/// Pipe that lies higher over the ground than this was told wrongly, m: a pipe may surface, a survey may err.
const ABOVE_MOST_M: f64 = 0.1;

/// Heights told at each node: (pipe id index, invert).
pub(super) type Told = BTreeMap<usize, Vec<f64>>;

/// Sets the invert of every node.
pub(super) fn set(
    rebuilt: &mut Rebuilt,
    told: &Told,
    parcel: &Parcel,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) {
    let (mut wrong, mut unknown) = (Vec::new(), Vec::new());
    let works = &mut rebuilt.works;
    for (index, node) in works.pipework.nodes.iter_mut().enumerate() {
        let ground_m = parcel
            .terrain
            .height_m(node.position)
            .unwrap_or(node.ground_m);
        let cover_m = match node.section {
            Section::Main => rules.main_cover_min_m,
            Section::Station(_) if node.kind == NodeKind::Valve => rules.main_cover_min_m,
            Section::Station(_) => rules.lateral_cover_min_m,
        };
        let heights = told.get(&index).map_or(&[][..], Vec::as_slice);
        let low_m = heights.iter().copied().fold(f64::INFINITY, f64::min);
        let high_m = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sound = low_m.is_finite()
            && low_m >= ground_m - DEPTH_MOST_M
            && high_m <= ground_m + ABOVE_MOST_M;
        if sound && high_m - low_m > SAME_INVERT_M {
            let message = format!(
                "the pipes that meet here are told to lie at {low_m:.2} and {high_m:.2} m; the lower is taken. Measure again."
            );
            findings.push(Finding::warning("existing_invert_differs", message).at(node.position));
        }
        if sound {
            node.invert_m = low_m;
            continue;
        }
        node.invert_m = ground_m - cover_m;
        if heights.is_empty() {
            unknown.push(index);
        } else {
            wrong.push((index, low_m - ground_m));
        }
    }
    let nodes = &works.pipework.nodes;
    for (index, above_m) in wrong {
        let message = format!(
            "pipe is told to lie {:.1} m {} the ground here; the least cover of the rules is taken. Correct its height, and look at its unit and datum.",
            above_m.abs(),
            if above_m > 0.0 { "above" } else { "below" }
        );
        findings.push(Finding::warning("existing_invert_wrong", message).at(nodes[index].position));
    }
    if !unknown.is_empty() {
        let all = unknown.len() == nodes.len();
        let count = if all {
            "all".to_owned()
        } else {
            unknown.len().to_string()
        };
        let pipes = works.pipework.pipes.iter().zip(&rebuilt.ids.pipes);
        let of = pipes
            .filter(|(pipe, _)| unknown.contains(&pipe.to))
            .map(|(_, id)| id.as_str());
        let message = format!(
            "{count} of {} joints have no height: the least cover of the rules is taken there, so low points and drains cannot be judged. Give invert_from_m and invert_to_m, or heights in the geometry: {}.",
            nodes.len(),
            listed(of)
        );
        findings
            .push(Finding::note("existing_invert_assumed", message).at(nodes[unknown[0]].position));
    }
    rebuilt.assumed_levels = unknown;
}
