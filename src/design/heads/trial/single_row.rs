//! One row of heads on a strip: either side is tried, and given up where it waters too badly.

use super::super::Task;
use super::super::classes::Class;
use super::super::one_row;
use super::best::Best;
use super::{Found, Trial, View};
use crate::design::model::Head;

/// One row of heads along the better side of a strip; `None` where the piece is no strip or that leaves too much dry.
pub fn placed(
    task: &Task,
    view: &View,
    class: &Class,
    near: &[Head],
    width_m: f64,
) -> Option<Found> {
    let sides = one_row::sides(&view.rings, width_m);
    let trials: Vec<Trial> = sides
        .into_iter()
        .map(|side| Trial::new(task, view, class, near, Some(side)))
        .collect();
    let mut best: Option<(Best, &Trial)> = None;
    for trial in &trials {
        let Some(row) = trial.best() else { continue };
        if best.as_ref().is_none_or(|(old, _)| row.better(old)) {
            best = Some((row, trial));
        }
    }
    let (mut row, trial) = best?;
    let figures = row.search.figures();
    let rules = task.rules;
    let does = figures.du >= rules.du_one_row_least
        && figures.dry <= rules.dry_most
        && figures.over <= rules.overspray_most;
    does.then(|| trial.finished(row.search))
}
