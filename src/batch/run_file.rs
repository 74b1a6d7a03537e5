//! `run.json`: what was run, on what, and how each parcel came out. The only file of an output that holds times.

use crate::batch::{Order, Outcome};
use crate::brief::Rules;
use crate::deliver::Status;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

const PROGRAM: &str = "swardline";

/// The contents of `run.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunFile {
    /// Always `swardline`: by this an output folder is known to be ours.
    pub program: String,
    /// Version of the program.
    pub version: String,
    /// Name of the project.
    pub project: String,
    /// Where the catalogue comes from.
    pub catalogue: String,
    /// The input files and what they held.
    pub inputs: Vec<InputRecord>,
    /// Every rule as used.
    pub rules: BTreeMap<String, f64>,
    /// Parcels asked for; empty means all.
    pub only: Vec<String>,
    /// Parcels in work at a time.
    pub jobs: usize,
    /// Whether networks for a hydraulic solver were asked for.
    #[serde(default)]
    pub networks: bool,
    /// When the run began, UTC.
    pub begun: String,
    /// How long it took, s; null while it runs, and when it was broken off.
    pub seconds: Option<f64>,
    /// Parcels by id.
    pub parcels: BTreeMap<String, ParcelRecord>,
}

/// An input file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InputRecord {
    /// As the project names it.
    pub file: String,
    /// SHA-256 of its contents, hexadecimal.
    pub sha256: String,
}

/// How a parcel came out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ParcelRecord {
    /// `good`, `look` or `failed`.
    pub status: String,
    /// Its folder under `parcels/`; null when none was written.
    pub folder: Option<String>,
    /// Whether the folder holds networks for a hydraulic solver: `--only` may leave parcels of a run that asked otherwise.
    #[serde(default)]
    pub networks: bool,
    /// How long it took, s.
    pub seconds: f64,
    /// Findings by severity and code, with their number.
    pub findings: BTreeMap<String, usize>,
}

impl RunFile {
    pub(crate) fn begun(order: &Order<'_>) -> Self {
        let project = order.project;
        let rule = |info: &crate::brief::rules::RuleInfo| {
            let value = project.rules.get(info.name)?;
            Some((info.name.to_owned(), value))
        };
        Self {
            program: PROGRAM.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            project: project.name.clone(),
            catalogue: project.catalogue.origin.clone(),
            inputs: input_records(order),
            rules: Rules::TABLE.iter().filter_map(rule).collect(),
            only: order.only.to_vec(),
            jobs: order.jobs,
            networks: order.networks,
            begun: utc(SystemTime::now()),
            seconds: None,
            parcels: BTreeMap::new(),
        }
    }

    pub(crate) fn finish(&mut self, outcomes: &[Outcome], took: Duration) {
        let networks = self.networks;
        let records = outcomes.iter().map(|o| ParcelRecord::of(o, networks));
        self.parcels.extend(records);
        self.seconds = Some(rounded_s(took));
    }

    /// The run file at `path`, if it is one of ours.
    pub(crate) fn read(path: &Path) -> Option<Self> {
        let text = std::fs::read_to_string(path).ok()?;
        let run: Self = serde_json::from_str(&text).ok()?;
        (run.program == PROGRAM).then_some(run)
    }

    pub(crate) fn to_json(&self) -> String {
        // Only maps with keys that are no text can fail, and there is none here.
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

fn input_records(order: &Order<'_>) -> Vec<InputRecord> {
    let record = |input: &crate::site::InputHash| InputRecord {
        file: input.file.clone(),
        sha256: input.sha256.clone(),
    };
    order.ground.input_hashes().iter().map(record).collect()
}

impl ParcelRecord {
    fn of(outcome: &Outcome, networks: bool) -> (String, Self) {
        let mut findings = BTreeMap::new();
        for finding in &outcome.findings {
            let key = format!("{} {}", finding.severity.word(), finding.code);
            *findings.entry(key).or_default() += 1;
        }
        let record = Self {
            status: outcome.row.status.word().to_owned(),
            networks: networks && outcome.folder.is_some(),
            folder: outcome.folder.clone(),
            seconds: rounded_s(outcome.took),
            findings,
        };
        (outcome.row.parcel.clone(), record)
    }

    /// Whether there was a design.
    pub(crate) fn has_failed(&self) -> bool {
        self.status == Status::Failed.word()
    }
}

fn rounded_s(time: Duration) -> f64 {
    (time.as_secs_f64() * 1000.0).round() / 1000.0
}

/// SHA-256, hexadecimal.
pub(crate) fn sha256_hex(bytes: &[u8]) -> String {
    let digest = Sha256::digest(bytes);
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A time as `2026-05-04T01:12:33Z`.
fn utc(time: SystemTime) -> String {
    let seconds = time.duration_since(UNIX_EPOCH).map_or(0, |t| t.as_secs());
    let (year, month, day) = date(seconds / 86_400);
    let (hour, minute, second) = (seconds / 3600 % 24, seconds / 60 % 60, seconds % 60);
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}Z")
}

/// Year, month and day of the Gregorian calendar from days since 1970-01-01.
///
/// Counts in eras of 400 years that begin on 1 March, so that the leap day is a year's last (from memory, a method
/// published by H. Hinnant).
fn date(days: u64) -> (u64, u64, u64) {
    let days = days + 719_468;
    let (era, day_of_era) = (days / 146_097, days % 146_097);
    let year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = (month_from_march + 2) % 12 + 1;
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_read_as_the_calendar_has_them() {
        // As `date -u -d @SECONDS` of GNU coreutils prints them.
        for (seconds, expected) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_777_857_153, "2026-05-04T01:12:33Z"),
            (4_107_542_399, "2100-02-28T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(utc(UNIX_EPOCH + Duration::from_secs(seconds)), expected);
        }
    }

    #[test]
    fn a_digest_is_the_published_one() {
        // FIPS 180-2, example B.1.
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256_hex(b"abc"), expected);
    }

    #[test]
    fn a_file_of_another_program_is_not_ours() {
        let scratch = tempfile::tempdir().unwrap();
        let path = scratch.path().join("run.json");
        std::fs::write(&path, r#"{"program": "other", "version": "1"}"#).unwrap();
        assert_eq!(RunFile::read(&path), None);
    }
}
