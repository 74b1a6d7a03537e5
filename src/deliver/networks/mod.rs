//! Each station as a file that EPANET, a public hydraulic solver, opens and solves to the same pressures.
//!
//! `sheet.rs` writes its text format (Rossman et al. 2020, EPA/600/R-20/133, appendix C), `rounding.rs` knows what it
//! rounds, `plan.rs` finds the parts of a station; `supply.rs`, `pipes.rs` and `heads.rs` write them, `notes.rs` says
//! what is approximated.

mod heads;
mod notes;
mod pipes;
mod plan;
mod rounding;
mod sheet;
mod supply;

use crate::deliver::DeliverError;
use crate::deliver::error::write_text;
use crate::deliver::job::Job;
use plan::Plan;
use sheet::Sheet;
use std::path::Path;

/// Writes `STATION.inp` for every station into `folder`, which is made; nothing where there is no station.
pub(crate) fn write_all(job: &Job, folder: &Path) -> Result<(), DeliverError> {
    if job.design.stations.is_empty() {
        return Ok(());
    }
    std::fs::create_dir_all(folder).map_err(|source| DeliverError::write(folder, source))?;
    for (index, name) in job.names.stations.iter().enumerate() {
        let text = text(job, index).ok_or_else(|| DeliverError::Network(name.clone()))?;
        write_text(&folder.join(format!("{name}.inp")), &text)?;
    }
    Ok(())
}

/// The file of one station; `None` where the design lacks a part of it.
fn text(job: &Job, station: usize) -> Option<String> {
    let plan = Plan::of(job, station)?;
    let mut sheet = Sheet::default();
    supply::write(&plan, &mut sheet)?;
    pipes::mains(&plan, &mut sheet)?;
    pipes::valve(&plan, &mut sheet)?;
    pipes::laterals(&plan, &mut sheet)?;
    let exponent = heads::write(&plan, &mut sheet)?;
    notes::write(&plan, exponent, &mut sheet);
    Some(sheet.text(plan.friction, exponent))
}

#[cfg(test)]
mod tests;
