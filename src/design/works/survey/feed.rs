//! What feeds a surveyed system.

use super::goods::listed;
use super::lines::{Part, SurveyNet};
use crate::brief::Rules;
use crate::design::source::Source;
use crate::design::supply::SupplyCurve;
use crate::finding::Finding;
use crate::site::Parcel;

/// Distance of a water point from the main beyond which it does not feed it, m.
const SOURCE_REACH_M: f64 = 25.0;

/// The water point nearest to the main, and the joint it feeds.
pub(super) fn source(
    parcel: &Parcel,
    net: &SurveyNet,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) -> Option<(Source, usize)> {
    let mains = (0..net.joints.len()).filter(|&joint| net.joints[joint].suits(Part::Main));
    let mains: Vec<usize> = mains
        .filter(|&joint| !net.joints[joint].parts.is_empty())
        .collect();
    let mut best: Option<(f64, &crate::site::WaterPoint, usize)> = None;
    for point in &parcel.water_points {
        for &joint in &mains {
            let off = net.joints[joint].at - point.position;
            let far_m = off.x.hypot(off.y);
            if best.is_none_or(|(known_m, _, _)| far_m < known_m) {
                best = Some((far_m, point, joint));
            }
        }
    }
    let Some((far_m, point, joint)) = best.filter(|best| best.0 <= SOURCE_REACH_M) else {
        let finding = Finding::error("existing_no_source", unfed(parcel, net));
        findings.push(finding);
        return None;
    };
    if far_m > rules.existing_snap_m {
        let message = format!(
            "the main begins {far_m:.2} m from the water point; it is taken to begin there. Draw it to the water point."
        );
        let finding = Finding::warning("existing_source_off", message).of(&point.id);
        findings.push(finding.at(net.joints[joint].at));
    }
    match SupplyCurve::of(point, rules) {
        Ok(curve) => Some((
            Source {
                id: point.id.clone(),
                position: net.joints[joint].at,
                curve,
            },
            joint,
        )),
        Err(error) => {
            let message = format!(
                "the test of this water point cannot be used: {error}. Measure again or correct the layer"
            );
            findings.push(Finding::error("supply_unusable", message).of(&point.id));
            None
        }
    }
}

/// That nothing is fed, with the pipes and valves of which nothing more is said.
fn unfed(parcel: &Parcel, net: &SurveyNet) -> String {
    let existing = &parcel.existing;
    let pipes = net
        .lines
        .iter()
        .map(|line| &existing.pipes[line.survey].from);
    let valves = net.joints.iter().filter_map(|joint| joint.valve);
    let valves = valves.map(|valve| &existing.valves[valve].from);
    let mut ids: Vec<&str> = valves.chain(pipes).map(|from| from.id.as_str()).collect();
    ids.dedup();
    if ids.is_empty() {
        return "no pipe is drawn: nothing is fed, and heads are judged as if they worked. Draw mains and laterals.".to_owned();
    }
    format!(
        "no main comes within {SOURCE_REACH_M:.0} m of a water point: nothing is fed, and heads are judged as if they worked ({} are not looked at). Draw the main to the water point, and say which pipes are mains (`kind = main`).",
        listed(ids.into_iter())
    )
}
