//! The rows of the page: what needs a person first, figures of all parcels together, findings by kind.

use super::{Index, IndexEntry};
use crate::deliver::link::encoded;
use minijinja::{Value, context};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Parcels told under "what to look at first".
const FIRST: usize = 12;

/// Columns of the table: name in `summary.csv`, heading, decimals.
const COLUMNS: [(&str, &str, usize); 15] = [
    ("turf_ha", "Turf, ha", 2),
    ("heads", "Heads", 0),
    ("stations", "Stations", 0),
    ("du_least", "DU, least", 2),
    ("dry_fraction", "Dry, share", 3),
    ("pressure_min_kpa", "Nozzle least, kPa", 0),
    ("pressure_max_kpa", "Nozzle most, kPa", 0),
    ("trench_m", "Trench, m", 0),
    ("drains", "Drains", 0),
    ("peak_window_h", "Peak day, h", 1),
    ("year_m3", "Water a year, m³", 0),
    ("cost", "Cost", 0),
    ("errors", "Errors", 0),
    ("warnings", "Warnings", 0),
    ("notes", "Notes", 0),
];

/// Figures that can be added up: name in `summary.csv`, heading, unit, decimals.
const SUMS: [(&str, &str, &str, usize); 7] = [
    ("turf_ha", "Turf", " ha", 2),
    ("heads", "Heads", "", 0),
    ("stations", "Stations", "", 0),
    ("trench_m", "Trench", " m", 0),
    ("drains", "Drain valves", "", 0),
    ("year_m3", "Water in a year", " m³", 0),
    ("cost", "Cost", "", 0),
];

/// A parcel with the cells of its row by name.
pub(super) struct Parcel<'a> {
    pub(super) entry: &'a IndexEntry,
    columns: &'a [String],
}

impl Parcel<'_> {
    fn cell(&self, name: &str) -> &str {
        let place = self.columns.iter().position(|column| column == name);
        let cell = place.and_then(|place| self.entry.cells.get(place));
        cell.map_or("", String::as_str)
    }

    fn number(&self, name: &str) -> Option<f64> {
        self.cell(name).parse().ok().filter(|v: &f64| v.is_finite())
    }

    /// Its id.
    pub(super) fn id(&self) -> &str {
        self.cell("parcel")
    }

    /// `good`, `look` or `failed`.
    pub(super) fn status(&self) -> &'static str {
        match self.cell("status") {
            "good" => "good",
            "look" => "look",
            _ => "failed",
        }
    }

    /// A sign for the status, so that colour does not stand alone.
    pub(super) fn sign(&self) -> &'static str {
        match self.status() {
            "good" => "✓",
            "look" => "!",
            _ => "✕",
        }
    }

    /// What a mark on the map says.
    pub(super) fn told(&self) -> String {
        let mut told = self.id().to_owned();
        if !self.cell("name").is_empty() {
            let _ = write!(told, ", {}", self.cell("name"));
        }
        let _ = write!(told, ": {}", self.status());
        if let Some(heads) = self.number("heads") {
            let _ = write!(told, ", {heads} heads");
        }
        told
    }

    /// Where its report is.
    pub(super) fn link(&self) -> Option<String> {
        let folder = self.entry.folder.as_deref()?;
        Some(format!("parcels/{}/report.html", encoded(folder)))
    }

    /// Failed first, then those to look at; of equals those with more errors, then warnings.
    fn rank(&self) -> (u8, i64, i64) {
        let count = |name: &str| -self.number(name).unwrap_or(0.0) as i64;
        let status = match self.status() {
            "failed" => 0,
            "look" => 1,
            _ => 2,
        };
        (status, count("errors"), count("warnings"))
    }
}

/// All parcels, what needs a person first.
pub(super) fn sorted(index: &Index) -> Vec<Parcel<'_>> {
    let columns = &index.columns;
    let mut parcels: Vec<Parcel> = index
        .entries
        .iter()
        .map(|entry| Parcel { entry, columns })
        .collect();
    parcels.sort_by(|a, b| a.rank().cmp(&b.rank()).then_with(|| a.id().cmp(b.id())));
    parcels
}

