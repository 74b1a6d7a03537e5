//! The output folder: claimed before the first parcel, and everything in it whole or not there.
//!
//! A folder or file is written under a temporary name on the same file system, synced, and renamed.

use crate::batch::{FolderNames, RunFile};
use crate::deliver::DeliverError;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why an output folder cannot be used, or was lost on the way.
#[derive(Debug, Error)]
pub enum OutputError {
    /// It cannot be made, or nothing can be written in it.
    #[error("the output folder {path} cannot be used: {source}")]
    Unusable {
        /// Which one.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// It holds what is not ours.
    #[error(
        "the output folder {path} is not empty and holds no run of swardline (no run.json of ours): name another or empty it"
    )]
    Foreign {
        /// Which one.
        path: PathBuf,
    },
    /// It holds the designs of another project.
    #[error(
        "the output folder {path} holds the designs of the project \"{name}\": name another or remove it"
    )]
    OtherProject {
        /// Which one.
        path: PathBuf,
        /// Name of the project it belongs to.
        name: String,
    },
    /// Writing failed: the disk is full, or the folder went away.
    #[error("writing {path} failed: {source}")]
    Write {
        /// What was written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A table could not be written.
    #[error(transparent)]
    Table(#[from] DeliverError),
}

/// A folder that is ours to write in.
#[derive(Debug, Clone)]
pub struct OutputFolder {
    path: PathBuf,
}

impl OutputFolder {
    /// Makes the folder, or takes it over when it holds an earlier run of the same project; sweeps what a broken run left.
    ///
    /// # Errors
    /// When it cannot be made or written in, holds something else, or designs of another project.
    pub fn claim(path: &Path, project: &str) -> Result<Self, OutputError> {
        let unusable = |source| OutputError::Unusable {
            path: path.to_path_buf(),
            source,
        };
        fs::create_dir_all(path).map_err(unusable)?;
        check_owner(path, project, fs::read_dir(path).map_err(unusable)?)?;
        let folder = Self {
            path: path.to_path_buf(),
        };
        let trial = path.join(".trial.tmp");
        fs::write(&trial, b"can be written").map_err(unusable)?;
        fs::remove_file(&trial).map_err(unusable)?;
        folder.sweep().map_err(unusable)?;
        Ok(folder)
    }

    /// The folder itself.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn parcels(&self) -> PathBuf {
        self.path.join("parcels")
    }

    /// Where a parcel's folder is or would be.
    pub(crate) fn parcel(&self, name: &str) -> PathBuf {
        self.parcels().join(name)
    }

    /// Whether a parcel's folder is there.
    pub(crate) fn holds(&self, name: &str) -> bool {
        self.parcels().join(name).is_dir()
    }

    /// Writes a parcel's folder by `write` and puts it in the place of an older one.
    ///
    /// # Errors
    /// Those of `write`, and any of the file system.
    pub(crate) fn publish<E: From<OutputError>>(
        &self,
        name: &str,
        write: impl FnOnce(&Path) -> Result<(), E>,
    ) -> Result<(), E> {
        let fresh = self.parcels().join(format!(".{name}.tmp"));
        let failed = |source| write_error(&fresh, source);
        remove_folder(&fresh).map_err(failed)?;
        fs::create_dir_all(&fresh).map_err(failed)?;
        let written = write(&fresh);
        if written.is_err() {
            // The first failure is the one to tell; the next run sweeps what is left.
            let _ = remove_folder(&fresh);
            return written;
        }
        sync_tree(&fresh).map_err(failed)?;
        Ok(self.exchange(&fresh, name).map_err(failed)?)
    }

    fn exchange(&self, fresh: &Path, name: &str) -> io::Result<()> {
        let place = self.parcels().join(name);
        let old = self.parcels().join(format!(".{name}.old"));
        remove_folder(&old)?;
        if place.exists() {
            fs::rename(&place, &old)?;
        }
        fs::rename(fresh, &place)?;
        sync(&self.parcels())?;
        remove_folder(&old)
    }

    /// Takes a parcel's folder away, finished or half-made: what an earlier run designed no longer holds.
    pub(crate) fn withdraw(&self, name: &str) -> Result<(), OutputError> {
        for name in [name, &format!(".{name}.tmp")] {
            let place = self.parcels().join(name);
            remove_folder(&place).map_err(|source| write_error(&place, source))?;
        }
        Ok(())
    }

    /// Writes a single file by `write` under a temporary name, syncs it and renames it; returns where it is.
    pub(crate) fn write_whole(
        &self,
        name: &str,
        write: impl FnOnce(&Path) -> Result<(), OutputError>,
    ) -> Result<PathBuf, OutputError> {
        let fresh = self.path.join(format!(".{name}.tmp"));
        let place = self.path.join(name);
        write(&fresh)?;
        let settle = || {
            sync(&fresh)?;
            fs::rename(&fresh, &place)?;
            sync(&self.path)
        };
        settle().map_err(|source| write_error(&place, source))?;
        Ok(place)
    }

    /// Writes `run.json`.
    pub(crate) fn write_run_file(&self, run: &RunFile) -> Result<(), OutputError> {
        let write = |path: &Path| {
            fs::write(path, run.to_json()).map_err(|source| write_error(path, source))
        };
        self.write_whole("run.json", write).map(drop)
    }

    /// Folders under `parcels/` that are nobody's of `names`, sorted.
    pub(crate) fn stale(&self, names: &FolderNames) -> Vec<String> {
        let known: Vec<&String> = names.values().collect();
        let mut stale = names_in(&self.parcels()).unwrap_or_default();
        stale.retain(|name| !name.starts_with('.') && !known.contains(&name));
        stale
    }

    /// Removes half-made folders, and moves a folder back whose successor never came.
    fn sweep(&self) -> io::Result<()> {
        let parcels = self.parcels();
        for hidden in names_in(&parcels)? {
            let Some(name) = hidden.strip_prefix('.') else {
                continue;
            };
            let path = parcels.join(&hidden);
            match name.strip_suffix(".old") {
                Some(name) if !parcels.join(name).exists() => {
                    fs::rename(&path, parcels.join(name))?;
                }
                Some(_) => remove_folder(&path)?,
                None if name.ends_with(".tmp") => remove_folder(&path)?,
                None => {}
            }
        }
        Ok(())
    }
}

