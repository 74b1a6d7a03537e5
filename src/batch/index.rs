//! The page over all parcels, made from what lies in the output folder once the summary stands.

use crate::batch::earlier::table;
use crate::batch::{Order, OutputError, ParcelRecord};
use crate::deliver::{DeliverError, Index, IndexEntry, Outline, outline_of, write_index};
use csv::StringRecord;
use std::collections::BTreeMap;
use std::path::Path;

/// Writes `index.html` beside `summary.csv`: every row of the summary with its record of the run. Outlines are read back from
/// the layers one after another; a parcel without a folder stands at its middle.
pub(crate) fn write(
    order: &Order<'_>,
    records: &BTreeMap<String, ParcelRecord>,
    summary: &Path,
) -> Result<(), OutputError> {
    let read = table(summary).map_err(|error| {
        OutputError::Table(DeliverError::Write {
            path: summary.to_path_buf(),
            source: error.into(),
        })
    });
    let (header, rows) = read?;
    let index = Index {
        project: order.project.name.clone(),
        currency: order.project.prices.currency.clone(),
        columns: cells(&header),
        entries: rows.iter().map(|row| entry(order, records, row)).collect(),
    };
    let write = |path: &Path| Ok(write_index(&index, path)?);
    order.output.write_whole("index.html", write).map(drop)
}

fn cells(row: &StringRecord) -> Vec<String> {
    row.iter().map(str::to_owned).collect()
}

fn entry(
    order: &Order<'_>,
    records: &BTreeMap<String, ParcelRecord>,
    row: &StringRecord,
) -> IndexEntry {
    let id = row.get(0).unwrap_or_default();
    let record = records.get(id);
    let folder = record.and_then(|record| record.folder.clone());
    let drawn = folder
        .as_ref()
        .and_then(|name| outline_of(&order.output.parcel(name)));
    let middle = || {
        let frame = order.ground.frame_of(id)?;
        Some(Outline::of_point((frame.lon0_deg, frame.lat0_deg)))
    };
    IndexEntry {
        cells: cells(row),
        outline: drawn.or_else(middle).unwrap_or_default(),
        findings: record.map_or_else(BTreeMap::new, |record| record.findings.clone()),
        folder,
    }
}
