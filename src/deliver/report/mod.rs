//! `report.html`: one page that a crew builds from and a grounds department keeps. No outside reference; complete without
//! script, and better with its own.
//!
//! Here the figures are put into words and rows; the page itself is in `page/`, where all text is escaped.

mod balance;
mod charts;
mod clocks;
mod commissioning;
mod findings;
mod run_times;
mod sections;
mod stations;
mod tables;
mod winter;

use crate::deliver::DeliverError;
use crate::deliver::error::write_text;
use crate::deliver::figures::turf_m2;
use crate::deliver::job::{self, Job};
use crate::deliver::plan::{self, Paper, Part};
use crate::design::takeoff;
use minijinja::{Environment, Value, context};
use std::path::Path;

/// The page and its parts. The name decides the escaping: `.html` escapes everything that is not marked safe.
const PARTS: [(&str, &str); 9] = [
    ("report.html", include_str!("page/report.html")),
    ("grid.html", include_str!("page/grid.html")),
    ("cover.html", include_str!("page/cover.html")),
    ("plan.html", include_str!("page/plan.html")),
    ("sections.html", include_str!("page/sections.html")),
    ("water.html", include_str!("page/water.html")),
    (
        "commissioning.html",
        include_str!("page/commissioning.html"),
    ),
    ("winter.html", include_str!("page/winter.html")),
    ("notes.html", include_str!("page/notes.html")),
];

/// What pages look like, on the screen and on paper.
pub(super) const STYLE: &str = include_str!("page/page.css");
/// What makes pages handier where script runs.
pub(super) const SCRIPT: &str = include_str!("page/page.js");

/// Writes the report.
pub(crate) fn write(job: &Job, path: &Path) -> Result<(), DeliverError> {
    let page = environment()?
        .get_template("report.html")?
        .render(filled(job))?;
    write_text(path, &page)
}

fn environment() -> Result<Environment<'static>, minijinja::Error> {
    let mut environment = Environment::new();
    for (name, text) in PARTS {
        environment.add_template(name, text)?;
    }
    Ok(environment)
}

fn filled(job: &Job) -> Value {
    let named = || job.parcel.name.clone().unwrap_or_default();
    context! {
        project => job.project.name,
        parcel => job.parcel.id,
        name => named(),
        version => env!("CARGO_PKG_VERSION"),
        catalogue => job.catalogue().origin,
        style => svg(format!("{}{STYLE}", plan::STYLE)),
        script => svg(SCRIPT.to_owned()),
        wind_m_s => job.project.rules.wind_m_s,
        ..drawn(job)
    }
}

/// The drawings, and all else beside them.
fn drawn(job: &Job) -> Value {
    let design = job.design;
    let svgs = |drawings: Vec<String>| drawings.into_iter().map(svg).collect::<Vec<_>>();
    context! {
        shapes => svg(plan::shapes(job)),
        sheets => [Paper::A4, Paper::A3].map(|paper| sheet(job, paper)),
        stations => stations::all(job),
        sections => sections::all(job),
        supply_curve => design.supply.as_ref().map(|supply| svg(charts::supply_curve(supply, design))),
        year => clocks::year(job).map(svg),
        clock => clocks::peak_day(job).map(svg),
        balances => svgs(balance::drawn(job)),
        ..tabled(job)
    }
}

fn sheet(job: &Job, paper: Paper) -> Value {
    let plan = plan::whole(job, paper);
    let part = |part: Part| {
        context! {
            name => part.name, scale => part.drawing.scale, across => part.drawing.across,
            drawing => svg(part.drawing.svg),
        }
    };
    let parts = plan::parts(job, paper, plan.scale).into_iter();
    context! {
        parts => parts.map(part).collect::<Vec<_>>(),
        paper => paper.word(),
        scale => plan.scale,
        across => plan.across,
        drawing => svg(plan.svg),
    }
}

