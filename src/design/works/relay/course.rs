//! Courses of pipe on the ground plan: the nearest place on one, one cut in two, the trenches along one.

use crate::design::model::Trench;
use geo::{Coord, LineString};

/// Trench beside which a pipe lies no longer than this is another's, m.
const OVERLAP_M: f64 = 1e-3;

/// A place on a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Share of the course's length before it.
    pub share: f64,
    pub at: Coord<f64>,
    /// Its distance from what was asked for, m.
    pub off_m: f64,
}

fn length_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (b.x - a.x).hypot(b.y - a.y)
}

/// Length of a course, m.
pub(super) fn along_m(line: &LineString<f64>) -> f64 {
    line.0.windows(2).map(|leg| length_m(leg[0], leg[1])).sum()
}

/// The place of a course nearest to another; `None` where it has no place that can be computed with.
pub(super) fn nearest(line: &LineString<f64>, to: Coord<f64>) -> Option<Place> {
    let whole_m = along_m(line).max(1e-12);
    let mut passed_m = 0.0;
    let mut best: Option<Place> = None;
    for leg in line.0.windows(2) {
        let (way, leg_m) = (leg[1] - leg[0], length_m(leg[0], leg[1]));
        let offset = to - leg[0];
        let part = if leg_m > 0.0 {
            ((offset.x * way.x + offset.y * way.y) / (leg_m * leg_m)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let at = leg[0] + way * part;
        let place = Place {
            share: (passed_m + part * leg_m) / whole_m,
            at,
            off_m: length_m(at, to),
        };
        if place.off_m.is_finite() && best.is_none_or(|best| place.off_m < best.off_m) {
            best = Some(place);
        }
        passed_m += leg_m;
    }
    best
}

/// The place at a share of a course.
pub(super) fn at(line: &LineString<f64>, share: f64) -> Coord<f64> {
    cut(line, share).0.0.last().copied().unwrap_or_default()
}

/// A course cut at a share of its length.
pub(super) fn cut(line: &LineString<f64>, share: f64) -> (LineString<f64>, LineString<f64>) {
    let wanted_m = along_m(line) * share.clamp(0.0, 1.0);
    let (mut before, mut passed_m) = (Vec::new(), 0.0);
    for (i, leg) in line.0.windows(2).enumerate() {
        before.push(leg[0]);
        let leg_m = length_m(leg[0], leg[1]);
        if passed_m + leg_m >= wanted_m || i + 2 == line.0.len() {
            let part = if leg_m > 0.0 {
                ((wanted_m - passed_m) / leg_m).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let here = leg[0] + (leg[1] - leg[0]) * part;
            before.push(here);
            let after = std::iter::once(here).chain(line.0[i + 1..].iter().copied());
            return (LineString(before), LineString(after.collect()));
        }
        passed_m += leg_m;
    }
    (line.clone(), line.clone())
}

/// Those of some trenches that a piece of a course lies in; all of them where none lies along it.
pub(super) fn trenches_along(
    piece: &LineString<f64>,
    among: &[usize],
    trenches: &[Trench],
) -> Vec<usize> {
    let shares = |trench: &Trench| -> Option<(f64, f64)> {
        let (first, last) = (trench.line.0.first()?, trench.line.0.last()?);
        Some((nearest(piece, *first)?.share, nearest(piece, *last)?.share))
    };
    let overlap_m = |trench: usize| {
        let between = shares(&trenches[trench]);
        between.map_or(0.0, |(a, b)| (b - a).abs() * along_m(piece))
    };
    let along = among.iter().copied().filter(|t| overlap_m(*t) > OVERLAP_M);
    let along: Vec<usize> = along.collect();
    if along.is_empty() {
        among.to_vec()
    } else {
        along
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_course_is_cut_where_it_is_nearest_and_both_pieces_meet_there() {
        let line = LineString::from(vec![(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]);
        let place = nearest(&line, Coord { x: 12.0, y: 5.0 }).unwrap();
        assert!((place.share - 0.75).abs() < 1e-12 && (place.off_m - 2.0).abs() < 1e-12);
        let (before, after) = cut(&line, place.share);
        assert_eq!(before.0.last(), after.0.first());
        assert!((along_m(&before) - 15.0).abs() < 1e-9 && (along_m(&after) - 5.0).abs() < 1e-9);
    }
}
