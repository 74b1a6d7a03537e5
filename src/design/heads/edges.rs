//! Heads along the edges: corners first, then even parts between them.

use super::classes::Class;
use super::ground::Ground;
use crate::geometry::Ring;
use geo::orient::Direction;
use geo::{Coord, Orient};

/// Least turn of a corner that bulges outward, degrees, and of one that reaches into the turf.
const TURN_LEAST_DEG: (f64, f64) = (35.0, 45.0);
/// Throw of a head on a strip over the strip's width: throws aslant along the strip need fewer heads than throws just
/// across it, and the search shortens them where too much flies over. Found by trial on invented and mapped parks.
const THROW_PER_WIDTH: f64 = 1.3;
/// Longest step between the places at which the turn is measured, m.
const SAMPLE_M: f64 = 0.5;

/// A place for a head on the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePlace {
    /// Ring it is on.
    pub ring: usize,
    /// How far along the ring, m.
    pub run_m: f64,
    /// Where that is.
    pub at: Coord<f64>,
    /// Radius that fits the width there, m.
    pub radius_m: f64,
    /// Whether it is a corner, to be kept.
    pub corner: bool,
}

/// The rings heads stand on: turf to the left when walked.
pub fn rings(ground: &Ground) -> Vec<Ring> {
    ground
        .standing
        .orient(Direction::Default)
        .iter()
        .flat_map(|p| {
            std::iter::once(p.exterior())
                .chain(p.interiors())
                .cloned()
                .collect::<Vec<_>>()
        })
        .filter_map(|line| Ring::new(&line))
        .collect()
}

/// Radius that suits a width, within what the class offers.
pub fn radius_for(width_m: f64, class: &Class) -> f64 {
    (THROW_PER_WIDTH * width_m).clamp(class.radius_least_m(), class.radius_most_m())
}

/// Places on all rings, corners first, `spacing` being the share of the radius between heads, and `scale` how far they
/// throw over what the width asks for.
pub fn places(
    ground: &Ground,
    rings: &[Ring],
    class: &Class,
    (spacing, scale): (f64, f64),
    width_least_m: f64,
) -> Vec<EdgePlace> {
    let walks: Vec<Walk> = rings
        .iter()
        .map(|ring| Walk::new(ground, ring, class))
        .map(|walk| walk.scaled(scale, class))
        .collect();
    let mut places: Vec<EdgePlace> = Vec::new();
    let mut corners: Vec<Vec<usize>> = Vec::new();
    for (index, walk) in walks.iter().enumerate() {
        let mut kept: Vec<usize> = Vec::new();
        for sample in walk.corners() {
            let place = walk.place(index, sample, true);
            let wide = walk.width_m[sample] >= width_least_m;
            if wide && !ground.in_pit(place.at) && apart(&places, &place, 0.45) {
                places.push(place);
                kept.push(sample);
            }
        }
        kept.sort_unstable();
        corners.push(kept);
    }
    for (index, walk) in walks.iter().enumerate() {
        for run_m in walk.parts(&corners[index], spacing) {
            let place = walk.place_at(index, run_m);
            if walk.width_near(run_m) >= width_least_m && apart(&places, &place, 0.35) {
                places.push(place);
            }
        }
    }
    places
}

fn apart(places: &[EdgePlace], place: &EdgePlace, share: f64) -> bool {
    places.iter().all(|other| {
        let least = share * other.radius_m.min(place.radius_m);
        (other.at.x - place.at.x).hypot(other.at.y - place.at.y) >= least
    })
}

/// One ring sampled: turn and width by place.
struct Walk<'a> {
    ring: &'a Ring,
    run_m: Vec<f64>,
    width_m: Vec<f64>,
    radius_m: Vec<f64>,
    turn_deg: Vec<f64>,
}

impl<'a> Walk<'a> {
    fn new(ground: &Ground, ring: &'a Ring, class: &Class) -> Self {
        let run_m = samples(ring);
        let width: Vec<f64> = run_m
            .iter()
            .map(|&run| ground.width_at(ring.at(run)))
            .collect();
        let mut walk = Self {
            ring,
            width_m: width.clone(),
            radius_m: width.iter().map(|&w| radius_for(w, class)).collect(),
            turn_deg: Vec::new(),
            run_m,
        };
        walk.turn_deg = (0..walk.run_m.len()).map(|i| walk.turn(i)).collect();
        walk.spread_width(class);
        walk
    }

    /// The same with other throws.
    fn scaled(mut self, scale: f64, class: &Class) -> Self {
        for radius_m in &mut self.radius_m {
            *radius_m = (scale * *radius_m).max(class.radius_least_m());
        }
        self
    }

    fn count(&self) -> usize {
        self.run_m.len()
    }

    /// Turn at a sample over chords a fraction of the radius long: above 0 to the right, into the turf.
    fn turn(&self, sample: usize) -> f64 {
        let chord = (0.3 * self.radius_m[sample])
            .clamp(0.8, 3.0)
            .min(self.ring.length_m() / 6.0);
        let run = self.run_m[sample];
        let ahead = self.ring.bearing_deg(run, chord);
        let behind = self.ring.bearing_deg(run, -chord) + 180.0;
        (ahead - behind + 180.0).rem_euclid(360.0) - 180.0
    }

