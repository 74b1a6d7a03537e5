//! What is to be built: wetted ground, trenches, pipe, heads, valves, drain and air valves; and the places to look at.

use super::{Sheet, amid};
use crate::deliver::attention::Placed;
use crate::deliver::job::Job;
use crate::deliver::palette;
use crate::design::model::{Arc, Drain, DrainKind, Head, Pipe, Section, Surface, Trench};
use crate::design::model::{Valve, ValveKind};
use crate::finding::Severity;
use geo::Coord;

/// Width of a main, px: wide enough that a lateral in the same trench leaves its edges to be seen.
pub(super) const MAIN_PX: f64 = 5.4;

/// Lines and areas of the work, from below.
pub(super) fn drawn(sheet: &Sheet, job: &Job) -> String {
    let of = |mains: bool| {
        let wanted = move |pipe: &&Pipe| (pipe.section == Section::Main) == mains;
        job.design
            .pipes
            .iter()
            .filter(wanted)
            .map(|p| pipe(sheet, job, p))
            .collect::<String>()
    };
    let trenches = job.design.trenches.iter();
    [
        throws(sheet, job),
        trenches.map(|t| trench(sheet, t)).collect(),
        of(true),
        of(false),
        heads(sheet, job),
    ]
    .concat()
}

fn throws(sheet: &Sheet, job: &Job) -> String {
    let mut svg =
        String::from("<g fill-opacity=\".05\" stroke-opacity=\".3\" stroke-width=\".5\">");
    for (index, throw) in job.design.throws.iter().enumerate() {
        let colour = job.colours.station(job.station_of(index));
        svg += &format!(
            "<path d=\"{}\" fill=\"{colour}\" stroke=\"{colour}\"/>",
            sheet.polygon(throw)
        );
    }
    svg + "</g>"
}

/// Trenches show where they are more than plain digging; elsewhere as a pale bed under the pipe.
fn trench(sheet: &Sheet, trench: &Trench) -> String {
    let (colour, width) = match trench.surface {
        Surface::Paving => (palette::ORANGE, 10.0),
        Surface::Roots => (palette::VERMILION, 10.0),
        Surface::Turf | Surface::Bed | Surface::Bare => ("#FFFFFF", 5.0),
    };
    format!(
        "<path d=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-opacity=\".75\" stroke-linecap=\"butt\"/>",
        sheet.line(&trench.line)
    )
}

fn pipe(sheet: &Sheet, job: &Job, pipe: &Pipe) -> String {
    let line = sheet.line(&pipe.line);
    match pipe.section {
        Section::Main => stroke(&line, palette::BLACK, MAIN_PX),
        Section::Station(station) => lateral(&line, job.colours.station(Some(station))),
    }
}

/// A lateral has a white edge, so that it shows upon a main in the same trench.
pub(super) fn lateral(line: &str, colour: &str) -> String {
    stroke(line, "#fff", 3.0) + &stroke(line, colour, 1.8)
}

