//! `swardline check`: every problem of every parcel, before anything is designed.

use crate::batch::{self, Task, guarded, run_queue};
use crate::brief::Project;
use crate::cli::arguments::Check;
use crate::cli::{Ending, Failure, open, say};
use crate::design::takeoff::unknown_prices;
use crate::finding::{Finding, Severity};
use crate::site::Ground;
use std::convert::Infallible;

pub(crate) fn run(asked: &Check) -> Result<Ending, Failure> {
    let project = open::project(&asked.project)?;
    let mut checked = Checked::of(&project, "", asked)?;
    for variant in &project.variants {
        // With the same files there is nothing else to find.
        if !variant.project.has_inputs_of(&project) {
            let name = format!("variant {}: ", variant.name);
            checked.add(Checked::of(&variant.project, &name, asked)?);
        }
    }
    say::result(&checked.text)?;
    let all: Vec<&Finding> = checked.findings.iter().collect();
    Ok(closing(&all, checked.parcels))
}

/// What was found, and how it is said.
struct Checked {
    findings: Vec<Finding>,
    text: String,
    parcels: usize,
}

impl Checked {
    fn of(project: &Project, variant: &str, asked: &Check) -> Result<Self, Failure> {
        let ground = open::ground(project, &asked.only)?;
        let tasks = batch::tasks(&ground, &asked.only);
        let found = run_queue(&tasks, asked.jobs.number(), |task| {
            Ok::<_, Infallible>((task.id.clone(), findings_of(&ground, task)))
        })
        .map_err(|error| Failure::Defect(error.to_string()))?;
        let list = project.prices.list.as_ref();
        let strange = list.and_then(|list| unknown_prices(list, &project.catalogue));
        let mut checked = Self {
            findings: Vec::new(),
            text: String::new(),
            parcels: found.len(),
        };
        for finding in ground.findings().iter().chain(&strange) {
            checked.take(variant, "", finding);
        }
        for (id, findings) in &found {
            for finding in findings {
                checked.take(variant, id, finding);
            }
        }
        Ok(checked)
    }

    fn take(&mut self, variant: &str, parcel: &str, finding: &Finding) {
        self.text.push_str(variant);
        self.text.push_str(&line(parcel, finding));
        self.findings.push(finding.clone());
    }

    fn add(&mut self, other: Self) {
        self.findings.extend(other.findings);
        self.text.push_str(&other.text);
    }
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
