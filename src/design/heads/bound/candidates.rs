//! Where heads might stand and what arcs they might have; sample points of the ground.
//!
//! The piece is turned to its smallest rectangle first, so that the estimate does not depend on how it lies.

use crate::brief::Profile;
use crate::design::coverage::profile::depth_factor;
use crate::geometry::{Grid, fill};
use geo::{
    Area, BoundingRect, Buffer, Centroid, Coord, Line, LineString, MinimumRotatedRect,
    MultiPolygon, Polygon, Rotate, Simplify,
};
use std::f64::consts::{PI, TAU};

/// Sample points to a radius.
const SAMPLES_TO_RADIUS: f64 = 5.0;
/// Fewest sample points wanted; small pieces get a finer grid for it.
const SAMPLES_LEAST: f64 = 160.0;
/// Places along an edge and inside, to a radius.
const EDGE_PLACES_TO_RADIUS: f64 = 4.0;
const INNER_PLACES_TO_RADIUS: f64 = 3.0;
/// Cells of the mask of the piece to a radius.
const MASK_TO_RADIUS: f64 = 32.0;
/// Parts of a full circle that arcs are made of; a multiple of 4, so that right angles are met.
const SECTORS: usize = 72;
/// Parts of a radius along which water is counted on and off the piece.
const RINGS: usize = 12;
/// Prices of a unit of water off the piece against one on it, each of which makes an arc; the first makes a full circle.
const PRICES: [f64; 4] = [0.0, 0.4, 1.2, 6.0];
/// Fewest sectors of an arc: 30°.
const SECTORS_LEAST: usize = SECTORS / 12;

/// A piece, turned, with its sample points and a mask of it.
pub(super) struct Ground {
    /// Inset by the set-back.
    inset: MultiPolygon<f64>,
    radius_m: f64,
    grid: Grid,
    on: Vec<bool>,
    /// Sample points.
    pub samples: Vec<Coord<f64>>,
    /// Ground a sample point stands for, m².
    pub sample_m2: f64,
}

/// A place for a head, and the bearing (radians from x, anticlockwise) that its arcs are aligned with.
pub(super) struct Place {
    at: Coord<f64>,
    bearing: f64,
}

/// A throw of a head.
pub(super) struct Throw {
    at: Coord<f64>,
    radius_m: f64,
    /// Bearing of the right-hand end, and sweep to the left of it, radians.
    start: f64,
    sweep: f64,
    /// Shares of a full circle's water on and off the piece.
    pub on: f64,
    pub off: f64,
}

impl Ground {
    /// `None` where the inset piece is empty or would need more than the most sample points.
    pub fn of(piece: &Polygon<f64>, radius_m: f64, setback_m: f64) -> Option<Self> {
        let piece = turned(piece)?;
        let inset = piece.buffer(-setback_m.max(0.0));
        let bounds = inset.bounding_rect()?;
        let area_m2 = inset.unsigned_area();
        let usable = radius_m > 0.0 && area_m2 > 0.0 && bounds.width().is_finite();
        let samples = (area_m2 * (SAMPLES_TO_RADIUS / radius_m).powi(2)).max(SAMPLES_LEAST);
        if !usable || samples > super::covering::SAMPLES_MOST as f64 {
            return None;
        }
        let (samples, sample_m2) = lattice(&inset, (area_m2 / samples).sqrt());
        let grid = Grid::over(piece.bounding_rect()?, 0.0, radius_m / MASK_TO_RADIUS);
        let mut on = vec![false; grid.cells()];
        fill(&grid, &piece.into(), |cell| on[cell] = true);
        Some(Self {
            inset,
            radius_m,
            grid,
            on,
            samples,
            sample_m2,
        })
    }

