//! Seams: short straight lines across the necks between patches.

use super::beside;
use super::patches::Patches;
use crate::geometry::WidthMap;
use crate::geometry::cut::{EdgePlace, Seam};
use geo::{Contains, Coord, Intersects, Line, LineString, Point, Polygon};
use std::collections::{BTreeMap, BTreeSet};

/// The ends of a seam are looked for within this many widths of the narrower side. Common practice, no source.
const LOOK_WIDTHS: f64 = 1.2;
/// A seam longer than this many widths of the narrower side is not across a neck. Common practice, no source.
const LONGEST_WIDTHS: f64 = 1.6;
/// Nor is one shorter than this share of the border that it replaces: it would cut off a tooth of one edge.
const SHORTEST_SHARE: f64 = 0.5;
/// A metre away from the neck costs a seam's end this many metres of length, so that parallel edges are cut at the neck.
const AWAY_COST: f64 = 0.15;
/// A corner that juts into the turf is easily found again by the crew: worth this share of the width in length.
const CORNER_WORTH: f64 = 0.06;
/// Sine of the turn from which a vertex counts as such a corner.
const CORNER_TURN: f64 = 0.34;
/// Most places tried for one end, and pairs of places for a seam.
const TRIES: (usize, usize) = (80, 400);

/// Seams for all borders between patches, none of them touching another; a border without a straight way is left out.
pub fn necks(map: &WidthMap, piece: &Polygon<f64>, patches: &Patches) -> Vec<Seam> {
    let mut found: Vec<Seam> = Vec::new();
    for ((a, b), cells) in borders(map, patches) {
        let width_m = patches.width_m(a).min(patches.width_m(b));
        for border in clusters(map, cells) {
            let ends = ends_of(map, &border);
            if let Some(seam) = across(piece, ends, width_m, &found) {
                found.push(seam);
            }
        }
    }
    found
}

/// Cells along the border between each two patches.
fn borders(map: &WidthMap, patches: &Patches) -> BTreeMap<(usize, usize), BTreeSet<usize>> {
    let mut borders: BTreeMap<(usize, usize), BTreeSet<usize>> = BTreeMap::new();
    for cell in 0..map.grid.cells() {
        let Some(own) = patches.patch_at(cell) else {
            continue;
        };
        for other in beside(&map.grid, cell).filter_map(|other| patches.patch_at(other)) {
            if own < other {
                borders.entry((own, other)).or_default().insert(cell);
            }
        }
    }
    borders
}

/// Parts of a border that hang together, with gaps of a cell.
fn clusters(map: &WidthMap, mut cells: BTreeSet<usize>) -> Vec<Vec<usize>> {
    let columns = map.grid.columns as i64;
    let mut clusters = Vec::new();
    while let Some(first) = cells.pop_first() {
        let mut cluster = vec![first];
        let mut at = 0;
        while at < cluster.len() {
            for (dy, dx) in (-2..=2).flat_map(|dy| (-2..=2).map(move |dx| (dy, dx))) {
                let near = cluster[at] as i64 + dy * columns + dx;
                if near >= 0 && cells.remove(&(near as usize)) {
                    cluster.push(near as usize);
                }
            }
            at += 1;
        }
        clusters.push(cluster);
    }
    clusters
}

/// The two ends of a border: the cell farthest from its middle, and the one farthest from that.
fn ends_of(map: &WidthMap, border: &[usize]) -> [Coord<f64>; 2] {
    let centre = |&cell: &usize| {
        map.grid
            .centre(cell % map.grid.columns, cell / map.grid.columns)
    };
    let count = border.len() as f64;
    let sum = border.iter().map(centre).fold(Coord::zero(), |a, b| a + b);
    let farthest = |from: Coord<f64>| {
        let far = |at: &Coord<f64>| apart_m(*at, from);
        border
            .iter()
            .map(centre)
            .max_by(|a, b| far(a).total_cmp(&far(b)))
            .unwrap_or(from)
    };
    let one = farthest(sum / count);
    [one, farthest(one)]
}

