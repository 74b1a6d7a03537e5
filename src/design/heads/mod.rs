//! Heads: which stand where, how they are set, and with which nozzle.
//!
//! Piece by piece of turf: corners, even parts of the edges, then the middle; then a search on the simulated water.
//! The class of heads follows the width. Nothing here knows pipes or pressure: heads are planned at their rated flow.

mod arcs;
pub mod bound;
pub mod classes;
mod edges;
mod field;
mod finish;
mod ground;
mod search;
pub mod spacing;
#[cfg(test)]
mod tests;
pub mod zones;

use crate::brief::{Catalogue, Rules};
use crate::design::coverage::walls_of;
use crate::design::model::Head;
use crate::finding::Finding;
use crate::geometry::sight::Walls;
use crate::site::Parcel;
use classes::Class;
use field::{Field, Stencils};
use geo::{Area, BoundingRect, Polygon};
use ground::{Ground, Look};
use search::Search;

/// Share of the rule's weight of overspray that the search starts with; it is raised where overspray is too high.
const HARM_SHARE: f64 = 0.5;

/// Most cells of turf of one piece: bounds the memory of a very large lawn.
const CELLS_MOST: f64 = 1.5e6;

/// Heads as placed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// The heads, by turf area.
    pub heads: Vec<Head>,
    /// Fewest heads by area, for each turf area.
    pub bound: Vec<usize>,
    /// Turf left without heads, and why.
    pub findings: Vec<Finding>,
}

/// Places heads on all turf of a parcel.
pub fn place(parcel: &Parcel, catalogue: &Catalogue, rules: &Rules) -> Layout {
    let classes = classes::classes(catalogue);
    let walls = walls_of(&parcel.obstacles);
    let mut layout = Layout::default();
    for (index, turf) in parcel.turf.iter().enumerate() {
        let mut on_turf = Vec::new();
        for (part, piece) in turf.shape.iter().enumerate() {
            let task = Task {
                parcel,
                catalogue,
                rules,
                classes: &classes,
                walls: &walls,
                turf: index,
                seed: seed_of(&turf.id, part),
            };
            match task.place(piece, &layout.heads) {
                Ok(heads) => {
                    on_turf.extend(heads.iter().cloned());
                    layout.heads.extend(heads);
                }
                Err(finding) => layout.findings.push(finding.of(turf.id.clone())),
            }
        }
        let most_m = on_turf.iter().map(|head| head.radius_m).fold(0.0, f64::max);
        layout
            .bound
            .push(bound::heads_bound(turf.shape.unsigned_area(), most_m));
    }
    layout
}

/// A number from the turf's id: FNV-1a (Fowler, Noll and Vo, from memory).
fn seed_of(id: &str, part: usize) -> u64 {
    id.bytes()
        .chain(part.to_le_bytes())
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        })
}

/// The cell to search on, m: some twenty to the radius, so that the work for a head is always about the same.
fn cell_for(class: &Class, width_m: f64, area_m2: f64) -> f64 {
    if class.radius_most_m() < 2.5 {
        0.125
    } else if width_m > 9.0 {
        0.5
    } else if width_m > 2.5 || area_m2 > 1500.0 {
        0.25
    } else {
        0.2
    }
}

/// All that placing heads on one piece needs.
struct Task<'a> {
    parcel: &'a Parcel,
    catalogue: &'a Catalogue,
    rules: &'a Rules,
    classes: &'a [Class],
    walls: &'a Walls,
    turf: usize,
    seed: u64,
}

impl Task<'_> {
    fn place(&self, piece: &Polygon<f64>, near: &[Head]) -> Result<Vec<Head>, Finding> {
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
        let Some(look) = Look::at(piece, reach_m) else {
            return Err(self.too_small(piece, area_m2, None));
        };
        let width_m = look.width_m(0.9);
        if width_m < self.rules.strip_least_m {
            return Err(self.too_small(piece, area_m2, Some(width_m)));
        }
        let class = self.class_for(width_m);
        let cell_m = cell_for(class, look.width_m(0.1), area_m2).max((area_m2 / CELLS_MOST).sqrt());
        let reach_m = class
            .radius_most_m()
            .min(2.0 * look.width_m(1.0))
            .max(class.radius_least_m());
        match Ground::new(self.parcel, piece, self.rules, cell_m, reach_m) {
            Some(ground) if !ground.standing.0.is_empty() => Ok(self.search(&ground, class, near)),
            _ => Err(self.too_small(piece, area_m2, Some(width_m))),
        }
    }

    /// The class with the longest throw among those that the width can carry.
    fn class_for(&self, width_m: f64) -> &Class {
        self.classes
            .iter()
            .find(|class| class.radius_least_m() <= 1.15 * width_m)
            .or_else(|| {
                let least = |class: &&Class| class.radius_least_m();
                self.classes
                    .iter()
                    .min_by(|a, b| least(a).total_cmp(&least(b)))
            })
            .unwrap_or(&self.classes[0])
    }

    /// Spacing as a share of the radius: wind takes 5 points of the diameter for each 2 m/s.
    /// SCS/NRCS practice as taught with the National Engineering Handbook 623, chapter 11 (from memory).
    fn spacing(&self) -> f64 {
        (self.rules.head_spacing_ratio - 0.05 * self.rules.wind_m_s).max(0.5)
    }

    fn search(&self, ground: &Ground, class: &Class, near: &[Head]) -> Vec<Head> {
        let spacing = self.spacing();
        // Closer heads apply more: the depth wanted everywhere is what that spacing gives.
        let wanted = 1.0 / (spacing.min(1.0) * spacing.min(1.0));
        let mut stencils = Stencils::new(class, self.catalogue, ground.grid.cell_m, wanted);
        let field = Field::new(
            ground,
            &mut stencils,
            (HARM_SHARE * self.rules.overspray_weight) as f32,
        );
        let rings = edges::rings(ground);
        let places = edges::places(
            ground,
            &rings,
            class,
            spacing,
            0.8 * self.rules.strip_least_m,
        );
        let mut search = Search::new(field, ground, &rings, class, self.walls, spacing, self.seed);
        for head in near {
            let model = &self.catalogue.heads[head.model];
            search
                .field
                .foreign(head, model.profile, model.rate_mm_h / class.rate_mm_h);
        }
        search.start(&places);
        search.add(&[1.0]);
        search.settle(&[0.3, 0.22, 0.16]);
        search.prune();
        search.add(&[1.0]);
        search.settle(&[0.16, 0.12, 0.08]);
        search.prune();
        search.settle(&[0.08, 0.05]);
        search.repair(self.rules);
        finish::heads(self, &rings, class, &search.heads)
    }

    fn too_small(&self, piece: &Polygon<f64>, area_m2: f64, width_m: Option<f64>) -> Finding {
        let breadth = width_m.map_or(String::new(), |w| format!(", {w:.1} m wide"));
        let message = format!(
            "A piece of {area_m2:.0} m²{breadth} is too small or too narrow for heads and stays unwatered: water it by hand or drip, or plant it otherwise."
        );
        let finding = Finding::warning("turf_too_small", message);
        match piece.bounding_rect() {
            Some(bounds) => finding.at(bounds.center()),
            None => finding,
        }
    }
}
