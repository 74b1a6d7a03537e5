//! One turf area under all the heads that reach it.

use super::matched;
use super::spread::{Scratch, Throw, add, sum, sum_where};
use super::uniformity::{cu_christiansen, du_low_quarter, mean};
use crate::brief::Rules;
use crate::design::model::TurfResult;
use crate::finding::Finding;
use crate::geometry::{Grid, fill};
use crate::site::Parcel;
use geo::{Area, BoundingRect, Buffer, MultiPolygon};

/// Coarsest and finest cell, m.
const CELL_M: (f64, f64) = (0.1, 0.5);
/// Most cells of one area's grid: bounds the memory of a very large area with a very small head.
const CELLS_MOST: f64 = 8e6;
/// Share of the mean below which ground counts as dry.
const DRY_BELOW: f64 = 0.3;

/// A turf area judged, with the rates for the map.
pub struct Judged {
    /// Its figures.
    pub result: TurfResult,
    /// Its grid; `None` where the area has no extent.
    pub grid: Option<Grid>,
    /// Rate in each cell, mm/h.
    pub rate: Vec<f32>,
    /// Sum of the rates on the judged cells, and their number, for the mean of the parcel.
    pub water: (f64, f64),
}

/// Judges one turf area.
pub fn turf_area(parcel: &Parcel, turf: usize, throws: &[Throw], rules: &Rules) -> Judged {
    let shape = &parcel.turf[turf].shape;
    let inset = shape.buffer(-rules.head_setback_m);
    let mut result = TurfResult {
        area_m2: inset.unsigned_area(),
        heads: throws.iter().filter(|throw| throw.turf == turf).count(),
        ..TurfResult::default()
    };
    let Some(bounds) = shape.bounding_rect() else {
        return Judged {
            result,
            grid: None,
            rate: Vec::new(),
            water: (0.0, 0.0),
        };
    };
    let reaching: Vec<&Throw> = throws
        .iter()
        .filter(|throw| {
            let r = throw.reach_m;
            throw.at.x + r > bounds.min().x
                && throw.at.x - r < bounds.max().x
                && throw.at.y + r > bounds.min().y
                && throw.at.y - r < bounds.max().y
        })
        .collect();
    let most_m = own_most_m(&reaching, turf, |throw| throw.reach_m);
    let least_m = reaching
        .iter()
        .map(|t| t.radius_m)
        .fold(f64::INFINITY, f64::min);
    let cell_m = cell_for(
        least_m,
        (bounds.width() + 2.0 * most_m) * (bounds.height() + 2.0 * most_m),
    );
    let grid = Grid::over(bounds, most_m + cell_m, cell_m);
    let own = || reaching.iter().copied().filter(|t| t.turf == turf);
    let main_mm_h = matched::main_rate_mm_h(own())
        .or_else(|| matched::main_rate_mm_h(reaching.iter().copied()));
    result.class_rate_mm_h = main_mm_h;
    let (rate, overspray) = rain(parcel, turf, &reaching, main_mm_h.unwrap_or(0.0), &grid);
    result.overspray_fraction = overspray;
    let water = figures(&mut result, &grid, &inset, &rate);
    Judged {
        result,
        grid: Some(grid),
        rate,
        water,
    }
}

/// The greatest length of the area's own throws.
fn own_most_m(reaching: &[&Throw], turf: usize, length_m: fn(&Throw) -> f64) -> f64 {
    reaching
        .iter()
        .filter(|throw| throw.turf == turf)
        .map(|throw| length_m(throw))
        .fold(0.0, f64::max)
}

/// The cell to judge on: a tenth of the smallest radius, within the limits and the memory.
fn cell_for(least_radius_m: f64, window_m2: f64) -> f64 {
    (least_radius_m / 10.0)
        .clamp(CELL_M.0, CELL_M.1)
        .max((window_m2 / CELLS_MOST).sqrt())
}

