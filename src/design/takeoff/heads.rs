//! Heads by model, nozzle and arc setting, and the swing joint under each.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::design::model::{Arc, Head};

/// Arc settings are gathered in steps of this many degrees: finer is not worth a line of its own (common practice, no source).
const ARC_STEP_DEG: f64 = 5.0;

/// Counts heads and swing joints.
pub fn count(job: &Job, ledger: &mut Ledger) {
    for head in &job.design.heads {
        count_head(job, head, ledger);
        let joint = Line::new(
            Group::Heads,
            [usize::MAX, 0, 0],
            "swing joint (in the head's price)",
            "each",
        );
        ledger.add(joint, 1.0, None);
    }
    let check = Line::new(
        Group::Heads,
        [usize::MAX, 1, 0],
        "check valve in the head",
        "each",
    );
    let valves = job.design.check_valves.len() as f64;
    ledger.add(check, valves, job.prices.check_valve);
}

fn count_head(job: &Job, head: &Head, ledger: &mut Ledger) {
    let model = job.catalogue.heads.get(head.model);
    let nozzle = model.and_then(|model| model.nozzles.get(head.nozzle));
    let (arc_deg, arc_word) = arc_setting(&head.arc);
    let item = format!(
        "{}, nozzle {}, {arc_word}",
        model.map_or("head of no model in the catalogue", |model| &model.name),
        nozzle.map_or("unknown", |nozzle| &nozzle.name),
    );
    let price = model
        .filter(|_| job.prices.use_catalogue)
        .map(|model| model.price);
    ledger.add(
        Line::new(
            Group::Heads,
            [head.model, head.nozzle, arc_deg],
            item,
            "each",
        ),
        1.0,
        price,
    );
}

fn arc_setting(arc: &Arc) -> (usize, String) {
    if arc.is_full() {
        return (360, "full circle".to_owned());
    }
    let steps = (arc.sweep_deg / ARC_STEP_DEG).round().max(1.0);
    let degrees = (steps * ARC_STEP_DEG).min(355.0) as usize;
    (degrees, format!("arc {degrees}°"))
}
