//! `swardline check`: every problem of every parcel, before anything is designed.

use crate::batch::{self, Task, guarded, run_queue};
use crate::cli::arguments::Check;
use crate::cli::{Ending, Failure, open, say};
use crate::design::takeoff::unknown_prices;
use crate::finding::{Finding, Severity};
use crate::site::Ground;
use std::convert::Infallible;

pub(crate) fn run(asked: &Check) -> Result<Ending, Failure> {
    let project = open::project(&asked.project)?;
    let ground = open::ground(&project, &asked.only)?;
    let tasks = batch::tasks(&ground, &asked.only);
    let found = run_queue(&tasks, asked.jobs.number(), |task| {
        Ok::<_, Infallible>((task.id.clone(), findings_of(&ground, task)))
    })
    .map_err(|error| Failure::Defect(error.to_string()))?;

    let list = project.prices.list.as_ref();
    let strange = list.and_then(|list| unknown_prices(list, &project.catalogue));
    let whole: Vec<&Finding> = ground.findings().iter().chain(&strange).collect();
    let mut text: String = whole.iter().map(|f| line("", f)).collect();
    for (id, findings) in &found {
        text.extend(findings.iter().map(|f| line(id, f)));
    }
    say::result(&text)?;
    let all: Vec<&Finding> = whole
        .into_iter()
        .chain(found.iter().flat_map(|(_, f)| f))
        .collect();
    Ok(closing(&all, found.len()))
}

fn findings_of(ground: &Ground, task: &Task) -> Vec<Finding> {
    let read = guarded(|| ground.parcel(&task.id));
    match read {
        Ok(Ok(parcel)) => parcel.findings,
        Ok(Err(findings)) => findings,
        Err(said) => {
            let message = format!("a defect of swardline: {said}. Please report it.");
            vec![Finding::error("defect", message)]
        }
    }
}

fn line(parcel: &str, finding: &Finding) -> String {
    let colon = if parcel.is_empty() { "" } else { ": " };
    format!("{parcel}{colon}{}\n", say::finding(finding))
}

fn closing(all: &[&Finding], parcels: usize) -> Ending {
    let count = |severity| all.iter().filter(|f| f.severity == severity).count();
    let errors = count(Severity::Error);
    say::line(format_args!(
        "{}: {}, {}, {}",
        say::number(parcels, "parcel"),
        say::number(errors, "error"),
        say::number(count(Severity::Warning), "warning"),
        say::number(count(Severity::Note), "note"),
    ));
    if errors > 0 {
        Ending::SomeFailed
    } else {
        Ending::Good
    }
}
