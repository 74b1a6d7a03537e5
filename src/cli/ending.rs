//! How a call ends, and the one function that makes an exit status of it.

use crate::batch::{BatchError, OutputError};
use crate::brief::BriefError;
use crate::site::SiteError;
use std::io;
use std::path::PathBuf;
use thiserror::Error;

/// The table of exit codes, as help prints it.
pub const EXIT_CODES: &str = "\
Exit codes:
   0  every parcel is designed (warnings allowed); check found no error
   1  ran to its end, but parcels failed, or check found errors: see summary.csv
   2  the command line is wrong
  65  an input as a whole cannot be used; nothing was begun
  66  an input file is missing or unreadable; nothing was begun
  70  a defect of swardline outside any parcel; please report it
  73  the output folder cannot be made, or is somebody else's
  74  writing failed, e.g. the disk is full; stopped at once
  78  the project file, or a file of rules, climate or catalogue it names, is wrong";

/// A call that ran to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// Nothing failed.
    Good,
    /// Parcels failed, or problems were found that keep parcels from being designed.
    SomeFailed,
}

/// A call that did not.
#[derive(Debug, Error)]
pub enum Failure {
    /// A parcel was named that the project does not have.
    #[error("{0}")]
    Usage(String),
    /// There is no such project file, or it cannot be read.
    #[error("the project file {path} cannot be read: {source}")]
    NoProject {
        /// As typed.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The project file is wrong.
    #[error(transparent)]
    Brief(#[from] BriefError),
    /// The inputs cannot be used.
    #[error(transparent)]
    Site(#[from] SiteError),
    /// The run stopped.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// Standard output cannot be written.
    #[error("standard output cannot be written: {0}")]
    Print(io::Error),
    /// A defect of ours.
    #[error("a defect of swardline: {0}. Please report it.")]
    Defect(String),
}

impl From<OutputError> for Failure {
    fn from(error: OutputError) -> Self {
        Self::Batch(error.into())
    }
}

/// Status of a wrong command line, as clap gives it.
pub(crate) const USAGE: u8 = 2;
const BAD_DATA: u8 = 65;
const NO_INPUT: u8 = 66;
const DEFECT: u8 = 70;
const CANNOT_CREATE: u8 = 73;
const WRITE_FAILED: u8 = 74;
const BAD_PROJECT: u8 = 78;

/// The exit status; the numbers from 65 on are those of the C header `sysexits.h` (4.3BSD).
pub(crate) fn code(result: &Result<Ending, Failure>) -> u8 {
    match result {
        Ok(Ending::Good) => 0,
        Ok(Ending::SomeFailed) => 1,
        Err(Failure::Usage(_)) => USAGE,
        Err(Failure::NoProject { .. }) => NO_INPUT,
        Err(Failure::Brief(error)) if names_missing_inputs(error) => NO_INPUT,
        Err(Failure::Brief(_)) => BAD_PROJECT,
        Err(Failure::Site(error)) if is_missing(error) => NO_INPUT,
        Err(Failure::Site(_)) => BAD_DATA,
        Err(Failure::Batch(BatchError::Output(error))) => match error {
            OutputError::Unusable { .. }
            | OutputError::Foreign { .. }
            | OutputError::OtherProject { .. } => CANNOT_CREATE,
            OutputError::Write { .. } | OutputError::Table(_) => WRITE_FAILED,
        },
        Err(Failure::Print(_)) => WRITE_FAILED,
        Err(Failure::Batch(BatchError::Threads { .. }) | Failure::Defect(_)) => DEFECT,
    }
}

/// Whether nothing is wrong with a project but that inputs it names are not there.
fn names_missing_inputs(error: &BriefError) -> bool {
    let missing = |problem: &crate::brief::Problem| {
        problem.place.starts_with("inputs.") && problem.message.starts_with("there is no file")
    };
    !error.problems().is_empty() && error.problems().iter().all(missing)
}

fn is_missing(error: &SiteError) -> bool {
    let missing = |code: &str| code == "file_missing" || code == "file_unreadable";
    error.findings.iter().any(|finding| missing(finding.code))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Finding;

    fn site(codes: &[&'static str]) -> Result<Ending, Failure> {
        let findings = codes.iter().map(|code| Finding::error(code, "m")).collect();
        Err(SiteError { findings }.into())
    }

    #[test]
    fn each_ending_has_its_own_code_and_the_table_names_it() {
        let path = PathBuf::from("out");
        let source = || io::Error::other("x");
        let foreign = OutputError::Foreign { path: path.clone() };
        let write = OutputError::Write {
            path: path.clone(),
            source: source(),
        };
        let endings = [
            (Ok(Ending::Good), 0),
            (Ok(Ending::SomeFailed), 1),
            (Err(Failure::Usage("x".into())), 2),
            (site(&["crs_unknown"]), 65),
            (site(&["crs_unknown", "file_missing"]), 66),
            (
                Err(Failure::NoProject {
                    path,
                    source: source(),
                }),
                66,
            ),
            (Err(Failure::Defect("x".into())), 70),
            (Err(foreign.into()), 73),
            (Err(write.into()), 74),
            (Err(BriefError::Problems(Vec::new()).into()), 78),
        ];
        for (result, expected) in endings {
            assert_eq!(code(&result), expected, "{result:?}");
            assert!(
                EXIT_CODES.contains(&format!("\n{expected:>4}  ")),
                "{expected}"
            );
        }
    }
}
