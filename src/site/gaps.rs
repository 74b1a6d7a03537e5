//! Gaps in the terrain: found under turf and told, then bridged from their rim.

use crate::brief::Rules;
use crate::finding::Finding;
use crate::site::Terrain;
use crate::site::sampling::Samples;
use geo::Coord;
use std::collections::{BTreeMap, BTreeSet};

/// A connected piece of turf over which the raster has no heights.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Gap {
    area_m2: f64,
    place: Coord<f64>,
}

/// Gaps beside turf are told from this much on, m².
const BESIDE_LEAST_M2: f64 = 4.0;
/// Gaps told one by one up to this number, then in one sum.
const GAPS_TOLD: usize = 20;

/// Tells the gaps under turf: warnings where they may be bridged, one error where they are too great.
pub(crate) fn tell(terrain: &Terrain, samples: &Samples, rules: &Rules) -> Vec<Finding> {
    let gaps = gaps_under(terrain, samples);
    let missing_m2: f64 = gaps.iter().map(|gap| gap.area_m2).sum();
    let turf_m2 = samples.area_m2() * samples.places.len() as f64;
    let (Some(first), true) = (gaps.first(), turf_m2 > 0.0) else {
        return Vec::new();
    };
    let share = missing_m2 / turf_m2;
    let empty = !terrain.heights_m.iter().any(|height| height.is_finite());
    if empty || share > rules.terrain_gap_most {
        let message = format!(
            "the terrain has no heights under {missing_m2:.0} m² of turf ({:.1} %, more than terrain_gap_most allows, {:.1} %). Give a raster that covers it, or raise the rule to bridge the gap from its rim.",
            share * 100.0,
            rules.terrain_gap_most * 100.0
        );
        return vec![Finding::error("terrain_missing", message).at(first.place)];
    }
    let mut findings: Vec<Finding> = gaps.iter().take(GAPS_TOLD).map(bridged).collect();
    if gaps.len() > GAPS_TOLD {
        let rest_m2: f64 = gaps[GAPS_TOLD..].iter().map(|gap| gap.area_m2).sum();
        let message = format!(
            "{} more gaps of the terrain under turf, {rest_m2:.1} m² in all, were bridged from their rims.",
            gaps.len() - GAPS_TOLD
        );
        findings.push(Finding::warning("terrain_gap_bridged", message));
    }
    findings
}

/// Tells the gaps in a parcel beside its turf, over which trenches may run.
pub(crate) fn tell_beside(terrain: &Terrain, parcel: &Samples, turf: &Samples) -> Option<Finding> {
    let places = |samples: &Samples| -> BTreeSet<(i64, i64)> {
        let places = samples.places.iter();
        places.map(|(column, row, _)| (*column, *row)).collect()
    };
    let under_turf = places(turf);
    let beside = parcel.places.iter();
    let beside = beside.filter(|(column, row, _)| !under_turf.contains(&(*column, *row)));
    let beside = Samples {
        step_m: parcel.step_m,
        places: beside.copied().collect(),
    };
    let gaps = gaps_under(terrain, &beside);
    let missing_m2: f64 = gaps.iter().map(|gap| gap.area_m2).sum();
    let place = gaps
        .first()
        .filter(|_| missing_m2 >= BESIDE_LEAST_M2)?
        .place;
    let message = format!(
        "the terrain has no heights under {missing_m2:.0} m² of this parcel beside its turf, the largest piece here; they were bridged from the rims. Trenches and pressures there are no better than that: check the ground on site."
    );
    Some(Finding::note("terrain_gap_beside_turf", message).at(place))
}

fn bridged(gap: &Gap) -> Finding {
    let message = format!(
        "the terrain has no heights under {:.1} m² of turf here; they were bridged from the rim of the gap. Check the ground on site.",
        gap.area_m2
    );
    Finding::warning("terrain_gap_bridged", message).at(gap.place)
}

/// Whether the cell that a place falls on has no data.
///
/// Not whether its height can be interpolated: that would widen each gap by its rim of good cells.
fn is_missing(terrain: &Terrain, at: Coord<f64>) -> bool {
    let (column, row) = terrain.map.cell(at);
    let index = |at: f64, count: usize| {
        let whole = at.round();
        (whole >= 0.0 && whole < count as f64).then_some(whole as usize)
    };
    match (index(column, terrain.columns), index(row, terrain.rows)) {
        (Some(column), Some(row)) => !terrain.heights_m[row * terrain.columns + column].is_finite(),
        _ => true,
    }
}

/// Gaps by falling area.
fn gaps_under(terrain: &Terrain, samples: &Samples) -> Vec<Gap> {
    let mut missing: BTreeMap<(i64, i64), Coord<f64>> = samples
        .places
        .iter()
        .filter(|(_, _, at)| is_missing(terrain, *at))
        .map(|(column, row, at)| ((*row, *column), *at))
        .collect();
    let mut gaps = Vec::new();
    while let Some((start, at)) = missing.pop_first() {
        let places = flood(start, at, &mut missing);
        gaps.push(Gap {
            area_m2: places.len() as f64 * samples.area_m2(),
            place: middle_of(&places),
        });
    }
    gaps.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2));
    gaps
}

fn flood(
    start: (i64, i64),
    at: Coord<f64>,
    missing: &mut BTreeMap<(i64, i64), Coord<f64>>,
) -> Vec<Coord<f64>> {
    let mut places = vec![at];
    let mut open = vec![start];
    while let Some((row, column)) = open.pop() {
        for next in [
            (row - 1, column),
            (row + 1, column),
            (row, column - 1),
            (row, column + 1),
        ] {
            if let Some(at) = missing.remove(&next) {
                places.push(at);
                open.push(next);
            }
        }
    }
    places
}

