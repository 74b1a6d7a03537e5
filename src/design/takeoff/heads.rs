//! Heads by model, nozzle and arc setting, and the swing joint under each.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::design::model::{Arc, Head, HeadWork};

/// Arc settings are gathered in steps of this many degrees: finer is not worth a line of its own (common practice, no source).
const ARC_STEP_DEG: f64 = 5.0;

/// Counts heads and swing joints.
pub fn count(job: &Job, ledger: &mut Ledger) {
    let works = works(job);
    for (head, work) in job.design.heads.iter().zip(works) {
        match work {
            HeadWork::Set => {
                count_work(
                    1,
                    "nozzle exchanged or head set anew",
                    job.prices.nozzle,
                    ledger,
                );
                continue;
            }
            HeadWork::Moved => {
                count_work(2, "head moved and set anew", job.prices.nozzle, ledger);
                continue;
            }
            HeadWork::New | HeadWork::Replaced | HeadWork::Kept => {}
        }
        count_head(job, head, ledger);
        let joint = Line::new(
            Group::Heads,
            [usize::MAX, 0, 0],
            "swing joint (in the head's price)",
            "each",
        );
        ledger.add(joint, 1.0, None);
    }
    let removed = job
        .design
        .lying
        .as_ref()
        .map_or(0, |lying| lying.heads_removed);
    let line = Line::new(Group::Heads, [usize::MAX, 4, 0], "head taken out", "each");
    ledger.add(line, removed as f64, None);
    let check = Line::new(
        Group::Heads,
        [usize::MAX, 1, 0],
        "check valve in the head",
        "each",
    );
    let valves = job.design.check_valves.len() as f64;
    ledger.add(check, valves, job.prices.check_valve);
}

/// The work on each head that is left to do.
fn works(job: &Job) -> Vec<HeadWork> {
    match &job.design.lying {
        Some(lying) => lying
            .heads
            .iter()
            .copied()
            .filter(|work| *work != HeadWork::Kept)
            .collect(),
        None => vec![HeadWork::New; job.design.heads.len()],
    }
}

fn count_work(order: usize, item: &str, price: Option<f64>, ledger: &mut Ledger) {
    ledger.add(
        Line::new(Group::Heads, [usize::MAX, order + 1, 0], item, "each"),
        1.0,
        price,
    );
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
