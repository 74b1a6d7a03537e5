//! Narrow strips: the two long sides of one, so that a single row of heads can stand along either.

use super::symmetry::Map;
use crate::geometry::Ring;
use geo::Coord;

/// Places round a ring among which the two ends of a strip are looked for.
const PLACES: usize = 96;
/// Pairs of places, one on each side, at which the breadth between two sides is measured.
const PAIRS: usize = 32;
/// Each side of a strip is at least this share of its ring.
const SIDE_LEAST: f64 = 0.35;
/// Greatest mean breadth between two sides over the width of the strip: with more it forks, or is no strip.
const BREADTH_MOST: f64 = 1.8;
/// How far an image of a side may lie off it, m.
const OFF_MOST_M: f64 = 1e-3;

/// A long side of a strip: a stretch of a ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// The ring.
    pub ring: usize,
    from_m: f64,
    length_m: f64,
    whole_m: f64,
}

impl Side {
    /// Whether a place of a ring lies on the side.
    pub fn holds(&self, ring: usize, run_m: f64) -> bool {
        ring == self.ring && (run_m - self.from_m).rem_euclid(self.whole_m) <= self.length_m
    }

    /// Whether a turn or mirror leaves the side where it is.
    pub fn keeps(&self, map: &Map, rings: &[Ring]) -> bool {
        let ring = &rings[self.ring];
        [0.1, 0.3, 0.5, 0.8].iter().all(|share| {
            let image = map.place(ring.at(self.from_m + share * self.length_m));
            let (run_m, off_m) = ring.run_near(image);
            off_m <= OFF_MOST_M && self.holds(self.ring, run_m)
        })
    }
}

/// The two long sides of a strip `width_m` wide; none where the rings are not those of a single strip.
///
/// A strip that closes in itself has a ring on either side. Of another the ring is parted at the two places between which
/// its halves, walked from one to the other, keep closest together.
pub fn sides(rings: &[Ring], width_m: f64) -> Vec<Side> {
    match rings {
        [ring] => halves(ring, width_m),
        [_, _] => {
            let whole = |(index, ring): (usize, &Ring)| Side {
                ring: index,
                from_m: 0.0,
                length_m: ring.length_m(),
                whole_m: ring.length_m(),
            };
            rings.iter().enumerate().map(whole).collect()
        }
        _ => Vec::new(),
    }
}

fn halves(ring: &Ring, width_m: f64) -> Vec<Side> {
    let whole_m = ring.length_m();
    let step_m = whole_m / PLACES as f64;
    let places: Vec<Coord<f64>> = (0..PLACES).map(|i| ring.at(i as f64 * step_m)).collect();
    let least = (SIDE_LEAST * PLACES as f64) as usize;
    let mut best = (f64::INFINITY, 0, 0);
    for from in 0..PLACES {
        for length in least..=PLACES / 2 {
            let breadth_m = breadth(&places, from, length);
            if breadth_m < best.0 {
                best = (breadth_m, from, length);
            }
        }
    }
    let (breadth_m, from, length) = best;
    if breadth_m > BREADTH_MOST * width_m {
        return Vec::new();
    }
    let side = |from: usize, length: usize| Side {
        ring: 0,
        from_m: from as f64 * step_m,
        length_m: length as f64 * step_m,
        whole_m,
    };
    vec![
        side(from, length),
        side((from + length) % PLACES, PLACES - length),
    ]
}

/// Mean distance of places equally far along a side and, backwards, along the rest of the ring.
fn breadth(places: &[Coord<f64>], from: usize, length: usize) -> f64 {
    let rest = PLACES - length;
    let mut sum = 0.0;
    for pair in 0..PAIRS {
        let share = (pair as f64 + 0.5) / PAIRS as f64;
        let ahead = places[(from + (share * length as f64).round() as usize) % PLACES];
        let back = places[(from + PLACES - (share * rest as f64).round() as usize) % PLACES];
        sum += (ahead.x - back.x).hypot(ahead.y - back.y);
    }
    sum / PAIRS as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::LineString;

    fn ring(points: &[(f64, f64)]) -> Ring {
        let mut line = LineString::from(points.to_vec());
        line.close();
        Ring::new(&line).unwrap()
    }

    /// Which of two sides holds the place nearest to (x, y).
    fn side_of(sides: &[Side], ring: &Ring, at: (f64, f64)) -> Vec<usize> {
        let (run_m, _) = ring.run_near(Coord::from(at));
        (0..sides.len())
            .filter(|&i| sides[i].holds(0, run_m))
            .collect()
    }

    #[test]
    fn a_straight_strip_is_parted_at_its_short_ends() {
        let strip = ring(&[(0., 0.), (40., 0.), (40., 2.), (0., 2.)]);
        let sides = sides(std::slice::from_ref(&strip), 2.0);
        assert_eq!(sides.len(), 2);
        let south = side_of(&sides, &strip, (20.0, 0.0));
        let north = side_of(&sides, &strip, (20.0, 2.0));
        assert_eq!(south.len(), 1);
        assert_ne!(south, north);
        for x in [2.0, 10.0, 38.0] {
            assert_eq!(side_of(&sides, &strip, (x, 0.0)), south, "{x}");
            assert_eq!(side_of(&sides, &strip, (x, 2.0)), north, "{x}");
        }
    }

    #[test]
    fn a_strip_round_a_bend_is_parted_at_its_ends() {
        let strip = ring(&[
            (0., 0.),
            (30., 0.),
            (30., 30.),
            (28., 30.),
            (28., 2.),
            (0., 2.),
        ]);
        let sides = sides(std::slice::from_ref(&strip), 2.0);
        assert_eq!(sides.len(), 2);
        let outer = side_of(&sides, &strip, (15.0, 0.0));
        assert_eq!(side_of(&sides, &strip, (30.0, 15.0)), outer);
        assert_ne!(side_of(&sides, &strip, (15.0, 2.0)), outer);
        assert_ne!(side_of(&sides, &strip, (28.0, 15.0)), outer);
    }

    #[test]
    fn a_cross_has_no_two_sides() {
        let cross = ring(&[
            (-20., -1.),
            (-1., -1.),
            (-1., -20.),
            (1., -20.),
            (1., -1.),
            (20., -1.),
            (20., 1.),
            (1., 1.),
            (1., 20.),
            (-1., 20.),
            (-1., 1.),
            (-20., 1.),
        ]);
        assert!(sides(&[cross], 2.0).is_empty());
    }
}