    /// In an outward corner only small discs fit, though the ground is wide: widths spread along the edge by half of
    /// themselves, but not past a corner that reaches into the turf, where the ground truly narrows.
    fn spread_width(&mut self, class: &Class) {
        let n = self.count();
        let length = self.ring.length_m();
        let original = self.width_m.clone();
        for (from, &width_m) in original.iter().enumerate() {
            for direction in [1, n - 1] {
                let mut i = from;
                let mut gone = 0.0;
                loop {
                    let next = (i + direction) % n;
                    let step = (self.run_m[next] - self.run_m[i]).rem_euclid(length);
                    gone += if direction == 1 {
                        step
                    } else {
                        (length - step).rem_euclid(length)
                    };
                    let stop = self.turn_deg[next] > TURN_LEAST_DEG.1;
                    if gone > 0.5 * width_m || next == from || stop {
                        break;
                    }
                    self.width_m[next] = self.width_m[next].max(width_m);
                    i = next;
                }
            }
        }
        self.radius_m = self.width_m.iter().map(|&w| radius_for(w, class)).collect();
    }

    /// Samples that are corners, sharpest first, each the sharpest of its neighbourhood.
    fn corners(&self) -> Vec<usize> {
        let sharp = |&i: &usize| {
            let turn = self.turn_deg[i];
            if turn > 0.0 {
                turn > TURN_LEAST_DEG.1
            } else {
                -turn > TURN_LEAST_DEG.0
            }
        };
        let mut order: Vec<usize> = (0..self.count()).filter(sharp).collect();
        order.sort_by(|&a, &b| {
            self.turn_deg[b]
                .abs()
                .total_cmp(&self.turn_deg[a].abs())
                .then(a.cmp(&b))
        });
        let mut kept: Vec<usize> = Vec::new();
        for i in order {
            let far = |&k: &usize| {
                let gap = (self.run_m[i] - self.run_m[k]).rem_euclid(self.ring.length_m());
                gap.min(self.ring.length_m() - gap) > 0.45 * self.radius_m[i]
            };
            if kept.iter().all(far) {
                kept.push(i);
            }
        }
        kept
    }

    fn place(&self, ring: usize, sample: usize, corner: bool) -> EdgePlace {
        EdgePlace {
            ring,
            run_m: self.run_m[sample],
            at: self.ring.at(self.run_m[sample]),
            radius_m: self.radius_m[sample],
            corner,
        }
    }

    fn place_at(&self, ring: usize, run_m: f64) -> EdgePlace {
        EdgePlace {
            run_m,
            at: self.ring.at(run_m),
            ..self.place(ring, self.sample_near(run_m), false)
        }
    }

    fn sample_near(&self, run_m: f64) -> usize {
        self.run_m
            .partition_point(|&s| s < run_m)
            .min(self.count() - 1)
    }

    fn width_near(&self, run_m: f64) -> f64 {
        self.width_m[self.sample_near(run_m)]
    }

    /// Places that divide the ring between its corners into even parts, measured in spacings.
    fn parts(&self, corners: &[usize], spacing: f64) -> Vec<f64> {
        let n = self.count();
        let mut runs = Vec::new();
        let spans: Vec<(usize, usize)> = match corners.len() {
            0 => vec![(0, n)],
            count => (0..count)
                .map(|i| (corners[i], corners[(i + 1) % count]))
                .map(|(a, b)| (a, if b > a { b } else { b + n }))
                .collect(),
        };
        for (from, to) in spans {
            let mut sums = vec![0.0];
            for i in from..to {
                let gap = self.gap_after(i % n);
                sums.push(sums[sums.len() - 1] + gap / (spacing * self.radius_m[i % n]));
            }
            let total = sums[sums.len() - 1];
            let parts = (total - 0.1).ceil().max(1.0);
            let first = usize::from(!corners.is_empty());
            for k in first..parts as usize {
                let wanted = total * k as f64 / parts;
                let after = sums
                    .partition_point(|&s| s <= wanted)
                    .clamp(1, sums.len() - 1);
                let share = (wanted - sums[after - 1]) / (sums[after] - sums[after - 1]).max(1e-12);
                let i = (from + after - 1) % n;
                runs.push(
                    (self.run_m[i] + share * self.gap_after(i)).rem_euclid(self.ring.length_m()),
                );
            }
        }
        runs
    }

    fn gap_after(&self, sample: usize) -> f64 {
        match self.run_m.get(sample + 1) {
            Some(next) => next - self.run_m[sample],
            None => self.ring.length_m() - self.run_m[sample],
        }
    }
}

/// Every vertex, and places between them where they are far apart.
fn samples(ring: &Ring) -> Vec<f64> {
    let mut runs = Vec::new();
    for vertex in 0..ring.points().len() - 1 {
        let (from, to) = (
            ring.run_at_vertex_m(vertex),
            ring.run_at_vertex_m(vertex + 1),
        );
        let steps = ((to - from) / SAMPLE_M).ceil().max(1.0);
        runs.extend((0..steps as usize).map(|i| from + (to - from) * i as f64 / steps));
    }
    runs
}
