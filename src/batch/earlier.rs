//! What an earlier run left about the parcels that this run does not touch (`--only`).

use crate::batch::{FolderNames, Order, OutputError, ParcelRecord, RunFile};
use crate::deliver::DeliverError;
use csv::StringRecord;
use std::collections::BTreeMap;
use std::path::Path;

/// Records and rows of the parcels that stay as they are.
#[derive(Debug, Default)]
pub(crate) struct Earlier {
    /// For `run.json`.
    pub(crate) records: BTreeMap<String, ParcelRecord>,
    header: StringRecord,
    rows: Vec<StringRecord>,
}

impl Earlier {
    /// Looks into the output folder. A run over all parcels keeps nothing; a summary of other columns is not kept.
    pub(crate) fn read(order: &Order<'_>, names: &FolderNames) -> Self {
        let out = order.output;
        let mut earlier = Self::default();
        if order.only.is_empty() {
            return earlier;
        }
        let Some(run) = RunFile::read(&out.path().join("run.json")) else {
            return earlier;
        };
        earlier.records = run.parcels;
        earlier.records.retain(|id, record| {
            let stands = names.get(id).is_some_and(|name| out.holds(name));
            !order.only.contains(id) && (stands || (names.contains_key(id) && record.has_failed()))
        });
        if let Ok((header, rows)) = table(&out.path().join("summary.csv")) {
            earlier.header = header;
            earlier.rows = rows;
            let records = &earlier.records;
            let kept = |row: &StringRecord| row.get(0).is_some_and(|id| records.contains_key(id));
            earlier.rows.retain(kept);
        }
        earlier
    }

    /// Adds the rows that stay to a fresh summary, in the order of the ids.
    pub(crate) fn add_rows_to(&self, path: &Path) -> Result<(), OutputError> {
        if self.rows.is_empty() {
            return Ok(());
        }
        self.joined(path).map_err(|error| {
            OutputError::Table(DeliverError::Write {
                path: path.to_path_buf(),
                source: error.into(),
            })
        })
    }

    fn joined(&self, path: &Path) -> csv::Result<()> {
        let (header, mut rows) = table(path)?;
        if header == self.header {
            rows.extend(self.rows.iter().cloned());
        }
        rows.sort_by(|a, b| a.get(0).cmp(&b.get(0)));
        let mut writer = csv::Writer::from_path(path)?;
        writer.write_record(&header)?;
        for row in &rows {
            writer.write_record(row)?;
        }
        Ok(writer.flush()?)
    }
}

/// Header and rows of a table.
pub(crate) fn table(path: &Path) -> csv::Result<(StringRecord, Vec<StringRecord>)> {
    let mut reader = csv::Reader::from_path(path)?;
    let header = reader.headers()?.clone();
    let rows = reader.records().collect::<csv::Result<_>>()?;
    Ok((header, rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_that_stay_are_sorted_in_and_strange_columns_are_not() {
        let scratch = tempfile::tempdir().unwrap();
        let path = scratch.path().join("summary.csv");
        let fresh = "parcel,heads\nB,2\n";
        let mut earlier = Earlier {
            header: StringRecord::from(vec!["parcel", "heads"]),
            rows: ["C", "A"]
                .map(|id| StringRecord::from(vec![id, "9"]))
                .to_vec(),
            ..Earlier::default()
        };
        std::fs::write(&path, fresh).unwrap();
        earlier.add_rows_to(&path).unwrap();
        let joined = std::fs::read_to_string(&path).unwrap();
        assert_eq!(joined, "parcel,heads\nA,9\nB,2\nC,9\n");
        earlier.header = StringRecord::from(vec!["parcel", "valves"]);
        std::fs::write(&path, fresh).unwrap();
        earlier.add_rows_to(&path).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), fresh);
    }
}
