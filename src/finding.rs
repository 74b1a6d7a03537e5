//! A finding: something a person should know about the input or the design.
//!
//! One type for the whole program, from intake to hand-over: how grave, a stable code, where, what, and what to do.

use geo::Coord;

/// How grave a finding is. The order is from least to most grave.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; nothing need be done.
    Note,
    /// A person should look at it.
    Warning,
    /// The design, or a part of it, is missing or breaks a rule.
    Error,
}

impl Severity {
    /// The word used in files: `note`, `warning`, `error`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How grave it is.
    pub severity: Severity,
    /// A stable word for the kind of finding, `snake_case`, e.g. `turf_outside_parcel`.
    pub code: &'static str,
    /// The input file it concerns, as the project names it, where there is one.
    pub file: Option<String>,
    /// The id of the feature, head, station or pipe it concerns, where there is one.
    pub feature: Option<String>,
    /// Where on the ground, in the parcel's local frame (metres), where that is known.
    pub place: Option<Coord<f64>>,
    /// What is wrong, why, and what to do, in one or two sentences.
    pub message: String,
}

impl Finding {
    /// A finding without a place.
    pub fn new(severity: Severity, code: &'static str, message: impl Into<String>) -> Self {
        Self {
            severity,
            code,
            file: None,
            feature: None,
            place: None,
            message: message.into(),
        }
    }

    /// A note without a place.
    pub fn note(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Note, code, message)
    }

    /// A warning without a place.
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, message)
    }

    /// An error without a place.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, message)
    }

    /// The same finding, said of an input file.
    #[must_use]
    pub fn in_file(mut self, file: impl Into<String>) -> Self {
        self.file = Some(file.into());
        self
    }

    /// The same finding, said of one feature.
    #[must_use]
    pub fn of(mut self, feature: impl Into<String>) -> Self {
        self.feature = Some(feature.into());
        self
    }

    /// The same finding, at a place in the parcel's frame.
    #[must_use]
    pub fn at(mut self, place: Coord<f64>) -> Self {
        self.place = Some(place);
        self
    }
}
