//! `report.html`: one page that a foreman and a reviewer can use offline and on paper. No script, no outside reference.
//!
//! Here the figures are put into words and rows; the page itself is `template.html`, where all text is escaped.

mod charts;
mod findings;
mod run_times;
mod sections;
mod tables;

use crate::deliver::DeliverError;
use crate::deliver::error::write_text;
use crate::deliver::figures::turf_m2;
use crate::deliver::job::{self, Job};
use crate::deliver::plan;
use crate::design::takeoff;
use minijinja::{Environment, Value, context};
use std::path::Path;

const TEMPLATE: &str = include_str!("template.html");

/// Writes the report.
pub(crate) fn write(job: &Job, path: &Path) -> Result<(), DeliverError> {
    let mut environment = Environment::new();
    // The name decides the escaping: `.html` escapes everything that is not marked safe.
    environment.add_template("report.html", TEMPLATE)?;
    let page = environment
        .get_template("report.html")?
        .render(filled(job))?;
    write_text(path, &page)
}

fn filled(job: &Job) -> Value {
    let design = job.design;
    let named = || job.parcel.name.clone().unwrap_or_default();
    context! {
        project => job.project.name,
        parcel => job.parcel.id,
        name => named(),
        version => env!("CARGO_PKG_VERSION"),
        catalogue => job.catalogue().origin,
        figures => figures(job),
        findings => findings::grouped(job),
        plan => svg(plan::drawn(job)),
        wide => plan::is_wide(job.parcel),
        sections => sections::drawn(job).into_iter().map(svg).collect::<Vec<_>>(),
        supply_curve => design.supply.as_ref().map(|supply| svg(charts::supply_curve(supply, design))),
        tables => tables::all(job),
        run_times => run_times::by_month(job),
        peak_day => run_times::peak_day(job),
        takeoff => tables::takeoff(job),
        settings => tables::settings(job),
        built_in_climate => job.project.climate.built_in && !design.schedule.rows.is_empty(),
        wind_m_s => job.project.rules.wind_m_s,
    }
}

/// Drawings are made here and escape their own text.
fn svg(drawing: String) -> Value {
    Value::from_safe_string(drawing)
}

/// A number with thousands set apart, or a dash.
fn number(value: impl Into<Option<f64>>, decimals: usize) -> String {
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
mod tests {
    use super::*;
    use crate::deliver::example;
    use crate::design::model::Design;

    fn page(design: &Design) -> String {
        let (parcel, project) = (example::parcel(), example::project());
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("report.html");
        write(&Job::new(&parcel, design, &project), &path).unwrap();
        std::fs::read_to_string(path).unwrap()
    }

    #[test]
    fn the_page_asks_nothing_of_the_network_and_escapes_what_it_is_told() {
        let page = page(&example::design());
        let without_names = page.replace("http://www.w3.org/2000/svg", "");
        for outside in [
            "http:", "https:", "<script", "<link", "src=", "@import", "url(",
        ] {
            assert!(!without_names.contains(outside), "{outside}");
        }
        assert!(page.contains("Turf &lt;T1&gt; is watered"));
        assert!(!page.contains("Turf <T1>"));
        assert!(!page.contains("NaN"));
    }

    #[test]
    fn all_cautions_stand_in_it() {
        let page = page(&Design::default()).to_lowercase();
        for word in [
            "backflow",
            "drinking water",
            "buried services",
            "electrical",
            "trench",
            "frost",
            "arborist",
            "licensed",
        ] {
            assert!(page.contains(word), "{word}");
        }
    }

    #[test]
    fn numbers_are_grouped_and_missing_ones_dashed() {
        assert_eq!(number(1234.56, 1), "1234.6");
        assert_eq!(number(-1_234_567.0, 0), "-1\u{202f}234\u{202f}567");
        assert_eq!(number(123_456.0, 0), "123\u{202f}456");
        assert_eq!(number(None, 1), "–");
        assert_eq!(number(f64::NAN, 1), "–");
        assert_eq!(percent(Some(0.125)), "12.5 %");
    }
}
