//! How even the water would be at the pressure the nozzles are rated at, beside how even it is at the solved ones.

use super::working::rated_working;
use crate::brief::{Catalogue, Rules};
use crate::design::model::{Head, TurfResult, Working};
use crate::finding::Finding;
use crate::site::Parcel;

/// Uniformity that solved pressures may cost before it is told. Common practice, no source.
const LOSS_MOST: f64 = 0.05;

/// Writes the uniformity at rated pressure beside that of the solved ones; tells where they differ much.
pub fn compare(
    parcel: &Parcel,
    heads: &[Head],
    catalogue: &Catalogue,
    rules: &Rules,
    solved: &mut [TurfResult],
) -> Vec<Finding> {
    let rated: Vec<Working> = heads
        .iter()
        .map(|head| rated_working(head, catalogue))
        .collect();
    let rated = super::simulate(parcel, heads, &rated, catalogue, rules).turf;
    let mut findings = Vec::new();
    for ((solved, rated), turf) in solved.iter_mut().zip(rated).zip(&parcel.turf) {
        solved.du_rated = rated.du_low_quarter;
        let Some((du, du_rated)) = solved.du_low_quarter.zip(rated.du_low_quarter) else {
            continue;
        };
        if (du_rated - du).abs() > LOSS_MOST {
            let message = format!(
                "The low quarter gets {du:.2} of the mean at the pressures solved, {du_rated:.2} at the pressure the nozzles are rated at: \
                 heads of different stations water it at different pressures, or with less than their full throw. More pressure, or heads of a smaller radius, would even it out."
            );
            findings.push(Finding::warning("du_by_pressure", message).of(turf.id.clone()));
        }
    }
    findings
}
