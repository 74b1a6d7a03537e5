//! `summary.csv`: one row a parcel, so that a morning begins with what needs a person.

use crate::deliver::DeliverError;
use crate::deliver::job;
use crate::deliver::tables::{self, cell};
use crate::design::model::Design;
use crate::finding::{Finding, Severity};
use crate::site::Parcel;
use geo::Area;
use std::path::Path;

/// How a parcel came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Designed; nothing to look at but notes.
    Good,
    /// Designed, but a warning or an error asks for a human eye.
    Look,
    /// Not designed, or no head could be made to work.
    Failed,
}

impl Status {
    /// The word used in files: `good`, `look`, `failed`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Look => "look",
            Self::Failed => "failed",
        }
    }
}

/// The figures of one parcel; `None` where there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct SummaryRow {
    /// Id of the parcel.
    pub parcel: String,
    /// Its name, where given.
    pub name: Option<String>,
    /// How it came out.
    pub status: Status,
    /// Turf, hectares.
    pub turf_ha: Option<f64>,
    /// Figures of the design, in the order of the columns from `heads` to `cost`.
    pub figures: Vec<Option<f64>>,
    /// Number of errors.
    pub errors: usize,
    /// Number of warnings.
    pub warnings: usize,
    /// Number of notes.
    pub notes: usize,
    /// Message of the gravest finding.
    pub first_finding: Option<String>,
}

/// Columns of the design's figures and their decimals.
const FIGURES: [(&str, i32); 22] = [
    ("heads", 0),
    ("heads_bound", 0),
    ("heads_lp_estimate", 1),
    ("stations", 0),
    ("stations_bound", 0),
    ("du_median", 3),
    ("du_least", 3),
    ("dry_fraction", 4),
    ("overspray_fraction", 4),
    ("pressure_min_kpa", 1),
    ("pressure_max_kpa", 1),
    ("trench_m", 1),
    ("trench_bound_m", 1),
    ("main_m", 1),
    ("lateral_m", 1),
    ("drains", 0),
    ("air_valves", 0),
    ("design_lpm", 1),
    ("peak_window_h", 2),
    ("window_ok", 0),
    ("year_m3", 0),
    ("cost", 2),
];

/// The row of a parcel that was designed.
pub fn summary_row(parcel: &Parcel, design: &Design) -> SummaryRow {
    let mut findings: Vec<&Finding> = parcel.findings.iter().collect();
    findings.extend(
        design
            .findings
            .iter()
            .filter(|f| !parcel.findings.contains(f)),
    );
    let turf_m2: f64 = parcel.turf.iter().map(|t| t.shape.unsigned_area()).sum();
    let mut row = SummaryRow::from_findings(&parcel.id, parcel.name.clone(), &findings);
    row.turf_ha = Some(turf_m2 / 10_000.0);
    row.figures = figures(design);
    row.status = status(design, &row);
    row
}

impl SummaryRow {
    /// The row of a parcel for which there is no design, from what was found wrong.
    pub fn failed(parcel: &str, name: Option<String>, findings: &[Finding]) -> Self {
        Self::from_findings(parcel, name, &findings.iter().collect::<Vec<_>>())
    }

    fn from_findings(parcel: &str, name: Option<String>, findings: &[&Finding]) -> Self {
        let count = |severity| findings.iter().filter(|f| f.severity == severity).count();
        // `max_by_key` takes the last of equals; the first found is what a person should read.
        let gravest = findings.iter().rev().max_by_key(|f| f.severity);
        Self {
            parcel: parcel.to_string(),
            name,
            status: Status::Failed,
            turf_ha: None,
            figures: vec![None; FIGURES.len()],
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            notes: count(Severity::Note),
            first_finding: gravest.map(|finding| finding.message.clone()),
        }
    }

    /// A figure by the name of its column.
    pub(crate) fn figure(&self, name: &str) -> Option<f64> {
        let at = FIGURES.iter().position(|(column, _)| *column == name)?;
        self.figures.get(at).copied().flatten()
    }

    #[cfg(test)]
    pub(crate) fn set_figure(&mut self, name: &str, value: Option<f64>) {
        let at = FIGURES.iter().position(|(column, _)| *column == name);
        self.figures[at.unwrap()] = value;
    }

    fn cells(&self) -> Vec<String> {
        let mut cells = vec![
            self.parcel.clone(),
            self.name.clone().unwrap_or_default(),
            self.status.word().to_string(),
            cell(self.turf_ha, 4),
        ];
        let figures = self.figures.iter().zip(FIGURES);
        cells.extend(figures.map(|(&value, (_, decimals))| cell(value, decimals)));
        cells.extend([self.errors, self.warnings, self.notes].map(|count| count.to_string()));
        cells.push(self.first_finding.clone().unwrap_or_default());
        cells
    }
}

