//! Opening of a project and its site, with everything checked that can be known before the first parcel.

use crate::brief::Project;
use crate::cli::Failure;
use crate::site::{self, Ground};
use std::fs::File;
use std::path::Path;

/// Reads the project file.
pub(crate) fn project(path: &Path) -> Result<Project, Failure> {
    // Opened here first, so that a mistyped path is told apart from a wrong file.
    let readable = File::open(path).and_then(|file| file.metadata());
    match readable {
        Ok(about) if about.is_file() => Ok(Project::read(path)?),
        Ok(_) => Err(no_project(path, std::io::Error::other("it is no file"))),
        Err(source) => Err(no_project(path, source)),
    }
}

fn no_project(path: &Path, source: std::io::Error) -> Failure {
    Failure::NoProject {
        path: path.to_path_buf(),
        source,
    }
}

/// Opens the site, and makes sure that the parcels named in `only` exist.
pub(crate) fn ground(project: &Project, only: &[String]) -> Result<Ground, Failure> {
    let ground = site::open(project)?;
    let ids = ground.parcel_ids();
    match only.iter().find(|id| !ids.contains(id)) {
        Some(unknown) => Err(Failure::Usage(unknown_parcel(unknown, &ids))),
        None => Ok(ground),
    }
}

fn unknown_parcel(unknown: &str, ids: &[String]) -> String {
    let nearest = ids.iter().max_by(|a, b| {
        let likeness = |id: &str| strsim::jaro_winkler(unknown, id);
        likeness(a).total_cmp(&likeness(b))
    });
    let hint = nearest.map_or_else(
        || "the project has none".to_owned(),
        |id| format!("the nearest of {} is \"{id}\"", ids.len()),
    );
    format!("--only {unknown}: the project has no such parcel; {hint}")
}
