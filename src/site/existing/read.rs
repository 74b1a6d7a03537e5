//! Features of the layers of an existing system, checked and given their types. What cannot be used is told.

use super::{ExistingHead, ExistingPipe, ExistingValve, ExistingValveKind, Surveyed};
use crate::brief::problems::suggestion;
use crate::finding::Finding;
use crate::site::feature::{Feature, Layer, RawShape};
use geo::{Coord, LineString};

/// Words for the kinds of valves.
const KINDS: [(&str, ExistingValveKind); 12] = [
    ("control", ExistingValveKind::Control),
    ("isolation", ExistingValveKind::Isolation),
    ("backflow", ExistingValveKind::Backflow),
    ("master", ExistingValveKind::Master),
    ("regulator", ExistingValveKind::Regulator),
    ("automatic", ExistingValveKind::DrainAutomatic),
    ("drain", ExistingValveKind::DrainAutomatic),
    ("manual", ExistingValveKind::DrainManual),
    ("hand drain", ExistingValveKind::DrainManual),
    ("flush", ExistingValveKind::Flush),
    ("air", ExistingValveKind::Air),
    ("air_valves", ExistingValveKind::Air),
];

/// One feature with what is said of it.
struct Reading<'a> {
    layer: &'a Layer,
    feature: &'a Feature,
    findings: &'a mut Vec<Finding>,
}

impl Reading<'_> {
    fn from(&self) -> Surveyed {
        Surveyed {
            file: self.layer.file.clone(),
            id: self.feature.id.clone(),
        }
    }

    fn tell(&mut self, finding: Finding) {
        let finding = finding.in_file(&self.layer.file).of(&self.feature.id);
        self.findings.push(finding);
    }

    /// A number within a range; one that is none, or lies outside, is told and taken as not given.
    fn number(&mut self, name: &str, (least, greatest): (f64, f64)) -> Option<f64> {
        let message = match self.feature.number(name) {
            Ok(None) => return None,
            Ok(Some(value)) if (least..=greatest).contains(&value) => return Some(value),
            Ok(Some(value)) => {
                format!(
                    "its {name} is {value}, outside {least} to {greatest}; it is taken as not given. Correct it."
                )
            }
            Err(text) => {
                format!("its {name} `{text}` is no number; it is taken as not given. Correct it.")
            }
        };
        self.tell(Finding::warning("existing_value", message));
        None
    }

    fn refuse(&mut self, wanted: &str) {
        let message = format!(
            "its geometry is {}, not {wanted}; it is left out of the existing system. Draw it as {wanted}.",
            self.feature.shape.kind()
        );
        self.tell(Finding::error("existing_geometry", message));
    }

    /// The one place of a point feature.
    fn place(&mut self, local: &RawShape) -> Option<Coord<f64>> {
        match local {
            RawShape::Points(points) if !points.is_empty() => {
                if points.len() > 1 {
                    let message = format!(
                        "has {} points; the first is taken. Draw one feature for each.",
                        points.len()
                    );
                    self.tell(Finding::warning("several_points", message).at(points[0]));
                }
                Some(points[0])
            }
            _ => {
                self.refuse("a point");
                None
            }
        }
    }
}

/// A head; `None`, and told, where its geometry is no point.
pub(crate) fn heads(
    layer: &Layer,
    feature: &Feature,
    local: &RawShape,
    findings: &mut Vec<Finding>,
) -> Option<ExistingHead> {
    let mut reading = Reading {
        layer,
        feature,
        findings,
    };
    let position = reading.place(local)?;
    let start = reading.number("arc_start_deg", (-360.0, 720.0));
    let sweep = reading.number("arc_sweep_deg", (1.0, 360.0));
    let arc_deg = match (start, sweep) {
        (Some(start), Some(sweep)) => Some((start.rem_euclid(360.0), sweep)),
        (None, Some(360.0)) => Some((0.0, 360.0)),
        _ => None,
    };
    Some(ExistingHead {
        from: reading.from(),
        position,
        station: feature.text("station"),
        node: feature.text("node"),
        model: feature.text("model"),
        nozzle: feature.text("nozzle"),
        arc_deg,
        radius_m: reading.number("radius_m", (0.3, 60.0)),
        flow_ref_lpm: reading.number("flow_ref_lpm", (0.01, 2000.0)),
        ground_m: reading.number("ground_m", (-500.0, 9000.0)),
        one_row: feature
            .text("one_row")
            .is_some_and(|word| ["1", "true", "True"].contains(&word.as_str())),
    })
}

