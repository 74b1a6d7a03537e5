//! Why a site cannot be opened at all: something is wrong with a whole file.

use crate::finding::Finding;
use thiserror::Error;

/// All that keeps the files from being used, found in one pass.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{}", one_a_line(.findings))]
pub struct SiteError {
    /// The findings, every one of them an error.
    pub findings: Vec<Finding>,
}

fn one_a_line(findings: &[Finding]) -> String {
    let lines: Vec<String> = findings.iter().map(sentence).collect();
    lines.join("\n")
}

/// A finding as one line: file, feature, message.
fn sentence(finding: &Finding) -> String {
    let file = finding.file.as_deref().unwrap_or("site");
    match &finding.feature {
        Some(feature) => format!("{file}: {feature}: {}", finding.message),
        None => format!("{file}: {}", finding.message),
    }
}
