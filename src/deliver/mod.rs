//! Hand-over: a finished design as layers, GeoPackage, report and tables.
//!
//! Inside everything is in the parcel's frame, metres; what leaves is WGS 84. Nothing is decided or computed anew here:
//! a figure that the design does not hold is written as missing.

mod attention;
mod colours;
mod error;
#[cfg(test)]
pub(crate) mod example;
mod figures;
mod geojson_file;
mod geopackage;
mod index;
mod job;
mod layer;
mod layers;
mod link;
mod list_page;
mod lonlat;
mod names;
mod networks;
mod palette;
mod plan;
mod report;
mod retrofit;
mod schedule_figures;
mod summary;
mod tables;
mod takeoff_sheet;
#[cfg(test)]
mod tests;
mod valid;
mod variants;
mod water_balance_table;

pub use error::DeliverError;
pub use index::{Index, IndexEntry, Outline, outline_of, write_index};
pub use plan::plan_svg;
pub use summary::{Status, SummaryRow, summary_row, write_summary};
pub use variants::{VariantRows, write_variants_page, write_variants_table};

use crate::brief::Project;
use crate::design::audit::Audited;
use crate::design::model::Design;
use crate::design::retrofit::Comparison;
use crate::site::Parcel;
use job::Job;
use lonlat::LonLat;
use std::path::Path;

/// Writes everything one parcel gets into `folder`, which must exist: `layers/*.geojson`, `design.gpkg`, `report.html`,
/// `takeoff.csv`, `takeoff.xlsx`, `schedule.csv`, `water_balance.csv`, `settings.csv` and `design.json`.
///
/// The same design gives the same bytes. All layers are written, also those without features.
///
/// # Errors
/// When a file cannot be written, or the parcel does not lie where its frame can be turned into longitude and latitude.
pub fn write_parcel(
    parcel: &Parcel,
    design: &Design,
    project: &Project,
    folder: &Path,
) -> Result<(), DeliverError> {
    let job = Job::new(parcel, design, project);
    let lonlat = LonLat::new(parcel.frame)?;
    let layers = layers::all(&job, &lonlat)?;
    geojson_file::write_all(&layers, &folder.join("layers"))?;
    geopackage::write(&layers, &folder.join("design.gpkg"))?;
    tables::write_all(&job, &lonlat, folder)?;
    takeoff_sheet::write(&job, &folder.join("takeoff.xlsx"))?;
    figures::write(&job, &folder.join("design.json"))?;
    report::write(&job, &folder.join("report.html"))
}

/// Writes what lay on a parcel before, judged, into `folder/existing`, and before and after side by side as `retrofit.csv`
/// and `retrofit.html`; `folder` must exist.
///
/// # Errors
/// As [`write_parcel`].
pub fn write_before(
    parcel: &Parcel,
    before: &Audited,
    after: &Design,
    comparison: Option<&Comparison>,
    folder: &Path,
) -> Result<(), DeliverError> {
    let existing = folder.join("existing");
    std::fs::create_dir_all(&existing).map_err(|source| DeliverError::write(&existing, source))?;
    write_parcel(parcel, &before.design, &before.project, &existing)?;
    match comparison {
        Some(comparison) => retrofit::write(parcel, comparison, before, after, folder),
        None => Ok(()),
    }
}

/// Writes every station as a network for EPANET, a public hydraulic solver, into `folder/networks`; `folder` must exist.
///
/// # Errors
/// When a file cannot be written, or the design lacks a part of a station.
pub fn write_networks(
    parcel: &Parcel,
    design: &Design,
    project: &Project,
    folder: &Path,
) -> Result<(), DeliverError> {
    let job = Job::new(parcel, design, project);
    networks::write_all(&job, &folder.join("networks"))
}
