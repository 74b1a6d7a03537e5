//! Cleaning of drawn polygons: what cannot change the meaning is repaired and listed, the rest is told.

use crate::site::crossing::{Meetings, meetings};
use crate::site::feature::RawPolygon;
use crate::site::rings::{Repairs, clean_ring, signed_area_m2};
use crate::site::shapes::closed;
use geo::bool_ops::FillRule;
use geo::orient::Direction;
use geo::{Area, BooleanOps, Coord, Intersects, MultiPolygon, Orient, Polygon, unary_union};

/// Rings with less area than this hold no ground.
const RING_LEAST_M2: f64 = 1e-4;
/// A loop of less than this is a slip of the mouse, and cutting it off changes nothing.
const LOOP_MOST_M2: f64 = 0.05;

/// A polygon feature after cleaning.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cleaned {
    /// Valid, outer rings counterclockwise. May be empty.
    pub(crate) shape: MultiPolygon<f64>,
    /// What was repaired, in words.
    pub(crate) repairs: Vec<String>,
    /// Where a ring crosses itself so that its meaning is in doubt. The shape then holds all its loops.
    pub(crate) crossing: Option<Coord<f64>>,
}

/// Cleans the polygons of one feature, already in metres. `winding_matters` tells wrong winding.
pub(crate) fn clean(polygons: &[RawPolygon], winding_matters: bool) -> Cleaned {
    let mut repairs = Repairs::default();
    let mut crossing = None;
    let mut parts: Vec<MultiPolygon<f64>> = Vec::new();
    for polygon in polygons {
        let (part, doubt) = clean_polygon(polygon, winding_matters, &mut repairs);
        crossing = crossing.or(doubt);
        if !part.0.is_empty() {
            parts.push(part);
        }
    }
    Cleaned {
        shape: together(parts, &mut repairs),
        repairs: repairs.words(),
        crossing,
    }
}

fn together(mut parts: Vec<MultiPolygon<f64>>, repairs: &mut Repairs) -> MultiPolygon<f64> {
    if parts.len() < 2 {
        return parts.pop().unwrap_or(MultiPolygon::new(Vec::new()));
    }
    let drawn_m2: f64 = parts.iter().map(Area::unsigned_area).sum();
    let polygons: Vec<Polygon<f64>> = parts.into_iter().flatten().collect();
    let whole = unary_union(&polygons);
    if drawn_m2 - whole.unsigned_area() > LOOP_MOST_M2 {
        repairs.add("joined parts that overlap", 1);
    }
    whole.orient(Direction::Default)
}

fn clean_polygon(
    polygon: &RawPolygon,
    winding_matters: bool,
    repairs: &mut Repairs,
) -> (MultiPolygon<f64>, Option<Coord<f64>>) {
    let mut rings = Vec::new();
    for (number, drawn) in polygon.iter().enumerate() {
        let ring = clean_ring(drawn, repairs);
        let area_m2 = signed_area_m2(&ring);
        // The two halves of a bow-tie cancel, yet it holds ground.
        if area_m2.abs() < RING_LEAST_M2 && !crosses_itself(&ring) {
            repairs.add("dropped a ring without area", 1);
            if number == 0 {
                return (MultiPolygon::new(Vec::new()), None);
            }
            continue;
        }
        let outer = number == 0;
        if winding_matters && area_m2.abs() >= RING_LEAST_M2 && outer != (area_m2 > 0.0) {
            repairs.add("turned a ring that was wound the wrong way", 1);
        }
        rings.push(ring);
    }
    if rings.is_empty() {
        return (MultiPolygon::new(Vec::new()), None);
    }
    assemble(rings, repairs)
}

fn crosses_itself(ring: &[Coord<f64>]) -> bool {
    let found = meetings(&[ring.to_vec()]);
    found.crosses_itself.iter().any(Option::is_some)
}

/// Rings to a valid shape: loops resolved, holes taken out.
fn assemble(
    rings: Vec<Vec<Coord<f64>>>,
    repairs: &mut Repairs,
) -> (MultiPolygon<f64>, Option<Coord<f64>>) {
    let found = meetings(&rings);
    let simple =
        found.crosses_itself.iter().all(Option::is_none) && !found.touches_itself.contains(&true);
    let areas: Vec<Polygon<f64>> = rings
        .iter()
        .map(|ring| Polygon::new(closed(ring.clone()), Vec::new()))
        .collect();
    let (shell, holes) = areas.split_at(1);
    let holes_inside = holes.iter().all(|hole| {
        hole.exterior()
            .0
            .first()
            .is_some_and(|at| shell[0].intersects(at))
    });
    if simple && !found.rings_meet && holes_inside {
        let interiors = holes.iter().map(|hole| hole.exterior().clone()).collect();
        let polygon = Polygon::new(shell[0].exterior().clone(), interiors);
        return (MultiPolygon::from(polygon.orient(Direction::Default)), None);
    }
    resolve(&rings, &areas, &found, repairs)
}

