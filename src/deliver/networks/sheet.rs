//! The text of an EPANET file: sections, ids, numbers, comments. Nothing of sprinklers here.

use crate::brief::Friction;
use crate::design::hydraulics::friction::WATER_VISCOSITY_M2_S;
use geo::Coord;
use std::collections::BTreeMap;

/// Longest id, bytes (Rossman et al. 2020, EPA/600/R-20/133, appendix C).
const ID_MOST: usize = 31;
/// Longest line of a title, bytes (the same).
const TITLE_MOST: usize = 79;

/// A section of the file, in the order they are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Section {
    Junctions,
    Reservoirs,
    Pipes,
    Pumps,
    Valves,
    Emitters,
    Curves,
    Coordinates,
    Vertices,
}

impl Section {
    fn heading(self) -> &'static str {
        match self {
            Self::Junctions => "[JUNCTIONS]\n;id elevation",
            Self::Reservoirs => "[RESERVOIRS]\n;id head",
            Self::Pipes => "[PIPES]\n;id from to length bore roughness minor-k status",
            Self::Pumps => "[PUMPS]\n;id from to curve",
            Self::Valves => "[VALVES]\n;id from to bore kind setting minor-k",
            Self::Emitters => "[EMITTERS]\n;node coefficient",
            Self::Curves => "[CURVES]\n;id x y",
            Self::Coordinates => "[COORDINATES]\n;node x y",
            Self::Vertices => "[VERTICES]\n;link x y",
        }
    }
}

/// A pipe's line.
#[derive(Debug, Clone, Copy)]
pub(super) struct PipeLine<'a> {
    pub(super) id: &'a str,
    pub(super) from: &'a str,
    pub(super) to: &'a str,
    pub(super) length_m: f64,
    pub(super) inside_mm: f64,
    pub(super) roughness: f64,
    pub(super) minor_k: f64,
    /// Length in the design where it is another one here, m.
    pub(super) told_m: Option<f64>,
    /// Whether water may only run from `from` to `to`.
    pub(super) check: bool,
}

/// What a valve does.
#[derive(Debug, Clone, Copy)]
pub(super) enum ValveLine<'a> {
    /// Loses head by the coefficient.
    Throttle { k: f64 },
    /// Holds the pressure behind it; loses by the coefficient when fully open.
    Reducer { pressure_m: f64, k: f64 },
    /// Loses head by a curve.
    General { curve: &'a str },
}

/// A file in the making.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    title: String,
    notes: Vec<String>,
    sections: BTreeMap<Section, Vec<String>>,
}

impl Sheet {
    /// Sets the title; what would break its line is made plain, what is too long is cut.
    pub(super) fn title(&mut self, text: &str) {
        self.title = cut(plain(text), TITLE_MOST);
    }

    /// Adds a line of comment.
    pub(super) fn note(&mut self, text: &str) {
        self.notes.push(plain(text));
    }

    /// Adds a junction, with the pressure that the design tells for it as a comment.
    pub(super) fn junction(
        &mut self,
        name: &str,
        elevation_m: f64,
        at: Coord<f64>,
        told_kpa: Option<f64>,
    ) {
        let told = told_kpa.map_or_else(String::new, |kpa| format!(" ;{kpa:.4} kPa"));
        let line = format!("{} {}{told}", id(name), number(elevation_m));
        self.line(Section::Junctions, line);
        self.place(name, at);
    }

    /// Adds a reservoir.
    pub(super) fn reservoir(&mut self, name: &str, head_m: f64, at: Coord<f64>) {
        let line = format!("{} {}", id(name), number(head_m));
        self.line(Section::Reservoirs, line);
        self.place(name, at);
    }

    /// Adds a pipe.
    pub(super) fn pipe(&mut self, pipe: PipeLine) {
        let figures = [
            pipe.length_m,
            pipe.inside_mm,
            pipe.roughness,
            pipe.minor_k.max(0.0),
        ];
        let status = if pipe.check { "CV" } else { "Open" };
        let told = pipe
            .told_m
            .map_or_else(String::new, |m| format!(" ;length {m:.6} m"));
        let line = format!(
            "{} {} {} {} {status}{told}",
            id(pipe.id),
            id(pipe.from),
            id(pipe.to),
            figures.map(number).join(" ")
        );
        self.line(Section::Pipes, line);
    }

    /// Adds a point at which a pipe bends.
    pub(super) fn vertex(&mut self, pipe: &str, at: Coord<f64>) {
        let line = format!("{} {} {}", id(pipe), number(at.x), number(at.y));
        self.line(Section::Vertices, line);
    }

    /// Adds a pump that lifts by a curve.
    pub(super) fn pump(&mut self, name: &str, [from, to]: [&str; 2], curve: &str) {
        let line = format!("{} {} {} HEAD {}", id(name), id(from), id(to), id(curve));
        self.line(Section::Pumps, line);
    }

