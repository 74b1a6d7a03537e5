//! Many parcels: one after another, several at a time, each whole or not at all, each failure its own.
//!
//! A parcel is read, designed, written and dropped in one task, so memory follows the number of tasks in work and not
//! the number of parcels. What is said to people, and the exit status, is in `cli`; what is decided, in `design`.

mod earlier;
mod index;
mod one_parcel;
mod output;
mod panics;
mod parcel_folder;
mod queue;
mod run_file;
mod threads;
mod variants;

pub use output::{OutputError, OutputFolder};
pub use panics::guarded;
pub use parcel_folder::folder_names;
pub use queue::{QueueError, Task, run as run_queue};
pub use run_file::{InputRecord, ParcelRecord, RunFile};
pub use threads::default_jobs;
pub use variants::{compared, variant_folders, write_comparison};

use crate::brief::Project;
use crate::deliver::{Status, SummaryRow, write_summary};
use crate::design::Finished;
use crate::finding::Finding;
use crate::site::{Ground, Parcel};
use one_parcel::Bench;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::{Duration, Instant};
use thiserror::Error;

/// What is to be done.
pub struct Order<'a> {
    /// The brief.
    pub project: &'a Project,
    /// The opened site.
    pub ground: &'a Ground,
    /// Where results go, already claimed.
    pub output: &'a OutputFolder,
    /// Ids of the parcels to design; all when empty. The caller has made sure that they exist.
    pub only: &'a [String],
    /// Parcels in work at a time, 1 or more.
    pub jobs: usize,
    /// Whether each station is written as a network for a hydraulic solver too.
    pub networks: bool,
}

/// How one parcel came out.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Its row of the summary; holds the id and the status.
    pub row: SummaryRow,
    /// Name of its folder under `parcels/`, where one was written.
    pub folder: Option<String>,
    /// What was found, from intake to design.
    pub findings: Vec<Finding>,
    /// How long it took.
    pub took: Duration,
}

/// How the whole run came out.
#[derive(Debug)]
pub struct Report {
    /// Outcomes by parcel id.
    pub outcomes: Vec<Outcome>,
    /// Folders under `parcels/` that belong to no parcel of this project any more.
    pub stale: Vec<String>,
    /// How long it took.
    pub took: Duration,
    /// Where the summary is.
    pub summary: PathBuf,
}

impl Report {
    /// Number of parcels with a status.
    pub fn count(&self, status: Status) -> usize {
        let has = |outcome: &&Outcome| outcome.row.status == status;
        self.outcomes.iter().filter(has).count()
    }
}

/// Why a run came to a stop before its end.
#[derive(Debug, Error)]
pub enum BatchError {
    /// Writing failed; the other parcels would not do better.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The system gives no threads.
    #[error("cannot start {jobs} threads: {source}; try a smaller --jobs")]
    Threads {
        /// How many were asked for.
        jobs: usize,
        /// What the system said.
        source: rayon::ThreadPoolBuildError,
    },
}

/// Somebody who watches the parcels go by. Called from several threads.
pub trait Watch: Sync {
    /// A parcel is taken up.
    fn begun(&self, task: &Task);
    /// A parcel is done with.
    fn ended(&self, task: &Task, outcome: &Outcome);
}

/// The parcels of a site with what they cost: turf in m², and a little for the rest.
pub fn tasks(ground: &Ground, only: &[String]) -> Vec<Task> {
    let wanted = |id: &String| only.is_empty() || only.contains(id);
    let ids = ground.parcel_ids().into_iter().filter(wanted);
    ids.map(|id| Task {
        cost: ground.turf_area_of(&id) + 100.0,
        id,
    })
    .collect()
}

/// Designs the parcels of an order and writes folders, `summary.csv`, `index.html` and `run.json`.
///
/// `design` is the job itself. Results do not depend on `jobs`: rows are sorted by id and a parcel knows no other.
///
/// # Errors
/// When an output cannot be written (no further parcel is begun then) or threads cannot be had. What goes wrong with a
/// parcel, a panic included, is an outcome and no error.
pub fn run(
    order: &Order<'_>,
    design: &(dyn Fn(&Parcel, &Project) -> Finished + Sync),
    watch: &dyn Watch,
) -> Result<Report, BatchError> {
    let start = Instant::now();
    let names = folder_names(&order.ground.parcel_ids());
    let mut run_file = RunFile::begun(order);
    let earlier = earlier::Earlier::read(order, &names);
    run_file.parcels.clone_from(&earlier.records);
    order.output.write_run_file(&run_file)?;

    let bench = Bench {
        order,
        design,
        folders: &names,
    };
    let tasks = tasks(order.ground, order.only);
    let outcomes = run_queue(&tasks, order.jobs, |task| {
        watch.begun(task);
        let outcome = bench.work(task)?;
        watch.ended(task, &outcome);
        Ok(outcome)
    })
    .map_err(|error| stopped(error, order.jobs))?;

    let rows: Vec<SummaryRow> = outcomes.iter().map(|o| o.row.clone()).collect();
    let summary = order.output.write_whole("summary.csv", |path| {
        write_summary(&rows, path)?;
        earlier.add_rows_to(path)
    })?;
    run_file.finish(&outcomes, start.elapsed());
    index::write(order, &run_file.parcels, &summary)?;
    order.output.write_run_file(&run_file)?;
    Ok(Report {
        stale: order.output.stale(&names),
        took: start.elapsed(),
        outcomes,
        summary,
    })
}

fn stopped(error: QueueError<OutputError>, jobs: usize) -> BatchError {
    match error {
        QueueError::Work(error) => error.into(),
        QueueError::Threads(source) => BatchError::Threads { jobs, source },
    }
}

/// Folder of each parcel id.
type FolderNames = BTreeMap<String, String>;
