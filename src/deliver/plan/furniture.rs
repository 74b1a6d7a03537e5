//! The foot of the sheet: north arrow, scale bar and legend, below the ground so that they cover nothing.

use super::base::{MAIN_PX, SLEEVE_PX};
use super::marks;
use super::sheet::{MARGIN, PX_PER_MM, Sheet};
use crate::deliver::attention::Placed;
use crate::deliver::job::Job;
use crate::design::model::{Arc, DrainKind, Surface, ValveKind};
use crate::finding::Severity;
use crate::site::ObstacleKind;

/// The foot of the sheet.
pub(super) struct Foot {
    /// Drawing.
    pub(super) svg: String,
    /// Height, px.
    pub(super) height: f64,
}

/// Where the legend begins, px from the left.
const LEGEND: f64 = 205.0;
/// Least width of a column of the legend, px.
const COLUMN: f64 = 186.0;
/// Height of a row of the legend, px.
const ROW: f64 = 22.0;
/// Height of arrow and bar alone, px.
pub(super) const BARE: f64 = 66.0;

/// Height of the foot on a sheet of a width, px.
pub(super) fn height(job: &Job, wide: f64) -> f64 {
    let rows = legend(job).len().div_ceil(columns(wide));
    (rows as f64 * ROW + 16.0).max(BARE)
}

fn columns(wide: f64) -> usize {
    (((wide - LEGEND) / COLUMN) as usize).max(1)
}

/// Arrow, bar and legend.
pub(super) fn foot(sheet: &Sheet, job: &Job) -> Foot {
    let height = height(job, sheet.wide);
    let mut svg = strip(sheet, height);
    let entries = legend(job);
    let rows = entries.len().div_ceil(columns(sheet.wide));
    for (index, (text, mark)) in entries.iter().enumerate() {
        svg += &entry(sheet, index, rows, text, mark);
    }
    Foot { svg, height }
}

/// Arrow and bar alone.
pub(super) fn bare_foot(sheet: &Sheet) -> Foot {
    Foot {
        svg: strip(sheet, BARE),
        height: BARE,
    }
}

fn strip(sheet: &Sheet, height: f64) -> String {
    format!(
        "<rect class=\"paper\" x=\"-2\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{:.1}\"/><path class=\"rule\" d=\"M0 {y:.1}H{wide:.1}\"/>{}{}",
        sheet.wide + 4.0,
        height + 4.0,
        north(sheet.high + 42.0),
        scale_bar(sheet, sheet.high + 22.0),
        y = sheet.high,
        wide = sheet.wide,
    )
}

fn north(y: f64) -> String {
    let x = MARGIN;
    format!(
        "<path class=\"ink\" d=\"M{x} {:.1}l9 30l-9 -7l-9 7z\"/><text x=\"{x}\" y=\"{:.1}\" font-size=\"12\" font-weight=\"700\" text-anchor=\"middle\">N</text>",
        y - 16.0,
        y - 20.0
    )
}

/// The roundest length that makes a bar of 60 to 150 px.
fn bar_m(scale: f64) -> f64 {
    let rounds = (-1..6).flat_map(|power| [1.0, 2.0, 5.0].map(|n| n * 10f64.powi(power)));
    rounds
        .into_iter()
        .find(|m| m * scale >= 60.0)
        .unwrap_or(1000.0)
}

/// The bar, its metres above and, below, the scale and how long the bar is on true paper.
fn scale_bar(sheet: &Sheet, y: f64) -> String {
    let length_m = bar_m(sheet.scale);
    let half = length_m * sheet.scale / 2.0;
    let left = MARGIN + 26.0;
    let number = |x: f64, value: f64, unit: &str| {
        format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{value}{unit}</text>",
            y - 4.0
        )
    };
    format!(
        "<g font-size=\"10\"><rect class=\"ink\" x=\"{left}\" y=\"{y:.1}\" width=\"{half:.2}\" height=\"6\" stroke-width=\"1\"/>\
         <rect class=\"paper-inked\" x=\"{:.2}\" y=\"{y:.1}\" width=\"{half:.2}\" height=\"6\"/>{}{}{}\
         <text x=\"{left}\" y=\"{:.1}\" font-size=\"12\" font-weight=\"700\">1:{}</text>\
         <text x=\"{left}\" y=\"{:.1}\" font-size=\"9\">bar: {} mm on paper</text></g>",
        left + half,
        number(left, 0.0, ""),
        number(left + half, length_m / 2.0, ""),
        number(left + 2.0 * half, length_m, " m"),
        y + 20.0,
        sheet.number,
        y + 32.0,
        (2.0 * half / PX_PER_MM * 100.0).round() / 100.0,
    )
}

/// What the plan holds, as text and mark.
fn legend(job: &Job) -> Vec<(&'static str, String)> {
    let groups = [water(job), pipes(job), points(job), ground(job)];
    let shown = groups.into_iter().flatten();
    shown
        .filter(|(shown, ..)| *shown)
        .map(|(_, text, mark)| (text, mark))
        .collect()
}

