//! What is to be built: wetted ground, trenches, pipe, heads, valves, drain and air valves.

use super::Sheet;
use crate::deliver::palette;
use crate::design::model::{Arc, Design, Head, Pipe, Section, Surface, Trench, Valve, ValveKind};
use geo::Coord;

/// The work, from below.
pub(super) fn drawn(sheet: &Sheet, design: &Design) -> String {
    let trenches: String = design.trenches.iter().map(|t| trench(sheet, t)).collect();
    let of = |mains: bool| {
        let wanted = move |pipe: &&Pipe| (pipe.section == Section::Main) == mains;
        design
            .pipes
            .iter()
            .filter(wanted)
            .map(|p| pipe(sheet, p))
            .collect::<String>()
    };
    [
        throws(sheet, design),
        trenches,
        of(false),
        of(true),
        heads(sheet, design),
        points(sheet, design),
    ]
    .concat()
}

fn throws(sheet: &Sheet, design: &Design) -> String {
    let mut svg =
        String::from("<g fill-opacity=\".05\" stroke-opacity=\".3\" stroke-width=\".5\">");
    for (index, throw) in design.throws.iter().enumerate() {
        let colour = colour_of_head(design, index);
        svg += &format!(
            "<path d=\"{}\" fill=\"{colour}\" stroke=\"{colour}\"/>",
            sheet.polygon(throw)
        );
    }
    svg + "</g>"
}

fn colour_of_head(design: &Design, head: usize) -> &'static str {
    palette::station(design.station_of.get(head).copied().flatten())
}

/// Trenches show where they are more than plain digging; elsewhere as a pale bed under the pipe.
fn trench(sheet: &Sheet, trench: &Trench) -> String {
    let (colour, width) = match trench.surface {
        Surface::Paving => (palette::ORANGE, 9.0),
        Surface::Roots => (palette::VERMILION, 9.0),
        Surface::Turf | Surface::Bed | Surface::Bare => ("#FFFFFF", 5.0),
    };
    format!(
        "<path d=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-opacity=\".75\" stroke-linecap=\"butt\"/>",
        sheet.line(&trench.line)
    )
}

fn pipe(sheet: &Sheet, pipe: &Pipe) -> String {
    let (colour, width) = match pipe.section {
        Section::Main => (palette::BLACK, 3.2),
        Section::Station(station) => (palette::station(Some(station)), 1.7),
    };
    format!(
        "<path d=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"/>",
        sheet.line(&pipe.line)
    )
}

fn heads(sheet: &Sheet, design: &Design) -> String {
    let mut svg = String::from("<g stroke=\"#fff\" stroke-width=\".7\">");
    for (index, head) in design.heads.iter().enumerate() {
        svg += &sector(sheet, head, colour_of_head(design, index));
    }
    svg + "</g>"
}

/// A small sector that shows which way the head throws.
fn sector(sheet: &Sheet, head: &Head, colour: &str) -> String {
    let (x, y) = sheet.at(head.position);
    let r = (0.14 * head.radius_m * sheet.scale).clamp(2.0, 9.0);
    if head.arc.is_full() {
        return format!(
            "<circle class=\"head\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{r:.1}\" fill=\"{colour}\"/>"
        );
    }
    let [(x0, y0), (x1, y1)] = edges(head.arc, x, y, r);
    let large = u8::from(head.arc.sweep_deg > 180.0);
    format!(
        "<path class=\"head\" d=\"M{x:.1} {y:.1}L{x0:.1} {y0:.1}A{r:.1} {r:.1} 0 {large} 1 {x1:.1} {y1:.1}Z\" fill=\"{colour}\"/>"
    )
}

/// Ends of a sector's two edges; a bearing runs clockwise from north, which is up.
fn edges(arc: Arc, x: f64, y: f64, r: f64) -> [(f64, f64); 2] {
    [arc.start_deg, arc.start_deg + arc.sweep_deg].map(|bearing| {
        let (sin, cos) = bearing.to_radians().sin_cos();
        (x + r * sin, y - r * cos)
    })
}

fn points(sheet: &Sheet, design: &Design) -> String {
    let place = |node: usize| design.nodes.get(node).map(|node| sheet.at(node.position));
    let mut svg = String::new();
    if let Some(at) = design.supply.as_ref().and_then(|supply| place(supply.node)) {
        svg += &source(at);
    }
    for drain in &design.drains {
        svg += &place(drain.node).map_or(String::new(), |at| drain_mark(at, palette::BLUE));
    }
    for &node in &design.air_valves {
        svg += &place(node).map_or(String::new(), |at| air_mark(at, palette::SKY_BLUE));
    }
    for valve in &design.valves {
        svg += &place(valve.node).map_or(String::new(), |at| valve_mark(at, valve));
    }
    svg + &labels(sheet, design)
}

