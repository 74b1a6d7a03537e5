//! `swardline design`: the whole job for every parcel asked for, and for every variant of the project.

use crate::batch::{self, Order, OutputFolder, Report};
use crate::brief::Project;
use crate::cli::arguments::Design;
use crate::cli::progress::Progress;
use crate::cli::{Ending, Failure, closing, open, say};
use crate::deliver::Status;
use crate::design::{self, Finished};
use crate::site::{Ground, Parcel};

pub(crate) fn run(asked: &Design) -> Result<Ending, Failure> {
    all(asked, &design::finish)
}

/// `swardline audit`: what lies on every parcel is judged, and nothing is changed.
pub(crate) fn audit(asked: &Design) -> Result<Ending, Failure> {
    all(asked, &design::audit_only)
}

type Job = dyn Fn(&Parcel, &Project) -> Finished + Sync;

fn all(asked: &Design, job: &Job) -> Result<Ending, Failure> {
    let mut project = open::project(&asked.project)?;
    let variants = std::mem::take(&mut project.variants);
    let ground = open::ground(&project, &asked.only)?;
    // All are opened before the first is begun: what cannot be read is told now and not at midnight.
    let grounds = variants
        .iter()
        .map(|variant| open::ground(&variant.project, &asked.only))
        .collect::<Result<Vec<Ground>, Failure>>()?;
    let output = OutputFolder::claim(&asked.out, &project.name)?;
    let base = design_all(&project, &ground, &output, asked, job)?;
    let mut failed = base.count(Status::Failed);
    if variants.is_empty() {
        return Ok(ending(failed));
    }
    let mut compared = vec![batch::compared("base", None, &base)];
    let folders = batch::variant_folders(&variants);
    for ((variant, ground), name) in variants.iter().zip(&grounds).zip(&folders) {
        if !asked.quiet {
            say::line(format_args!("variant {}", variant.name));
        }
        let folder = asked.out.join("variants").join(name);
        let output = OutputFolder::claim(&folder, &variant.project.name)?;
        let report = design_all(&variant.project, ground, &output, asked, job)?;
        failed += report.count(Status::Failed);
        compared.push(batch::compared(&variant.name, Some(name), &report));
    }
    let currency = project.prices.currency.as_deref();
    let page = batch::write_comparison(&output, &project.name, currency, &compared)?;
    say::line(format_args!(
        "{} compared: {}",
        say::number(compared.len(), "variant"),
        page.display()
    ));
    Ok(ending(failed))
}

fn ending(failed: usize) -> Ending {
    match failed {
        0 => Ending::Good,
        _ => Ending::SomeFailed,
    }
}

/// One project's parcels, from the first to the closing words.
fn design_all(
    project: &Project,
    ground: &Ground,
    output: &OutputFolder,
    asked: &Design,
    job: &Job,
) -> Result<Report, Failure> {
    if !asked.quiet {
        for finding in ground.findings() {
            say::line(say::finding(finding));
        }
    }
    let order = Order {
        project,
        ground,
        output,
        only: &asked.only,
        jobs: asked.jobs.number(),
        networks: asked.networks,
    };
    let progress = Progress::of(&batch::tasks(ground, &asked.only), asked);
    let result = batch::run(&order, job, &progress);
    progress.end();
    let report = result?;
    closing::say(&report, asked.quiet);
    Ok(report)
}
