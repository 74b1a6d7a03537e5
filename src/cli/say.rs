//! Writing to the two standard streams without ever falling over them.

use crate::cli::{Ending, Failure};
use crate::finding::Finding;
use std::fmt::Display;
use std::io::{self, ErrorKind, Write};

/// Writes what was asked for to standard output. A reader who went away has read enough: that is no error.
pub(crate) fn result(text: &str) -> Result<Ending, Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::Print(error)),
        _ => Ok(Ending::Good),
    }
}

/// Writes a line to standard error; with nobody there to read it, nothing is lost.
pub(crate) fn line(text: impl Display) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// Says why the call did not run to its end, one problem a line.
pub(crate) fn failure(failure: &Failure) {
    for problem in failure.to_string().lines() {
        line(format_args!("swardline: {problem}"));
    }
}

/// A finding as one line: severity, code, where, message.
pub(crate) fn finding(finding: &Finding) -> String {
    let mut place: Vec<&str> = Vec::new();
    place.extend(finding.file.as_deref());
    place.extend(finding.feature.as_deref());
    let place = place.join(" ");
    let colon = if place.is_empty() { "" } else { ": " };
    let (severity, code) = (finding.severity.word(), finding.code);
    format!("{severity}  {code}  {place}{colon}{}", finding.message)
}

/// A count with its noun: `1 parcel`, `3 parcels`.
pub(crate) fn number(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_tells_file_and_feature_where_it_has_them() {
        let bare = Finding::warning("low_flow", "only 12 L/min");
        assert_eq!(finding(&bare), "warning  low_flow  only 12 L/min");
        let placed = bare.in_file("turf.geojson").of("t-1");
        assert_eq!(
            finding(&placed),
            "warning  low_flow  turf.geojson t-1: only 12 L/min"
        );
    }
}
