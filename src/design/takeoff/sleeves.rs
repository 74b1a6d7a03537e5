//! Sleeves under paving: one for each pipe, two sizes wider than it, and one for wire where wire goes along.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use super::wire::Routes;
use crate::design::model::Trench;

/// Sizes by which a sleeve is wider than its pipe (common practice, no source).
const SIZES_WIDER: usize = 2;

/// Counts sleeves by size, in pieces and in metres.
pub fn count(job: &Job, routes: &Routes, ledger: &mut Ledger) {
    let paved = |trench: &Trench| trench.sleeve;
    for (index, trench) in job
        .design
        .trenches
        .iter()
        .enumerate()
        .filter(|(_, t)| paved(t))
    {
        count_crossing(job, routes, index, trench, ledger);
    }
}

fn count_crossing(job: &Job, routes: &Routes, index: usize, trench: &Trench, ledger: &mut Ledger) {
    let pipes = || {
        let all = job.design.pipes.iter().enumerate();
        all.filter(|(_, pipe)| pipe.trenches.contains(&index))
    };
    for (_, pipe) in pipes() {
        let (rank, size) = sleeve_size(job, pipe.size);
        add(
            job,
            [0, rank],
            "sleeve",
            Some(size),
            trench.length_m,
            ledger,
        );
    }
    if pipes().next().is_none() {
        add(
            job,
            [0, usize::MAX],
            "sleeve",
            None,
            trench.length_m,
            ledger,
        );
    }
    if pipes().any(|(pipe, _)| routes.beside.get(pipe) == Some(&true)) {
        add(
            job,
            [1, 0],
            "sleeve for wire",
            None,
            trench.length_m,
            ledger,
        );
    }
}

fn add(
    job: &Job,
    [kind, rank]: [usize; 2],
    item: &str,
    size: Option<String>,
    length_m: f64,
    ledger: &mut Ledger,
) {
    let lines = [
        (0, item.to_owned(), "m", length_m, job.prices.sleeve_per_m),
        (1, format!("{item}, pieces"), "each", 1.0, None),
    ];
    for (order, item, unit, quantity, price) in lines {
        let line = Line::new(Group::Sleeves, [kind, rank, order], item, unit);
        let line = match &size {
            Some(size) => line.sized(size.clone()),
            None => line,
        };
        ledger.add(line, quantity, price);
    }
}

/// Place in the list and nominal size: two sizes wider in the pipe's own material, else twice its outside diameter.
fn sleeve_size(job: &Job, size: usize) -> (usize, String) {
    let Some(pipe) = job.catalogue.pipes.get(size) else {
        return (usize::MAX, "not in the catalogue".to_owned());
    };
    let same = job.catalogue.pipes.iter().enumerate().skip(size);
    let mut wider = same.filter(|(_, other)| other.material == pipe.material);
    wider.nth(SIZES_WIDER).map_or_else(
        || {
            (
                job.catalogue.pipes.len() + size,
                format!("inside at least {:.0} mm", 2.0 * pipe.outside_mm),
            )
        },
        |(rank, other)| (rank, other.nominal.clone()),
    )
}
