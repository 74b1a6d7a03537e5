//! What is said when a run is over: failed parcels, what wants a human eye, and one line that counts.

use crate::batch::{Outcome, Report};
use crate::cli::say;
use crate::deliver::Status;
use crate::finding::Severity;
use std::collections::BTreeMap;
use std::time::Duration;

/// Ids named with each kind of finding; the others are in the summary.
const NAMED: usize = 3;

pub(crate) fn say(report: &Report, quiet: bool) {
    let with = |status| {
        report
            .outcomes
            .iter()
            .filter(move |o| o.row.status == status)
    };
    for outcome in with(Status::Failed) {
        say::line(failed(outcome));
    }
    if !quiet {
        for line in by_code(with(Status::Look)) {
            say::line(line);
        }
        if !report.stale.is_empty() {
            let names = some_of(&report.stale);
            say::line(format_args!(
                "of parcels the project no longer has: {names} (under parcels/; remove by hand)"
            ));
        }
    }
    say::line(last_line(report));
}

/// The parcel and the gravest of its findings.
fn failed(outcome: &Outcome) -> String {
    let errors = outcome
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error);
    let mut reasons: Vec<String> = errors.map(say::finding).collect();
    let more = reasons.len().saturating_sub(NAMED);
    reasons.truncate(NAMED);
    if reasons.is_empty() {
        reasons.push("nothing could be designed; see its findings".to_owned());
    }
    if more > 0 {
        reasons.push(format!(
            "and {more} more; `swardline check` prints those of the inputs"
        ));
    }
    let mut text = String::new();
    for reason in reasons {
        let start = if text.is_empty() { "" } else { "\n" };
        text.push_str(&format!("{start}failed: {}: {reason}", outcome.row.parcel));
    }
    text
}

/// One line for each kind of finding: how many parcels have it, and the first of them.
fn by_code<'a>(outcomes: impl Iterator<Item = &'a Outcome>) -> Vec<String> {
    let mut parcels: BTreeMap<(std::cmp::Reverse<Severity>, &str), Vec<String>> = BTreeMap::new();
    for outcome in outcomes {
        for finding in outcome
            .findings
            .iter()
            .filter(|f| f.severity > Severity::Note)
        {
            let key = (std::cmp::Reverse(finding.severity), finding.code);
            let ids = parcels.entry(key).or_default();
            if ids.last() != Some(&outcome.row.parcel) {
                ids.push(outcome.row.parcel.clone());
            }
        }
    }
    let line = |((severity, code), ids): (&(std::cmp::Reverse<Severity>, &str), &Vec<String>)| {
        let parcels = say::number(ids.len(), "parcel");
        format!("{}  {code}  {parcels}: {}", severity.0.word(), some_of(ids))
    };
    parcels.iter().map(line).collect()
}

fn some_of(ids: &[String]) -> String {
    let mut text = ids[..ids.len().min(NAMED)].join(", ");
    if ids.len() > NAMED {
        text.push_str(", …");
    }
    text
}

fn last_line(report: &Report) -> String {
    format!(
        "{}: {} good, {} to look at, {} failed; {}; summary: {}",
        say::number(report.outcomes.len(), "parcel"),
        report.count(Status::Good),
        report.count(Status::Look),
        report.count(Status::Failed),
        duration(report.took),
        report.summary.display()
    )
}

/// A time for people: `3.1 s`, `48 s`, `12 min`, `3 h 05 min`.
pub(crate) fn duration(time: Duration) -> String {
    let seconds = time.as_secs_f64();
    let whole = seconds.round() as u64;
    match whole {
        // 9.95 would be told as 10.0.
        _ if seconds < 9.95 => format!("{seconds:.1} s"),
        0..120 => format!("{whole} s"),
        120..7200 => format!("{} min", (whole + 30) / 60),
        _ => format!("{} h {:02} min", whole / 3600, whole / 60 % 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::SummaryRow;
    use crate::finding::Finding;

    fn outcome(id: &str, status: Status, findings: Vec<Finding>) -> Outcome {
        let mut row = SummaryRow::failed(id, None, &findings);
        row.status = status;
        Outcome {
            row,
            folder: None,
            findings,
            took: Duration::from_secs(1),
        }
    }

    #[test]
    fn times_are_told_as_people_tell_them() {
        let told = [0.04, 9.94, 47.6, 119.0, 120.0, 7100.0, 11_100.0]
            .map(|s| duration(Duration::from_secs_f64(s)));
        assert_eq!(
            told,
            [
                "0.0 s",
                "9.9 s",
                "48 s",
                "119 s",
                "2 min",
                "118 min",
                "3 h 05 min"
            ]
        );
    }

    #[test]
    fn the_same_finding_in_many_parcels_is_one_line_graver_first() {
        let finding = || {
            vec![
                Finding::warning("a_low", "m"),
                Finding::warning("a_low", "m"),
            ]
        };
        let mut all: Vec<Outcome> = ["A", "B", "C", "D"]
            .map(|id| outcome(id, Status::Look, finding()))
            .into();
        all[1].findings.push(Finding::error("z_bad", "m"));
        all[1].findings.push(Finding::note("n", "m"));
        let lines = by_code(all.iter());
        assert_eq!(
            lines,
            [
                "error  z_bad  1 parcel: B",
                "warning  a_low  4 parcels: A, B, C, …"
            ]
        );
    }

    #[test]
    fn a_failed_parcel_tells_its_errors_and_how_many_more() {
        let errors = (0..5)
            .map(|n| Finding::error("e", format!("m{n}")))
            .collect();
        let text = failed(&outcome("P", Status::Failed, errors));
        assert_eq!(text.lines().count(), 4);
        assert!(text.starts_with("failed: P: error  e  m0\n") && text.contains("and 2 more"));
    }

    #[test]
    fn the_last_line_counts() {
        let report = Report {
            outcomes: vec![
                outcome("A", Status::Good, Vec::new()),
                outcome("B", Status::Failed, Vec::new()),
            ],
            stale: Vec::new(),
            took: Duration::from_secs(14),
            summary: "o/summary.csv".into(),
        };
        let expected = "2 parcels: 1 good, 0 to look at, 1 failed; 14 s; summary: o/summary.csv";
        assert_eq!(last_line(&report), expected);
    }
}
