//! A panel: two axes and what is drawn between them.

use super::Axis;
use crate::deliver::plan::escaped;
use std::fmt::Write;

/// One line of a chart.
pub(in crate::deliver::report) struct Line {
    /// What it is.
    pub(in crate::deliver::report) name: &'static str,
    /// Class that gives its colour and dashes.
    pub(in crate::deliver::report) class: &'static str,
    /// Its points, by rising x.
    pub(in crate::deliver::report) points: Vec<(f64, f64)>,
}

/// A mark on a chart, with a word beside it.
pub(in crate::deliver::report) struct Mark {
    /// Place.
    pub(in crate::deliver::report) at: (f64, f64),
    /// Whether the word stands above.
    pub(in crate::deliver::report) above: bool,
    /// Word.
    pub(in crate::deliver::report) text: String,
}

impl Mark {
    /// A mark without a word.
    pub(in crate::deliver::report) fn bare(at: (f64, f64)) -> Self {
        Self {
            at,
            above: true,
            text: String::new(),
        }
    }
}

/// Two axes.
pub(in crate::deliver::report) struct Panel {
    /// Axis along.
    pub(in crate::deliver::report) x: Axis,
    /// Axis up.
    pub(in crate::deliver::report) y: Axis,
    left: f64,
    right: f64,
    floor: f64,
    top: f64,
}

impl Panel {
    /// The panel that two axes span.
    pub(in crate::deliver::report) fn new(x: Axis, y: Axis) -> Self {
        let ((left, right), (floor, top)) = (x.ends_px(), y.ends_px());
        Self {
            x,
            y,
            left,
            right,
            floor,
            top,
        }
    }

    /// Level lines with their values on the left, and what runs up.
    pub(in crate::deliver::report) fn grid_up(&self, svg: &mut String, name: &str) {
        let (left, right) = (self.left, self.right);
        for value in self.y.ticks() {
            let at = self.y.px(value);
            let _ = write!(
                svg,
                "<path class=\"grid\" d=\"M{left:.0} {at:.1}H{right:.0}\"/><text x=\"{:.0}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                left - 6.0,
                at + 4.0,
                self.y.label(value)
            );
        }
        let middle = (self.top + self.floor) / 2.0;
        let _ = write!(
            svg,
            "<text text-anchor=\"middle\" transform=\"translate(14 {middle:.1})rotate(-90)\">{name}</text>"
        );
    }

    /// Values of another upward axis on the right, with its name.
    pub(in crate::deliver::report) fn scale_right(&self, svg: &mut String, y: &Axis, name: &str) {
        for value in y.ticks() {
            let _ = write!(
                svg,
                "<text x=\"{:.0}\" y=\"{:.1}\">{}</text>",
                self.right + 6.0,
                y.px(value) + 4.0,
                y.label(value)
            );
        }
        let _ = write!(
            svg,
            "<text text-anchor=\"middle\" transform=\"translate({:.0} {:.1})rotate(-90)\">{name}</text>",
            super::WIDE - 4.0,
            (self.top + self.floor) / 2.0
        );
    }

    /// The floor with its ticks, their values and what runs along.
    pub(in crate::deliver::report) fn grid_along(&self, svg: &mut String, name: &str) {
        self.ticks_at(svg, self.floor, name);
    }

    /// The same with the values at a height of their own, px.
    pub(in crate::deliver::report) fn ticks_at(&self, svg: &mut String, floor: f64, name: &str) {
        for value in self.x.ticks() {
            let at = self.x.px(value);
            let _ = write!(
                svg,
                "<path class=\"axis\" d=\"M{at:.1} {floor:.0}v4\"/><text x=\"{at:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
                floor + 16.0,
                self.x.label(value)
            );
        }
        let _ = write!(
            svg,
            "<path class=\"axis\" d=\"M{:.0} {floor:.0}H{:.0}\"/><text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\">{name}</text>",
            self.left,
            self.right,
            (self.left + self.right) / 2.0,
            floor + 33.0,
        );
    }

    /// A line; steps that nobody can see are left out.
    pub(in crate::deliver::report) fn line(&self, svg: &mut String, line: &Line) {
        self.line_on(svg, line, &self.y);
    }

    /// A line on another upward axis.
    pub(in crate::deliver::report) fn line_on(&self, svg: &mut String, line: &Line, y: &Axis) {
        let finite = line
            .points
            .iter()
            .filter(|p| p.0.is_finite() && p.1.is_finite());
        let places = finite.map(|p| geo::Coord::from((self.x.px(p.0), y.px(p.1))));
        let drawn = geo::Simplify::simplify(&geo::LineString::new(places.collect()), 0.3);
        let mut path = String::new();
        for (index, at) in drawn.coords().enumerate() {
            let word = if index == 0 { "M" } else { "L" };
            let _ = write!(path, "{word}{:.1} {:.1}", at.x, at.y);
        }
        if !path.is_empty() {
            let _ = write!(svg, "<path class=\"curve {}\" d=\"{path}\"/>", line.class);
        }
    }

    /// A bar from the floor; `None` of it where it has no height.
    pub(in crate::deliver::report) fn bar(
        &self,
        svg: &mut String,
        (from, to): (f64, f64),
        value: f64,
        class: &str,
    ) {
        let (x, top) = (self.x.px(from), self.y.px(value));
        let high = self.floor - top;
        if high > 0.05 {
            let _ = write!(
                svg,
                "<rect class=\"bar {class}\" x=\"{x:.1}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{high:.1}\"/>",
                self.x.px(to) - x
            );
        }
    }

    /// A band over the whole height, with a word at its top.
    pub(in crate::deliver::report) fn band(
        &self,
        svg: &mut String,
        (from, to): (f64, f64),
        class: &str,
        text: &str,
    ) {
        let (x, end) = (self.x.px(from), self.x.px(to));
        let _ = write!(
            svg,
            "<rect class=\"band {class}\" x=\"{x:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>",
            self.top,
            (end - x).max(1.5),
            self.floor - self.top
        );
        let _ = write!(
            svg,
            "<text class=\"small\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            ((x + end) / 2.0).clamp(self.left + 24.0, self.right - 24.0),
            self.top - 3.0,
            escaped(text)
        );
    }

    /// A mark with its word.
    pub(in crate::deliver::report) fn mark(&self, svg: &mut String, mark: &Mark) {
        let (x, y) = (self.x.px(mark.at.0), self.y.px(mark.at.1));
        let _ = write!(
            svg,
            "<circle class=\"ring\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\"/>"
        );
        if mark.text.is_empty() {
            return;
        }
        // Towards the right a word stands to the left of its mark, or it would run out of the drawing.
        let (anchor, shift) = match x > super::WIDE * 0.72 {
            true => ("end", -6.0),
            false => ("start", 6.0),
        };
        let drop = if mark.above { -8.0 } else { 15.0 };
        let _ = write!(
            svg,
            "<text class=\"on\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\">{}</text>",
            x + shift,
            y + drop,
            escaped(&mark.text)
        );
    }
}
