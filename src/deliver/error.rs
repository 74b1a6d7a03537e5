//! What can go wrong at hand-over.

use crate::site::ProjectionError;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a parcel could not be handed over.
#[derive(Debug, Error)]
pub enum DeliverError {
    /// A file or folder could not be written.
    #[error("cannot write {path}: {source}")]
    Write {
        /// Which one.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The GeoPackage could not be written.
    #[error("cannot write the GeoPackage {path}: {source}")]
    GeoPackage {
        /// Which one.
        path: PathBuf,
        /// What GDAL said.
        source: gdal::errors::GdalError,
    },
    /// A place has no longitude and latitude.
    #[error("cannot turn places of the parcel into longitude and latitude: {0}")]
    Projection(#[from] ProjectionError),
    /// A place comes out beyond the poles or the antimeridian.
    #[error("the place {0} is off the globe")]
    OffTheGlobe(String),
    /// A layer spans more than half the globe in longitude.
    #[error(
        "layer {0} reaches across the antimeridian, which is not supported: split the parcel there"
    )]
    Antimeridian(&'static str),
    /// A part of a station that its network needs is not in the design.
    #[error("the network of {0} cannot be written: the design lacks a part of it")]
    Network(String),
    /// The report's template could not be filled.
    #[error("cannot fill the report: {0}")]
    Report(#[from] minijinja::Error),
}

impl DeliverError {
    /// Adds the path to what the system said.
    pub(crate) fn write(path: &Path, source: impl Into<std::io::Error>) -> Self {
        Self::Write {
            path: path.to_path_buf(),
            source: source.into(),
        }
    }
}

/// Writes `text` to `path`.
pub(crate) fn write_text(path: &Path, text: &str) -> Result<(), DeliverError> {
    std::fs::write(path, text).map_err(|source| DeliverError::write(path, source))
}