/// Pipes: one for each part of the line; none, and told, where the geometry is no line.
pub(crate) fn pipes(
    layer: &Layer,
    feature: &Feature,
    local: &RawShape,
    findings: &mut Vec<Finding>,
) -> Vec<ExistingPipe> {
    let mut reading = Reading {
        layer,
        feature,
        findings,
    };
    let RawShape::Lines(parts) = local else {
        reading.refuse("a line");
        return Vec::new();
    };
    let parts: Vec<&Vec<Coord<f64>>> = parts.iter().filter(|part| part.len() > 1).collect();
    let whole = parts.len() == 1;
    let drawn_m = drawn_heights(feature, &parts);
    let words = reading.words();
    let from_m = reading.number("invert_from_m", (-500.0, 9000.0));
    let to_m = reading.number("invert_to_m", (-500.0, 9000.0));
    let pipe = ExistingPipe {
        from: reading.from(),
        line: LineString::new(Vec::new()),
        is_main: words,
        station: feature.text("station"),
        nodes: (None, None),
        material: feature.text("material"),
        nominal: feature.text("nominal"),
        inside_mm: reading.number("inside_mm", (3.0, 2000.0)),
        roughness_c: reading.number("roughness_c", (40.0, 170.0)),
        rating_kpa: reading.number("rating_kpa", (50.0, 10_000.0)),
        length_m: None,
        minor_k: reading.number("minor_k", (0.0, 1000.0)),
        invert_m: (None, None),
    };
    let length_m = reading
        .number("length_m", (0.0, 20_000.0))
        .filter(|_| whole);
    let last = parts.len().saturating_sub(1);
    let part = |(index, part): (usize, &&Vec<Coord<f64>>)| {
        let drawn = drawn_m.get(index).copied().flatten();
        let name = |name: &str, at: usize| feature.text(name).filter(|_| index == at);
        ExistingPipe {
            line: LineString::new(part.to_vec()),
            nodes: (name("from_node", 0), name("to_node", last)),
            length_m,
            invert_m: (
                from_m.filter(|_| index == 0).or(drawn.map(|z| z.0)),
                to_m.filter(|_| index == last).or(drawn.map(|z| z.1)),
            ),
            ..pipe.clone()
        }
    };
    parts.iter().enumerate().map(part).collect()
}

impl Reading<'_> {
    /// Whether the layer's words make a pipe a main or a lateral.
    fn words(&mut self) -> Option<bool> {
        let word = self
            .feature
            .text("kind")
            .or_else(|| self.feature.text("layer"));
        match word.as_deref().map(str::to_lowercase).as_deref() {
            Some("main" | "mains") => Some(true),
            Some("lateral" | "laterals") => Some(false),
            _ => self.feature.text("station").map(|_| false),
        }
    }
}

/// Heights drawn at the ends of each part; `None` where the geometry is flat. A height of nothing everywhere is none.
fn drawn_heights(feature: &Feature, parts: &[&Vec<Coord<f64>>]) -> Vec<Option<(f64, f64)>> {
    if feature.heights.iter().all(|z| *z == 0.0 || !z.is_finite()) {
        return vec![None; parts.len()];
    }
    let mut at = 0;
    let ends = |part: &&Vec<Coord<f64>>| {
        let ends = (
            feature.heights.get(at),
            feature.heights.get(at + part.len() - 1),
        );
        at += part.len();
        match ends {
            (Some(a), Some(b)) if a.is_finite() && b.is_finite() => Some((*a, *b)),
            _ => None,
        }
    };
    parts.iter().map(ends).collect()
}

/// A valve; `None`, and told, where its geometry is no point or its kind is not known.
pub(crate) fn valves(
    layer: &Layer,
    feature: &Feature,
    local: &RawShape,
    findings: &mut Vec<Finding>,
) -> Option<ExistingValve> {
    let mut reading = Reading {
        layer,
        feature,
        findings,
    };
    let position = reading.place(local)?;
    let word = feature.text("kind").or_else(|| feature.text("layer"));
    let kind = word
        .as_deref()
        .map_or(Some(ExistingValveKind::Control), |word| {
            let word = word.to_lowercase();
            let known = KINDS.iter().find(|known| known.0 == word);
            // Without a kind of its own a valve is a control valve, which is what most are.
            known
                .map(|known| known.1)
                .or((word == "valves").then_some(ExistingValveKind::Control))
        });
    let Some(kind) = kind else {
        let word = word.unwrap_or_default();
        let names: Vec<&str> = KINDS.iter().map(|known| known.0).collect();
        let message = format!(
            "its kind `{word}` is no kind of valve; it is left out. {}",
            suggestion(&word, &names)
        );
        reading.tell(Finding::error("existing_kind", message).at(position));
        return None;
    };
    let section = feature.text("section").filter(|section| section != "main");
    Some(ExistingValve {
        from: reading.from(),
        position,
        kind,
        station: feature.text("station").or(section),
        node: feature.text("node"),
        size: feature.text("size"),
        regulated_kpa: reading.number("regulated_kpa", (1.0, 3000.0)),
    })
}
