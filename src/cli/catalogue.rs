//! `swardline catalogue`: what a design may choose from.

use crate::brief::Catalogue;
use crate::cli::arguments::OfProject;
use crate::cli::{Ending, Failure, open, say};

pub(crate) fn run(asked: &OfProject) -> Result<Ending, Failure> {
    let catalogue = match &asked.project {
        Some(path) => open::project(path)?.catalogue,
        None => Catalogue::built_in(),
    };
    say::result(&catalogue.to_toml())
}
