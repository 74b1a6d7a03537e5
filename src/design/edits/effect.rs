//! What edits come to, in numbers: the design before them against the design with them.

use crate::design::model::{Design, TurfResult};
use crate::finding::{Finding, Severity};
use crate::site::Parcel;
use std::collections::BTreeMap;

/// The finding on what the edits make better and worse: a warning where a rule is newly broken.
pub(super) fn told(parcel: &Parcel, before: &Design, after: &Design, file: &str) -> Finding {
    let mut parts = Vec::new();
    counted(&mut parts, "heads", before.heads.len(), after.heads.len());
    counted(
        &mut parts,
        "stations",
        before.stations.len(),
        after.stations.len(),
    );
    let trench_m = |design: &Design| design.trenches.iter().map(|t| t.length_m).sum::<f64>();
    rounded(
        &mut parts,
        "trench",
        (trench_m(before), trench_m(after)),
        1,
        " m",
    );
    if let (Some(was), Some(is)) = (cost(before), cost(after)) {
        rounded(&mut parts, "cost", (was, is), 2, "");
    }
    for (turf, (was, is)) in before.turf.iter().zip(&after.turf).enumerate() {
        let of_turf = turf_parts(was, is);
        if !of_turf.is_empty() {
            let id = parcel.turf.get(turf).map_or("", |turf| turf.id.as_str());
            parts.push(format!("turf {id}: {}", of_turf.join(", ")));
        }
    }
    let broken = newly_broken(before, after, file);
    let mut message = if parts.is_empty() {
        "the edits change no figure of the design".to_owned()
    } else {
        format!(
            "what the edits make of the design, before to after: {}",
            parts.join("; ")
        )
    };
    let severity = if broken.is_empty() {
        Severity::Note
    } else {
        message += &format!(". Newly told: {}", broken.join(", "));
        Severity::Warning
    };
    Finding::new(severity, "edits_effect", message)
}

fn counted(parts: &mut Vec<String>, what: &str, was: usize, is: usize) {
    if was != is {
        parts.push(format!("{what} {was} to {is}"));
    }
}

fn rounded(parts: &mut Vec<String>, what: &str, (was, is): (f64, f64), digits: usize, unit: &str) {
    let (was, is) = (format!("{was:.digits$}"), format!("{is:.digits$}"));
    if was != is {
        parts.push(format!("{what} {was} to {is}{unit}"));
    }
}

fn turf_parts(was: &TurfResult, is: &TurfResult) -> Vec<String> {
    let mut parts = Vec::new();
    let figures = [
        ("DU", was.du_low_quarter, is.du_low_quarter, 1.0, 2, ""),
        ("dry", was.dry_fraction, is.dry_fraction, 100.0, 1, " %"),
        (
            "overspray",
            was.overspray_fraction,
            is.overspray_fraction,
            100.0,
            1,
            " %",
        ),
    ];
    for (what, was, is, times, digits, unit) in figures {
        match (was, is) {
            (Some(was), Some(is)) => {
                rounded(&mut parts, what, (times * was, times * is), digits, unit);
            }
            (Some(was), None) => {
                parts.push(format!("{what} {:.digits$}{unit} to none", times * was))
            }
            (None, Some(is)) => parts.push(format!("{what} none to {:.digits$}{unit}", times * is)),
            (None, None) => {}
        }
    }
    parts
}

/// Codes of warnings and errors that are told more often than before; what is told of the edits themselves (`file`) stands
/// by itself.
fn newly_broken(before: &Design, after: &Design, file: &str) -> Vec<String> {
    let counts = |design: &Design| {
        let mut counts: BTreeMap<&'static str, usize> = BTreeMap::new();
        let grave = |finding: &&Finding| {
            finding.severity > Severity::Note && finding.file.as_deref() != Some(file)
        };
        for finding in design.findings.iter().filter(grave) {
            *counts.entry(finding.code).or_default() += 1;
        }
        counts
    };
    let was = counts(before);
    let more = counts(after)
        .into_iter()
        .filter(|(code, count)| *count > was.get(code).copied().unwrap_or(0));
    more.map(
        |(code, count)| match count - was.get(code).copied().unwrap_or(0) {
            1 => code.to_owned(),
            times => format!("{code} ({times})"),
        },
    )
    .collect()
}

/// Sum of the take-off's costs; `None` where nothing is priced.
fn cost(design: &Design) -> Option<f64> {
    let mut costs = design.takeoff.iter().filter_map(|row| row.cost).peekable();
    costs.peek().is_some().then(|| costs.sum())
}
