//! Where the search starts from: corners and even parts of the edges, then a lattice in the middle.

use super::super::edges::{EdgePlace, radius_for};
use super::super::field::{BINS, Sweep};
use super::fit::Asked;
use super::{Placed, Search};
use geo::Coord;

/// Places of the middle nearer to an edge head than this share of the spacing are left out.
const CLEAR_SHARE: f64 = 0.55;
/// An edge place nearer to a mirror's line than this share of its radius is put on it.
const LINE_SHARE: f64 = 0.12;

/// A corner's arc is the angle between its edges where that is worth this much of the best arc.
const LOCKED_WORTH: f64 = 0.7;

/// A lattice of the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lattice {
    /// Whether rows are shifted by half a spacing and stand closer: triangles instead of squares.
    pub triangular: bool,
    /// Turn of its rows, degrees.
    pub turn_deg: f64,
    /// Shift along and across its rows, in spacings.
    pub shift: (f64, f64),
}

impl Lattice {
    /// Lattices to try on ground without symmetry (`free`) or with it.
    pub fn choices(free: bool) -> Vec<Self> {
        let (turns, shifts): (&[f64], &[f64]) = if free {
            (&[0.0, 90.0, 30.0, 45.0], &[0.0, 0.25, 0.5, 0.75])
        } else {
            (&[0.0, 90.0], &[0.0, 0.5])
        };
        let mut all = Vec::new();
        for triangular in [false, true] {
            for &turn_deg in turns {
                for &along in shifts {
                    for &across in shifts {
                        all.push(Self {
                            triangular,
                            turn_deg,
                            shift: (along, across),
                        });
                    }
                }
            }
        }
        all.retain(|lattice| lattice.triangular || lattice.turn_deg != 90.0);
        all
    }

    /// Its places within `half_m` of the origin both ways, `spacing_m` apart.
    fn places(&self, half_m: (f64, f64), spacing_m: f64) -> Vec<Coord<f64>> {
        let row_m = if self.triangular {
            spacing_m * 0.75f64.sqrt()
        } else {
            spacing_m
        };
        let far = half_m.0.hypot(half_m.1);
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        let count = (far / row_m.min(spacing_m)).ceil() as i64 + 1;
        let mut places = Vec::new();
        for j in -count..=count {
            let odd = if self.triangular && j.rem_euclid(2) == 1 {
                0.5
            } else {
                0.0
            };
            for i in -count..=count {
                let u = (i as f64 + odd + self.shift.0) * spacing_m;
                let v = (j as f64 + self.shift.1) * row_m;
                let at = Coord {
                    x: u * cos - v * sin,
                    y: u * sin + v * cos,
                };
                if at.x.abs() <= half_m.0 && at.y.abs() <= half_m.1 {
                    places.push(at);
                }
            }
        }
        places
    }
}

impl Search<'_> {
    /// Puts heads on the edge places, their arcs fitted to the ground while it is dry, then rains.
    pub fn start_edges(&mut self, places: &[EdgePlace]) {
        let mut taken: Vec<Coord<f64>> = Vec::new();
        let mut heads = Vec::new();
        for place in places {
            let near = |at: &Coord<f64>| {
                (at.x - place.at.x).hypot(at.y - place.at.y) < 0.3 * place.radius_m
            };
            if self.maps.len() > 1 && taken.iter().any(near) {
                continue;
            }
            let head = self.on_line(Placed {
                corner: place.corner,
                ..Placed::full(
                    place.at,
                    Some((place.ring, place.run_m)),
                    place.radius_m,
                    self.site.class,
                )
            });
            taken.extend(self.images_of(head.at).into_iter().map(|(at, _)| at));
            let mut fitted = self.fit(head, Asked::Head);
            if let Some(own) = self.own_angle(place) {
                let set = self.fit(
                    Placed {
                        sweep: own,
                        locked: true,
                        ..head
                    },
                    Asked::Head,
                );
                if set.worth > LOCKED_WORTH * fitted.worth {
                    fitted = set;
                }
            }
            // Corners stay whatever they are worth on dry ground, unless nothing would be watered at all.
            if fitted.worth > 0.0
                || (place.corner && fitted.worth > -0.5 * place.radius_m * place.radius_m)
            {
                heads.push(fitted.head);
            }
        }
        for head in heads {
            self.push(head);
        }
    }

    /// The angle between the two edges of a corner, from the one to the other over the turf.
    fn own_angle(&self, place: &EdgePlace) -> Option<Sweep> {
        if !place.corner {
            return None;
        }
        let ring = &self.site.rings[place.ring];
        let chord = (0.4 * place.radius_m).min(ring.length_m() / 4.0);
        let bin = |bearing: f64| (bearing.rem_euclid(360.0) * BINS as f64 / 360.0).round() as usize;
        let first = bin(ring.bearing_deg(place.run_m, -chord)) % BINS;
        let end = bin(ring.bearing_deg(place.run_m, chord)) % BINS;
        let count = (end + BINS - first) % BINS;
        (count > 0).then_some(Sweep { first, count })
    }

    /// The head on a mirror's line that it all but stands on.
    pub fn on_line(&self, head: Placed) -> Placed {
        let mut at = head.at;
        for map in self.maps.iter().filter(|map| map.line_deg().is_some()) {
            let image = map.place(at);
            if (image.x - at.x).hypot(image.y - at.y) < 2.0 * LINE_SHARE * self.radius_m(&head) {
                at = Coord {
                    x: 0.5 * (image.x + at.x),
                    y: 0.5 * (image.y + at.y),
                };
            }
        }
        Placed { at, ..head }
    }

    /// Puts a lattice of heads, thrown `scale` times as far as the width asks for, in the middle of the turf, where the ground is wide enough for them.
    pub fn start_middle(&mut self, lattice: &Lattice, scale: f64) {
        let spacing = self.site.spacing;
        let longest_m = scale * self.site.longest_aim_m();
        let grid = self.site.ground.grid;
        let half = grid.bounds();
        let places = lattice.places(
            (half.width() * 0.5, half.height() * 0.5),
            spacing * longest_m,
        );
        for at in places {
            let head = self.on_line(self.middle_head(at, scale));
            if !self.site.ground.holds_head(head.at) || !self.clear(&head, spacing) {
                continue;
            }
            let fitted = self.fit(head, Asked::Head);
            if fitted.worth > 0.0 {
                self.push(fitted.head);
            }
        }
    }

    fn middle_head(&self, at: Coord<f64>, scale: f64) -> Placed {
        let aim_m = scale * radius_for(self.site.ground.width_at(at), self.site.class);
        Placed::full(at, None, aim_m, self.site.class)
    }

    /// Whether a place of the middle is far enough from the edge and from every head.
    fn clear(&self, head: &Placed, spacing: f64) -> bool {
        let clear_m = CLEAR_SHARE * spacing * head.aim_m;
        let inner = self.site.ground.reach_at(head.at) > 0.4 * head.aim_m;
        let images = self.images_of(head.at);
        let apart = |at: &Coord<f64>| (at.x - head.at.x).hypot(at.y - head.at.y) > clear_m;
        inner
            && self.neighbours.near(head.at, clear_m).next().is_none()
            && images.iter().skip(1).all(|(at, _)| apart(at))
    }
}
