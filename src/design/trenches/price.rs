//! What a straight piece of trench costs: surface, slope, and each crossing of paving.

use crate::brief::Rules;
use crate::design::trenches::surfaces::{Crossing, GroundState, Stretch, Surfaces, blocked};
use crate::site::Terrain;
use geo::{Coord, Line};

/// Greatest share of a crossing's price that is added for crossing off square.
const OBLIQUE_MOST: f64 = 4.0;

/// The price of a straight trench, in metres of level turf; `None` where it may not be dug.
pub fn price(
    line: Line<f64>,
    surfaces: &Surfaces,
    terrain: &Terrain,
    rules: &Rules,
) -> Option<f64> {
    let length_m = (line.end.x - line.start.x).hypot(line.end.y - line.start.y);
    let stretches = surfaces.along(line);
    if blocked(&stretches, length_m)
        || (rules.roots_forbidden > 0.5 && stretches.iter().any(|s| s.state.roots))
    {
        return None;
    }
    let slope = mean_slope(line.start, line.end, length_m, terrain);
    let by_metre: f64 = stretches
        .iter()
        .map(|s| (s.to - s.from) * length_m * per_metre(s.state, rules))
        .sum();
    let crossed = crossings(&stretches);
    let oblique = obliqueness(&surfaces.crossings_among(line, &stretches));
    Some(
        by_metre * (1.0 + rules.cost_slope * slope)
            + (crossed as f64 + oblique) * rules.cost_crossing,
    )
}

/// The squared tangents of the angles by which paving is crossed off square, summed, each at most `OBLIQUE_MOST`: a
/// crossing at 45° costs as much again, one at 20° hardly more.
fn obliqueness(crossings: &[Crossing]) -> f64 {
    let off = |c: &Crossing| (c.along_m.powi(2) - c.width_m.powi(2)) / c.width_m.powi(2).max(1e-9);
    let each = crossings.iter().map(|c| off(c).clamp(0.0, OBLIQUE_MOST));
    each.sum()
}

fn per_metre(state: GroundState, rules: &Rules) -> f64 {
    let mut price = if state.turf {
        rules.cost_turf
    } else {
        rules.cost_bare
    };
    if state.bed {
        price = rules.cost_bed;
    }
    if state.paving {
        price = rules.cost_paving;
    }
    if state.roots {
        price = price.max(rules.cost_roots);
    }
    price
}

/// Runs of paving, however many surfaces lie in each.
fn crossings(stretches: &[Stretch]) -> usize {
    stretches
        .chunk_by(|a, b| a.state.paving == b.state.paving)
        .filter(|run| run[0].state.paving)
        .count()
}

/// Rise and fall along a line over its length, sampled at the raster's own cell.
fn mean_slope(from: Coord<f64>, to: Coord<f64>, length_m: f64, terrain: &Terrain) -> f64 {
    if length_m < 1e-6 {
        return 0.0;
    }
    let steps = (length_m / terrain.cell_m).ceil().max(1.0) as usize;
    let heights: Vec<f64> = (0..=steps)
        .filter_map(|i| terrain.laying_height_m(from + (to - from) * (i as f64 / steps as f64)))
        .collect();
    heights
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .sum::<f64>()
        / length_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::trenches::fixture;

    #[test]
    fn paving_costs_its_metres_and_its_crossing_and_a_building_cannot_be_bought() {
        let parcel = fixture::parcel();
        let rules = Rules {
            cost_slope: 0.0,
            ..Rules::default()
        };
        let surfaces = Surfaces::of(&parcel);
        let at = |x: f64, y: f64| Coord { x, y };
        let over = price(
            Line::new(at(-5.0, -5.0), at(5.0, -5.0)),
            &surfaces,
            &parcel.terrain,
            &rules,
        )
        .unwrap();
        assert!(
            (over - (8.0 + 2.0 * rules.cost_paving + rules.cost_crossing)).abs() < 1e-6,
            "{over}"
        );
        assert_eq!(
            price(
                Line::new(at(5.0, 5.0), at(20.0, 5.0)),
                &surfaces,
                &parcel.terrain,
                &rules
            ),
            None
        );
    }

    #[test]
    fn a_crossing_off_square_is_dearer_by_the_squared_tangent() {
        let parcel = fixture::parcel();
        let rules = Rules {
            cost_slope: 0.0,
            cost_paving: 1.0,
            ..Rules::default()
        };
        let surfaces = Surfaces::of(&parcel);
        let over = |to: Coord<f64>| {
            let line = Line::new(Coord { x: -5.0, y: -5.0 }, to);
            let length_m = (to.x + 5.0).hypot(to.y + 5.0);
            price(line, &surfaces, &parcel.terrain, &rules).unwrap() - length_m
        };
        let square = over(Coord { x: 5.0, y: -5.0 });
        assert!((square - rules.cost_crossing).abs() < 1e-6, "{square}");
        // 45 degrees off: the tangent is 1.
        let oblique = over(Coord { x: 4.0, y: 4.0 });
        assert!(
            (oblique - 2.0 * rules.cost_crossing).abs() < 1e-6,
            "{oblique}"
        );
    }

    #[test]
    fn a_slope_is_dearer_than_the_level_and_the_same_both_ways() {
        let parcel = fixture::parcel();
        let rules = Rules::default();
        let surfaces = Surfaces::of(&parcel);
        let (a, b) = (Coord { x: -20.0, y: -5.0 }, Coord { x: -10.0, y: -5.0 });
        let up = price(Line::new(a, b), &surfaces, &parcel.terrain, &rules).unwrap();
        let down = price(Line::new(b, a), &surfaces, &parcel.terrain, &rules).unwrap();
        assert!(
            (up - 10.0 * (1.0 + rules.cost_slope * 0.02)).abs() < 1e-3 && (up - down).abs() < 1e-9,
            "{up} {down}"
        );
    }
}
