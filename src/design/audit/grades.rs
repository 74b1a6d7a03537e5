//! A grade for each turf area, A to E, and why it is not better. The limits are common practice, no source.

use super::heads::Fault;
use super::stations::Mixed;
use crate::brief::Project;
use crate::design::model::{Design, Grade, TurfResult};

const LETTERS: [char; 5] = ['A', 'B', 'C', 'D', 'E'];

/// Sets the grade of every turf area with heads.
pub(super) fn set(design: &mut Design, project: &Project, faults: &[Fault], mixed: &[Mixed]) {
    for turf in 0..design.turf.len() {
        if design.turf[turf].heads > 0 {
            let grade = grade(design, project, faults, mixed, turf);
            design.turf[turf].grade = Some(grade);
        }
    }
}

/// How far a figure goes through limits that each cost a letter.
fn steps(figure: f64, limits: [f64; 4]) -> usize {
    limits.iter().filter(|limit| figure > **limit).count()
}

fn grade(
    design: &Design,
    project: &Project,
    faults: &[Fault],
    mixed: &[Mixed],
    turf: usize,
) -> Grade {
    let on: Vec<usize> = (0..design.heads.len())
        .filter(|&head| design.heads[head].turf == turf)
        .collect();
    let share = |count: usize| count as f64 / on.len().max(1) as f64;
    let result = &design.turf[turf];
    let mut marks = of_water(result, project);
    let faulty = faults
        .iter()
        .filter(|fault| on.contains(&fault.head))
        .count();
    let of_share = |count: usize| steps(share(count), [0.0, 0.05, 0.15, 0.30]);
    if faulty > 0 {
        marks.push((
            of_share(faulty),
            format!("{faulty} of {} heads stand or are set wrongly", on.len()),
        ));
    }
    let out_of_range = on.iter().filter(|&&head| {
        let model = &project.catalogue.heads[design.heads[head].model];
        design.working.get(head).is_some_and(|work| {
            work.pressure_kpa < model.pressure_min_kpa - 0.5
                || work.pressure_kpa > model.pressure_max_kpa + 0.5
        })
    });
    let out_of_range = out_of_range.count();
    if out_of_range > 0 {
        marks.push((
            of_share(out_of_range),
            format!("{out_of_range} heads work outside their pressure range"),
        ));
    }
    let in_mixed = on.iter().filter(|head| {
        let station = design.station_of.get(**head).copied().flatten();
        mixed.iter().any(|mixed| Some(mixed.station) == station)
    });
    let in_mixed = in_mixed.count();
    if in_mixed > 0 {
        marks.push((
            2 + usize::from(share(in_mixed) > 0.5),
            format!("{in_mixed} heads are on stations of mixed rates"),
        ));
    }
    let unfed = on
        .iter()
        .filter(|head| design.station_of.get(**head).copied().flatten().is_none())
        .count();
    if unfed > 0 {
        marks.push((
            of_share(unfed),
            format!("{unfed} heads are fed by nothing on the plan"),
        ));
    }
    let worst = marks.iter().map(|mark| mark.0).max().unwrap_or(0);
    marks.sort_by_key(|mark| std::cmp::Reverse(mark.0));
    Grade {
        letter: LETTERS[worst.min(LETTERS.len() - 1)],
        reasons: marks.into_iter().map(|mark| mark.1).collect(),
    }
}

/// Marks for evenness, dry ground and overspray; only those that cost a letter.
fn of_water(result: &TurfResult, project: &Project) -> Vec<(usize, String)> {
    let rules = &project.rules;
    let mut marks = Vec::new();
    let least = if result.one_row {
        rules.du_one_row_least
    } else {
        rules.du_least
    };
    if let Some(du) = result.du_low_quarter {
        let cost = steps(least - du, [-0.05, 0.0, 0.10, 0.25]);
        if cost > 0 {
            marks.push((
                cost,
                format!("the low quarter gets {du:.2} of the mean ({least:.2} is the least)"),
            ));
        }
    }
    let mut over = |figure: Option<f64>, most: f64, limits: [f64; 4], what: &str| {
        let Some(figure) = figure else { return };
        let cost = steps(figure, limits.map(|times| times * most));
        if cost > 0 {
            marks.push((
                cost,
                format!(
                    "{:.1} % {what} ({:.1} % at most)",
                    100.0 * figure,
                    100.0 * most
                ),
            ));
        }
    };
    over(
        result.dry_fraction,
        rules.dry_most,
        [1.0, 2.0, 4.0, 8.0],
        "of it is dry",
    );
    over(
        result.overspray_fraction,
        rules.overspray_most,
        [1.0, 2.0, 3.0, 5.0],
        "of its water falls beside it",
    );
    marks
}
