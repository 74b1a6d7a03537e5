//! Drains, flushing points, air valves, the connection for a compressor, and the gravel that takes up what runs out.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::design::model::DrainKind;

/// Counts all of them.
pub fn count(job: &Job, ledger: &mut Ledger) {
    let line = |order: usize, rank: usize, item: String, unit| {
        Line::new(Group::Drainage, [order, rank, 0], item, unit)
    };
    for drain in &job.design.drains {
        let (item, price) = match drain.kind {
            DrainKind::Flush => ("flushing point".to_owned(), job.prices.flush_point),
            kind => (format!("drain valve, {}", kind.word()), job.prices.drain),
        };
        ledger.add(line(0, drain.kind as usize, item, "each"), 1.0, price);
        let gravel = line(2, 0, "gravel".to_owned(), "L");
        ledger.add(gravel, drain.gravel_l, job.prices.gravel_per_l);
    }
    ledger.add(
        line(1, 0, "air valve".to_owned(), "each"),
        job.design.air_valves.len() as f64,
        job.prices.air_valve,
    );
    if job.rules.blow_out > 0.5 && !job.design.pipes.is_empty() {
        let item = "connection for a compressor".to_owned();
        ledger.add(line(1, 1, item, "each"), 1.0, job.prices.air_connection);
    }
}
