//! Small line charts as SVG: axes with round steps, a few lines, each named beside the drawing.

use crate::deliver::palette;
use crate::deliver::plan::escaped;
use crate::design::model::{Design, SupplyResult};
use std::fmt::Write;

/// One line of a chart.
pub(super) struct Line {
    /// What it is.
    pub(super) name: &'static str,
    /// Colour.
    pub(super) colour: &'static str,
    /// Whether it is dashed.
    pub(super) dashed: bool,
    /// Its points, by rising x.
    pub(super) points: Vec<(f64, f64)>,
}

/// A mark on a chart, with a word beside it.
pub(super) struct Mark {
    /// Place.
    pub(super) at: (f64, f64),
    /// Whether the word stands above.
    pub(super) above: bool,
    /// Word.
    pub(super) text: String,
}

/// A chart with both axes.
pub(super) struct Chart {
    /// Title, also for readers who hear it.
    pub(super) title: String,
    /// What runs along.
    pub(super) along: &'static str,
    /// What runs up.
    pub(super) up: &'static str,
    /// Least range of the upward axis, so that level ground looks level.
    pub(super) up_least: f64,
    /// Whether both axes are lengths, so that it should be told how much steeper than true the drawing is.
    pub(super) to_scale: bool,
    /// Lines.
    pub(super) lines: Vec<Line>,
    /// Marks.
    pub(super) marks: Vec<Mark>,
}

const WIDE: f64 = 720.0;
const HIGH: f64 = 250.0;
const LEFT: f64 = 62.0;
const TOP: f64 = 46.0;
const RIGHT: f64 = 20.0;
const BOTTOM: f64 = 42.0;

/// An axis: its ends, its steps, its pixels.
struct Axis {
    from: f64,
    to: f64,
    /// Greatest value on it.
    end: f64,
    step: f64,
    start_px: f64,
    length_px: f64,
}

impl Axis {
    fn over(values: impl Iterator<Item = f64>, least: f64, start_px: f64, length_px: f64) -> Self {
        let ends = values
            .filter(|v| v.is_finite())
            .fold(None, |ends: Option<(f64, f64)>, v| {
                Some(ends.map_or((v, v), |(a, b)| (a.min(v), b.max(v))))
            });
        let (low, high) = ends.unwrap_or((0.0, 1.0));
        let short = (least.max(1e-6) - (high - low)).max(0.0) / 2.0;
        let step = round_step((high - low).max(least.max(1e-6)) / 5.0);
        Self {
            from: ((low - short) / step).floor() * step,
            to: ((high + short) / step).ceil() * step,
            end: high,
            step,
            start_px,
            length_px,
        }
    }

    /// The same axis, ending where the values end.
    fn cut(mut self) -> Self {
        self.to = self.end.max(self.from + 1e-6);
        self
    }

    fn px(&self, value: f64) -> f64 {
        self.start_px + (value - self.from) / (self.to - self.from).max(1e-9) * self.length_px
    }

    fn ticks(&self) -> Vec<f64> {
        let count = ((self.to - self.from) / self.step + 1e-6).floor() as usize;
        (0..=count.min(20))
            .map(|i| self.from + i as f64 * self.step)
            .collect()
    }

    fn label(&self, value: f64) -> String {
        let decimals = (-self.step.log10().floor()).max(0.0) as usize;
        format!("{:.decimals$}", value + 0.0)
    }
}

/// The round step next above `rough`.
fn round_step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let rounds = [1.0, 2.0, 5.0, 10.0];
    power
        * rounds
            .into_iter()
            .find(|n| n * power >= rough * 0.999_999)
            .unwrap_or(10.0)
}