/// Rates on the grid, and the share of the area's own water that falls on no turf at all.
fn rain(
    parcel: &Parcel,
    turf: usize,
    reaching: &[&Throw],
    main_mm_h: f64,
    grid: &Grid,
) -> (Vec<f32>, Option<f64>) {
    let mut off_turf = vec![1.0f32; grid.cells()];
    for area in &parcel.turf {
        fill(grid, &area.shape, |cell| off_turf[cell] = 0.0);
    }
    let mut rate = vec![0.0f32; grid.cells()];
    let mut scratch = Scratch::default();
    let off = |column: i64, row: i64| {
        let cell = row * grid.columns as i64 + column;
        usize::try_from(cell)
            .ok()
            .and_then(|cell| off_turf.get(cell))
            .map_or(0.0, |&mark| f64::from(mark))
    };
    let (mut own_lpm, mut lost_lpm) = (0.0, 0.0);
    for throw in reaching {
        let matched = matched::factor(throw.class_mm_h, main_mm_h);
        if throw.turf != turf {
            throw.runs(grid, &mut scratch, matched, |first, weights, measure| {
                add(&mut rate[first..], weights, measure.mm_h);
            });
            continue;
        }
        let measure = throw.runs(grid, &mut scratch, matched, |first, weights, measure| {
            add(&mut rate[first..], weights, measure.mm_h);
            own_lpm += sum(weights) * measure.lpm;
            lost_lpm += sum_where(weights, &off_turf[first..]) * measure.lpm;
        });
        // The wet part of a sliver lies on the head's side of the turf's edge even where the cell's centre does not.
        for &(column, row, weight) in &scratch.slivers {
            lost_lpm -= off(column, row) * f64::from(weight) * measure.lpm;
        }
    }
    (rate, (own_lpm > 0.0).then(|| lost_lpm / own_lpm))
}

/// Fills in the figures of the judged cells; returns their sum and number.
fn figures(
    result: &mut TurfResult,
    grid: &Grid,
    inset: &MultiPolygon<f64>,
    rate: &[f32],
) -> (f64, f64) {
    let mut depths = Vec::new();
    fill(grid, inset, |cell| depths.push(rate[cell]));
    result.du_low_quarter = du_low_quarter(&depths);
    result.cu_christiansen = cu_christiansen(&depths);
    result.mean_rate_mm_h = mean(&depths);
    result.dry_fraction = result.mean_rate_mm_h.map(|mean| {
        let dry = depths
            .iter()
            .filter(|&&d| f64::from(d) < DRY_BELOW * mean)
            .count();
        dry as f64 / depths.len() as f64
    });
    let area_m2 = grid.cell_m * grid.cell_m;
    let sum: f64 = depths.iter().map(|&d| f64::from(d)).sum();
    (sum * area_m2, depths.len() as f64 * area_m2)
}

/// Turf of which more than this share lies among roots is uneven because heads keep off them.
const MUCH_AMONG_ROOTS: f64 = 0.3;

/// What to look at where water is uneven on turf of which this share lies among roots.
fn why_uneven(among_roots: f64) -> String {
    if among_roots < MUCH_AMONG_ROOTS {
        return "look at narrow ends and corners, or take smaller heads there".into();
    }
    let percent = 100.0 * among_roots;
    format!(
        "{percent:.0} % of it lies among roots, which heads keep off; a lower head_roots waters it more evenly, with more digging by hand"
    )
}

/// A warning for each target that an area with heads misses.
pub fn findings(parcel: &Parcel, judged: &[Judged], rules: &Rules) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (turf, area) in parcel.turf.iter().zip(judged) {
        let result = &area.result;
        if result.heads == 0 {
            continue;
        }
        let mut warn = |code, message: String| {
            findings.push(Finding::warning(code, message).of(turf.id.clone()));
        };
        let du_least = if result.one_row {
            rules.du_one_row_least
        } else {
            rules.du_least
        };
        if let Some(du) = result.du_low_quarter.filter(|&du| du < du_least) {
            warn(
                "du_low",
                format!(
                    "The low quarter gets {du:.2} of the mean, the target is {du_least:.2}: {}.",
                    why_uneven(parcel.share_among_roots([turf]))
                ),
            );
        }
        if let Some(dry) = result.dry_fraction.filter(|&dry| dry > rules.dry_most) {
            warn(
                "dry_high",
                format!(
                    "{:.1} % of the area gets less than 0.3 of the mean, at most {:.1} % should: see the coverage bands for where.",
                    100.0 * dry,
                    100.0 * rules.dry_most
                ),
            );
        }
        if let Some(over) = result
            .overspray_fraction
            .filter(|&over| over > rules.overspray_most)
        {
            warn(
                "overspray_high",
                format!(
                    "{:.1} % of the water falls on ground that is no turf, at most {:.1} % should: narrow or winding parts cannot be watered more closely with these heads.",
                    100.0 * over,
                    100.0 * rules.overspray_most
                ),
            );
        }
    }
    findings
}