/// The point of connection.
pub(super) fn source((x, y): (f64, f64)) -> String {
    format!(
        "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"7\" fill=\"#fff\" stroke=\"{blue}\" stroke-width=\"3\"/>\
         <circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2.5\" fill=\"{blue}\"/>",
        blue = palette::BLUE
    )
}

/// A drain valve: a triangle pointing down, below its node.
pub(super) fn drain_mark((x, y): (f64, f64), colour: &str) -> String {
    format!(
        "<path d=\"M{:.1} {:.1}h12l-6 10Z\" fill=\"{colour}\" stroke=\"#fff\" stroke-width=\".8\"/>",
        x - 6.0,
        y + 6.0
    )
}

/// An air valve: a triangle pointing up, above its node.
pub(super) fn air_mark((x, y): (f64, f64), colour: &str) -> String {
    format!(
        "<path d=\"M{:.1} {:.1}h12l-6 -10Z\" fill=\"{colour}\" stroke=\"#000\" stroke-width=\".8\"/>",
        x - 6.0,
        y - 8.0
    )
}

fn valve_mark((x, y): (f64, f64), valve: &Valve) -> String {
    match (valve.kind, valve.station) {
        (ValveKind::Control, Some(station)) => control_mark((x, y), station),
        (ValveKind::Control, None) | (ValveKind::Backflow, _) | (ValveKind::Regulator, _) => {
            String::new()
        }
        (ValveKind::Isolation | ValveKind::Master, _) => format!(
            "<path d=\"M{:.1} {:.1}l10 10v-10l-10 10Z\" fill=\"#fff\" stroke=\"#000\"/>",
            x - 5.0,
            y - 5.0
        ),
    }
}

/// A control valve: a square with the number of its station.
pub(super) fn control_mark((x, y): (f64, f64), station: usize) -> String {
    format!(
        "<g class=\"valve\"><rect x=\"{:.1}\" y=\"{:.1}\" width=\"14\" height=\"14\" rx=\"2\" fill=\"{}\" stroke=\"#fff\"/>\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"9\" font-weight=\"700\" text-anchor=\"middle\" fill=\"#fff\">{}</text></g>",
        x - 7.0,
        y - 7.0,
        palette::station(Some(station)),
        y + 3.2,
        station + 1
    )
}

/// The number of each station amid its heads.
fn labels(sheet: &Sheet, design: &Design) -> String {
    let label = |(index, station): (usize, &crate::design::model::Station)| {
        let heads = station.heads.iter().filter_map(|&h| design.heads.get(h));
        let places: Vec<Coord<f64>> = heads.map(|head| head.position).collect();
        let (x, y) = sheet.at(amid(&places)?);
        let colour = palette::station(Some(index));
        Some(format!(
            "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"15\" font-weight=\"700\" fill=\"{colour}\" stroke=\"#fff\" stroke-width=\"4\" \
             paint-order=\"stroke\" text-anchor=\"middle\">{}</text>",
            x,
            y - 12.0,
            index + 1
        ))
    };
    design
        .stations
        .iter()
        .enumerate()
        .filter_map(label)
        .collect()
}

/// The place of `places` that is nearest to their mean.
fn amid(places: &[Coord<f64>]) -> Option<Coord<f64>> {
    let count = places.len() as f64;
    let mean = places.iter().fold(Coord::zero(), |sum, &at| sum + at) / count;
    let far = |at: &Coord<f64>| (at.x - mean.x).hypot(at.y - mean.y);
    places
        .iter()
        .copied()
        .min_by(|a, b| far(a).total_cmp(&far(b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_from_north_points_up_and_right() {
        let arc = Arc {
            start_deg: 0.0,
            sweep_deg: 90.0,
        };
        let [(x0, y0), (x1, y1)] = edges(arc, 0.0, 0.0, 1.0);
        assert!((x0.abs() + (y0 + 1.0).abs()) < 1e-12, "first edge is up");
        assert!(
            ((x1 - 1.0).abs() + y1.abs()) < 1e-12,
            "second edge is right"
        );
    }
}