fn apart_m(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

/// A place for an end, and what it costs beside the seam's length.
#[derive(Debug, Clone, Copy)]
struct End {
    place: EdgePlace,
    cost_m: f64,
}

/// The cheapest seam between the edges near both ends that lies in the piece and is clear of those found before.
fn across(
    piece: &Polygon<f64>,
    [one, other]: [Coord<f64>; 2],
    width_m: f64,
    found: &[Seam],
) -> Option<Seam> {
    let apart = apart_m(one, other);
    let nearer = |end: &End, own, far| apart_m(end.place.at, own) < apart_m(end.place.at, far);
    let (mut ones, mut others) = (
        ends_near(piece, one, width_m),
        ends_near(piece, other, width_m),
    );
    ones.retain(|end| nearer(end, one, other));
    others.retain(|end| nearer(end, other, one));
    let mut tries: Vec<(f64, Seam)> = Vec::new();
    for start in &ones {
        for end in &others {
            let seam = Seam {
                start: start.place,
                end: end.place,
            };
            let length_m = seam.length_m();
            if length_m >= SHORTEST_SHARE * apart && length_m <= LONGEST_WIDTHS * width_m {
                tries.push((length_m + start.cost_m + end.cost_m, seam));
            }
        }
    }
    tries.sort_by(|a, b| a.0.total_cmp(&b.0));
    let clear = |seam: &Seam| found.iter().all(|other| !touch(seam, other));
    tries
        .into_iter()
        .take(TRIES.1)
        .map(|(_, seam)| seam)
        .find(|seam| clear(seam) && lies_within(piece, seam))
}

fn touch(a: &Seam, b: &Seam) -> bool {
    Line::new(a.start.at, a.end.at).intersects(&Line::new(b.start.at, b.end.at))
}

/// Whether the seam crosses no edge and has the piece on both sides.
fn lies_within(piece: &Polygon<f64>, seam: &Seam) -> bool {
    let (a, b) = (seam.start.at, seam.end.at);
    let inset = (b - a) * 1e-6;
    let inner = Line::new(a + inset, b - inset);
    let crosses = |ring: &LineString<f64>| ring.lines().any(|line| line.intersects(&inner));
    !std::iter::once(piece.exterior())
        .chain(piece.interiors())
        .any(crosses)
        && piece.contains(&Point::from((a + b) / 2.0))
}

/// Places on the edges round `near`: vertices, the nearest place of each line, and more on long lines.
fn ends_near(piece: &Polygon<f64>, near: Coord<f64>, width_m: f64) -> Vec<End> {
    let look_m = LOOK_WIDTHS * width_m;
    let mut ends = Vec::new();
    for (ring, line) in std::iter::once(piece.exterior())
        .chain(piece.interiors())
        .enumerate()
    {
        let steps: Vec<Line<f64>> = line.lines().collect();
        for (number, step) in steps.iter().enumerate() {
            let before = &steps[(number + steps.len() - 1) % steps.len()];
            for share in shares_near(step, near, look_m) {
                let at = step.start + step.delta() * share;
                let away_m = apart_m(at, near);
                if away_m <= look_m {
                    let corner = share == 0.0 && juts_in(before, step);
                    let worth_m = if corner { CORNER_WORTH * width_m } else { 0.0 };
                    let cost_m = AWAY_COST * away_m - worth_m;
                    let place = EdgePlace {
                        ring,
                        line: number,
                        share,
                        at,
                    };
                    ends.push((away_m, End { place, cost_m }));
                }
            }
        }
    }
    thinned(ends)
}

/// The nearest place, corners, and evenly so many of the others.
fn thinned(mut ends: Vec<(f64, End)>) -> Vec<End> {
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let every = ends.len().div_ceil(TRIES.0).max(1);
    let kept = ends.into_iter().enumerate();
    kept.filter(|(number, (_, end))| number % every == 0 || end.cost_m < 0.0)
        .take(2 * TRIES.0)
        .map(|(_, (_, end))| end)
        .collect()
}

/// Places on a line to try: its start, the place nearest to `near`, and some to both sides of that.
fn shares_near(step: &Line<f64>, near: Coord<f64>, look_m: f64) -> Vec<f64> {
    let along = step.delta();
    let square = along.x * along.x + along.y * along.y;
    if square <= 0.0 {
        return Vec::new();
    }
    let off = near - step.start;
    let nearest = (off.x * along.x + off.y * along.y) / square;
    let foot = step.start + along * nearest.clamp(0.0, 1.0);
    if apart_m(foot, near) > look_m {
        return Vec::new();
    }
    let span = look_m / square.sqrt();
    let inner = (-10..=10)
        .map(|i| nearest + span * f64::from(i) / 10.0)
        .filter(|share| (1e-6..=1.0 - 1e-6).contains(share));
    std::iter::once(0.0).chain(inner).collect()
}

/// Whether the edge turns away from the turf at a vertex, so that its corner juts in.
fn juts_in(before: &Line<f64>, after: &Line<f64>) -> bool {
    let (a, b) = (before.delta(), after.delta());
    let lengths = a.x.hypot(a.y) * b.x.hypot(b.y);
    a.x * b.y - a.y * b.x < -CORNER_TURN * lengths
}
