//! Marks of the plan, also shown in its legend: each at a place, in px.

use super::base::switch;
use crate::design::model::{Arc, DrainKind};
use crate::finding::Severity;

/// Where a mark stands, px.
pub(super) type At = (f64, f64);

/// The point of connection.
pub(super) fn source((x, y): At) -> String {
    format!(
        "<circle class=\"blue-edge\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"8\" stroke-width=\"3.5\"/>\
         <circle class=\"blue\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\"/>"
    )
}

/// A head: a small sector that shows which way it throws, of radius `r`.
pub(super) fn head((x, y): At, arc: Arc, r: f64, class: &str) -> String {
    if arc.is_full() {
        return format!(
            "<circle class=\"head {class}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{r:.1}\"/>"
        );
    }
    let [(x0, y0), (x1, y1)] = edges(arc, r);
    let large = u8::from(arc.sweep_deg > 180.0);
    format!(
        "<path class=\"head {class}\" d=\"M{x:.1} {y:.1}l{x0:.1} {y0:.1}a{r:.1} {r:.1} 0 {large} 1 {:.1} {:.1}z\"/>",
        x1 - x0,
        y1 - y0
    )
}

/// Ends of a sector's two edges from its corner; a bearing runs clockwise from north, which is up.
fn edges(arc: Arc, r: f64) -> [At; 2] {
    [arc.start_deg, arc.start_deg + arc.sweep_deg].map(|bearing| {
        let (sin, cos) = bearing.to_radians().sin_cos();
        (r * sin, -r * cos)
    })
}

/// A drain valve or flushing point: a triangle pointing down, below its node; hollow where it is opened by hand.
pub(super) fn drain((x, y): At, kind: DrainKind) -> String {
    let class = match kind {
        DrainKind::Automatic => "blue on-paper",
        DrainKind::Manual | DrainKind::Flush => "blue-edge",
    };
    format!(
        "<path class=\"drain {class}\" d=\"M{:.1} {:.1}h11l-5.5 9z\" stroke-width=\"1.2\"/>",
        x - 5.5,
        y + 6.0
    )
}

/// An air valve: a triangle pointing up, above its node.
pub(super) fn air((x, y): At) -> String {
    format!(
        "<path class=\"air\" d=\"M{:.1} {:.1}h12l-6 -10z\" stroke-width=\".8\"/>",
        x - 6.0,
        y - 6.0
    )
}

/// An isolation or master valve: two triangles that touch.
pub(super) fn by_hand((x, y): At) -> String {
    format!(
        "<path class=\"hand\" d=\"M{:.1} {:.1}l12 10v-10l-12 10z\"/>",
        x - 6.0,
        y - 5.0
    )
}

/// A control valve: a square, edged in the colour of its station, with the station's number.
pub(super) fn control((x, y): At, (station, number): (usize, usize), class: &str) -> String {
    format!(
        "<g class=\"valve {class}\"{}><rect x=\"{:.1}\" y=\"{:.1}\" width=\"16\" height=\"15\" rx=\"2\" stroke-width=\"2.4\"/>\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"10\">{}</text></g>",
        switch(Some(station)),
        x - 8.0,
        y - 7.5,
        y + 3.6,
        number
    )
}

/// A place to look at: a numbered lozenge.
pub(super) fn look((x, y): At, number: usize, severity: Severity) -> String {
    format!(
        "<g class=\"look {}\"><path d=\"M{x:.1} {:.1}l11 11l-11 11l-11 -11z\" stroke-width=\"2.4\"/>\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"9\">{number}</text></g>",
        severity.word(),
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
        let [(x0, y0), (x1, y1)] = edges(arc, 1.0);
        assert!((x0.abs() + (y0 + 1.0).abs()) < 1e-12, "first edge is up");
        assert!(
            ((x1 - 1.0).abs() + y1.abs()) < 1e-12,
            "second edge is right"
        );
    }
}