fn status(design: &Design, row: &SummaryRow) -> Status {
    if design.heads.is_empty() || design.stations.is_empty() || design.working.is_empty() {
        Status::Failed
    } else if row.errors + row.warnings > 0 {
        Status::Look
    } else {
        Status::Good
    }
}

fn figures(design: &Design) -> Vec<Option<f64>> {
    let count = |number: usize| Some(number as f64);
    let du: Vec<f64> = design
        .turf
        .iter()
        .filter_map(|t| t.du_low_quarter)
        .collect();
    let pressures = || design.working.iter().map(|w| w.pressure_kpa);
    let scheduled = !design.schedule.rows.is_empty();
    vec![
        count(design.heads.len()),
        count(design.bounds.heads),
        design.bounds.heads_lp_estimate,
        count(design.stations.len()),
        count(design.bounds.stations()),
        median(&du),
        du.iter().copied().reduce(f64::min),
        by_area(design, |turf| turf.dry_fraction),
        by_area(design, |turf| turf.overspray_fraction),
        pressures().reduce(f64::min),
        pressures().reduce(f64::max),
        Some(job::trench_length_m(design)),
        Some(design.bounds.trench_m),
        Some(job::pipe_length_m(design, true)),
        Some(job::pipe_length_m(design, false)),
        count(design.drains.len()),
        count(design.air_valves.len()),
        design.supply.as_ref().map(|supply| supply.design_lpm),
        scheduled.then_some(design.schedule.peak_window_h),
        scheduled.then_some(f64::from(u8::from(design.schedule.fits_window))),
        scheduled.then_some(design.schedule.year_m3),
        job::cost(design),
    ]
}

/// Mean over the turf areas, weighted by their ground; `None` where no area has the figure.
fn by_area(
    design: &Design,
    value: impl Fn(&crate::design::model::TurfResult) -> Option<f64>,
) -> Option<f64> {
    let (mut sum, mut area_m2) = (0.0, 0.0);
    for turf in &design.turf {
        if let Some(value) = value(turf) {
            sum += value * turf.area_m2;
            area_m2 += turf.area_m2;
        }
    }
    (area_m2 > 0.0).then(|| sum / area_m2)
}

fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    Some((sorted[last / 2] + sorted[last.div_ceil(2)]) / 2.0)
}

/// Writes `summary.csv`: one row a parcel, sorted by id.
///
/// # Errors
/// When the file cannot be written.
pub fn write_summary(rows: &[SummaryRow], path: &Path) -> Result<(), DeliverError> {
    let mut sorted: Vec<&SummaryRow> = rows.iter().collect();
    sorted.sort_by(|a, b| a.parcel.cmp(&b.parcel));
    let mut names = vec!["parcel", "name", "status", "turf_ha"];
    names.extend(FIGURES.map(|(name, _)| name));
    names.extend(["errors", "warnings", "notes", "first_finding"]);
    let cells = sorted.iter().map(|row| row.cells()).collect();
    tables::write(path, &names, cells)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn a_failed_parcel_has_a_row_with_its_gravest_message_first() {
        let findings = [
            Finding::note("n", "small"),
            Finding::error("e", "no water point"),
            Finding::error("f", "second"),
        ];
        let row = SummaryRow::failed("P-9", None, &findings);
        assert_eq!((row.errors, row.notes, row.status), (2, 1, Status::Failed));
        assert_eq!(row.first_finding.as_deref(), Some("no water point"));
        assert_eq!(row.cells().len(), 4 + FIGURES.len() + 4);
    }

    #[test]
    fn a_design_is_good_until_something_wants_an_eye() {
        let (parcel, mut design) = (example::parcel(), example::design());
        design.findings.clear();
        assert_eq!(summary_row(&parcel, &design).status, Status::Good);
        design.findings.push(Finding::warning("w", "w"));
        assert_eq!(summary_row(&parcel, &design).status, Status::Look);
        design.working.clear();
        let row = summary_row(&parcel, &design);
        assert_eq!(row.status, Status::Failed);
        assert_eq!(row.figures.len(), FIGURES.len());
    }

    #[test]
    fn rows_are_sorted_by_id_and_quoted() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("summary.csv");
        let row = |id: &str| SummaryRow::failed(id, None, &[Finding::error("e", "a, \"b\"")]);
        write_summary(&[row("B"), row("A")], &path).unwrap();
        let mut read = csv::Reader::from_path(&path).unwrap();
        let rows: Vec<_> = read.records().map(Result::unwrap).collect();
        assert_eq!((&rows[0][0], &rows[1][0]), ("A", "B"));
        assert_eq!(rows[0].iter().next_back(), Some("a, \"b\""));
    }

    #[test]
    fn the_median_lies_between() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&[]), None);
    }
}
