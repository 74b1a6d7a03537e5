//! The map of all parcels: outlines by status, told by colour, dashes and a sign, each a link to its report.

use super::rows::Parcel;
use crate::deliver::plan::escaped;
use std::fmt::Write;

/// Width of the map, and most and least height, px.
const WIDE: f64 = 1000.0;
const HIGH: (f64, f64) = (120.0, 700.0);
const MARGIN: f64 = 24.0;
/// A parcel smaller than this gets a dot to be seen and hit, px.
const SMALL: f64 = 9.0;
/// More parcels than this stand without their ids on the map.
const NAMED: usize = 60;

/// Degrees to px: longitude shortened by the cosine of the mean latitude, which keeps shapes on a map of a town.
struct Sheet {
    west: f64,
    north: f64,
    shorter: f64,
    scale: f64,
    high: f64,
}

impl Sheet {
    fn over(places: &[(f64, f64)]) -> Option<Self> {
        let ends = |values: &dyn Fn(&(f64, f64)) -> f64| {
            let low = places.iter().map(values).fold(f64::INFINITY, f64::min);
            let high = places.iter().map(values).fold(f64::NEG_INFINITY, f64::max);
            (low, high)
        };
        let ((west, east), (south, north)) = (ends(&|p| p.0), ends(&|p| p.1));
        let known = [west, east, south, north].iter().all(|v| v.is_finite());
        let shorter = ((south + north) / 2.0).to_radians().cos().max(0.01);
        let size = (
            ((east - west) * shorter).max(1e-7),
            (north - south).max(1e-7),
        );
        let scale = ((WIDE - 2.0 * MARGIN) / size.0).min((HIGH.1 - 2.0 * MARGIN) / size.1);
        let high = (size.1 * scale + 2.0 * MARGIN).max(HIGH.0);
        known.then_some(Self {
            west: (west + east) / 2.0 - WIDE / scale / shorter / 2.0,
            north: (south + north) / 2.0 + high / scale / 2.0,
            shorter,
            scale,
            high,
        })
    }

    fn at(&self, place: (f64, f64)) -> (f64, f64) {
        (
            (place.0 - self.west) * self.shorter * self.scale,
            (self.north - place.1) * self.scale,
        )
    }
}

/// The map; `None` where no parcel has a place.
pub(super) fn drawn(parcels: &[Parcel]) -> Option<String> {
    let rings = parcels.iter().flat_map(|p| &p.entry.outline.rings);
    let places: Vec<(f64, f64)> = rings.flatten().copied().collect();
    let sheet = Sheet::over(&places)?;
    let named = parcels.len() <= NAMED;
    // Good ones first, so that those to look at lie on top.
    let marks: String = parcels.iter().rev().map(|p| mark(&sheet, p)).collect();
    let labels: String = match named {
        true => parcels.iter().map(|p| label(&sheet, p)).collect(),
        false => String::new(),
    };
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing map\" viewBox=\"0 0 {WIDE} {:.0}\" role=\"group\" \
         aria-label=\"Map of the parcels, north up\"><title>Map of the parcels, north up</title>{marks}<g class=\"labels\">{labels}</g>{}</svg>",
        sheet.high,
        north()
    ))
}

fn north() -> &'static str {
    "<path class=\"ink\" d=\"M16 14l7 24l-7 -6l-7 6z\"/><text x=\"16\" y=\"52\" font-size=\"12\" font-weight=\"700\" text-anchor=\"middle\">N</text>"
}

/// The path of a parcel, and the box it fills, px; `None` without a place.
fn path(sheet: &Sheet, parcel: &Parcel) -> Option<(String, [f64; 4])> {
    let mut path = String::new();
    let mut box_ = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    for ring in &parcel.entry.outline.rings {
        for (index, &place) in ring.iter().enumerate() {
            let (x, y) = sheet.at(place);
            let word = if index == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{word}{x:.1} {y:.1}");
            box_ = [
                box_[0].min(x),
                box_[1].min(y),
                box_[2].max(x),
                box_[3].max(y),
            ];
        }
        path.push('Z');
    }
    (box_[0] <= box_[2]).then_some((path, box_))
}

fn middle([left, top, right, floor]: [f64; 4]) -> (f64, f64) {
    ((left + right) / 2.0, (top + floor) / 2.0)
}

fn mark(sheet: &Sheet, parcel: &Parcel) -> String {
    let Some((path, box_)) = path(sheet, parcel) else {
        return String::new();
    };
    let (x, y) = middle(box_);
    let dot = match (box_[2] - box_[0]).max(box_[3] - box_[1]) < SMALL {
        true => format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"6\"/>"),
        false => String::new(),
    };
    let told = escaped(&parcel.told());
    let shape = format!(
        "<g class=\"parcel is-{}\"><title>{told}</title><path d=\"{path}\"/>{dot}</g>",
        parcel.status()
    );
    match parcel.link() {
        Some(link) => format!(
            "<a href=\"{}\" aria-label=\"{told}\">{shape}</a>",
            escaped(&link)
        ),
        None => shape,
    }
}

fn label(sheet: &Sheet, parcel: &Parcel) -> String {
    let Some((_, box_)) = path(sheet, parcel) else {
        return String::new();
    };
    let (x, y) = middle(box_);
    format!(
        "<text x=\"{x:.1}\" y=\"{:.1}\">{} {}</text>",
        y + 4.0,
        parcel.sign(),
        escaped(parcel.id())
    )
}
