//! What a person must know: heads that no pipe reaches, stations that get no water.

use super::compact::Lying;
use super::hang::Loose;
use crate::design::model::{Head, Ids};
use crate::design::works::Works;
use crate::finding::Finding;
use geo::Coord;

/// Findings about heads without a station and stations without a main.
pub(super) fn findings(
    lost: &[Loose],
    lying: &Lying,
    fed: &[bool],
    heads: &[Head],
) -> Vec<Finding> {
    let ids = Ids::default();
    let mut lost: Vec<usize> = lost.iter().flat_map(|loose| loose.heads.clone()).collect();
    lost.sort_unstable();
    let works = &lying.works;
    let dry = (0..fed.len()).filter(|s| !fed[*s] && !works.stations[*s].heads.is_empty());
    lost.into_iter()
        .map(|head| not_reached(head, heads[head].position, &ids))
        .chain(dry.map(|station| not_fed(station, works, &ids)))
        .collect()
}

/// The same findings under the names that the things have once they are numbered.
pub fn told(works: &Works, findings: &[Finding], ids: &Ids) -> Vec<Finding> {
    let valve_at = |station: usize| valve_place(works, station);
    let renamed = |finding: &Finding| {
        let place = finding.place?;
        match finding.code {
            "head_not_reached" => {
                let head = works.heads.iter().position(|head| head.position == place)?;
                Some(not_reached(head, place, ids))
            }
            "station_not_fed" => {
                let mut stations = 0..works.stations.len();
                let station = stations.find(|station| valve_at(*station) == place)?;
                Some(not_fed(station, works, ids))
            }
            _ => None,
        }
    };
    let findings = findings.iter();
    findings
        .map(|finding| renamed(finding).unwrap_or_else(|| finding.clone()))
        .collect()
}

fn not_reached(head: usize, at: Coord<f64>, ids: &Ids) -> Finding {
    let message = format!(
        "head {} is on no station: no trench leads to it, or there is no main to lead one from; move it or what is in the way",
        Ids::number(&ids.heads, head)
    );
    let finding = Finding::error("head_not_reached", message);
    if at.x.is_finite() && at.y.is_finite() {
        finding.at(at)
    } else {
        finding
    }
}

fn not_fed(station: usize, works: &Works, ids: &Ids) -> Finding {
    let message = format!(
        "no main leads to the valve of station {}: its {} heads get no water; join it to the main",
        Ids::number(&ids.stations, station),
        works.stations[station].heads.len()
    );
    Finding::error("station_not_fed", message).at(valve_place(works, station))
}

fn valve_place(works: &Works, station: usize) -> Coord<f64> {
    works.pipework.nodes[works.pipework.valve_nodes[station]].position
}
