//! Opening of a CSV file that the project names: its header, and its rows.

use crate::brief::problems::Problems;
use csv::{Reader, ReaderBuilder, StringRecord, Trim};
use std::fs::File;
use std::path::Path;

/// Header and rows, blanks round the cells left out; `None`, and told, where there is none to read.
pub(crate) fn open(path: &Path, problems: &mut Problems) -> Option<(StringRecord, Reader<File>)> {
    let mut rows = match ReaderBuilder::new().trim(Trim::All).from_path(path) {
        Ok(rows) => rows,
        Err(error) => {
            problems.tell("", format!("cannot be read: {error}"));
            return None;
        }
    };
    match rows.headers() {
        Ok(header) => Some((header.clone(), rows)),
        Err(error) => {
            problems.tell("line 1", format!("cannot be read: {error}"));
            None
        }
    }
}