/// A line.
pub(super) fn stroke(line: &str, colour: &str, width: f64) -> String {
    format!("<path d=\"{line}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"/>")
}

fn heads(sheet: &Sheet, job: &Job) -> String {
    let mut svg = String::from("<g stroke=\"#fff\" stroke-width=\".7\">");
    for (index, head) in job.design.heads.iter().enumerate() {
        svg += &sector(sheet, head, job.colours.station(job.station_of(index)));
    }
    svg + "</g>"
}

/// Radius of a head's symbol, px.
pub(super) fn symbol_px(sheet: &Sheet, head: &Head) -> f64 {
    (0.14 * head.radius_m * sheet.scale).clamp(2.5, 9.0)
}

/// A small sector that shows which way the head throws.
fn sector(sheet: &Sheet, head: &Head, colour: &str) -> String {
    let (x, y) = sheet.at(head.position);
    let r = symbol_px(sheet, head);
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

/// Points of the work with their numbers.
pub(super) fn points(sheet: &Sheet, job: &Job) -> String {
    let design = job.design;
    let place = |node: usize| design.nodes.get(node).map(|node| sheet.at(node.position));
    let drain = |d: &Drain| Some(drain_mark(place(d.node)?, d.kind));
    let air = |&node: &usize| Some(air_mark(place(node)?));
    let source_node = design.supply.as_ref().map(|supply| supply.node);
    // What stands at the point of connection belongs to its mark.
    let valve = |v: &Valve| {
        let at = place(v.node).filter(|_| Some(v.node) != source_node)?;
        Some(valve_mark(at, v, job))
    };
    let mut svg = source_node.and_then(place).map_or(String::new(), source);
    svg.extend(design.drains.iter().filter_map(drain));
    svg.extend(design.air_valves.iter().filter_map(air));
    svg.extend(design.valves.iter().filter_map(valve));
    svg + &labels(sheet, job) + &looks(sheet, job)
}

/// The point of connection.
pub(super) fn source((x, y): (f64, f64)) -> String {
    format!(
        "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"8\" fill=\"#fff\" stroke=\"{blue}\" stroke-width=\"3.5\"/>\
         <circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\" fill=\"{blue}\"/>",
        blue = palette::BLUE
    )
}

/// A drain valve: a triangle pointing down, below its node; hollow where it is opened by hand.
pub(super) fn drain_mark((x, y): (f64, f64), kind: DrainKind) -> String {
    let (fill, edge) = match kind {
        DrainKind::Automatic => (palette::BLUE, "#fff"),
        DrainKind::Manual => ("#fff", palette::BLUE),
        DrainKind::Flush => ("#fff", palette::BLACK),
    };
    format!(
        "<path d=\"M{:.1} {:.1}h11l-5.5 9Z\" fill=\"{fill}\" stroke=\"{edge}\" stroke-width=\"1.2\"/>",
        x - 5.5,
        y + 6.0
    )
}

/// An air valve: a triangle pointing up, above its node.
pub(super) fn air_mark((x, y): (f64, f64)) -> String {
    format!(
        "<path d=\"M{:.1} {:.1}h12l-6 -10Z\" fill=\"{}\" stroke=\"#000\" stroke-width=\".8\"/>",
        x - 6.0,
        y - 6.0,
        palette::SKY_BLUE
    )
}

fn valve_mark(at: (f64, f64), valve: &Valve, job: &Job) -> String {
    match (valve.kind, valve.station) {
        (ValveKind::Control, Some(station)) => {
            control_mark(at, station, job.colours.station(Some(station)))
        }
        (ValveKind::Control, None) | (ValveKind::Backflow | ValveKind::Regulator, _) => {
            String::new()
        }
        (ValveKind::Isolation | ValveKind::Master, _) => hand_mark(at),
    }
}

/// An isolation or master valve: two triangles that touch.
pub(super) fn hand_mark((x, y): (f64, f64)) -> String {
    format!(
        "<path d=\"M{:.1} {:.1}l12 10v-10l-12 10Z\" fill=\"#fff\" stroke=\"#000\"/>",
        x - 6.0,
        y - 5.0
    )
}

/// A control valve: a square, edged in the colour of its station, with the station's number.
pub(super) fn control_mark((x, y): (f64, f64), station: usize, colour: &str) -> String {
    format!(
        "<g class=\"valve\"><rect x=\"{:.1}\" y=\"{:.1}\" width=\"16\" height=\"15\" rx=\"2\" fill=\"#fff\" stroke=\"{colour}\" stroke-width=\"2.4\"/>\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"10\" font-weight=\"700\" text-anchor=\"middle\" fill=\"#111\">{}</text></g>",
        x - 8.0,
        y - 7.5,
        y + 3.6,
        station + 1
    )
}

/// The number of each station amid its heads, unless its valve stands there.
fn labels(sheet: &Sheet, job: &Job) -> String {
    let label = |(index, station): (usize, &crate::design::model::Station)| {
        let heads = station
            .heads
            .iter()
            .filter_map(|&h| job.design.heads.get(h));
        let places: Vec<Coord<f64>> = heads.map(|head| head.position).collect();
        let (x, y) = sheet.at(amid(&places)?);
        let valve = job.design.nodes.get(station.valve_node);
        let (valve_x, valve_y) = sheet.at(valve?.position);
        ((x - valve_x).hypot(y - valve_y) > 40.0).then(|| station_label(job, index, x, y - 12.0))
    };
    job.design
        .stations
        .iter()
        .enumerate()
        .filter_map(label)
        .collect()
}

fn station_label(job: &Job, index: usize, x: f64, y: f64) -> String {
    format!(
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"18\" font-weight=\"700\" fill=\"{}\" stroke=\"#fff\" stroke-width=\"4\" \
         paint-order=\"stroke\" text-anchor=\"middle\">{}</text>",
        job.colours.station(Some(index)),
        index + 1
    )
}

/// The places to look at, numbered as in the list of findings. What concerns the whole parcel has no place on the plan.
fn looks(sheet: &Sheet, job: &Job) -> String {
    let mark = |(index, look): (usize, &crate::deliver::attention::Attention)| {
        let at = look.at.filter(|_| look.placed != Placed::InParcel)?;
        Some(look_mark(sheet.at(at), index + 1, look.finding.severity))
    };
    job.attention.iter().enumerate().filter_map(mark).collect()
}

/// A place to look at: a numbered lozenge.
pub(super) fn look_mark((x, y): (f64, f64), number: usize, severity: Severity) -> String {
    let colour = palette::severity(severity);
    format!(
        "<g class=\"look\"><path d=\"M{x:.1} {:.1}l11 11l-11 11l-11 -11Z\" fill=\"#fff\" stroke=\"{colour}\" stroke-width=\"2.4\"/>\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"9\" font-weight=\"700\" text-anchor=\"middle\" fill=\"#111\">{number}</text></g>",
        y - 11.0,
        y + 3.2
    )
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
