//! The obstacles about one parcel: buildings, water, paving, beds and trees, as shapes in its frame.

use crate::brief::problems::suggestion;
use crate::finding::Finding;
use crate::site::cleaning::clean;
use crate::site::feature::{Feature, Layer, RawShape};
use crate::site::shapes::without_crumbs;
use crate::site::{Obstacle, ObstacleKind};
use geo::algorithm::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::{Centroid, Coord, LineString, MultiLineString, MultiPolygon};

/// Every kind by its word.
const KINDS: [ObstacleKind; 5] = [
    ObstacleKind::Building,
    ObstacleKind::Water,
    ObstacleKind::Paving,
    ObstacleKind::Bed,
    ObstacleKind::Tree,
];
/// Root zones and line widths beyond this are slips of the pen; a judgement, no source.
const LENGTH_MOST_M: f64 = 60.0;

/// The kind of obstacle that a word names.
pub(crate) fn kind_of(feature: &Feature) -> Result<ObstacleKind, String> {
    let words = KINDS.map(ObstacleKind::word);
    let Some(given) = feature.text("kind") else {
        return Err(format!(
            "has no `kind`; give one of {}. It is ignored.",
            words.join(", ")
        ));
    };
    let word = given.to_lowercase();
    KINDS
        .into_iter()
        .find(|kind| kind.word() == word)
        .ok_or_else(|| {
            let advice = suggestion(&word, &words);
            format!("its kind `{given}` is unknown; {advice} It is ignored.")
        })
}

/// Makes one obstacle of a feature whose shape is already in the parcel's frame. Repairs and errors are pushed.
pub(crate) fn obstacle(
    layer: &Layer,
    feature: &Feature,
    kind: ObstacleKind,
    local: &RawShape,
    findings: &mut Vec<Finding>,
) -> Option<Obstacle> {
    let mut tell = |finding: Finding| findings.push(finding.in_file(&layer.file).of(&feature.id));
    let radius_m = length_of(feature, "root_radius_m").unwrap_or_else(|message| {
        tell(Finding::error("bad_number", message));
        None
    });
    let (shape, centre) = match local {
        RawShape::Polygons(polygons) => {
            let cleaned = clean(polygons, layer.winding_matters);
            if let Some(at) = cleaned.crossing {
                let message = "its outline crosses itself, so it is unclear what it covers; all its loops are kept as an obstacle. Redraw it.";
                tell(Finding::error("self_crossing", message).at(at));
            }
            if !cleaned.repairs.is_empty() {
                let message = format!("repaired: {}.", cleaned.repairs.join("; "));
                tell(repaired(message, &cleaned.shape));
            }
            let centre = cleaned.shape.centroid().map(|centre| centre.0);
            (cleaned.shape, centre)
        }
        RawShape::Lines(lines) => match widened_line(feature, lines) {
            Ok(shape) => (shape, None),
            Err(message) => {
                tell(Finding::error("line_without_width", message));
                return None;
            }
        },
        RawShape::Points(points) if kind == ObstacleKind::Tree => {
            if points.len() > 1 {
                tell(several_points(points.len()));
            }
            (MultiPolygon::new(Vec::new()), points.first().copied())
        }
        other => {
            let message = format!(
                "its geometry is {}, which gives a {} no extent; draw it as a polygon. It is ignored.",
                other.kind(),
                kind.word()
            );
            tell(Finding::error("not_a_polygon", message));
            return None;
        }
    };
    let root_zone = match (kind, centre, radius_m) {
        (ObstacleKind::Tree, Some(centre), Some(radius_m)) => Some((centre, radius_m)),
        _ => None,
    };
    if shape.0.is_empty() && root_zone.is_none() {
        let message = match kind {
            ObstacleKind::Tree => {
                "is a tree without a pit and without `root_radius_m`: it keeps nothing from being dug. Give the radius of its root zone."
            }
            _ => "has no area and is ignored.",
        };
        tell(Finding::warning("obstacle_without_extent", message));
        return None;
    }
    Some(Obstacle {
        id: feature.id.clone(),
        kind,
        shape,
        root_zone,
    })
}

/// A feature of several points where one is meant.
pub(crate) fn several_points(count: usize) -> Finding {
    let message = format!(
        "holds {count} points where one is meant; only the first is used. Give each its own feature."
    );
    Finding::error("several_points", message)
}

fn repaired(message: String, shape: &MultiPolygon<f64>) -> Finding {
    let finding = Finding::note("ring_repaired", message);
    match crate::site::shapes::place_in(shape) {
        Some(place) => finding.at(place),
        None => finding,
    }
}

/// A length above nothing; `Err` says what is wrong with it.
fn length_of(feature: &Feature, name: &str) -> Result<Option<f64>, String> {
    match feature.number(name) {
        Ok(None) => Ok(None),
        Ok(Some(length_m)) if length_m > 0.0 && length_m <= LENGTH_MOST_M => Ok(Some(length_m)),
        Ok(Some(length_m)) => Err(format!(
            "its {name} {length_m} lies outside 0 to {LENGTH_MOST_M} m; it is not used."
        )),
        Err(text) => Err(format!("its {name} `{text}` is no number; it is not used.")),
    }
}

/// A path drawn as a line, as wide as it says, cut square at its ends.
fn widened_line(feature: &Feature, lines: &[Vec<Coord<f64>>]) -> Result<MultiPolygon<f64>, String> {
    let width_m = length_of(feature, "width_m")?.ok_or(
        "is a line without `width_m`, so its width is unknown; give it, or draw a polygon. It is ignored.",
    )?;
    let lines = MultiLineString::new(lines.iter().cloned().map(LineString::new).collect());
    let style = BufferStyle::new(width_m / 2.0)
        .line_cap(LineCap::Butt)
        .line_join(LineJoin::Round(0.35));
    Ok(without_crumbs(lines.buffer_with_style(style)))
}