type Entries = Vec<(bool, &'static str, String)>;

const HERE: (f64, f64) = (0.0, 0.0);

fn water(job: &Job) -> Entries {
    let class = job.colours.class(Some(0));
    let half = Arc {
        start_deg: 270.0,
        sweep_deg: 180.0,
    };
    let heads = !job.design.heads.is_empty();
    let mark = |arc: Arc, at: marks::At, r: f64| {
        marks::head(at, arc, r, class).replace("class=\"head ", "class=\"sample ")
    };
    vec![
        (
            job.design.supply.is_some(),
            "water supply and what is there",
            marks::source(HERE),
        ),
        (heads, "head, full circle", mark(Arc::FULL, HERE, 7.0)),
        (
            heads,
            "head, part circle, as it throws",
            mark(half, (0.0, 4.0), 9.0),
        ),
    ]
}

fn bar(class: &str, width: f64) -> String {
    format!("<path class=\"{class}\" d=\"M-12 0h24\" stroke-width=\"{width}\"/>")
}

fn pipes(job: &Job) -> Entries {
    let has = |surface: Surface| job.design.trenches.iter().any(|t| t.surface == surface);
    let class = job.colours.class(Some(0));
    let main = bar("main", MAIN_PX);
    let lateral = bar("halo", 3.0) + &bar(&format!("sc {class}"), 1.8);
    let laid = !job.design.pipes.is_empty();
    let by_hand = bar("by-hand", SLEEVE_PX).replace("/>", " stroke-dasharray=\"6 3\"/>");
    vec![
        (laid, "main with its size", main.clone()),
        (laid, "lateral, colour of its station", lateral.clone()),
        (laid, "main and lateral in one trench", main + &lateral),
        (
            has(Surface::Paving),
            "sleeve under paving",
            bar("sleeves", SLEEVE_PX),
        ),
        (has(Surface::Roots), "dug by hand among roots", by_hand),
    ]
}

fn points(job: &Job) -> Entries {
    let design = job.design;
    let drains = |kind: DrainKind| design.drains.iter().any(|drain| drain.kind == kind);
    let source_node = design.supply.as_ref().map(|supply| supply.node);
    let by_hand = design.valves.iter().any(|valve| {
        matches!(valve.kind, ValveKind::Isolation | ValveKind::Master)
            && Some(valve.node) != source_node
    });
    let looks = job.attention.iter().any(|a| a.placed != Placed::InParcel);
    let sample = |mark: String| {
        mark.replace("class=\"", "class=\"sample ")
            .replace(" data-s=\"1\"", "")
    };
    let control = marks::control(HERE, (0, 1), job.colours.class(Some(0)));
    vec![
        (
            !design.stations.is_empty(),
            "control valve with its station",
            sample(control).replace("sample valve", "sample valve-mark"),
        ),
        (by_hand, "isolation or master valve", marks::by_hand(HERE)),
        (
            drains(DrainKind::Automatic),
            "drain valve, automatic",
            marks::drain((0.0, -10.0), DrainKind::Automatic),
        ),
        (
            drains(DrainKind::Manual),
            "drain valve, opened by hand",
            marks::drain((0.0, -10.0), DrainKind::Manual),
        ),
        (
            drains(DrainKind::Flush),
            "flushing point",
            marks::drain((0.0, -10.0), DrainKind::Flush),
        ),
        (
            !design.air_valves.is_empty(),
            "air valve",
            marks::air((0.0, 11.0)),
        ),
        (
            looks,
            "to look at, number in the list",
            marks::look(HERE, 1, Severity::Warning),
        ),
    ]
}

fn ground(job: &Job) -> Entries {
    let kinds: Vec<ObstacleKind> = job.parcel.obstacles.iter().map(|o| o.kind).collect();
    let has = |kind: ObstacleKind| kinds.contains(&kind);
    let patch = |class: &str| {
        format!(
            "<rect class=\"{class}\" x=\"-11\" y=\"-7\" width=\"22\" height=\"14\" stroke-width=\".8\"/>"
        )
    };
    let of = |kind: ObstacleKind, text: &'static str| (has(kind), text, patch(kind.word()));
    let tree = "<circle class=\"roots\" r=\"9\" stroke-width=\"1\" stroke-dasharray=\"3 3\"/><path class=\"trunks\" d=\"M0 0h0\" stroke-width=\"5\"/>";
    vec![
        (!job.parcel.turf.is_empty(), "turf", patch("turf")),
        of(ObstacleKind::Building, "building"),
        of(ObstacleKind::Paving, "paving"),
        of(ObstacleKind::Bed, "bed"),
        of(ObstacleKind::Water, "water"),
        (
            has(ObstacleKind::Tree),
            "tree with its root zone",
            tree.to_owned(),
        ),
    ]
}

/// Down the columns, so that what belongs together stands together.
fn entry(sheet: &Sheet, index: usize, rows: usize, text: &str, mark: &str) -> String {
    let column = (sheet.wide - LEGEND) / columns(sheet.wide) as f64;
    let x = LEGEND + column * (index / rows) as f64;
    let y = sheet.high + 20.0 + ROW * (index % rows) as f64;
    format!(
        "<g transform=\"translate({x:.0} {y:.1})\">{mark}<text x=\"18\" y=\"3.5\" font-size=\"10\">{text}</text></g>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn the_bar_is_round_and_of_a_handy_length() {
        for scale in [0.1, 0.9, 3.3, 15.0, 120.0] {
            let px = bar_m(scale) * scale;
            assert!((60.0..=150.0).contains(&px), "{scale}: {px}");
        }
        assert_eq!(bar_m(10.0), 10.0);
    }

    #[test]
    fn the_legend_tells_only_what_the_plan_holds() {
        let (parcel, project) = (example::parcel(), example::project());
        let texts = |design: &crate::design::model::Design| -> Vec<&str> {
            let job = Job::new(&parcel, design, &project);
            legend(&job).into_iter().map(|(text, _)| text).collect()
        };
        assert!(texts(&example::design()).contains(&"main with its size"));
        let empty = texts(&crate::design::model::Design::default());
        assert!(
            !empty.iter().any(|text| text.contains("valve")),
            "{empty:?}"
        );
        assert!(empty.contains(&"turf"));
    }
}
