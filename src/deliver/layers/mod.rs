//! The layers, in the order a viewer should stack them from the ground up.

mod fittings;
mod ground;
mod heads;
mod marks;
mod network;
mod results;

use crate::deliver::DeliverError;
use crate::deliver::job::Job;
use crate::deliver::layer::Layer;
use crate::deliver::lonlat::LonLat;

/// All fifteen layers of a parcel, in longitude and latitude.
pub(crate) fn all(job: &Job, lonlat: &LonLat) -> Result<Vec<Layer>, DeliverError> {
    let plan: [fn(&Job) -> Layer; 15] = [
        ground::parcel,
        ground::turf,
        results::coverage,
        ground::obstacles,
        results::stations,
        heads::throws,
        network::trenches,
        network::mains,
        network::laterals,
        network::nodes,
        heads::heads,
        fittings::valves,
        fittings::drains,
        fittings::air_valves,
        results::attention,
    ];
    plan.iter()
        .map(|layer| layer(job).projected(lonlat).map(marks::marked))
        .collect()
}
