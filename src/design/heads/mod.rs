//! Heads: which stand where, how they are set, and with which nozzle.
//!
//! Piece by piece of turf: corners, even parts of the edges, then the middle; then a search on the simulated water.
//! The class of heads follows the width. Nothing here knows pipes or pressure: heads are planned at their rated flow.

mod arcs;
mod axes;
pub mod bound;
pub mod classes;
mod edges;
mod field;
mod finish;
mod given;
mod ground;
pub mod mend;
mod off_walls;
mod one_row;
mod roots_weight;
mod scene;
mod search;
pub mod spacing;
mod stencil;
mod symmetry;
#[cfg(test)]
mod tests;
mod tilts;
mod trial;
pub mod zones;

use crate::brief::{Catalogue, Rules};
use crate::design::model::Head;
use crate::finding::Finding;
use crate::site::Parcel;
use axes::Axes;
use classes::Class;
pub use classes::setting_for;
pub use finish::ground_m;
use geo::{Area, BoundingRect, MapCoords, Polygon};
use ground::Look;
pub use mend::{ChangePrices, Freedom, MendTask, Mended, Standing, mend};
pub use search::Purpose;

/// Least throw of a class over the width of a piece that it may still water: beyond it most of the water flies over.
const LONGEST_OVER_WIDTH: f64 = 1.6;

/// Arc that a class must offer for square corners, degrees.
const CORNER_DEG: f64 = 90.0;

/// Cells to the radius of the search's grid.
const CELLS_A_RADIUS: f64 = 14.0;

/// Most cells of turf of one piece: bounds the memory of a very large lawn.
const CELLS_MOST: f64 = 1.5e6;

/// Heads as placed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// The heads, by turf area.
    pub heads: Vec<Head>,
    /// What each is kept for, in the order of the heads.
    pub purposes: Vec<Purpose>,
    /// Heads of the starts, corners, edges and lattice, that the search made them from.
    pub started: usize,
    /// Turf left without heads, and why.
    pub findings: Vec<Finding>,
}

/// Places heads on all turf of a parcel.
pub fn place(parcel: &Parcel, catalogue: &Catalogue, rules: &Rules) -> Layout {
    place_round(parcel, catalogue, rules, &[])
}

/// Places heads on all turf of a parcel round heads that are given.
///
/// Those come first in the layout, as they are; their water and reach count, and no head is put on top of them.
pub fn place_round(
    parcel: &Parcel,
    catalogue: &Catalogue,
    rules: &Rules,
    given: &[Head],
) -> Layout {
    let rules = &roots_weight::weighed(rules, parcel);
    laid_out(parcel, catalogue, rules, given, 0..parcel.turf.len())
}

/// The layout of some turf areas round given heads, by rules whose roots are weighed for the parcel.
fn laid_out(
    parcel: &Parcel,
    catalogue: &Catalogue,
    rules: &Rules,
    given: &[Head],
    areas: std::ops::Range<usize>,
) -> Layout {
    let classes = classes::classes(catalogue);
    let mut layout = Layout {
        heads: given.to_vec(),
        purposes: vec![Purpose::Given; given.len()],
        ..Layout::default()
    };
    for index in areas {
        let turf = &parcel.turf[index];
        for (part, piece) in turf.shape.iter().enumerate() {
            let task = Task {
                parcel,
                catalogue,
                rules,
                classes: &classes,
                given,
                turf: index,
                seed: seed_of(&turf.id, part),
            };
            for (zone, class) in task.zones(piece) {
                match task.place(&zone, class, &layout.heads) {
                    Ok(found) => {
                        layout.findings.extend(
                            arcs_wanting(
                                catalogue,
                                &classes,
                                found.heads.first().map(|(head, _)| head),
                            )
                            .map(|note| note.of(turf.id.clone())),
                        );
                        layout.findings.extend(
                            one_row_note(&zone, &found).map(|note| note.of(turf.id.clone())),
                        );
                        layout.started += found.started;
                        for (head, purpose) in found.heads {
                            layout.heads.push(head);
                            layout.purposes.push(purpose);
                        }
                    }
                    Err(finding) => layout.findings.push(finding.of(turf.id.clone())),
                }
            }
        }
    }
    layout
}

/// A finding placed in the middle of a piece.
fn in_the_middle(finding: Finding, piece: &Polygon<f64>) -> Finding {
    match piece.bounding_rect() {
        Some(bounds) => finding.at(bounds.center()),
        None => finding,
    }
}

/// The likeliest axes of a piece, and the piece in them: what is measured there does not turn with the map.
fn in_axes(piece: &Polygon<f64>) -> (Axes, Polygon<f64>) {
    let axes = Axes::choices(piece)[0];
    let seen = axes.local_ground(&piece.clone().into());
    let seen = seen.0.into_iter().next();
    (axes, seen.unwrap_or_else(|| piece.clone()))
}

