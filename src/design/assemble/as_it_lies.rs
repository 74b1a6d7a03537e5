//! A design of works that lie already or are changed by hand: nothing is chosen, everything is reckoned.

use super::whole;
use crate::brief::Project;
use crate::design::hydraulics::StationError;
use crate::design::model::Design;
use crate::design::source::Source;
use crate::design::works::Works;
use crate::design::works::reckon::{Reckoning, reckon, tree_of};
use crate::finding::Finding;
use crate::site::Parcel;

/// The design that works amount to: solved, judged, scheduled, counted.
///
/// The project's catalogue must hold the sizes that lie in the ground, with the law of friction of the rules.
///
/// # Errors
/// [`StationError`] where a station's network has no solution.
pub fn as_it_lies(
    parcel: &Parcel,
    project: &Project,
    works: &Works,
    source: &Source,
    findings: Vec<Finding>,
) -> Result<Design, StationError> {
    let with = Reckoning {
        parcel,
        supply: &source.curve,
        catalogue: &project.catalogue,
        rules: &project.rules,
    };
    let settled = reckon(&with, works)?;
    let tree = tree_of(works);
    let heads = works.heads.clone();
    let ids = works.ids.clone();
    let mut design = whole(
        parcel, project, heads, &tree, source, settled, ids, findings,
    );
    let flows = std::mem::take(&mut design.valves);
    design.valves = works.valves.clone();
    for valve in &mut design.valves {
        let same = flows
            .iter()
            .find(|known| known.kind == valve.kind && known.station == valve.station);
        let largest = || flows.iter().map(|known| known.flow_lpm).fold(0.0, f64::max);
        valve.flow_lpm = same.map_or_else(largest, |known| known.flow_lpm);
    }
    Ok(design)
}
