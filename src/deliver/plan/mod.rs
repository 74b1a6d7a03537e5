//! The plan: one drawing of the parcel that a foreman can build from, as SVG without script or outside reference.
//!
//! Drawn in the parcel's frame, grid north up. Lengths in the drawing are pixels of a sheet 1100 wide.

mod furniture;
mod ground;
mod sizes;
mod work;

use crate::brief::Project;
use crate::deliver::job::Job;
use crate::design::model::Design;
use crate::site::{Obstacle, Parcel};
use geo::{BoundingRect, Coord, LineString, MultiPolygon, Polygon, Rect};
use std::fmt::Write;

/// Width of the sheet, px.
const SHEET: f64 = 1100.0;
/// Blank round the parcel, px.
const MARGIN: f64 = 24.0;

/// The sheet: what turns the ground into pixels.
pub(super) struct Sheet {
    west: f64,
    north: f64,
    /// Pixels in a metre.
    pub(super) scale: f64,
    /// Height of the drawn ground, px.
    pub(super) height: f64,
}

impl Sheet {
    fn of(parcel: &Parcel) -> Self {
        let box_ = parcel.boundary.bounding_rect();
        let (min, max) = box_.map_or(((0.0, 0.0), (1.0, 1.0)), |b| (b.min().x_y(), b.max().x_y()));
        let (wide, high) = ((max.0 - min.0).max(1.0), (max.1 - min.1).max(1.0));
        // A parcel much taller than wide is drawn smaller, so that it still fits a screen.
        let scale = ((SHEET - 2.0 * MARGIN) / wide).min(1500.0 / high);
        Self {
            west: min.0 - (SHEET / scale - wide) / 2.0,
            north: max.1 + MARGIN / scale,
            scale,
            height: high * scale + 2.0 * MARGIN,
        }
    }

    /// Pixels of a place.
    pub(super) fn at(&self, place: Coord<f64>) -> (f64, f64) {
        (
            (place.x - self.west) * self.scale,
            (self.north - place.y) * self.scale,
        )
    }

    /// Whether any of an obstacle may lie on the sheet. Those of the surroundings come with the parcel too.
    fn shows(&self, obstacle: &Obstacle) -> bool {
        let root = obstacle
            .root_zone
            .map(|(centre, _)| Rect::new(centre, centre));
        let Some(extent) = obstacle.shape.bounding_rect().or(root) else {
            return false;
        };
        let ((left, low), (right, high)) = (self.at(extent.min()), self.at(extent.max()));
        right >= 0.0 && left <= SHEET && low >= 0.0 && high <= self.height
    }

    fn path(&self, line: &LineString<f64>, closed: bool) -> String {
        let mut path = String::new();
        for (index, &place) in line.coords().enumerate() {
            let (x, y) = self.at(place);
            let word = if index == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{word}{x:.1} {y:.1}");
        }
        if closed {
            path.push('Z');
        }
        path
    }

    /// Path data of a line.
    pub(super) fn line(&self, line: &LineString<f64>) -> String {
        self.path(line, false)
    }

    /// Path data of a polygon with its holes.
    pub(super) fn polygon(&self, polygon: &Polygon<f64>) -> String {
        std::iter::once(polygon.exterior())
            .chain(polygon.interiors())
            .map(|ring| self.path(ring, true))
            .collect()
    }

    /// Path data of several polygons.
    pub(super) fn shape(&self, shape: &MultiPolygon<f64>) -> String {
        shape.iter().map(|polygon| self.polygon(polygon)).collect()
    }
}

/// The plan of a design as an SVG document.
///
/// Turf, obstacles, wetted ground, trenches, pipe coloured by station with its sizes, heads as sectors, valves, drain and air
/// valves, numbered places to look at, with north arrow, scale bar and legend. Same design, same text.
pub fn plan_svg(parcel: &Parcel, design: &Design, project: &Project) -> String {
    drawn(&Job::new(parcel, design, project))
}

/// See [`plan_svg`].
pub(super) fn drawn(job: &Job) -> String {
    let sheet = Sheet::of(job.parcel);
    let foot = furniture::foot(&sheet, job);
    let height = sheet.height + foot.height;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {SHEET} {height:.0}\" role=\"img\" \
         aria-labelledby=\"plan-title plan-desc\" font-family=\"system-ui,sans-serif\" \
         stroke-linejoin=\"round\" stroke-linecap=\"round\"><title id=\"plan-title\">Plan of {}</title>\
         <desc id=\"plan-desc\">{} heads in {} stations on {} turf areas, drawn to scale, north up.</desc>\
         <rect width=\"{SHEET}\" height=\"{height:.0}\" fill=\"#fff\"/>",
        escaped(&Job::title_of(job.parcel)),
        job.design.heads.len(),
        job.design.stations.len(),
        job.parcel.turf.len(),
    );
    svg += &ground::drawn(&sheet, job.parcel);
    svg += &work::drawn(&sheet, job);
    svg += &sizes::drawn(&sheet, job);
    svg += &work::points(&sheet, job);
    svg + &foot.svg + "</svg>"
}

/// Whether a parcel is wider than high, and its plan better printed across the page.
pub(super) fn is_wide(parcel: &Parcel) -> bool {
    Sheet::of(parcel).height < SHEET
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

/// Text made safe to stand in XML.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters may not stand in XML at all.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn north_is_up_and_the_parcel_lies_on_the_sheet() {
        let parcel = example::parcel();
        let sheet = Sheet::of(&parcel);
        let (west, south) = sheet.at(Coord { x: -15.0, y: -10.0 });
        let (east, north) = sheet.at(Coord { x: 52.0, y: 36.0 });
        assert!(west < east && north < south);
        assert!(west >= MARGIN - 0.1 && east <= SHEET - MARGIN + 0.1);
        assert!(north >= MARGIN - 0.1 && south <= sheet.height - MARGIN + 0.1);
    }

    #[test]
    fn names_from_outside_cannot_break_out() {
        let mut parcel = example::parcel();
        parcel.name = Some("</title><script>alert(1)</script>".into());
        let svg = plan_svg(&parcel, &example::design(), &example::project());
        assert!(!svg.contains("<script"));
        assert_eq!(escaped("a<b>&\"'\u{1}"), "a&lt;b&gt;&amp;&quot;&#39; ");
    }

    #[test]
    fn every_head_and_valve_is_drawn() {
        let svg = plan_svg(&example::parcel(), &example::design(), &example::project());
        assert_eq!(svg.matches("class=\"head\"").count(), 15);
        assert_eq!(svg.matches("class=\"valve\"").count(), 2);
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
    }
}
