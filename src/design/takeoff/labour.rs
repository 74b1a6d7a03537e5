//! Labour by unit rates: a line for each rate that is given.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::design::model::Surface;

/// Counts what each rate is of. Comes after all goods, since it reads their counts.
pub fn count(job: &Job, ledger: &mut Ledger) {
    let (design, prices) = (job.design, job.prices);
    let pipe_m: f64 = design.pipes.iter().map(|pipe| pipe.length_m).sum();
    let open_trench = design
        .trenches
        .iter()
        .filter(|t| t.surface != Surface::Paving);
    let open_trench_m: f64 = open_trench.map(|trench| trench.length_m).sum();
    let valves = design.valves.len() + design.drains.len() + design.air_valves.len();
    let lines = [
        (
            "setting heads",
            "each",
            design.heads.len() as f64,
            prices.labour_head,
        ),
        ("laying pipe", "m", pipe_m, prices.labour_pipe_per_m),
        (
            "fittings",
            "each",
            ledger.total(Group::Fittings, "", "each"),
            prices.labour_fitting,
        ),
        (
            "valves, drain and air valves",
            "each",
            valves as f64,
            prices.labour_valve,
        ),
        (
            "valve boxes",
            "each",
            ledger.total(Group::Valves, "valve box", "each"),
            prices.labour_box,
        ),
        (
            "laying wire",
            "m",
            ledger.total(Group::Control, "wire, ", "m"),
            prices.labour_wire_per_m,
        ),
        (
            "filling trench and mending turf",
            "m",
            open_trench_m,
            prices.labour_backfill_per_m,
        ),
    ];
    for (order, (item, unit, quantity, rate)) in lines.into_iter().enumerate() {
        if rate.is_some() {
            let line = Line::new(Group::Labour, [order, 0, 0], item, unit);
            ledger.add(line, quantity, rate);
        }
    }
}
