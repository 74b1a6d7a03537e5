//! Sizes of the pipe, written along it where there is room.

use super::base::switch;
use super::sheet::Sheet;
use super::work::symbol_px;
use crate::deliver::job::Job;
use crate::deliver::plan::escaped;
use crate::design::model::{Pipe, Section};

/// The same size is not written again within this, px.
const REPEAT_PX: f64 = 70.0;

/// A size that may be written: where, how big, which way.
struct Label {
    text: String,
    section: Section,
    x: f64,
    y: f64,
    turn_deg: f64,
    /// Room it takes round its middle, px.
    reach: f64,
    /// Length of the straight piece it stands on, px.
    room: f64,
}

impl Label {
    /// Along the longest straight piece of a pipe; `None` where it is too short or off the sheet.
    fn of(sheet: &Sheet, job: &Job, pipe: &Pipe) -> Option<Self> {
        let text = job.pipe_size(pipe)?.nominal.clone();
        let on_sheet = |piece: &geo::Line<f64>| sheet.holds((piece.start + piece.end) / 2.0);
        let pieces = pipe.line.lines().filter(on_sheet).map(|piece| {
            let ((x0, y0), (x1, y1)) = (sheet.at(piece.start), sheet.at(piece.end));
            (x0, y0, x1 - x0, y1 - y0)
        });
        let (x0, y0, x, y) = pieces.max_by(|a, b| a.2.hypot(a.3).total_cmp(&b.2.hypot(b.3)))?;
        let reach = font_px(pipe.section) * 0.32 * text.chars().count() as f64;
        let turn_deg = y.atan2(x).to_degrees();
        let label = Self {
            text,
            section: pipe.section,
            x: x0 + x / 2.0,
            y: y0 + y / 2.0,
            turn_deg: upright(turn_deg),
            reach,
            room: x.hypot(y),
        };
        (label.room > 2.0 * reach + 8.0).then_some(label)
    }

    fn clear_of(&self, x: f64, y: f64, reach: f64) -> bool {
        (self.x - x).hypot(self.y - y) >= self.reach + reach
    }

    fn beside(&self, other: &Self) -> bool {
        let repeated = self.section == other.section && self.text == other.text;
        let apart = if repeated { REPEAT_PX } else { other.reach };
        self.clear_of(other.x, other.y, apart)
    }

    fn svg(&self, job: &Job) -> String {
        let size = font_px(self.section);
        let (class, mark) = match self.section {
            Section::Main => ("main-size", String::new()),
            Section::Station(s) => (job.colours.class(Some(s)), switch(Some(s))),
        };
        format!(
            "<text class=\"{class}\"{mark} font-size=\"{size}\" transform=\"translate({:.1} {:.1})rotate({:.0})\" dy=\"{:.1}\">{}</text>",
            self.x,
            self.y,
            self.turn_deg,
            size * 0.36,
            escaped(&self.text),
        )
    }
}

fn font_px(section: Section) -> f64 {
    match section {
        Section::Main => 10.0,
        Section::Station(_) => 8.0,
    }
}

/// A direction turned by half a circle where it would stand on its head.
fn upright(turn_deg: f64) -> f64 {
    match turn_deg {
        t if t > 90.0 => t - 180.0,
        t if t <= -90.0 => t + 180.0,
        t => t,
    }
}

/// Mains first, then the longest pieces, as many as stand clear of one another and of the heads. With `only`, mains and the
/// laterals of that station.
pub(super) fn drawn(sheet: &Sheet, job: &Job, only: Option<usize>) -> String {
    let wanted = |pipe: &&Pipe| match (pipe.section, only) {
        (Section::Station(station), Some(only)) => station == only,
        _ => true,
    };
    let pipes = job.design.pipes.iter().filter(wanted);
    let mut labels: Vec<Label> = pipes
        .filter(|pipe| sheet.shows_pipe(pipe))
        .filter_map(|p| Label::of(sheet, job, p))
        .collect();
    let main = |label: &Label| label.section == Section::Main;
    labels.sort_by(|a, b| main(b).cmp(&main(a)).then(b.room.total_cmp(&a.room)));
    let heads = heads_on(sheet, job);
    let mut kept: Vec<Label> = Vec::new();
    for label in labels {
        let clear = heads.iter().all(|&(x, y, r)| label.clear_of(x, y, r));
        if clear && kept.iter().all(|other| label.beside(other)) {
            kept.push(label);
        }
    }
    let texts: String = kept.iter().map(|label| label.svg(job)).collect();
    format!("<g class=\"sizes\">{texts}</g>")
}

/// Heads on the sheet with the room they take, px.
fn heads_on(sheet: &Sheet, job: &Job) -> Vec<(f64, f64, f64)> {
    let heads = job.design.heads.iter();
    let on_sheet = heads.filter(|head| sheet.holds(head.position));
    let room = |head: &crate::design::model::Head| {
        let (x, y) = sheet.at(head.position);
        (x, y, symbol_px(sheet, head) * 0.8)
    };
    on_sheet.map(room).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;
    use crate::deliver::plan::shared::extent;
    use crate::deliver::plan::sheet::Paper;

    #[test]
    fn no_text_stands_on_its_head() {
        for turn in [-180.0, -91.0, -90.0, 0.0, 89.0, 90.0, 91.0, 180.0] {
            let out = upright(turn);
            assert!(out > -90.0 - 1e-9 && out <= 90.0, "{turn}: {out}");
            assert!(((out - turn) % 180.0).abs() < 1e-9);
        }
    }

    #[test]
    fn the_example_s_main_tells_its_size() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let main = design.pipes_of(Section::Main).next().unwrap().1;
        let nominal = &project.catalogue.pipes[main.size].nominal;
        let (sheet, _) = Paper::A4.sheet(extent(&parcel), |_| 0.0);
        let svg = drawn(&sheet, &job, None);
        let of_main = svg.split("main-size").nth(1).unwrap();
        let text = of_main.split('>').nth(1).unwrap();
        assert!(text.starts_with(&format!("{nominal}<")), "{svg}");
    }
}
