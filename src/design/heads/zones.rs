//! Zones: parts of a piece of turf that are watered by different classes of heads, because one is truly narrower.
//!
//! Cells of a map of widths are labelled with the class that suits them; patches not worth a station of their own join
//! a neighbour; what remains is parted by straight seams across the necks. Corners stay with the turf they belong to.
//! Metres. Where heads stand is not decided here.

mod patches;
mod seams;
mod worth;

use super::classes::Class;
use crate::brief::Rules;
use crate::geometry::{Grid, WidthMap, cut, fill};
use geo::{Area, BoundingRect, MultiPolygon, Polygon};
use patches::Patches;
use worth::{Part, Worth};

/// A class suits ground when its least radius is at most this many times the width. Common practice, no source.
pub const THROW_OVER_WIDTH: f64 = 1.15;

/// Share of a whole piece that its typical width is not exceeded by.
const WHOLE_SHARE: f64 = 0.9;

/// The areas of all zones of a piece add up to its own within this share, else it is not parted.
const AREA_TOLERANCE: f64 = 1e-6;

/// A part of a piece of turf for one class of heads.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// The part; the zones of a piece neither leave gaps nor overlap.
    pub shape: MultiPolygon<f64>,
    /// Class of its heads, as a place in the list of classes.
    pub class: usize,
    /// Width, m: of a whole piece the one that nine tenths do not exceed, of a part the median.
    pub width_m: f64,
}

/// The class with the longest throw among those that the width can carry; else the one with the shortest least radius.
pub fn class_for(width_m: f64, classes: &[Class]) -> usize {
    let suits = |class: &Class| class.radius_least_m() <= THROW_OVER_WIDTH * width_m;
    let least = |&class: &usize| classes[class].radius_least_m();
    classes
        .iter()
        .position(suits)
        .or_else(|| (0..classes.len()).min_by(|a, b| least(a).total_cmp(&least(b))))
        .unwrap_or(0)
}

/// The zones of a piece; `classes` by falling greatest radius. Empty for a piece without extent or no classes.
pub fn zones(piece: &Polygon<f64>, classes: &[Class], rules: &Rules) -> Vec<Zone> {
    let (Some(widest), Some(bounds)) = (classes.first(), piece.bounding_rect()) else {
        return Vec::new();
    };
    let cell_m = WidthMap::cell_for(bounds.width() * bounds.height());
    WidthMap::of(&piece.clone().into(), cell_m, widest.radius_most_m())
        .map_or(Vec::new(), |map| zones_on(&map, piece, classes, rules))
}

/// The zones of a piece whose map of widths is at hand. The map may leave out holes too small to matter.
pub fn zones_on(
    map: &WidthMap,
    piece: &Polygon<f64>,
    classes: &[Class],
    rules: &Rules,
) -> Vec<Zone> {
    let worth = Worth::of(classes, rules);
    let width_m = map.width_of_share_m(WHOLE_SHARE);
    let whole = |class| Zone {
        shape: piece.clone().into(),
        class,
        width_m,
    };
    let common = common_classes(map, &worth);
    match common[..] {
        _ if classes.len() < 2 => return vec![whole(0)],
        [] => return vec![whole(class_for(width_m, classes))],
        [(only, share)] => {
            let most = share > 0.5;
            let class = if most {
                only
            } else {
                class_for(width_m, classes)
            };
            return vec![whole(class)];
        }
        _ => {}
    }
    let patches = Patches::of(map, &worth);
    let parted = part(map, piece, &patches, &worth);
    if parted.len() > 1 && adds_up(piece, &parted) {
        return parted;
    }
    let class = patches.leading_class();
    vec![whole(class.unwrap_or_else(|| class_for(width_m, classes)))]
}

/// Classes with enough ground for a station, and the share of the piece that each suits best.
fn common_classes(map: &WidthMap, worth: &Worth) -> Vec<(usize, f64)> {
    let mut cells = vec![0usize; worth.classes.len()];
    for &width_m in map.width_m.iter().filter(|&&width_m| width_m > 0.0) {
        cells[class_for(f64::from(width_m), worth.classes)] += 1;
    }
    let cell_m2 = map.grid.cell_m * map.grid.cell_m;
    let all = cells.iter().sum::<usize>().max(1) as f64;
    cells
        .iter()
        .enumerate()
        .filter(|&(class, &count)| count as f64 * cell_m2 >= worth.area_least_m2(class))
        .map(|(class, &count)| (class, count as f64 / all))
        .collect()
}

fn adds_up(piece: &Polygon<f64>, zones: &[Zone]) -> bool {
    let sum_m2: f64 = zones.iter().map(|zone| zone.shape.unsigned_area()).sum();
    let area_m2 = piece.unsigned_area();
    (sum_m2 - area_m2).abs() <= AREA_TOLERANCE * area_m2
}

/// Cuts the piece at the necks between patches; necks that part nothing worth parting are left whole.
fn part(map: &WidthMap, piece: &Polygon<f64>, patches: &Patches, worth: &Worth) -> Vec<Zone> {
    let piece = cut::turned(piece);
    let mut necks = seams::necks(map, &piece, patches);
    while !necks.is_empty() {
        let (shapes, sides) = cut::cut(&piece, &necks);
        let parts: Vec<Part> = shapes
            .iter()
            .map(|shape| part_of(map, shape, patches, worth))
            .collect();
        match idle_neck(&sides, &parts, worth) {
            Some(idle) => necks.remove(idle),
            None => return shapes.into_iter().zip(parts).map(zone).collect(),
        };
    }
    Vec::new()
}

fn zone((shape, part): (Polygon<f64>, Part)) -> Zone {
    Zone {
        shape: shape.into(),
        class: part.class,
        width_m: part.width_of_share_m(0.5),
    }
}

/// The first neck with the same class on both sides, or with a side that is not worth a station.
fn idle_neck(sides: &[Option<cut::Sides>], parts: &[Part], worth: &Worth) -> Option<usize> {
    sides.iter().position(|&sides| {
        let Some((left, right)) = sides else {
            return true;
        };
        let (left, right) = (&parts[left], &parts[right]);
        let (wide, narrow) = if left.width_of_share_m(0.5) > right.width_of_share_m(0.5) {
            (left, right)
        } else {
            (right, left)
        };
        left.class == right.class || !worth.wide(wide) || !worth.narrow(narrow)
    })
}

/// What a shape holds: its cells by the class of their patch.
fn part_of(map: &WidthMap, shape: &Polygon<f64>, patches: &Patches, worth: &Worth) -> Part {
    let mut widths_m = vec![Vec::new(); worth.classes.len()];
    fill(&map.grid, &shape.clone().into(), |cell| {
        if let Some(class) = patches.class_at(cell) {
            widths_m[class].push(map.width_m[cell]);
        }
    });
    let class = (0..widths_m.len())
        .rev()
        .max_by_key(|&class| widths_m[class].len())
        .unwrap_or(0);
    Part::new(class, shape.unsigned_area(), widths_m.swap_remove(class))
}

/// Index of each neighbour of a cell that shares a side with it.
fn beside(grid: &Grid, cell: usize) -> impl Iterator<Item = usize> {
    let (column, row) = (cell % grid.columns, cell / grid.columns);
    let found = [
        (column > 0).then(|| cell - 1),
        (column + 1 < grid.columns).then(|| cell + 1),
        (row > 0).then(|| cell - grid.columns),
        (row + 1 < grid.rows).then(|| cell + grid.columns),
    ];
    found.into_iter().flatten()
}

#[cfg(test)]
mod tests;
