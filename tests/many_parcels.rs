//! A batch where something goes wrong: in one parcel, or under all of them.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

#[path = "command/scratch.rs"]
#[allow(dead_code)]
mod scratch;

use scratch::Scratch;
use std::fs;
use std::sync::Mutex;
use swardline::batch::{self, BatchError, Order, Outcome, OutputFolder, Report, Task, Watch};
use swardline::brief::Project;
use swardline::deliver::Status;
use swardline::design::Finished;
use swardline::design::model::Design;
use swardline::site::{self, Parcel};

/// Notes what is begun.
#[derive(Default)]
struct Notes(Mutex<Vec<String>>);

impl Watch for Notes {
    fn begun(&self, task: &Task) {
        self.0.lock().unwrap().push(task.id.clone());
    }
    fn ended(&self, _: &Task, _: &Outcome) {}
}

fn run(
    scratch: &Scratch,
    notes: &Notes,
    design: &(dyn Fn(&Parcel, &Project) -> Design + Sync),
) -> Result<Report, BatchError> {
    let project = Project::read(&scratch.path("project.toml")).unwrap();
    let ground = site::open(&project).unwrap();
    let output = OutputFolder::claim(&scratch.path("out"), &project.name).unwrap();
    let order = Order {
        project: &project,
        ground: &ground,
        output: &output,
        only: &[],
        jobs: 1,
        networks: false,
    };
    let finished = |parcel: &Parcel, project: &Project| Finished::new(design(parcel, project));
    batch::run(&order, &finished, notes)
}

#[test]
fn a_panic_in_a_parcel_is_that_parcels_failure() {
    let scratch = Scratch::with_ground();
    let design = |parcel: &Parcel, project: &Project| {
        assert!(parcel.id != "square", "no pipe reaches head 7");
        swardline::design::design(parcel, project)
    };
    let report = run(&scratch, &Notes::default(), &design).unwrap();
    let square = &report.outcomes[1];
    assert_eq!(
        (square.row.parcel.as_str(), square.row.status),
        ("square", Status::Failed)
    );
    let said = &square.findings[0].message;
    assert!(
        said.contains("design: no pipe reaches head 7 (at tests/"),
        "{said}"
    );
    assert_ne!(report.outcomes[2].row.status, Status::Failed);
    assert!(!scratch.path("out/parcels/square").exists());
    assert!(
        scratch
            .read("out/summary.csv")
            .contains("no pipe reaches head 7")
    );
}

#[test]
fn when_writing_fails_no_further_parcel_is_begun() {
    let scratch = Scratch::with_ground();
    let parcels = scratch.path("out/parcels");
    let design = |parcel: &Parcel, project: &Project| {
        // Where a folder should be there is a file, as good as a full disk.
        fs::write(&parcels, "in the way").unwrap();
        swardline::design::design(parcel, project)
    };
    let notes = Notes::default();
    let stopped = run(&scratch, &notes, &design);
    assert!(matches!(stopped, Err(BatchError::Output(_))), "{stopped:?}");
    // The dearest parcel goes first.
    assert_eq!(*notes.0.lock().unwrap(), ["square"]);
    assert!(scratch.read("out/run.json").contains("\"seconds\": null"));
}
