//! Which boxes of an index a straight line passes.

use geo::Line;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTreeObject, SelectionFunction};

/// A numbered box.
pub type Boxed = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// Rounding, as a share.
const HAIR: f64 = 1e-12;

/// Boxes that a straight line passes, not all those in its window: of a long slanting line that is a small part.
pub struct OnWay {
    start: [f64; 2],
    /// One over the way; unbounded where the line runs straight across an axis.
    inverse: [f64; 2],
}

impl OnWay {
    /// The boxes on the way of a line.
    pub fn of(line: &Line<f64>) -> Self {
        Self {
            start: [line.start.x, line.start.y],
            inverse: [
                (line.end.x - line.start.x).recip(),
                (line.end.y - line.start.y).recip(),
            ],
        }
    }

    /// Whether the line passes a box or its edge (slab test: Kay and Kajiya 1986, Comput. Graph. 20(4):269, from memory).
    fn passes(&self, of: &AABB<[f64; 2]>) -> bool {
        let (low, high) = (of.lower(), of.upper());
        let (mut from, mut to) = (-HAIR, 1.0 + HAIR);
        for k in 0..2 {
            let room = HAIR * (1.0 + high[k].abs() + low[k].abs());
            let (low, high) = (
                low[k] - room - self.start[k],
                high[k] + room - self.start[k],
            );
            if self.inverse[k].is_infinite() {
                if low > 0.0 || high < 0.0 {
                    return false;
                }
                continue;
            }
            let (a, b) = (low * self.inverse[k], high * self.inverse[k]);
            (from, to) = (f64::max(from, a.min(b)), f64::min(to, a.max(b)));
        }
        from <= to
    }
}

impl SelectionFunction<Boxed> for OnWay {
    fn should_unpack_parent(&self, envelope: &AABB<[f64; 2]>) -> bool {
        self.passes(envelope)
    }

    fn should_unpack_leaf(&self, leaf: &Boxed) -> bool {
        self.passes(&leaf.envelope())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Coord, Intersects, Rect};

    #[test]
    fn it_passes_the_boxes_that_the_line_meets_and_no_others() {
        let mut state = 3u64;
        let mut chance = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) as f64 / (1u64 << 31) as f64
        };
        let mut met = 0;
        for _ in 0..2000 {
            let mut place = || Coord {
                x: chance(),
                y: chance(),
            };
            let (line, a, b) = (Line::new(place(), place()), place(), place());
            let (a, b) = (a, a + (b - a) * 0.3);
            let meets = Rect::new(a, b).intersects(&line);
            let on_way = OnWay::of(&line).passes(&AABB::from_corners([a.x, a.y], [b.x, b.y]));
            assert_eq!(on_way, meets, "{line:?} {a:?} {b:?}");
            met += usize::from(meets);
        }
        assert!(met > 100);
    }

    #[test]
    fn level_and_upright_lines_pass_what_they_touch() {
        let at = |x: f64, y: f64| Coord { x, y };
        let touched = AABB::from_corners([1.0, 0.0], [2.0, 1.0]);
        for (start, end, passes) in [
            (at(0.0, 1.0), at(3.0, 1.0), true),
            (at(0.0, 1.1), at(3.0, 1.1), false),
            (at(2.0, -1.0), at(2.0, 3.0), true),
            (at(2.1, -1.0), at(2.1, 3.0), false),
            (at(0.0, 0.5), at(0.9, 0.5), false),
        ] {
            assert_eq!(
                OnWay::of(&Line::new(start, end)).passes(&touched),
                passes,
                "{start:?}"
            );
        }
    }
}
