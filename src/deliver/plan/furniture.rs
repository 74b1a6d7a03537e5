//! North arrow, scale bar and legend.

use super::work::{air_mark, control_mark, drain_mark, source};
use super::{MARGIN, SHEET, Sheet};
use crate::deliver::palette;
use crate::design::model::{Design, Surface};

/// All three.
pub(super) fn drawn(sheet: &Sheet, design: &Design) -> String {
    [north(), scale_bar(sheet), legend(sheet, design)].concat()
}

fn north() -> String {
    let x = SHEET - 40.0;
    format!(
        "<g><circle cx=\"{x}\" cy=\"46\" r=\"22\" fill=\"#fff\" fill-opacity=\".85\"/><path d=\"M{x} 28l9 28l-9 -7l-9 7Z\" fill=\"#222\"/>\
         <text x=\"{x}\" y=\"24\" font-size=\"13\" font-weight=\"700\" text-anchor=\"middle\" fill=\"#222\" stroke=\"#fff\" \
         stroke-width=\"3\" paint-order=\"stroke\">N</text></g>"
    )
}

/// The roundest length that makes a bar of 90 to 240 px.
fn bar_m(scale: f64) -> f64 {
    let rounds = (-1..5).flat_map(|power| [1.0, 2.0, 5.0].map(|n| n * 10f64.powi(power)));
    rounds
        .into_iter()
        .find(|m| m * scale >= 90.0)
        .unwrap_or(1000.0)
}

fn scale_bar(sheet: &Sheet) -> String {
    let (length_m, y) = (bar_m(sheet.scale), sheet.height + 14.0);
    let half = length_m * sheet.scale / 2.0;
    format!(
        "<g font-size=\"12\" fill=\"#222\"><rect x=\"{MARGIN}\" y=\"{y:.1}\" width=\"{half:.1}\" height=\"7\" fill=\"#222\"/>\
         <rect x=\"{:.1}\" y=\"{y:.1}\" width=\"{half:.1}\" height=\"7\" fill=\"#fff\" stroke=\"#222\"/>\
         <text x=\"{MARGIN}\" y=\"{:.1}\">0</text><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{length_m} m</text></g>",
        MARGIN + half,
        y + 21.0,
        MARGIN + 2.0 * half,
        y + 21.0,
    )
}

/// Two rows of marks with what they mean; only what the plan holds.
fn legend(sheet: &Sheet, design: &Design) -> String {
    let has = |surface: Surface| design.trenches.iter().any(|t| t.surface == surface);
    let bar = |colour: &str, width: f64| {
        format!(
            "<path d=\"M-11 0h22\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linecap=\"butt\"/>"
        )
    };
    let lateral = palette::station(Some(0));
    let sector = format!("<path d=\"M0 5L-9 5A9 9 0 0 1 9 5Z\" fill=\"{lateral}\"/>");
    let entries = [
        (true, "water supply", source((0.0, 0.0))),
        (true, "main", bar(palette::BLACK, 3.2)),
        (true, "lateral, colour of its station", bar(lateral, 2.0)),
        (true, "head and the way it throws", sector),
        (
            true,
            "control valve with station",
            control_mark((0.0, 0.0), 0).replace("class=\"valve\"", ""),
        ),
        (
            !design.drains.is_empty(),
            "drain valve",
            drain_mark((0.0, -11.0), palette::BLUE),
        ),
        (
            !design.air_valves.is_empty(),
            "air valve",
            air_mark((0.0, 12.0), palette::SKY_BLUE),
        ),
        (
            has(Surface::Paving),
            "sleeve under paving",
            bar(palette::ORANGE, 8.0),
        ),
        (
            has(Surface::Roots),
            "dug by hand among roots",
            bar(palette::VERMILION, 8.0),
        ),
    ];
    let shown = entries.into_iter().filter(|(shown, ..)| *shown);
    shown
        .enumerate()
        .map(|(i, (_, text, mark))| entry(sheet, i, text, &mark))
        .collect()
}

fn entry(sheet: &Sheet, index: usize, text: &str, mark: &str) -> String {
    let x = 330.0 + 255.0 * (index % 3) as f64;
    let y = sheet.height + 16.0 + 26.0 * (index / 3) as f64;
    format!(
        "<g transform=\"translate({x:.0} {y:.1})\">{mark}<text x=\"20\" y=\"4\" font-size=\"12.5\" fill=\"#222\">{text}</text></g>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_round_and_of_a_handy_length() {
        for scale in [0.1, 0.9, 3.3, 15.0, 120.0] {
            let px = bar_m(scale) * scale;
            assert!((90.0..=240.0).contains(&px), "{scale}: {px}");
        }
        assert_eq!(bar_m(10.0), 10.0);
    }
}