/// Figures, findings and tables.
fn tabled(job: &Job) -> Value {
    context! {
        figures => figures(job),
        findings => findings::grouped(job),
        tables => tables::all(job),
        run_times => run_times::by_month(job),
        peak_day => run_times::peak_day(job),
        soil_year => balance::sums(job),
        budgets => balance::budgets(job),
        sensors => balance::sensors(job),
        takeoff => tables::takeoff(job),
        settings => tables::settings(job),
        pressures => commissioning::pressures(job),
        can_test => commissioning::can_test(job),
        winter => winter::told(job),
        built_in_climate => job.project.climate.built_in && !job.design.schedule.rows.is_empty(),
    }
}

/// Drawings are made here and escape their own text.
fn svg(drawing: String) -> Value {
    Value::from_safe_string(drawing)
}

/// A number with thousands set apart, or a dash.
pub(super) fn number(value: impl Into<Option<f64>>, decimals: usize) -> String {
    match value.into() {
        Some(value) if value.is_finite() => grouped(&format!("{value:.decimals$}")),
        _ => "–".to_string(),
    }
}

/// Narrow spaces between groups of three digits, from ten thousand up.
fn grouped(digits: &str) -> String {
    let (whole, rest) = digits.split_at(digits.find('.').unwrap_or(digits.len()));
    if whole.len() < 5 {
        return digits.to_string();
    }
    let mut out = String::new();
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index) % 3 == 0 && !out.ends_with('-') {
            out.push('\u{202f}');
        }
        out.push(digit);
    }
    out + rest
}

/// A share as per cent.
fn percent(share: Option<f64>) -> String {
    share.map_or("–".to_string(), |share| {
        format!("{} %", number(share * 100.0, 1))
    })
}

/// The figures at the head of the page: name and value.
fn figures(job: &Job) -> Vec<(&'static str, String)> {
    let design = job.design;
    let schedule = &design.schedule;
    let scheduled = !schedule.rows.is_empty();
    let supply = design.supply.as_ref();
    let window = match (scheduled, schedule.fits_window) {
        (false, _) => "–".to_string(),
        (true, fits) => format!(
            "{} of {} h{}",
            number(schedule.peak_window_h, 1),
            number(job.project.rules.watering_window_h, 1),
            if fits { "" } else { ", does not fit" }
        ),
    };
    vec![
        ("Turf", format!("{} m²", number(turf_m2(job), 0))),
        ("Heads", design.heads.len().to_string()),
        ("Stations", design.stations.len().to_string()),
        (
            "Design flow",
            format!("{} L/min", number(supply.map(|s| s.design_lpm), 0)),
        ),
        ("Mains", format!("{} m", number(job.pipe_length_m(true), 0))),
        (
            "Laterals",
            format!("{} m", number(job.pipe_length_m(false), 0)),
        ),
        ("Trench", format!("{} m", number(job.trench_length_m(), 0))),
        ("Drain valves", design.drains.len().to_string()),
        ("Peak watering day", window),
        (
            "Water in a year",
            format!(
                "{} m³{}",
                number(scheduled.then_some(schedule.year_m3), 0),
                water_cost(job)
            ),
        ),
        ("Cost", cost(job)),
    ]
}

/// What a year's water costs, with a comma before it; nothing without a price.
fn water_cost(job: &Job) -> String {
    let prices = &job.project.prices;
    let currency = prices.currency.as_deref().unwrap_or("");
    let said = |cost| format!(", {} {currency}", number(Some(cost), 0));
    takeoff::water_cost_a_year(&job.design.schedule, prices)
        .map(said)
        .map_or_else(String::new, |text| text.trim_end().to_owned())
}

fn cost(job: &Job) -> String {
    match job::cost(job.design) {
        Some(cost) => {
            let currency = job.project.prices.currency.as_deref().unwrap_or("");
            format!("{} {currency}", number(cost, 0))
                .trim_end()
                .to_string()
        }
        None => "not priced".to_string(),
    }
}

#[cfg(test)]
mod tests;