    /// Adds a valve of the bore `inside_mm`.
    pub(super) fn valve(
        &mut self,
        name: &str,
        [from, to]: [&str; 2],
        inside_mm: f64,
        valve: ValveLine,
    ) {
        let does = match valve {
            ValveLine::Throttle { k } => format!("TCV {} 0", number(k)),
            ValveLine::Reducer { pressure_m, k } => {
                format!("PRV {} {}", number(pressure_m), number(k))
            }
            ValveLine::General { curve } => format!("GPV {} 0", id(curve)),
        };
        let ends = format!("{} {} {}", id(name), id(from), id(to));
        self.line(
            Section::Valves,
            format!("{ends} {} {does}", number(inside_mm)),
        );
    }

    /// Adds a valve that stands open and loses nothing.
    pub(super) fn open_valve(&mut self, name: &str, ends: [&str; 2], inside_mm: f64) {
        self.valve(name, ends, inside_mm, ValveLine::Throttle { k: 0.0 });
    }

    /// Adds an emitter to a junction: flow at one metre of pressure.
    pub(super) fn emitter(&mut self, name: &str, coefficient: f64) {
        let line = format!("{} {}", id(name), number(coefficient));
        self.line(Section::Emitters, line);
    }

    /// Adds a curve.
    pub(super) fn curve(&mut self, name: &str, points: &[(f64, f64)]) {
        for &(x, y) in points {
            let line = format!("{} {} {}", id(name), number(x), number(y));
            self.line(Section::Curves, line);
        }
    }

    /// The whole file, for steady flow, with one law of friction and one exponent for all emitters.
    ///
    /// EPANET is to go on until heads agree with losses to 1e-7 m. Of flows no more than 0.001 L/min is asked: parts that
    /// lose next to nothing leave them no better.
    pub(super) fn text(&self, friction: Friction, exponent: f64) -> String {
        let mut text = format!("[TITLE]\n{}\n\n", self.title);
        for note in &self.notes {
            text.push_str(&format!(";{note}\n"));
        }
        for (section, lines) in &self.sections {
            text.push_str(&format!("\n{}\n{}\n", section.heading(), lines.join("\n")));
        }
        let exponent = number(exponent);
        let headloss = headloss(friction);
        text.push_str(&format!(
            "\n[OPTIONS]\nUNITS LPM\n{headloss}\nTRIALS 500\nACCURACY 0.00001\nHEADERROR 0.0000001\n\
             FLOWCHANGE 0.001\nEMITTER EXPONENT {exponent}\n\n[TIMES]\nDURATION 0\n\n[REPORT]\nSTATUS NO\n\
             SUMMARY NO\nNODES ALL\nLINKS ALL\nPRESSURE PRECISION 4\n\n[BACKDROP]\nUNITS METERS\n\n[END]\n"
        ));
        text
    }

    fn place(&mut self, node: &str, at: Coord<f64>) {
        let line = format!("{} {} {}", id(node), number(at.x), number(at.y));
        self.line(Section::Coordinates, line);
    }

    fn line(&mut self, section: Section, line: String) {
        self.sections.entry(section).or_default().push(line);
    }
}

/// The law of friction; viscosity is told over that of water at 20 °C as EPANET has it.
fn headloss(friction: Friction) -> String {
    match friction {
        Friction::HazenWilliams => "HEADLOSS H-W".to_owned(),
        Friction::DarcyWeisbach { viscosity_m2_s } => {
            let relative = viscosity_m2_s / WATER_VISCOSITY_M2_S;
            format!("HEADLOSS D-W\nVISCOSITY {}", number(relative))
        }
    }
}

/// An id that EPANET takes: letters, digits and `-_.` of ASCII, the last 31 of them. Ids of the design are so already,
/// and differ at their end.
fn id(name: &str) -> String {
    let fits = |letter: char| letter.is_ascii_alphanumeric() || "-_.".contains(letter);
    let letters: Vec<char> = name
        .chars()
        .map(|letter| if fits(letter) { letter } else { '_' })
        .collect();
    letters[letters.len().saturating_sub(ID_MOST)..]
        .iter()
        .collect()
}

/// A number that reads back as the very same one, without an exponent.
fn number(value: f64) -> String {
    format!("{value}")
}

/// Text that stays on its line and ends no comment.
fn plain(text: &str) -> String {
    let plain = |letter: char| match letter {
        ';' => ',',
        _ if letter.is_control() => ' ',
        _ => letter,
    };
    text.chars().map(plain).collect()
}

/// At most `most` bytes of a text.
fn cut(mut text: String, most: usize) -> String {
    let mut end = text.len().min(most);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    text.truncate(end);
    text
}

#[cfg(test)]
mod tests;