impl Chart {
    /// The chart as an SVG element.
    pub(super) fn svg(&self) -> String {
        let all = || {
            self.lines
                .iter()
                .flat_map(|line| line.points.iter().copied())
        };
        let marks = || self.marks.iter().map(|mark| mark.at);
        let along = all().chain(marks()).map(|p| p.0);
        let x = Axis::over(along, 1.0, LEFT, WIDE - LEFT - RIGHT).cut();
        let ups = all().chain(marks()).map(|p| p.1);
        let y = Axis::over(ups, self.up_least, HIGH - BOTTOM, TOP + BOTTOM - HIGH);
        let title = escaped(&self.title);
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {WIDE} {HIGH}\" role=\"img\" \
             aria-label=\"{title}\" font-family=\"system-ui,sans-serif\" font-size=\"12\"><title>{title}</title>\
             <text x=\"{LEFT}\" y=\"16\" font-size=\"14\" font-weight=\"700\">{title}</text>"
        );
        svg += &self.grid(&x, &y);
        svg += &self
            .lines
            .iter()
            .map(|line| drawn(line, &x, &y))
            .collect::<String>();
        svg += &self
            .marks
            .iter()
            .map(|mark| marked(mark, &x, &y))
            .collect::<String>();
        svg + &self.names() + "</svg>"
    }

    fn grid(&self, x: &Axis, y: &Axis) -> String {
        let (right, floor) = (WIDE - RIGHT, HIGH - BOTTOM);
        let mut svg = String::from("<g fill=\"#444\">");
        for value in y.ticks() {
            let at = y.px(value);
            let _ = write!(
                svg,
                "<path d=\"M{LEFT} {at:.1}H{right}\" stroke=\"#ddd\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                LEFT - 6.0,
                at + 4.0,
                y.label(value)
            );
        }
        for value in x.ticks() {
            let at = x.px(value);
            let _ = write!(
                svg,
                "<path d=\"M{at:.1} {floor}v4\" stroke=\"#444\"/><text x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
                floor + 16.0,
                x.label(value)
            );
        }
        let _ = write!(
            svg,
            "<path d=\"M{LEFT} {floor}H{right}\" stroke=\"#444\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>\
             <text x=\"14\" y=\"{:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 14 {:.1})\">{}</text></g>",
            (LEFT + right) / 2.0,
            HIGH - 8.0,
            self.named_along(x, y),
            (TOP + floor) / 2.0,
            (TOP + floor) / 2.0,
            self.up
        );
        svg
    }

    /// Name of the axis along, with how much steeper than true the drawing is.
    fn named_along(&self, x: &Axis, y: &Axis) -> String {
        let px_per_unit = |axis: &Axis| axis.length_px.abs() / (axis.to - axis.from).max(1e-9);
        let steeper = px_per_unit(y) / px_per_unit(x);
        match self.to_scale {
            true if steeper >= 1.5 => {
                format!("{}; heights drawn {steeper:.0} times as large", self.along)
            }
            _ => self.along.to_string(),
        }
    }

    fn names(&self) -> String {
        let entry = |(index, line): (usize, &Line)| {
            let x = LEFT + 175.0 * index as f64;
            format!(
                "<path d=\"M{x} 32h22\" {}/><text x=\"{}\" y=\"36\">{}</text>",
                stroke(line),
                x + 28.0,
                line.name
            )
        };
        self.lines.iter().enumerate().map(entry).collect()
    }
}

fn stroke(line: &Line) -> String {
    let dashes = if line.dashed {
        " stroke-dasharray=\"5 4\""
    } else {
        ""
    };
    format!(
        "fill=\"none\" stroke=\"{}\" stroke-width=\"2\"{dashes}",
        line.colour
    )
}

fn drawn(line: &Line, x: &Axis, y: &Axis) -> String {
    let mut path = String::new();
    for &(along, up) in line
        .points
        .iter()
        .filter(|p| p.0.is_finite() && p.1.is_finite())
    {
        let word = if path.is_empty() { 'M' } else { 'L' };
        let _ = write!(path, "{word}{:.1} {:.1}", x.px(along), y.px(up));
    }
    format!("<path d=\"{path}\" {}/>", stroke(line))
}

fn marked(mark: &Mark, x: &Axis, y: &Axis) -> String {
    let (px, py) = (x.px(mark.at.0), y.px(mark.at.1));
    // Towards the right a word stands to the left of its mark, or it would run out of the drawing.
    let (anchor, shift) = if px > WIDE * 0.72 {
        ("end", -6.0)
    } else {
        ("start", 6.0)
    };
    let drop = if mark.above { -9.0 } else { 18.0 };
    format!(
        "<circle cx=\"{px:.1}\" cy=\"{py:.1}\" r=\"4\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.5\"/>\
         <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\" stroke=\"#fff\" \
         stroke-width=\"3\" paint-order=\"stroke\">{}</text>",
        px + shift,
        py + drop,
        escaped(&mark.text)
    )
}

/// What the supply gives, with the flow and pressure of each station.
pub(super) fn supply_curve(supply: &SupplyResult, design: &Design) -> String {
    let mark = |station: &crate::design::model::Station| (station.flow_lpm, station.source_kpa);
    let mut marks: Vec<Mark> = design
        .stations
        .iter()
        .map(mark)
        .filter(|at| at.0.is_finite() && at.1.is_finite())
        .map(|at| Mark {
            at,
            above: true,
            text: String::new(),
        })
        .collect();
    marks.push(Mark {
        at: (supply.design_lpm, supply.design_kpa),
        above: true,
        text: "most that one station may draw".to_string(),
    });
    Chart {
        title: format!(
            "Supply at water point {}; rings: stations as they run",
            supply.water_point
        ),
        along: "flow, L/min",
        up: "pressure, kPa",
        up_least: 50.0,
        to_scale: false,
        lines: vec![Line {
            name: "behind meter and backflow preventer",
            colour: palette::BLUE,
            dashed: false,
            points: supply.curve.clone(),
        }],
        marks,
    }
    .svg()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (rough, step) in [
            (0.7, 1.0),
            (1.0, 1.0),
            (1.3, 2.0),
            (23.0, 50.0),
            (0.06, 0.1),
        ] {
            assert!((round_step(rough) / step - 1.0).abs() < 1e-9, "{rough}");
        }
    }

    #[test]
    fn a_level_line_stays_inside_the_frame() {
        let axis = Axis::over([3.0, 3.0].into_iter(), 1.0, 100.0, -50.0);
        assert!(axis.from <= 2.5 && axis.to >= 3.5);
        assert!((50.0..=100.0).contains(&axis.px(3.0)));
        let empty = Axis::over(std::iter::empty(), 1.0, 0.0, 10.0);
        assert!(empty.px(0.5).is_finite() && !empty.ticks().is_empty());
    }
}
