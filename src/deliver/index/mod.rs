//! `index.html`: all parcels of a run on one page, so that a morning begins with a map and with what needs a person.
//!
//! It rests on `summary.csv` and on the outlines that the parcels' layers hold, so that it can be made at any time from what
//! lies in the output folder.

mod map;
mod outline;
mod rows;

pub use outline::{Outline, outline_of};

use crate::deliver::DeliverError;
use crate::deliver::list_page;
use minijinja::{Value, context};
use std::collections::BTreeMap;
use std::path::Path;

/// A parcel on the page.
#[derive(Debug, Clone, Default)]
pub struct IndexEntry {
    /// Its row of `summary.csv`, in the order of the columns.
    pub cells: Vec<String>,
    /// Name of its folder under `parcels/`, where there is one.
    pub folder: Option<String>,
    /// Where it lies.
    pub outline: Outline,
    /// Number of findings by severity and code, as `warning du_low`.
    pub findings: BTreeMap<String, usize>,
}

/// What the page tells.
#[derive(Debug, Clone, Default)]
pub struct Index {
    /// Name of the project.
    pub project: String,
    /// Currency word, where given.
    pub currency: Option<String>,
    /// Names of the columns of `summary.csv`.
    pub columns: Vec<String>,
    /// Parcels.
    pub entries: Vec<IndexEntry>,
}

/// Writes the page. The same entries give the same bytes.
///
/// # Errors
/// When the file cannot be written.
pub fn write_index(index: &Index, path: &Path) -> Result<(), DeliverError> {
    list_page::write(include_str!("index.html"), filled(index), path)
}

fn filled(index: &Index) -> Value {
    let parcels = rows::sorted(index);
    let safe = Value::from_safe_string;
    context! {
        project => index.project,
        map => map::drawn(&parcels).map(safe),
        unplaced => parcels.iter().filter(|p| p.entry.outline.is_empty()).count(),
        figures => rows::figures(index, &parcels),
        first => rows::first(&parcels),
        kinds => rows::kinds(index),
        names => rows::names(index),
        rows => parcels.iter().map(rows::shown).collect::<Vec<_>>(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(id: &str, name: &str) -> String {
        let columns = [
            "parcel",
            "name",
            "status",
            "turf_ha",
            "heads",
            "errors",
            "first_finding",
        ];
        let entry = |cells: [&str; 7], folder: Option<&str>| IndexEntry {
            cells: cells.map(str::to_owned).to_vec(),
            folder: folder.map(str::to_owned),
            outline: Outline::of_point((13.0, 52.0)),
            findings: BTreeMap::from([("warning du_low".to_owned(), 2)]),
        };
        let index = Index {
            project: name.to_owned(),
            currency: None,
            columns: columns.map(str::to_owned).to_vec(),
            entries: vec![
                entry([id, name, "good", "1.5", "20", "0", ""], Some("a %2F b")),
                entry(["Z", "", "failed", "", "", "1", name], None),
            ],
        };
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("index.html");
        write_index(&index, &path).unwrap();
        std::fs::read_to_string(path).unwrap()
    }

    #[test]
    fn names_from_outside_stay_text() {
        let evil = "</script><img src=x onerror=alert(1)>\"'&🌱</title>";
        let page = page(evil, evil);
        assert_eq!(page.matches("</script>").count(), 1, "its own");
        assert_eq!(
            page.matches("</title>").count(),
            page.matches("<title>").count()
        );
        assert!(!page.contains("<img"));
        assert!(page.contains("🌱"));
        assert!(page.contains("parcels/a%20%252F%20b/report.html"));
    }

    #[test]
    fn what_failed_stands_first_and_has_no_link() {
        let page = page("A", "North");
        let body = page.split("<tbody>").nth(1).unwrap();
        assert!(body.find(">Z<").unwrap() < body.find(">A<").unwrap());
        assert_eq!(page.matches("href=\"parcels/").count(), 2, "map and table");
        assert!(!page.contains("NaN"));
    }
}