fn write_error(path: &Path, source: io::Error) -> OutputError {
    OutputError::Write {
        path: path.to_path_buf(),
        source,
    }
}

/// Refuses a folder with contents that are not of an earlier run of this project.
fn check_owner(path: &Path, project: &str, entries: fs::ReadDir) -> Result<(), OutputError> {
    if !entries.flatten().any(|entry| !is_trial(&entry)) {
        return Ok(());
    }
    let path = path.to_path_buf();
    match RunFile::read(&path.join("run.json")) {
        Some(run) if run.project == project => Ok(()),
        Some(run) => Err(OutputError::OtherProject {
            path,
            name: run.project,
        }),
        None => Err(OutputError::Foreign { path }),
    }
}

/// Whether it is what a run of ours leaves when it is killed before `run.json` stands.
fn is_trial(entry: &fs::DirEntry) -> bool {
    let name = entry.file_name();
    name == ".trial.tmp" || name == ".run.json.tmp"
}

/// Names of what lies in a folder, sorted; none when there is no such folder.
fn names_in(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    if !folder.exists() {
        return Ok(names);
    }
    for entry in fs::read_dir(folder)? {
        names.push(entry?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

fn remove_folder(path: &Path) -> io::Result<()> {
    match fs::remove_dir_all(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        result => result,
    }
}

fn sync(path: &Path) -> io::Result<()> {
    File::open(path)?.sync_all()
}

/// Syncs every file below a folder, then the folder, so that a rename never shows what a power cut then loses.
fn sync_tree(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            sync_tree(&path)?;
        } else {
            sync(&path)?;
        }
    }
    sync(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn write_text(text: &'static str) -> impl FnOnce(&Path) -> Result<(), OutputError> {
        move |folder| fs::write(folder.join("a.txt"), text).map_err(|e| write_error(folder, e))
    }

    fn text_of(out: &Path, parcel: &str) -> Option<String> {
        fs::read_to_string(out.join("parcels").join(parcel).join("a.txt")).ok()
    }

    #[test]
    fn a_parcel_is_replaced_whole_and_a_failed_one_leaves_the_old() {
        let scratch = tempfile::tempdir().unwrap();
        let out = scratch.path().join("deep/out");
        let folder = OutputFolder::claim(&out, "p").unwrap();
        folder.publish("A", write_text("first")).unwrap();
        folder.publish("A", write_text("second")).unwrap();
        assert_eq!(text_of(&out, "A").as_deref(), Some("second"));
        let broken = |_: &Path| Err(write_error(&out, io::Error::other("full")));
        assert!(folder.publish("A", broken).is_err());
        assert_eq!(text_of(&out, "A").as_deref(), Some("second"));
        assert_eq!(names_in(&out.join("parcels")).unwrap(), ["A"]);
        folder.withdraw("A").unwrap();
        folder.withdraw("A").unwrap();
        assert!(!folder.holds("A"));
    }

    #[test]
    fn what_a_broken_run_left_is_swept_or_moved_back() {
        let scratch = tempfile::tempdir().unwrap();
        let out = scratch.path();
        let folder = OutputFolder::claim(out, "p").unwrap();
        for half_made in [".A.tmp", ".B.old", ".C.old", "C"] {
            fs::create_dir_all(out.join("parcels").join(half_made)).unwrap();
        }
        folder.sweep().unwrap();
        assert_eq!(names_in(&out.join("parcels")).unwrap(), ["B", "C"]);
    }

    #[test]
    fn somebody_elses_folder_is_refused() {
        let scratch = tempfile::tempdir().unwrap();
        fs::write(scratch.path().join("thesis.txt"), "mine").unwrap();
        let refused = OutputFolder::claim(scratch.path(), "p");
        assert!(matches!(refused, Err(OutputError::Foreign { .. })));
        assert_eq!(names_in(scratch.path()).unwrap(), ["thesis.txt"]);
        let file = scratch.path().join("thesis.txt");
        let refused = OutputFolder::claim(&file, "p");
        assert!(matches!(refused, Err(OutputError::Unusable { .. })));
    }
}
