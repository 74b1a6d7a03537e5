//! Problems of the designer's files, gathered so that all are told at once.

use std::fmt;
use thiserror::Error;

/// One thing wrong with a project, catalogue or climate file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// File as the designer wrote it.
    pub file: String,
    /// Where in it, e.g. `rules.velocity_most_m_s` or `line 4`; empty for the whole file.
    pub place: String,
    /// What is wrong and what to do.
    pub message: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.place.is_empty() {
            write!(out, "{}: {}", self.file, self.message)
        } else {
            write!(out, "{}: {}: {}", self.file, self.place, self.message)
        }
    }
}

/// Why a brief cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum BriefError {
    /// All problems found; shown one to a line.
    #[error("{}", one_a_line(.0))]
    Problems(Vec<Problem>),
}

impl BriefError {
    /// The problems, in the order they were found.
    pub fn problems(&self) -> &[Problem] {
        let Self::Problems(problems) = self;
        problems
    }
}

fn one_a_line(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(Problem::to_string).collect();
    lines.join("\n")
}

/// Gathers the problems of one file.
#[derive(Debug)]
pub(crate) struct Problems {
    file: String,
    found: Vec<Problem>,
}

impl Problems {
    pub(crate) fn of(file: impl Into<String>) -> Self {
        Self {
            file: file.into(),
            found: Vec::new(),
        }
    }

    pub(crate) fn tell(&mut self, place: impl Into<String>, message: impl Into<String>) {
        self.found.push(Problem {
            file: self.file.clone(),
            place: place.into(),
            message: message.into(),
        });
    }

    /// None yet, of the same file.
    pub(crate) fn fresh(&self) -> Self {
        Self::of(self.file.clone())
    }

    /// Takes over those problems that are not known yet, each with the place they belong to.
    pub(crate) fn take_new(&mut self, other: Self, place: &str) {
        for problem in other.found {
            if !self.found.contains(&problem) {
                let place = format!("{place}: {}", problem.place);
                self.found.push(Problem { place, ..problem });
            }
        }
    }

    /// Takes over the problems of a file that this one names.
    pub(crate) fn take_over(&mut self, error: BriefError) {
        let BriefError::Problems(found) = error;
        self.found.extend(found);
    }

    /// `value` when nothing was wrong, otherwise every problem.
    pub(crate) fn settle<T>(self, value: Option<T>) -> Result<T, BriefError> {
        match value {
            Some(value) if self.found.is_empty() => Ok(value),
            _ => Err(BriefError::Problems(self.found)),
        }
    }
}

/// The word of `known` most like `word`, if any is like it at all.
///
/// Jaro-Winkler similarity above 0.75; the threshold is a judgement, no source.
pub(crate) fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    known
        .iter()
        .map(|candidate| (strsim::jaro_winkler(word, candidate), *candidate))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}

/// ", did you mean `x`?" or a list of what is known.
pub(crate) fn suggestion(word: &str, known: &[&str]) -> String {
    match nearest(word, known) {
        Some(candidate) => format!("did you mean `{candidate}`?"),
        None => format!("known are: {}", known.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_word_is_found_and_nonsense_gets_the_list() {
        assert_eq!(
            suggestion("buildng", &["bed", "building"]),
            "did you mean `building`?"
        );
        assert_eq!(
            suggestion("xyz", &["bed", "water"]),
            "known are: bed, water"
        );
    }

    #[test]
    fn problems_are_shown_one_a_line() {
        let mut problems = Problems::of("a.toml");
        problems.tell("rules.x", "unknown");
        problems.tell("", "empty");
        let error = problems.settle(Some(())).unwrap_err();
        assert_eq!(error.to_string(), "a.toml: rules.x: unknown\na.toml: empty");
    }
}
