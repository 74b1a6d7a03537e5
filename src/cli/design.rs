//! `swardline design`: the whole job for every parcel asked for.

use crate::batch::{self, Order, OutputFolder};
use crate::cli::arguments::Design;
use crate::cli::progress::Progress;
use crate::cli::{Ending, Failure, closing, open, say};
use crate::deliver::Status;

pub(crate) fn run(asked: &Design) -> Result<Ending, Failure> {
    let project = open::project(&asked.project)?;
    let ground = open::ground(&project, &asked.only)?;
    let output = OutputFolder::claim(&asked.out, &project.name)?;
    if !asked.quiet {
        for finding in ground.findings() {
            say::line(say::finding(finding));
        }
    }
    let order = Order {
        project: &project,
        ground: &ground,
        output: &output,
        only: &asked.only,
        jobs: asked.jobs.number(),
        networks: asked.networks,
    };
    let progress = Progress::of(&batch::tasks(&ground, &asked.only), asked);
    let result = batch::run(&order, &crate::design::design, &progress);
    progress.end();
    let report = result?;
    closing::say(&report, asked.quiet);
    Ok(match report.count(Status::Failed) {
        0 => Ending::Good,
        _ => Ending::SomeFailed,
    })
}
