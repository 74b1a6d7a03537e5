//! What a person must know: heads that no pipe reaches, stations that get no water.

use super::compact::Lying;
use super::hang::Loose;
use crate::design::model::Head;
use crate::finding::Finding;

/// Findings about heads without a station and stations without a main.
pub(super) fn findings(
    lost: &[Loose],
    lying: &Lying,
    fed: &[bool],
    heads: &[Head],
) -> Vec<Finding> {
    let of_head = |head: usize| {
        let message = format!(
            "head {} is on no station: no trench leads to it, or there is no main to lead one from; move it or what is in the way",
            head + 1
        );
        let finding = Finding::error("head_not_reached", message);
        let at = heads[head].position;
        if at.x.is_finite() && at.y.is_finite() {
            finding.at(at)
        } else {
            finding
        }
    };
    let mut lost: Vec<usize> = lost.iter().flat_map(|loose| loose.heads.clone()).collect();
    lost.sort_unstable();
    let work = &lying.works.pipework;
    let dry = (0..fed.len()).filter(|s| !fed[*s] && !lying.works.stations[*s].heads.is_empty());
    let of_station = |station: usize| {
        let count = lying.works.stations[station].heads.len();
        let message = format!(
            "no main leads to the valve of station {}: its {count} heads get no water; join it to the main",
            station + 1
        );
        Finding::error("station_not_fed", message)
            .at(work.nodes[work.valve_nodes[station]].position)
    };
    lost.into_iter()
        .map(of_head)
        .chain(dry.map(of_station))
        .collect()
}
