//! Slips of the drawing: a loose end that stops short of the next pipe, two pipes that cross where a joint is missing.

use super::lines::{Lines, Nearest, SurveyNet};
use crate::brief::Rules;
use crate::finding::Finding;
use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line};

/// How far beside its line a joint may lie that a loose end points at, over the distance along it.
const ASIDE: f64 = 0.3;

/// Joins what only a slip keeps apart, and tells it.
pub(super) fn mend(net: &mut SurveyNet, rules: &Rules, findings: &mut Vec<Finding>) {
    let mut lines = Lines::of(net);
    close_gaps(net, &mut lines, rules.existing_gap_m, findings);
    join_crossings(net, &mut lines, findings);
}

/// Loose ends within reach of another piece of their part are joined to it, shortest gap first found by index.
fn close_gaps(net: &mut SurveyNet, lines: &mut Lines, gap_m: f64, findings: &mut Vec<Finding>) {
    let degrees = net.degrees();
    for joint in 0..degrees.len() {
        let here = &net.joints[joint];
        let ends_well = here.head.is_some() || here.valve.is_some() || here.name.is_some();
        if degrees[joint] != 1 || ends_well {
            continue;
        }
        let pieces = net.pieces();
        let found = net.nearest(
            lines,
            here.at,
            gap_m,
            |line| pieces[line.from] != pieces[joint] && here.suits(line.part),
            |other| pieces[other] != pieces[joint],
        );
        let Some(found) = found else {
            continue;
        };
        let (far_m, nearest) = ahead(net, lines, joint, gap_m, &pieces).unwrap_or(found);
        let at = net.joints[joint].at;
        let other = match nearest {
            Nearest::Joint(other) => other,
            Nearest::Along(line, at) => net.cut(lines, line, at),
        };
        let message = format!(
            "there is a gap of {far_m:.2} m between two ends of pipe; they are reckoned as joined. Look whether it is on the ground, and draw the pipe through."
        );
        let middle = (at + net.joints[other].at) / 2.0;
        findings.push(Finding::warning("existing_gap", message).at(middle));
        net.merge(other, joint);
    }
}

/// The joint that a loose end points at, before any pipe that merely passes nearer beside it.
fn ahead(
    net: &SurveyNet,
    lines: &Lines,
    end: usize,
    gap_m: f64,
    pieces: &[usize],
) -> Option<(f64, Nearest)> {
    let here = &net.joints[end];
    let own = lines.near(here.at, gap_m);
    let own = own.into_iter().map(|line| &net.lines[line]);
    let own = own.filter(|line| line.from == end || line.to == end);
    let points = &own.into_iter().next()?.line.0;
    let back = if points[0] == here.at {
        *points.get(1)?
    } else {
        *points.get(points.len().checked_sub(2)?)?
    };
    let way = here.at - back;
    let long_m = way.x.hypot(way.y).max(1e-9);
    let points_at = |joint: usize| {
        let to = net.joints[joint].at - here.at;
        let along_m = (to.x * way.x + to.y * way.y) / long_m;
        let beside_m = (to.x * way.y - to.y * way.x).abs() / long_m;
        pieces[joint] != pieces[end] && along_m > 0.0 && beside_m <= ASIDE * along_m
    };
    let suits = |line: &super::lines::PipeLine| here.suits(line.part);
    let found = net.nearest_joint(lines, here.at, gap_m, suits, points_at)?;
    Some((found.0, Nearest::Joint(found.1)))
}

/// Pipes of one part that cross, and belong to two pieces, are joined there.
fn join_crossings(net: &mut SurveyNet, lines: &mut Lines, findings: &mut Vec<Finding>) {
    let mut index = 0;
    while index < net.lines.len() {
        if let Some((other, at)) = crossing(net, lines, index) {
            let message = "two pipes of one part cross without a joint, and one of them hangs on nothing else; they are reckoned as joined. Draw the joint, or what feeds the one.";
            findings.push(Finding::warning("existing_crossing", message).at(at));
            let first = net.cut(lines, index, at);
            let second = net.cut(lines, other, at);
            net.merge(first, second);
            continue;
        }
        index += 1;
    }
}

fn crossing(net: &SurveyNet, lines: &Lines, index: usize) -> Option<(usize, Coord<f64>)> {
    let line = &net.lines[index];
    let middle = line.line.0[line.line.0.len() / 2];
    let reach_m = super::lines::plan_m(&line.line);
    let beside = lines.near(middle, reach_m);
    let mut pieces = None;
    for other in beside.into_iter().filter(|other| *other > index) {
        let there = &net.lines[other];
        if !line.part.suits(there.part) {
            continue;
        }
        for a in line.line.lines() {
            for b in there.line.lines() {
                if let Some(at) = proper(a, b) {
                    let pieces = pieces.get_or_insert_with(|| net.pieces());
                    if pieces[line.from] != pieces[there.from] {
                        return Some((other, at));
                    }
                }
            }
        }
    }
    None
}

fn proper(a: Line<f64>, b: Line<f64>) -> Option<Coord<f64>> {
    match line_intersection(a, b) {
        Some(LineIntersection::SinglePoint {
            intersection,
            is_proper: true,
        }) => Some(intersection),
        _ => None,
    }
}