    /// Places along every edge, corners among them, and on a lattice inside.
    pub fn places(&self) -> Vec<Place> {
        let mut places = Vec::new();
        for polygon in &self.inset {
            for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                self.along(ring, &mut places);
            }
        }
        let (inside, _) = lattice(&self.inset, self.radius_m / INNER_PLACES_TO_RADIUS);
        places.extend(inside.into_iter().map(|at| Place { at, bearing: 0.0 }));
        places
    }

    fn along(&self, ring: &LineString<f64>, places: &mut Vec<Place>) {
        let step_m = self.radius_m / EDGE_PLACES_TO_RADIUS;
        for line in ring.simplify(0.01 * self.radius_m).lines() {
            let Line { start, end } = line;
            let (dx, dy) = (end.x - start.x, end.y - start.y);
            let parts = (dx.hypot(dy) / step_m - 0.1).ceil().max(1.0) as usize;
            places.extend(
                (0..parts)
                    .map(|i| i as f64 / parts as f64)
                    .map(|share| Place {
                        at: start + Coord { x: dx, y: dy } * share,
                        bearing: dy.atan2(dx),
                    }),
            );
        }
    }

    fn is_on(&self, at: Coord<f64>) -> bool {
        self.grid.index_of(at).is_some_and(|cell| self.on[cell])
    }

    /// The arcs worth trying there: for each price of water off the piece the run of sectors that gains most.
    pub fn throws(&self, place: &Place, radius_m: f64, profile: Profile) -> Vec<Throw> {
        let on = self.share_on(place, radius_m, profile);
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for price in PRICES {
            let gains: Vec<f64> = on.iter().map(|on| on - price * (1.0 - on)).collect();
            let run = if price == 0.0 {
                (0, SECTORS)
            } else {
                best_run(&gains)
            };
            if run.1 >= SECTORS_LEAST && !runs.contains(&run) {
                runs.push(run);
            }
        }
        let sector = TAU / SECTORS as f64;
        let throw = |(from, count): (usize, usize)| {
            let wet: f64 = (from..from + count).map(|i| on[i % SECTORS]).sum();
            Throw {
                at: place.at,
                radius_m,
                start: place.bearing + from as f64 * sector,
                sweep: count as f64 * sector,
                on: wet / SECTORS as f64,
                off: (count as f64 - wet) / SECTORS as f64,
            }
        };
        runs.into_iter().map(throw).collect()
    }

    /// Share of the water of each sector that falls on the piece.
    fn share_on(&self, place: &Place, radius_m: f64, profile: Profile) -> Vec<f64> {
        let rings: Vec<(f64, f64)> = (0..RINGS)
            .map(|ring| (ring as f64 + 0.5) / RINGS as f64)
            .map(|share| (share * radius_m, share * depth_factor(profile, share)))
            .collect();
        let all: f64 = rings.iter().map(|ring| ring.1).sum();
        let sector = |i: usize| {
            let (sin, cos) = (place.bearing + (i as f64 + 0.5) * TAU / SECTORS as f64).sin_cos();
            let wet = rings.iter().filter(|(r, _)| {
                let (x, y) = (place.at.x + r * cos, place.at.y + r * sin);
                self.is_on(Coord { x, y })
            });
            wet.map(|ring| ring.1).sum::<f64>() / all
        };
        (0..SECTORS).map(sector).collect()
    }

    /// Depth at the sample points it wets, in shares of the matched rate: at that rate a full circle waters `r²`, so
    /// the mean over its `π r²` is `1/π`.
    pub fn depths(&self, throw: &Throw, profile: Profile) -> Vec<(usize, f64)> {
        let wetted = |(i, sample): (usize, &Coord<f64>)| {
            let (dx, dy) = (sample.x - throw.at.x, sample.y - throw.at.y);
            let share = dx.hypot(dy) / throw.radius_m;
            if share >= 1.0 || (dy.atan2(dx) - throw.start).rem_euclid(TAU) > throw.sweep {
                return None;
            }
            let depth = depth_factor(profile, share) / PI;
            (depth > 0.0).then_some((i, depth))
        };
        self.samples.iter().enumerate().filter_map(wetted).collect()
    }
}

/// The piece with its smallest rectangle along the axes, the long side along x.
fn turned(piece: &Polygon<f64>) -> Option<Polygon<f64>> {
    let rectangle = piece.minimum_rotated_rect()?;
    let longest = rectangle.exterior().lines().max_by(|a, b| {
        let length = |line: &Line<f64>| (line.dx().hypot(line.dy()) * 1e6).round();
        length(a).total_cmp(&length(b))
    })?;
    let degrees = longest.dy().atan2(longest.dx()).to_degrees();
    Some(piece.rotate_around_point(-degrees, rectangle.centroid()?))
}

