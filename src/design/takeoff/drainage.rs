//! Drains, air valves and the gravel that takes up what runs out.

use super::Job;
use super::ledger::{Group, Ledger, Line};

/// Counts drains, air valves and gravel.
pub fn count(job: &Job, ledger: &mut Ledger) {
    for drain in &job.design.drains {
        let item = format!("drain valve, {}", drain.kind.word());
        let line = Line::new(Group::Drainage, [0, drain.kind as usize, 0], item, "each");
        ledger.add(line, 1.0, job.prices.drain);
        let gravel = Line::new(Group::Drainage, [2, 0, 0], "gravel", "L");
        ledger.add(gravel, drain.gravel_l, job.prices.gravel_per_l);
    }
    let air = Line::new(Group::Drainage, [1, 0, 0], "air valve", "each");
    ledger.add(
        air,
        job.design.air_valves.len() as f64,
        job.prices.air_valve,
    );
}
