//! What lies on a sheet under the marks: ground, wetted ground, trenches and pipe, called up from the shared shapes.

use super::paths::CM_PER_M;
use super::shared::{grid, lateral_id, throws_id};
use super::sheet::Sheet;
use crate::deliver::job::Job;
use std::fmt::Write;

/// Width of a main, px: wide enough that a lateral in the same trench leaves its edges to be seen.
pub(super) const MAIN_PX: f64 = 5.4;
/// Width of a sleeve, px.
pub(super) const SLEEVE_PX: f64 = 10.0;

/// Calls up shared shapes on one sheet.
pub(super) struct Base<'a> {
    job: &'a Job<'a>,
    /// Pixels in a centimetre of ground.
    scale: f64,
    svg: String,
}

impl<'a> Base<'a> {
    /// An empty drawing on `sheet`.
    pub(super) fn on(sheet: &Sheet, job: &'a Job<'a>) -> Self {
        let scale = sheet.scale / CM_PER_M;
        let (x, y) = sheet.at(grid(job.parcel).corner);
        Self {
            job,
            scale,
            svg: format!("<g transform=\"matrix({scale} 0 0 {scale} {x:.2} {y:.2})\">"),
        }
    }

    /// Calls up `id`, its lines `px` wide, with further attributes.
    fn call(&mut self, id: &str, px: f64, attributes: &str) {
        let width = px / self.scale;
        let _ = write!(
            self.svg,
            "<use href=\"#{id}\" stroke-width=\"{width:.1}\"{attributes}/>"
        );
    }

    fn dashes(&self, px: &[f64]) -> String {
        let lengths = px.iter().map(|px| format!("{:.0}", px / self.scale));
        let list: Vec<String> = lengths.collect();
        format!(" stroke-dasharray=\"{}\"", list.join(" "))
    }

    fn class(&self, station: Option<usize>) -> &'static str {
        self.job.colours.class(station)
    }

    /// Parcel, turf, obstacles, root zones.
    pub(super) fn ground(&mut self) {
        let (edge, root) = (self.dashes(&[8.0, 4.0, 2.0, 4.0]), self.dashes(&[3.0, 3.0]));
        self.call("edge", 1.0, &edge);
        self.call("ground", 0.8, "");
        self.call("roots", 1.0, &root);
        self.call("trunks", 5.0, "");
    }

    /// Ground that the heads of a station wet.
    pub(super) fn throws(&mut self, station: Option<usize>, strong: bool) {
        let class = self.class(station);
        let kind = if strong { "throws strong" } else { "throws" };
        let mark = switch(station);
        let id = throws_id(station);
        self.call(&id, 0.6, &format!(" class=\"{kind} {class}\"{mark}"));
    }

    /// Trenches: wider and coloured where they are more than plain digging.
    pub(super) fn trenches(&mut self) {
        let dashes = self.dashes(&[6.0, 3.0]);
        self.call("dug", 5.0, "");
        self.call("sleeves", SLEEVE_PX, "");
        self.call("by-hand", SLEEVE_PX, &dashes);
    }

    /// Mains.
    pub(super) fn mains(&mut self) {
        self.call("mains", MAIN_PX, " class=\"main\"");
    }

    /// Laterals of every station, faint.
    pub(super) fn laterals_faint(&mut self) {
        self.call("laterals", 1.4, " class=\"faint\"");
    }

    /// Laterals of a station, with an edge, so that they show upon a main in the same trench.
    pub(super) fn laterals(&mut self, station: usize, px: f64) {
        let (id, class) = (lateral_id(station), self.class(Some(station)));
        let mark = switch(Some(station));
        self.call(&id, px + 1.2, &format!(" class=\"halo\"{mark}"));
        self.call(&id, px, &format!(" class=\"sc {class}\"{mark}"));
    }

    /// The drawing so far.
    pub(super) fn svg(self) -> String {
        self.svg + "</g>"
    }
}

/// By which the page's script shows and hides a station.
pub(super) fn switch(station: Option<usize>) -> String {
    station.map_or_else(String::new, |s| format!(" data-s=\"{}\"", s + 1))
}