/// Centres of even cells about `step_m` wide over the shape's rectangle that lie in it; and the area of a cell, m².
fn lattice(shape: &MultiPolygon<f64>, step_m: f64) -> (Vec<Coord<f64>>, f64) {
    let Some(bounds) = shape.bounding_rect() else {
        return (Vec::new(), 0.0);
    };
    let parts = |length_m: f64| (length_m / step_m).round().max(1.0);
    let (columns, rows) = (parts(bounds.width()), parts(bounds.height()));
    let (dx, dy) = (bounds.width() / columns, bounds.height() / rows);
    let mut inside = Vec::new();
    for row in 0..rows as usize {
        for column in 0..columns as usize {
            let at = Coord {
                x: bounds.min().x + (column as f64 + 0.5) * dx,
                y: bounds.min().y + (row as f64 + 0.5) * dy,
            };
            if geo::Intersects::intersects(shape, &at) {
                inside.push(at);
            }
        }
    }
    (inside, dx * dy)
}

/// First sector and number of sectors of the run of greatest sum round a circle.
///
/// Kadane's scan for the greatest run, and for the least one, whose complement goes over the end of the list
/// (Bentley 1984, Commun. ACM 27:865, from memory).
fn best_run(gains: &[f64]) -> (usize, usize) {
    let straight = greatest(gains.iter().copied());
    let round = greatest(gains.iter().map(|gain| -gain));
    let all: f64 = gains.iter().sum();
    if all + round.0 > straight.0 + 1e-12 {
        let (_, from, count) = round;
        ((from + count) % gains.len(), gains.len() - count)
    } else {
        (straight.1, straight.2)
    }
}

/// Sum, start and length of the run of greatest sum in a row; an empty one counts 0.
fn greatest(gains: impl Iterator<Item = f64>) -> (f64, usize, usize) {
    let mut best = (0.0, 0, 0);
    let (mut sum, mut from) = (0.0, 0);
    for (i, gain) in gains.enumerate() {
        if sum <= 0.0 {
            (sum, from) = (0.0, i);
        }
        sum += gain;
        if sum > best.0 {
            best = (sum, from, i + 1 - from);
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn the_best_run_goes_round_the_end_of_the_list() {
        assert_eq!(best_run(&[2.0, -1.0, -5.0, 1.0]), (3, 2));
        assert_eq!(best_run(&[-1.0, 2.0, 3.0, -1.0]), (1, 2));
        assert_eq!(best_run(&[1.0; 4]), (0, 4));
        assert_eq!(best_run(&[-1.0; 4]).1, 0);
    }

    #[test]
    fn heads_of_a_rectangle_get_quarters_halves_and_circles() {
        let piece = polygon![(x: 0., y: 0.), (x: 60., y: 0.), (x: 60., y: 40.), (x: 0., y: 40.)];
        let ground = Ground::of(&piece, 12.0, 0.12).unwrap();
        let sweeps: Vec<Vec<f64>> = ground
            .places()
            .iter()
            .map(|place| ground.throws(place, 12.0, Profile::Cone))
            .map(|throws| {
                throws
                    .iter()
                    .map(|t| t.sweep.to_degrees().round())
                    .collect()
            })
            .collect();
        for degrees in [90.0, 180.0, 360.0] {
            assert!(sweeps.iter().any(|sweeps| sweeps.contains(&degrees)));
        }
        assert!(sweeps.iter().any(|sweeps| sweeps == &[360.0]));
    }

    #[test]
    fn a_full_circle_waters_the_square_of_its_radius() {
        let piece = polygon![(x: 0., y: 0.), (x: 40., y: 0.), (x: 40., y: 40.), (x: 0., y: 40.)];
        let ground = Ground::of(&piece, 10.0, 0.0).unwrap();
        for profile in [
            Profile::Cone,
            Profile::Parabola,
            Profile::Ellipse,
            Profile::Uniform,
        ] {
            let middle = Place {
                at: Coord { x: 20.0, y: 20.0 },
                bearing: 0.0,
            };
            let throws = ground.throws(&middle, 10.0, profile);
            assert_eq!(throws.len(), 1);
            let (on, off) = (throws[0].on, throws[0].off);
            assert!((on - 1.0).abs() < 1e-12 && off.abs() < 1e-12, "{on} {off}");
            let depths = ground.depths(&throws[0], profile);
            let water: f64 = depths.iter().map(|d| d.1 * ground.sample_m2).sum();
            assert!((water / 100.0 - 1.0).abs() < 0.05, "{profile:?} {water}");
        }
    }
}
