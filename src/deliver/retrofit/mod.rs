//! `retrofit.csv` and `retrofit.html`: what lay there, what is made of it, and a new system, side by side.

use crate::deliver::DeliverError;
use crate::deliver::list_page;
use crate::deliver::report::number;
use crate::deliver::tables::{self, cell};
use crate::design::audit::Audited;
use crate::design::model::{Design, TurfResult};
use crate::design::retrofit::{Comparison, Side};
use crate::site::Parcel;
use minijinja::{Value, context};
use std::path::Path;

/// A figure of each side: key, words, decimals, and where it is found.
type Line = (&'static str, &'static str, usize, fn(&Side) -> Option<f64>);

const LINES: [Line; 10] = [
    ("heads", "Heads", 0, |side| Some(side.heads as f64)),
    ("stations", "Stations", 0, |side| Some(side.stations as f64)),
    (
        "du_mean",
        "Uniformity of the low quarter, mean",
        3,
        |side| side.du,
    ),
    (
        "du_least",
        "Uniformity of the low quarter, worst area",
        3,
        |side| side.du_least,
    ),
    ("dry_m2", "Dry ground, m²", 0, |side| Some(side.dry_m2)),
    ("findings", "Warnings and errors", 0, |side| {
        Some(side.faults as f64)
    }),
    ("trench_m", "Trench to dig, m", 1, |side| {
        Some(side.trench_m)
    }),
    ("year_m3", "Water in a year, m³", 0, |side| {
        Some(side.year_m3)
    }),
    ("water_cost", "Water in a year, cost", 0, |side| {
        side.water_cost
    }),
    ("cost", "Cost of the work", 0, |side| side.cost),
];

/// Writes both files into `folder`.
pub(crate) fn write(
    parcel: &Parcel,
    comparison: &Comparison,
    before: &Audited,
    after: &Design,
    folder: &Path,
) -> Result<(), DeliverError> {
    table(comparison, &folder.join("retrofit.csv"))?;
    page(
        parcel,
        comparison,
        before,
        after,
        &folder.join("retrofit.html"),
    )
}

fn table(comparison: &Comparison, path: &Path) -> Result<(), DeliverError> {
    let sides = [&comparison.before, &comparison.after, &comparison.anew];
    let mut rows: Vec<Vec<String>> = LINES
        .iter()
        .map(|(key, _, decimals, of)| {
            let figures = sides.map(|side| cell(of(side), i32::try_from(*decimals).unwrap_or(0)));
            [(*key).to_owned()].into_iter().chain(figures).collect()
        })
        .collect();
    let mut of_after =
        |key: String, figure: String| rows.push(vec![key, String::new(), figure, String::new()]);
    for (work, count) in &comparison.heads {
        of_after(format!("heads_{}", work.word()), count.to_string());
    }
    of_after(
        "heads_removed".to_owned(),
        comparison.heads_removed.to_string(),
    );
    of_after("pipe_kept_m".to_owned(), cell(comparison.pipe_kept_m.0, 1));
    of_after("pipe_m".to_owned(), cell(comparison.pipe_kept_m.1, 1));
    of_after("saved_m3_a_year".to_owned(), cell(comparison.saved_m3, 1));
    of_after(
        "payback_years".to_owned(),
        cell(comparison.payback_years, 1),
    );
    tables::write(path, &["figure", "before", "after", "anew"], rows)
}

fn page(
    parcel: &Parcel,
    comparison: &Comparison,
    before: &Audited,
    after: &Design,
    path: &Path,
) -> Result<(), DeliverError> {
    let sides = [&comparison.before, &comparison.after, &comparison.anew];
    let lines = LINES.iter().map(|(_, words, decimals, of)| {
        let cells = sides.map(|side| number(of(side), *decimals)).to_vec();
        context! { words, cells }
    });
    let works = comparison.heads.iter().map(|(work, count)| {
        context! { work => work.word(), count }
    });
    let filled = context! {
        parcel => parcel.name.clone().unwrap_or_else(|| parcel.id.clone()),
        kept => comparison.kept,
        lines => lines.collect::<Vec<_>>(),
        works => works.collect::<Vec<_>>(),
        removed => comparison.heads_removed,
        pipe_kept => number(Some(comparison.pipe_kept_m.0), 0),
        pipe => number(Some(comparison.pipe_kept_m.1), 0),
        payback => comparison.payback_years.map(|years| number(Some(years), 1)),
        turf => turf(parcel, &before.design, after),
    };
    list_page::write(include_str!("retrofit.html"), filled, path)
}

/// Each turf area: its grade as it lay and why, and its uniformity before and after.
fn turf(parcel: &Parcel, before: &Design, after: &Design) -> Vec<Value> {
    let du = |turf: Option<&TurfResult>| number(turf.and_then(|turf| turf.du_low_quarter), 2);
    let row = |(index, area): (usize, &crate::site::TurfArea)| {
        let (was, is) = (before.turf.get(index), after.turf.get(index));
        let grade = was.and_then(|turf| turf.grade.as_ref());
        context! {
            name => area.id,
            grade => grade.map_or_else(|| "–".to_owned(), |grade| grade.letter.to_string()),
            reasons => grade.map(|grade| grade.reasons.join("; ")).unwrap_or_default(),
            before => du(was),
            after => du(is),
        }
    };
    parcel.turf.iter().enumerate().map(row).collect()
}

#[cfg(test)]
mod tests;