/// Headings of the figures in the table.
pub(super) fn names(index: &Index) -> Vec<String> {
    let currency = index
        .currency
        .as_deref()
        .map_or(String::new(), |c| format!(", {c}"));
    let name = |(column, name, _): &(&str, &str, usize)| match *column {
        "cost" => format!("{name}{currency}"),
        _ => (*name).to_owned(),
    };
    COLUMNS.iter().map(name).collect()
}

/// A parcel's row.
pub(super) fn shown(parcel: &Parcel) -> Value {
    let cell = |(name, _, decimals): &(&str, &str, usize)| told(parcel.number(name), *decimals);
    context! {
        id => parcel.id(),
        name => parcel.cell("name"),
        status => parcel.status(),
        sign => parcel.sign(),
        link => parcel.link(),
        cells => COLUMNS.iter().map(cell).collect::<Vec<_>>(),
        finding => parcel.cell("first_finding"),
    }
}

fn told(value: Option<f64>, decimals: usize) -> String {
    value.map_or("–".to_owned(), |value| format!("{value:.decimals$}"))
}

/// The parcels that want a person, as far as a morning's first look goes.
pub(super) fn first(parcels: &[Parcel]) -> Value {
    let wanting = || parcels.iter().filter(|p| p.status() != "good");
    context! {
        parcels => wanting().take(FIRST).map(shown).collect::<Vec<_>>(),
        left => wanting().count().saturating_sub(FIRST),
    }
}

/// Figures of all parcels together.
pub(super) fn figures(index: &Index, parcels: &[Parcel]) -> Vec<(String, String)> {
    let count = |status: &str| parcels.iter().filter(|p| p.status() == status).count();
    let mut figures = vec![
        ("Parcels".to_owned(), parcels.len().to_string()),
        ("Good".to_owned(), count("good").to_string()),
        ("To look at".to_owned(), count("look").to_string()),
        ("Failed".to_owned(), count("failed").to_string()),
    ];
    for (name, heading, unit, decimals) in SUMS {
        let known = || parcels.iter().filter_map(|p| p.number(name));
        let missing = parcels.len() - known().count();
        if known().next().is_none() {
            continue;
        }
        let unit = match (name, &index.currency) {
            ("cost", Some(currency)) => format!(" {currency}"),
            _ => unit.to_owned(),
        };
        let without = match missing {
            0 => String::new(),
            _ => format!(" ({missing} without)"),
        };
        let sum = known().sum::<f64>();
        figures.push((
            heading.to_owned(),
            format!("{sum:.decimals$}{unit}{without}"),
        ));
    }
    figures
}

/// Findings by kind, gravest first, then those in most parcels: severity, code, parcels, number.
pub(super) fn kinds(index: &Index) -> Vec<[String; 4]> {
    let mut kinds: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for entry in &index.entries {
        for (kind, number) in &entry.findings {
            let sum = kinds.entry(kind).or_default();
            *sum = (sum.0 + 1, sum.1 + number);
        }
    }
    let grave = |kind: &str| match kind.split(' ').next() {
        Some("error") => 0,
        Some("warning") => 1,
        _ => 2,
    };
    let mut kinds: Vec<_> = kinds.into_iter().collect();
    kinds.sort_by(|a, b| {
        grave(a.0)
            .cmp(&grave(b.0))
            .then(b.1.0.cmp(&a.1.0))
            .then(a.0.cmp(b.0))
    });
    let row = |(kind, (parcels, number)): (&str, (usize, usize))| {
        let (severity, code) = kind.split_once(' ').unwrap_or((kind, ""));
        [
            severity.to_owned(),
            code.to_owned(),
            parcels.to_string(),
            number.to_string(),
        ]
    };
    kinds.into_iter().map(row).collect()
}