/// A note where the class of this head cannot be set to a quarter circle.
fn arcs_wanting(catalogue: &Catalogue, classes: &[Class], head: Option<&Head>) -> Option<Finding> {
    let name = &catalogue.heads.get(head?.model)?.rate_class;
    let class = classes.iter().find(|class| {
        class
            .models
            .iter()
            .any(|&model| &catalogue.heads[model].rate_class == name)
    })?;
    (class.sweep_min_deg > CORNER_DEG).then(|| {
        let message = format!(
            "No nozzle of class {name} can be set below {:.0}°: corners are served by wider arcs, which throw beyond the edge.",
            class.sweep_min_deg
        );
        Finding::note("arc_not_offered", message)
    })
}

/// A note where a single row of heads stands on a strip.
fn one_row_note(piece: &Polygon<f64>, found: &trial::Found) -> Option<Finding> {
    let heads = found.heads.len();
    found.heads.iter().any(|(head, _)| head.one_row).then(|| {
        let message = format!(
            "A strip of {:.0} m² has one row of {heads} heads along a side, on stations of its own: fewer heads, but less even water. For two rows lower the rule one_row_most_m.",
            piece.unsigned_area()
        );
        in_the_middle(Finding::note("one_row", message), piece)
    })
}

/// A number from the turf's id.
fn seed_of(id: &str, part: usize) -> u64 {
    crate::mark::number_of(id.bytes().chain(part.to_le_bytes()))
}

/// The cell to search on, m: some twenty to the radius, so that the work for a head is always about the same.
fn cell_for(class: &Class, width_m: f64) -> f64 {
    if class.radius_most_m() < 2.5 {
        0.125
    } else {
        (edges::radius_for(width_m, class) / CELLS_A_RADIUS).clamp(0.15, 0.7)
    }
}

/// All that placing heads on one piece needs.
struct Task<'a> {
    parcel: &'a Parcel,
    catalogue: &'a Catalogue,
    rules: &'a Rules,
    classes: &'a [Class],
    given: &'a [Head],
    turf: usize,
    seed: u64,
}

impl Task<'_> {
    /// The parts of a piece that carry different classes, the class given where there are several.
    fn zones(&self, piece: &Polygon<f64>) -> Vec<(Polygon<f64>, Option<usize>)> {
        let large = piece.unsigned_area() >= self.rules.turf_least_m2;
        let zones = match self.classes.len() {
            0 | 1 => Vec::new(),
            _ if large => zones::zones(&in_axes(piece).1, self.classes, self.rules),
            _ => Vec::new(),
        };
        if zones.len() < 2 {
            return vec![(piece.clone(), None)];
        }
        let (axes, _) = in_axes(piece);
        let back = |part: Polygon<f64>| part.map_coords(|at| axes.parcel(at));
        let parts = zones.into_iter().flat_map(|zone| {
            let class = Some(zone.class);
            zone.shape.into_iter().map(move |part| (back(part), class))
        });
        parts.collect()
    }

    fn place(
        &self,
        piece: &Polygon<f64>,
        class: Option<usize>,
        near: &[Head],
    ) -> Result<trial::Found, Finding> {
        let area_m2 = piece.unsigned_area();
        let Some(widest) = self.classes.first() else {
            return Err(Finding::error(
                "no_heads",
                "The catalogue has no usable head.",
            ));
        };
        if area_m2 < self.rules.turf_least_m2 {
            return Err(self.too_small(piece, area_m2, None));
        }
        let reach_m = widest.radius_most_m();
        let Some(look) = Look::at(&in_axes(piece).1, reach_m) else {
            return Err(self.too_small(piece, area_m2, None));
        };
        let width_m = look.width_m(0.9);
        if width_m < self.rules.strip_least_m {
            return Err(self.too_small(piece, area_m2, Some(width_m)));
        }
        let class = self
            .class_given(piece, width_m)
            .or(class)
            .unwrap_or_else(|| zones::class_for(width_m, self.classes));
        let class = &self.classes[class];
        if class.radius_least_m() > LONGEST_OVER_WIDTH * width_m {
            return Err(self.no_head_fits(piece, width_m, class));
        }
        let cell_m = cell_for(class, look.width_m(0.25)).max((area_m2 / CELLS_MOST).sqrt());
        let reach_m = class
            .radius_most_m()
            .min(2.0 * look.width_m(1.0))
            .max(class.radius_least_m());
        let found = trial::place(self, piece, class, cell_m, reach_m, near, width_m);
        if found.heads.is_empty() && !self.stand_on(piece) {
            return Err(self.too_small(piece, area_m2, Some(width_m)));
        }
        Ok(found)
    }

    fn no_head_fits(&self, piece: &Polygon<f64>, width_m: f64, class: &Class) -> Finding {
        let message = format!(
            "No head of the catalogue throws short enough for a piece {width_m:.1} m wide (the shortest throw is {:.1} m); it stays unwatered: add a smaller head to the catalogue.",
            class.radius_least_m()
        );
        in_the_middle(Finding::warning("no_head_fits", message), piece)
    }

    fn too_small(&self, piece: &Polygon<f64>, area_m2: f64, width_m: Option<f64>) -> Finding {
        let breadth = width_m.map_or(String::new(), |w| format!(", {w:.1} m wide"));
        let message = format!(
            "A piece of {area_m2:.0} m²{breadth} is too small or too narrow for heads and stays unwatered: water it by hand or drip, or plant it otherwise."
        );
        in_the_middle(Finding::warning("turf_too_small", message), piece)
    }
}
