//! The trenches that surveyed pipe lies in: straight, of one surface each; pipes on one line lie in one trench.

use crate::brief::Rules;
use crate::design::pipework::edge::Edge;
use crate::design::pipework::line::{Dug, dig};
use crate::design::settle::inverts::set_covers_of;
use crate::design::trenches::surfaces::Surfaces;
use crate::design::works::Works;
use crate::site::Parcel;
use geo::{Coord, Line};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Pipes no farther apart than this lie in one trench, m.
const BESIDE_M: f64 = 0.1;
/// Pieces shorter than this are not dug for themselves, m.
const SCRAP_M: f64 = 0.05;

/// A straight line that was dug, and its trenches.
struct Ditch {
    line: Line<f64>,
    length_m: f64,
    dug: Vec<Dug>,
}

type Boxed = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// Gives every pipe its trenches.
pub(super) fn set(works: &mut Works, parcel: &Parcel, rules: &Rules) {
    let surfaces = Surfaces::of(parcel);
    let band_m = (rules.lateral_cover_max_m - rules.lateral_cover_min_m)
        .min(rules.main_cover_max_m - rules.main_cover_min_m);
    let work = &mut works.pipework;
    work.trenches.clear();
    let mut legs: Vec<(usize, Line<f64>)> = Vec::new();
    for (pipe, of_work) in work.pipes.iter_mut().enumerate() {
        of_work.trenches.clear();
        legs.extend(of_work.line.lines().map(|leg| (pipe, leg)));
    }
    // The longest first, so that shorter ones on its line find it whole.
    let length_m = |leg: &Line<f64>| (leg.end.x - leg.start.x).hypot(leg.end.y - leg.start.y);
    legs.sort_by(|a, b| {
        length_m(&b.1)
            .total_cmp(&length_m(&a.1))
            .then(a.0.cmp(&b.0))
    });
    let mut ditches: Vec<Ditch> = Vec::new();
    let mut tree: RTree<Boxed> = RTree::new();
    let mut lies_in: Vec<Vec<(f64, usize)>> = vec![Vec::new(); work.pipes.len()];
    for (pipe, leg) in legs {
        let long_m = length_m(&leg);
        if long_m <= 0.0 {
            continue;
        }
        let begins_m = begins_m(&work.pipes[pipe].line, leg);
        let mut bare = vec![(0.0, 1.0)];
        let near = tree.locate_in_envelope_intersecting(&window(leg));
        let mut near: Vec<usize> = near.map(|boxed| boxed.data).collect();
        near.sort_unstable();
        for ditch in near {
            let ditch = &ditches[ditch];
            let Some((from, to)) = shared(ditch, leg) else {
                continue;
            };
            let free = overlap(&bare, (from, to));
            for &(from, to) in &free {
                let at = |share: f64| along(ditch, leg.start + leg.delta() * share);
                let (a, b) = (at(from).min(at(to)), at(from).max(at(to)));
                for &(trench, low, high) in &ditch.dug {
                    if low < b - 1e-9 && high > a + 1e-9 {
                        lies_in[pipe].push((begins_m + from * long_m, trench));
                    }
                }
            }
            bare = without(&bare, (from, to));
        }
        for (from, to) in bare {
            if (to - from) * long_m < SCRAP_M && to - from < 1.0 {
                continue;
            }
            let ends = [from, to].map(|share| leg.start + leg.delta() * share);
            let edge = Edge::survey(ends[0], ends[1], &surfaces, &parcel.terrain, band_m / 3.0);
            let dug = dig(work, &edge);
            for &(trench, low, _) in &dug {
                let share = from + low * (to - from);
                lies_in[pipe].push((begins_m + share * long_m, trench));
            }
            tree.insert(boxed(edge.line, ditches.len()));
            ditches.push(Ditch {
                line: edge.line,
                length_m: edge.length_m,
                dug,
            });
        }
    }
    for (pipe, mut trenches) in lies_in.into_iter().enumerate() {
        trenches.sort_by(|a, b| a.0.total_cmp(&b.0));
        let of_pipe = &mut work.pipes[pipe].trenches;
        for (_, trench) in trenches {
            if !of_pipe.contains(&trench) {
                of_pipe.push(trench);
                work.trenches[trench].pipes += 1;
            }
        }
    }
    set_covers_of(work, &parcel.terrain, |_| true);
}

fn boxed(line: Line<f64>, index: usize) -> Boxed {
    let (a, b) = (line.start, line.end);
    Boxed::new(Rectangle::from_corners([a.x, a.y], [b.x, b.y]), index)
}

fn window(leg: Line<f64>) -> AABB<[f64; 2]> {
    let (a, b) = (leg.start, leg.end);
    AABB::from_corners(
        [a.x.min(b.x) - BESIDE_M, a.y.min(b.y) - BESIDE_M],
        [a.x.max(b.x) + BESIDE_M, a.y.max(b.y) + BESIDE_M],
    )
}

/// How far from the beginning of a pipe one of its legs begins, m.
fn begins_m(line: &geo::LineString<f64>, leg: Line<f64>) -> f64 {
    let before = line.lines().take_while(|other| *other != leg);
    before.map(|leg| leg.delta().x.hypot(leg.delta().y)).sum()
}

/// A place on a ditch as a share of its length, not bound to it.
fn along(ditch: &Ditch, at: Coord<f64>) -> f64 {
    let (way, to) = (ditch.line.delta(), at - ditch.line.start);
    (to.x * way.x + to.y * way.y) / ditch.length_m.powi(2)
}

/// The part of a leg that lies in a ditch, as shares of the leg.
fn shared(ditch: &Ditch, leg: Line<f64>) -> Option<(f64, f64)> {
    let (a, b) = (along(ditch, leg.start), along(ditch, leg.end));
    if (a - b).abs() < 1e-9 {
        return None;
    }
    let share_at = |of_ditch: f64| ((of_ditch - a) / (b - a)).clamp(0.0, 1.0);
    let (x, y) = (share_at(0.0), share_at(1.0));
    let (from, to) = (x.min(y), x.max(y));
    let beside_m = |share: f64| {
        let at = leg.start + leg.delta() * share;
        let on = ditch.line.start + ditch.line.delta() * along(ditch, at);
        (at.x - on.x).hypot(at.y - on.y)
    };
    let long_m = leg.delta().x.hypot(leg.delta().y);
    let lies = (to - from) * long_m > SCRAP_M || to - from >= 1.0;
    // Two that merely cross come apart within their overlap.
    (lies && beside_m(from) <= BESIDE_M && beside_m(to) <= BESIDE_M).then_some((from, to))
}

fn overlap(parts: &[(f64, f64)], (from, to): (f64, f64)) -> Vec<(f64, f64)> {
    let cut = parts.iter().map(|part| (part.0.max(from), part.1.min(to)));
    cut.filter(|part| part.1 > part.0).collect()
}

fn without(parts: &[(f64, f64)], (from, to): (f64, f64)) -> Vec<(f64, f64)> {
    let left = parts
        .iter()
        .flat_map(|part| [(part.0, part.1.min(from)), (part.0.max(to), part.1)]);
    left.filter(|part| part.1 > part.0).collect()
}
