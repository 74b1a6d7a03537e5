//! Small charts as SVG: panels with axes of round steps, lines and bars, each named beside the drawing.

mod axis;
mod panel;

pub(super) use axis::Axis;
pub(super) use panel::{Line, Mark, Panel};

use crate::deliver::plan::escaped;
use crate::design::model::{Design, SupplyResult};
use std::fmt::Write;

/// Width of a chart, px.
pub(super) const WIDE: f64 = 720.0;
/// Room left of the panels, px.
pub(super) const LEFT: f64 = 62.0;
/// Room right of the panels, px.
pub(super) const RIGHT: f64 = 20.0;
/// Room above the first panel for title and names, px.
pub(super) const TOP: f64 = 46.0;

/// A chart in the making.
pub(super) struct Chart {
    high: f64,
    title: String,
    told: String,
    /// What has been drawn.
    pub(super) svg: String,
    names_x: f64,
}

impl Chart {
    /// An empty chart with what its reader sees and hears.
    pub(super) fn new(title: &str, told: &str, high: f64) -> Self {
        Self {
            high,
            title: escaped(title),
            told: escaped(told),
            svg: String::new(),
            names_x: LEFT,
        }
    }

    /// Names a line beside the title: a sample of it, then its name.
    pub(super) fn name_line(&mut self, line: &Line) {
        let _ = write!(
            self.svg,
            "<path class=\"curve {}\" d=\"M{:.0} 32h22\"/>",
            line.class, self.names_x
        );
        self.name(line.name);
    }

    /// Names bars of a class.
    pub(super) fn name_bars(&mut self, class: &str, name: &str) {
        let _ = write!(
            self.svg,
            "<rect class=\"bar {class}\" x=\"{:.0}\" y=\"26\" width=\"22\" height=\"11\"/>",
            self.names_x
        );
        self.name(name);
    }

    fn name(&mut self, name: &str) {
        let _ = write!(
            self.svg,
            "<text x=\"{:.0}\" y=\"36\">{}</text>",
            self.names_x + 28.0,
            escaped(name)
        );
        self.names_x += 50.0 + 6.6 * name.chars().count() as f64;
    }

    /// The chart as an SVG element.
    pub(super) fn done(self) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {WIDE} {}\" role=\"img\">\
             <title>{title}</title><desc>{}</desc>\
             <text x=\"{LEFT}\" y=\"16\" class=\"chart-title\">{title}</text>{}</svg>",
            self.high,
            self.told,
            self.svg,
            title = self.title,
        )
    }
}

/// What the supply gives, with the flow and pressure of each station.
pub(super) fn supply_curve(supply: &SupplyResult, design: &Design) -> String {
    let finite = |at: &(f64, f64)| at.0.is_finite() && at.1.is_finite();
    let stations = design.stations.iter().map(|s| (s.flow_lpm, s.source_kpa));
    let stations: Vec<(f64, f64)> = stations.filter(finite).collect();
    let most = (supply.design_lpm, supply.design_kpa);
    let all = || supply.curve.iter().chain(&stations).chain([&most]);
    let panel = Panel::new(
        Axis::over(all().map(|p| p.0), 1.0, LEFT, WIDE - LEFT - RIGHT).cut(),
        Axis::over(all().map(|p| p.1), 50.0, 208.0, TOP - 208.0),
    );
    let line = Line {
        name: "behind meter and backflow preventer",
        class: "blue",
        points: supply.curve.clone(),
    };
    let title = format!(
        "Supply at water point {}; rings: stations as they run",
        supply.water_point
    );
    let told = format!(
        "Pressure over flow. One station may draw {:.0} litres a minute at most, where {:.0} kPa are left.",
        supply.design_lpm, supply.design_kpa
    );
    let mut chart = Chart::new(&title, &told, 250.0);
    panel.grid_up(&mut chart.svg, "pressure, kPa");
    panel.grid_along(&mut chart.svg, "flow, L/min");
    panel.line(&mut chart.svg, &line);
    for at in stations {
        panel.mark(&mut chart.svg, &Mark::bare(at));
    }
    let text = "most that one station may draw".to_string();
    panel.mark(
        &mut chart.svg,
        &Mark {
            at: most,
            above: true,
            text,
        },
    );
    chart.name_line(&line);
    chart.done()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_from_outside_are_escaped_in_title_and_text() {
        let mut chart = Chart::new("a<b>\"'&", "</desc><script>", 10.0);
        chart.name_bars("blue", "rain");
        let svg = chart.done();
        assert!(!svg.contains("<b>") && !svg.contains("<script"));
        assert_eq!(svg.matches("a&lt;b&gt;&quot;&#39;&amp;").count(), 2);
    }
}