/// The place nearest to the mean of all, so that it lies in the gap.
fn middle_of(places: &[Coord<f64>]) -> Coord<f64> {
    let count = places.len() as f64;
    let mean = places
        .iter()
        .fold(Coord::zero(), |sum, at| sum + *at / count);
    let away = |at: &Coord<f64>| (at.x - mean.x).hypot(at.y - mean.y);
    let nearest = places.iter().min_by(|a, b| away(a).total_cmp(&away(b)));
    nearest.copied().unwrap_or(mean)
}

/// Gives every cell without a height one from its rim, so that design finds ground everywhere.
///
/// Layer by layer from the rim inwards, then smoothed until each bridged cell is the mean of its neighbours
/// (a soap film over the gap). Does nothing when no cell has a height.
pub(crate) fn bridge(terrain: &mut Terrain) {
    let (columns, rows) = (terrain.columns, terrain.rows);
    let heights = &mut terrain.heights_m;
    let holes: Vec<usize> = (0..heights.len())
        .filter(|cell| !heights[*cell].is_finite())
        .collect();
    if holes.is_empty() || holes.len() == heights.len() {
        return;
    }
    fill_inwards(heights, &holes, columns, rows);
    smooth(heights, &holes, columns, rows);
}

fn fill_inwards(heights: &mut [f32], holes: &[usize], columns: usize, rows: usize) {
    let mut open: BTreeSet<usize> = holes
        .iter()
        .copied()
        .filter(|cell| mean_of_neighbours(heights, *cell, columns, rows).is_some())
        .collect();
    while !open.is_empty() {
        let layer: Vec<(usize, f32)> = open
            .iter()
            .filter_map(|cell| Some((*cell, mean_of_neighbours(heights, *cell, columns, rows)?)))
            .collect();
        open.clear();
        for (cell, height) in &layer {
            heights[*cell] = *height;
        }
        for (cell, _) in &layer {
            open.extend(
                neighbours(*cell, columns, rows).filter(|next| !heights[*next].is_finite()),
            );
        }
    }
}

/// Work that smoothing may take, in cells visited; keeps a raster that is mostly empty from costing minutes.
const SMOOTHING_VISITS: usize = 20_000_000;

fn smooth(heights: &mut [f32], holes: &[usize], columns: usize, rows: usize) {
    let passes = (SMOOTHING_VISITS / holes.len()).clamp(1, 2000);
    for _ in 0..passes {
        let mut greatest_change_m = 0.0_f32;
        for cell in holes {
            if let Some(mean) = mean_of_neighbours(heights, *cell, columns, rows) {
                // Over-relaxation by 1.7 gets there in far fewer passes.
                let change = 1.7 * (mean - heights[*cell]);
                heights[*cell] += change;
                greatest_change_m = greatest_change_m.max(change.abs());
            }
        }
        if greatest_change_m < 0.001 {
            return;
        }
    }
}

fn neighbours(cell: usize, columns: usize, rows: usize) -> impl Iterator<Item = usize> {
    let (column, row) = (cell % columns, cell / columns);
    let west = (column > 0).then(|| cell - 1);
    let east = (column + 1 < columns).then(|| cell + 1);
    let above = (row > 0).then(|| cell - columns);
    let below = (row + 1 < rows).then(|| cell + columns);
    [west, east, above, below].into_iter().flatten()
}

fn mean_of_neighbours(heights: &[f32], cell: usize, columns: usize, rows: usize) -> Option<f32> {
    let (mut sum, mut count) = (0.0, 0.0);
    for next in neighbours(cell, columns, rows) {
        if heights[next].is_finite() {
            sum += heights[next];
            count += 1.0;
        }
    }
    (count > 0.0).then(|| sum / count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::TurfArea;
    use geo::{MultiPolygon, Rect};

    fn lawn(half_m: f64) -> TurfArea {
        TurfArea {
            id: "t".to_owned(),
            shape: MultiPolygon::from(Rect::new((-half_m, -half_m), (half_m, half_m)).to_polygon()),
            soil: None,
            season: None,
        }
    }

    fn with_hole() -> Terrain {
        let mut ground = Terrain::plane(100.0, 0.1, -0.05, 20.0);
        for row in 15..20 {
            for column in 18..24 {
                ground.heights_m[row * ground.columns + column] = f32::NAN;
            }
        }
        ground
    }

    #[test]
    fn a_gap_in_a_plane_is_bridged_by_the_plane() {
        let mut ground = with_hole();
        bridge(&mut ground);
        let z = ground.height_m(Coord { x: 1.0, y: -3.0 }).unwrap();
        assert!((z - 100.25).abs() < 0.01, "{z}");
    }

    #[test]
    fn a_small_gap_warns_with_its_place_and_a_great_one_is_an_error() {
        let ground = with_hole();
        let samples = Samples::under(&[lawn(18.0)], 1.0);
        let told = tell(
            &ground,
            &samples,
            &Rules {
                terrain_gap_most: 0.1,
                ..Rules::default()
            },
        );
        assert_eq!(told.len(), 1);
        assert_eq!(told[0].code, "terrain_gap_bridged");
        assert!(told[0].place.unwrap().x.abs() < 4.0);
        let told = tell(&ground, &samples, &Rules::default());
        assert_eq!(told[0].code, "terrain_missing");
    }
}
