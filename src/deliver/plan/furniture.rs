//! The foot of the sheet: north arrow, scale bar and legend, below the ground so that they cover nothing.

use super::work::{
    MAIN_PX, air_mark, control_mark, drain_mark, hand_mark, lateral, look_mark, source, stroke,
};
use super::{MARGIN, SHEET, Sheet};
use crate::deliver::attention::Placed;
use crate::deliver::job::Job;
use crate::deliver::layers::obstacle_colour;
use crate::deliver::palette;
use crate::design::model::{DrainKind, Surface, ValveKind};
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
const LEGEND: f64 = 290.0;
/// Columns of the legend.
const COLUMNS: usize = 3;
/// Height of a row of the legend, px.
const ROW: f64 = 25.0;

/// Arrow, bar and legend.
pub(super) fn foot(sheet: &Sheet, job: &Job) -> Foot {
    let entries = legend(sheet, job);
    let rows = entries.len().div_ceil(COLUMNS).max(3);
    let height = rows as f64 * ROW + 22.0;
    let mut svg = format!(
        "<rect y=\"{y:.1}\" width=\"{SHEET}\" height=\"{:.1}\" fill=\"#fff\"/><path d=\"M0 {y:.1}H{SHEET}\" stroke=\"#ccc\"/>",
        height + 2.0,
        y = sheet.height
    );
    svg += &north(sheet.height + 50.0);
    svg += &scale_bar(sheet, sheet.height + 40.0);
    for (index, (text, mark)) in entries.iter().enumerate() {
        svg += &entry(sheet, index, rows, text, mark);
    }
    Foot { svg, height }
}

fn north(y: f64) -> String {
    let x = MARGIN + 12.0;
    format!(
        "<path d=\"M{x} {:.1}l10 32l-10 -8l-10 8Z\" fill=\"#222\"/>\
         <text x=\"{x}\" y=\"{:.1}\" font-size=\"14\" font-weight=\"700\" text-anchor=\"middle\" fill=\"#222\">N</text>",
        y - 18.0,
        y - 22.0
    )
}

/// The roundest length that makes a bar of 75 to 190 px.
fn bar_m(scale: f64) -> f64 {
    let rounds = (-1..5).flat_map(|power| [1.0, 2.0, 5.0].map(|n| n * 10f64.powi(power)));
    rounds
        .into_iter()
        .find(|m| m * scale >= 75.0)
        .unwrap_or(1000.0)
}

fn scale_bar(sheet: &Sheet, y: f64) -> String {
    let length_m = bar_m(sheet.scale);
    let half = length_m * sheet.scale / 2.0;
    let left = MARGIN + 40.0;
    let number = |x: f64, value: f64, unit: &str| {
        format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{value}{unit}</text>",
            y + 22.0
        )
    };
    format!(
        "<g font-size=\"12\" fill=\"#222\"><rect x=\"{left}\" y=\"{y:.1}\" width=\"{half:.2}\" height=\"7\" fill=\"#222\" stroke=\"#222\"/>\
         <rect x=\"{:.2}\" y=\"{y:.1}\" width=\"{half:.2}\" height=\"7\" fill=\"#fff\" stroke=\"#222\"/>{}{}{}</g>",
        left + half,
        number(left, 0.0, ""),
        number(left + half, length_m / 2.0, ""),
        number(left + 2.0 * half, length_m, " m"),
    )
}

/// What the plan holds, as text and mark.
fn legend(sheet: &Sheet, job: &Job) -> Vec<(&'static str, String)> {
    let groups = [water(job), pipes(job), points(job), ground(sheet, job)];
    let shown = groups.into_iter().flatten();
    shown
        .filter(|(shown, ..)| *shown)
        .map(|(_, text, mark)| (text, mark))
        .collect()
}

