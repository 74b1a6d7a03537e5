//! One parcel from its files to its folder; whatever goes wrong in it stays in it.

use crate::batch::{FolderNames, Order, Outcome, OutputError, Task, guarded};
use crate::brief::Project;
use crate::deliver::{self, DeliverError, SummaryRow};
use crate::design::Finished;
use crate::finding::Finding;
use crate::site::Parcel;
use std::cell::Cell;
use std::time::Instant;

/// What every parcel needs to be worked on.
pub(crate) struct Bench<'a> {
    pub(crate) order: &'a Order<'a>,
    pub(crate) design: &'a (dyn Fn(&Parcel, &Project) -> Finished + Sync),
    pub(crate) folders: &'a FolderNames,
}

/// Why a parcel has no folder.
enum Stop {
    /// Its own fault, or a defect of ours that shows in it.
    Parcel(Vec<Finding>),
    /// The output folder's.
    Output(OutputError),
}

impl From<OutputError> for Stop {
    fn from(error: OutputError) -> Self {
        Self::Output(error)
    }
}

impl From<DeliverError> for Stop {
    fn from(error: DeliverError) -> Self {
        match error {
            DeliverError::Write { path, source } => {
                Self::Output(OutputError::Write { path, source })
            }
            other => Self::Parcel(vec![Finding::error("not_written", other.to_string())]),
        }
    }
}

/// A row and what it rests on.
type Made = (SummaryRow, Vec<Finding>);

impl Bench<'_> {
    /// Reads, designs and writes one parcel. A failure of the parcel is an outcome.
    ///
    /// # Errors
    /// When the output folder cannot be written.
    pub(crate) fn work(&self, task: &Task) -> Result<Outcome, OutputError> {
        let start = Instant::now();
        let name = self.folders.get(&task.id).unwrap_or(&task.id);
        let stage = Cell::new("intake");
        let made = guarded(|| self.make(&task.id, name, &stage))
            .unwrap_or_else(|said| Err(Stop::Parcel(vec![defect(stage.get(), &said)])));
        let (row, findings, folder) = match made {
            Ok((row, findings)) => (row, findings, Some(name.clone())),
            Err(Stop::Output(error)) => return Err(error),
            Err(Stop::Parcel(findings)) => {
                // A design of an earlier run would pass for today's.
                self.order.output.withdraw(name)?;
                (
                    SummaryRow::failed(&task.id, None, &findings),
                    findings,
                    None,
                )
            }
        };
        Ok(Outcome {
            row,
            folder,
            findings,
            took: start.elapsed(),
        })
    }

    fn make(&self, id: &str, name: &str, stage: &Cell<&'static str>) -> Result<Made, Stop> {
        let Order {
            project,
            ground,
            output,
            networks,
            ..
        } = *self.order;
        let parcel = ground.parcel(id).map_err(Stop::Parcel)?;
        stage.set("design");
        let Finished {
            design,
            project: with_laid,
            before,
            comparison,
        } = (self.design)(&parcel, project);
        let project = with_laid.as_ref().unwrap_or(project);
        stage.set("hand-over");
        let row = deliver::summary_row(&parcel, &design);
        output.publish(name, |folder| {
            deliver::write_parcel(&parcel, &design, project, folder)?;
            if let Some(before) = &before {
                deliver::write_before(&parcel, before, &design, comparison.as_ref(), folder)?;
            }
            if networks {
                deliver::write_networks(&parcel, &design, project, folder)?;
            }
            Ok::<_, Stop>(())
        })?;
        Ok((row, gathered(parcel.findings, design.findings)))
    }
}

/// Findings of intake and design; the design may have taken over those of intake.
fn gathered(mut intake: Vec<Finding>, design: Vec<Finding>) -> Vec<Finding> {
    let own = design
        .into_iter()
        .filter(|finding| !intake.contains(finding));
    let own: Vec<Finding> = own.collect();
    intake.extend(own);
    intake
}

fn defect(stage: &str, said: &str) -> Finding {
    let message = format!(
        "a defect of swardline in the stage {stage}: {said}. Please report it with this parcel's files."
    );
    Finding::error("defect", message)
}