fn resolve(
    rings: &[Vec<Coord<f64>>],
    areas: &[Polygon<f64>],
    found: &Meetings,
    repairs: &mut Repairs,
) -> (MultiPolygon<f64>, Option<Coord<f64>>) {
    let nothing = MultiPolygon::new(Vec::new());
    let mut crossing = None;
    let mut resolved = Vec::new();
    for (index, area) in areas.iter().enumerate() {
        // Even-odd: a ring that touches itself falls apart into its loops.
        let loops = area.union(&nothing);
        if let Some(at) = found.crosses_itself[index] {
            let doubt_m2 = (loops.unsigned_area() - signed_area_m2(&rings[index]).abs()).abs();
            if doubt_m2 > LOOP_MOST_M2 {
                crossing = crossing.or(Some(at));
                // In doubt all that any loop goes round.
                resolved.push(area.union_with_fill_rule(&nothing, FillRule::NonZero));
                continue;
            } else {
                repairs.add("cut off a tiny loop", 1);
            }
        } else if found.touches_itself[index] {
            repairs.add("split a ring where it touches itself", 1);
        }
        resolved.push(loops);
    }
    if found.rings_meet {
        repairs.add("took out a hole that touches another ring", 1);
    }
    let holes: Vec<Polygon<f64>> = resolved.split_off(1).into_iter().flatten().collect();
    let shell = resolved.pop().unwrap_or(nothing);
    let shape = if holes.is_empty() {
        shell
    } else {
        let holes: Vec<Polygon<f64>> = holes
            .into_iter()
            .map(|hole| hole.orient(Direction::Default))
            .collect();
        shell.difference(&unary_union(&holes))
    };
    (shape.orient(Direction::Default), crossing)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Vec<Coord<f64>> {
        points.iter().map(|&(x, y)| Coord { x, y }).collect()
    }

    fn cleaned(points: &[(f64, f64)]) -> Cleaned {
        clean(&[vec![ring(points)]], true)
    }

    #[test]
    fn a_sound_square_is_left_alone() {
        let square = cleaned(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)]);
        assert!(square.repairs.is_empty() && square.crossing.is_none());
        assert_eq!(square.shape.unsigned_area(), 16.0);
    }

    #[test]
    fn open_clockwise_repeated_and_spiky_is_repaired_and_listed() {
        let square = cleaned(&[
            (0.0, 0.0),
            (0.0, 4.0),
            (0.0, 4.0),
            (2.0, 4.0),
            (2.0, 9.0),
            (2.001, 4.0),
            (4.0, 4.0),
            (4.0, 0.0),
        ]);
        let told = square.repairs.join("; ");
        for part in ["closed a ring", "repeated vertex", "spike", "wrong way"] {
            assert!(told.contains(part), "{part} is not in {told}");
        }
        assert!((square.shape.unsigned_area() - 16.0).abs() < 0.01);
        assert!(square.shape.signed_area() > 0.0);
    }

    #[test]
    fn a_bow_tie_is_in_doubt_and_a_tiny_loop_is_not() {
        let bow_tie = cleaned(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0), (0.0, 0.0)]);
        assert_eq!(bow_tie.crossing, Some(Coord { x: 2.0, y: 2.0 }));
        let slip = cleaned(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (2.0, 4.0),
            (2.05, 4.1),
            (1.95, 4.1),
            (2.02, 4.0),
            (0.0, 4.0),
        ]);
        assert_eq!(slip.crossing, None, "{slip:?}");
        assert!((slip.shape.unsigned_area() - 16.0).abs() < 0.02);
    }

    #[test]
    fn a_ring_pinched_in_the_middle_falls_into_two_pieces_of_the_same_area() {
        let pinched = cleaned(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (2.0, 2.0),
            (4.0, 4.0),
            (0.0, 4.0),
            (2.0, 2.0),
            (0.0, 0.0),
        ]);
        assert!(pinched.crossing.is_none());
        assert!(
            (pinched.shape.unsigned_area() - 8.0).abs() < 1e-6,
            "{pinched:?}"
        );
    }

    #[test]
    fn a_hole_that_sticks_out_is_taken_out_where_it_lies() {
        let shell = ring(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        let hole = ring(&[(3.0, 1.0), (3.0, 3.0), (6.0, 3.0), (6.0, 1.0)]);
        let notched = clean(&[vec![shell, hole]], false);
        assert!((notched.shape.unsigned_area() - 14.0).abs() < 1e-6);
    }

    #[test]
    fn a_hole_that_crosses_and_follows_itself_is_resolved() {
        let shell = ring(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]);
        let hole = ring(&[
            (2.0, 2.0),
            (1.0, 1.0),
            (2.0, 1.0),
            (2.0, 3.0),
            (4.0, 3.0),
            (0.0, 1.0),
            (3.0, 0.0),
        ]);
        let cleaned = clean(&[vec![shell, hole]], true);
        assert!(cleaned.shape.is_valid());
        // The hole lies above the line from (0, 1) to (3, 0), the shell below: nothing is cut.
        assert!((cleaned.shape.unsigned_area() - 0.5).abs() < 1e-6);
    }

    use geo::{BoundingRect, Validation};
    use proptest::prelude::*;

    fn vertices() -> impl Strategy<Value = Vec<Coord<f64>>> {
        // A coarse lattice, so that vertices repeat and edges touch, cross and overlap often.
        let vertex = (0..6_i32, 0..6_i32);
        let place = |(x, y)| Coord {
            x: f64::from(x),
            y: f64::from(y),
        };
        prop::collection::vec(vertex.prop_map(place), 0..12)
    }

    proptest! {
        #[test]
        fn whatever_is_drawn_comes_out_valid_and_inside_its_box(
            shell in vertices(),
            hole in vertices(),
        ) {
            let cleaned = clean(&[vec![shell.clone(), hole]], true);
            prop_assert!(cleaned.shape.is_valid(), "{:?}", cleaned.shape.validation_errors());
            if let Some(bounds) = cleaned.shape.bounding_rect() {
                let drawn = crate::site::feature::bounds_of(&shell).expect("a shell");
                prop_assert!(bounds.min().x > drawn.min().x - 0.01 && bounds.max().y < drawn.max().y + 0.01);
            }
        }
    }
}