type Entries = Vec<(bool, &'static str, String)>;

const HERE: (f64, f64) = (0.0, 0.0);

fn water(job: &Job) -> Entries {
    let lateral = job.colours.station(Some(0));
    let full = format!("<circle r=\"7\" fill=\"{lateral}\"/>");
    let half = format!("<path d=\"M0 4L-9 4A9 9 0 0 1 9 4Z\" fill=\"{lateral}\"/>");
    let heads = !job.design.heads.is_empty();
    vec![
        (
            job.design.supply.is_some(),
            "water supply with what stands at it",
            source(HERE),
        ),
        (heads, "head, full circle", full),
        (heads, "head, part circle, as it throws", half),
    ]
}

fn pipes(job: &Job) -> Entries {
    let has = |surface: Surface| job.design.trenches.iter().any(|t| t.surface == surface);
    let bar = |colour: &str, width: f64| {
        stroke("M-12 0h24", colour, width).replace("/>", " stroke-linecap=\"butt\"/>")
    };
    let colour = job.colours.station(Some(0));
    let main = bar(palette::BLACK, MAIN_PX);
    let laid = !job.design.pipes.is_empty();
    vec![
        (laid, "main with its size", main.clone()),
        (
            laid,
            "lateral, colour of its station",
            lateral("M-12 0h24", colour),
        ),
        (
            laid,
            "main and lateral in one trench",
            main + &lateral("M-12 0h24", colour),
        ),
        (
            has(Surface::Paving),
            "sleeve under paving",
            bar(palette::ORANGE, 10.0),
        ),
        (
            has(Surface::Roots),
            "dug by hand among roots",
            bar(palette::VERMILION, 10.0),
        ),
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
    vec![
        (
            !design.stations.is_empty(),
            "control valve, number of its station",
            control_mark(HERE, 0, job.colours.station(Some(0))).replace(" class=\"valve\"", ""),
        ),
        (by_hand, "isolation or master valve", hand_mark(HERE)),
        (
            drains(DrainKind::Automatic),
            "drain valve, automatic",
            drain_mark((0.0, -10.0), DrainKind::Automatic),
        ),
        (
            drains(DrainKind::Manual),
            "drain valve, opened by hand",
            drain_mark((0.0, -10.0), DrainKind::Manual),
        ),
        (
            !design.air_valves.is_empty(),
            "air valve",
            air_mark((0.0, 11.0)),
        ),
        (
            looks,
            "to look at, number in the list",
            look_mark(HERE, 1, Severity::Warning).replace(" class=\"look\"", ""),
        ),
    ]
}

fn ground(sheet: &Sheet, job: &Job) -> Entries {
    let seen = job.parcel.obstacles.iter().filter(|o| sheet.shows(o));
    let kinds: Vec<ObstacleKind> = seen.map(|o| o.kind).collect();
    let has = |kind: ObstacleKind| kinds.contains(&kind);
    let patch = |colour: &str, edge: &str| {
        format!(
            "<rect x=\"-11\" y=\"-7\" width=\"22\" height=\"14\" fill=\"{colour}\" stroke=\"{edge}\"/>"
        )
    };
    let of = |kind: ObstacleKind, text: &'static str| {
        (has(kind), text, patch(obstacle_colour(kind), "#999"))
    };
    let tree = format!(
        "<circle r=\"9\" fill=\"{green}\" fill-opacity=\".18\" stroke=\"{green}\" stroke-dasharray=\"3 3\"/><circle r=\"2.5\" fill=\"{green}\"/>",
        green = palette::TREE
    );
    vec![
        (
            !job.parcel.turf.is_empty(),
            "turf",
            patch(palette::TURF, "#8DAF74"),
        ),
        of(ObstacleKind::Building, "building"),
        of(ObstacleKind::Paving, "paving"),
        of(ObstacleKind::Bed, "bed"),
        of(ObstacleKind::Water, "water"),
        (has(ObstacleKind::Tree), "tree with its root zone", tree),
    ]
}

/// Down the columns, so that what belongs together stands together.
fn entry(sheet: &Sheet, index: usize, rows: usize, text: &str, mark: &str) -> String {
    let x = LEGEND + (SHEET - LEGEND) / COLUMNS as f64 * (index / rows) as f64;
    let y = sheet.height + 24.0 + ROW * (index % rows) as f64;
    format!(
        "<g transform=\"translate({x:.0} {y:.1})\">{mark}<text x=\"22\" y=\"4\" font-size=\"12.5\" fill=\"#222\">{text}</text></g>"
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
            assert!((75.0..=190.0).contains(&px), "{scale}: {px}");
        }
        assert_eq!(bar_m(10.0), 10.0);
    }

    #[test]
    fn the_legend_tells_only_what_the_plan_holds() {
        let (parcel, project) = (example::parcel(), example::project());
        let texts = |design: &crate::design::model::Design| -> Vec<&str> {
            let job = Job::new(&parcel, design, &project);
            legend(&Sheet::of(&parcel), &job)
                .into_iter()
                .map(|(text, _)| text)
                .collect()
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
