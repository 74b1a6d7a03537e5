//! The sheet: a piece of ground on a piece of paper at a round scale.
//!
//! Lengths on the sheet are in px of [`PX_PER_MM`] to the millimetre of paper.

use crate::design::model::Pipe;
use geo::{BoundingRect, Coord, Rect};

/// Pixels of a drawing in a millimetre of paper.
pub(super) const PX_PER_MM: f64 = 4.0;
/// Blank round the ground, px.
pub(super) const MARGIN: f64 = 20.0;
/// The scales a sheet may have, as the number behind `1:`.
///
/// Those of three-sided scale rulers, tenfold and more (common practice, no source).
const SCALES: [u32; 20] = [
    50, 100, 200, 250, 300, 400, 500, 750, 1000, 1250, 2000, 2500, 5000, 10_000, 20_000, 25_000,
    50_000, 100_000, 200_000, 500_000,
];

/// What turns the ground into pixels.
pub(super) struct Sheet {
    west: f64,
    north: f64,
    /// Pixels in a metre.
    pub(super) scale: f64,
    /// The number behind `1:`.
    pub(super) number: u32,
    /// Width, px.
    pub(super) wide: f64,
    /// Height of the drawn ground, px.
    pub(super) high: f64,
}

impl Sheet {
    /// The largest round scale at which `ground` fits `most_px` with the margin; the sheet is `least_wide_px` or wider, its
    /// ground amid it.
    pub(super) fn fitting(ground: Rect<f64>, most_px: (f64, f64), least_wide_px: f64) -> Self {
        let size = (ground.width().max(1.0), ground.height().max(1.0));
        let px = |number: u32| px_per_metre(number);
        let fits = |&&number: &&u32| {
            size.0 * px(number) + 2.0 * MARGIN <= most_px.0
                && size.1 * px(number) + 2.0 * MARGIN <= most_px.1
        };
        let number = SCALES.iter().find(fits).copied();
        let number = number.unwrap_or(SCALES[SCALES.len() - 1]);
        let scale = px(number);
        let wide = (size.0 * scale + 2.0 * MARGIN).max(least_wide_px);
        Self {
            west: ground.center().x - wide / scale / 2.0,
            north: ground.max().y + MARGIN / scale,
            scale,
            number,
            wide,
            high: size.1 * scale + 2.0 * MARGIN,
        }
    }

    /// Pixels of a place.
    pub(super) fn at(&self, place: Coord<f64>) -> (f64, f64) {
        (
            (place.x - self.west) * self.scale,
            (self.north - place.y) * self.scale,
        )
    }

    /// Whether any of a piece of ground may lie on the sheet.
    pub(super) fn shows(&self, extent: Rect<f64>) -> bool {
        let ((left, low), (right, high)) = (self.at(extent.min()), self.at(extent.max()));
        right >= 0.0 && left <= self.wide && low >= 0.0 && high <= self.high
    }

    /// Whether a place lies on the sheet, its mark included.
    pub(super) fn holds(&self, place: Coord<f64>) -> bool {
        let (x, y) = self.at(place);
        (8.0..=self.wide - 8.0).contains(&x) && (8.0..=self.high - 8.0).contains(&y)
    }

    /// Whether any of a pipe may lie on the sheet.
    pub(super) fn shows_pipe(&self, pipe: &Pipe) -> bool {
        pipe.line
            .bounding_rect()
            .is_some_and(|box_| self.shows(box_))
    }

    /// Width and height on paper with `foot_px` below the ground, mm.
    pub(super) fn paper_mm(&self, foot_px: f64) -> (f64, f64) {
        (self.wide / PX_PER_MM, (self.high + foot_px) / PX_PER_MM)
    }
}

fn px_per_metre(number: u32) -> f64 {
    1000.0 * PX_PER_MM / f64::from(number)
}

/// Paper that a plan is drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::deliver) enum Paper {
    /// 210 mm by 297 mm.
    A4,
    /// 297 mm by 420 mm.
    A3,
}

impl Paper {
    /// Its name.
    pub(in crate::deliver) fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
        }
    }

    /// Room for a plan across the paper and upright, px: less margins of 10 mm and what is written above.
    fn room_px(self) -> [(f64, f64); 2] {
        let room_mm = match self {
            Self::A4 => [(276.0, 162.0), (189.0, 249.0)],
            Self::A3 => [(396.0, 249.0), (276.0, 372.0)],
        };
        room_mm.map(|(wide, high)| (wide * PX_PER_MM, high * PX_PER_MM))
    }

    /// Room for the ground, px, with a foot of `foot_px` below it, on the paper across or upright.
    pub(super) fn room_for_ground(self, across: bool, foot_px: f64) -> (f64, f64) {
        let (wide, high) = self.room_px()[usize::from(!across)];
        (wide, high - foot_px)
    }

    /// The same as metres of ground at a scale, less the margin.
    pub(super) fn ground_m(self, across: bool, foot_px: f64, number: u32) -> (f64, f64) {
        let (wide, high) = self.room_for_ground(across, foot_px);
        let metres = |px: f64| (px - 2.0 * MARGIN) / px_per_metre(number);
        (metres(wide), metres(high))
    }

    /// The sheet of the larger scale of the two ways to lay the paper, and whether it lies across. `foot_px` tells the height
    /// of what stands below the ground on a sheet of a width.
    pub(super) fn sheet(self, ground: Rect<f64>, foot_px: impl Fn(f64) -> f64) -> (Sheet, bool) {
        let [across, upright] = self
            .room_px()
            .map(|(wide, high)| Sheet::fitting(ground, (wide, high - foot_px(wide)), wide));
        let lies = match across.number.cmp(&upright.number) {
            std::cmp::Ordering::Equal => ground.width() >= ground.height(),
            order => order.is_lt(),
        };
        if lies {
            (across, true)
        } else {
            (upright, false)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_the_largest_round_one_that_fits_and_true() {
        let ground = Rect::new((0.0, 0.0), (100.0, 40.0));
        let (a4, across) = Paper::A4.sheet(ground, |_| 120.0);
        assert!(across);
        assert_eq!(a4.number, 400);
        let (a3, _) = Paper::A3.sheet(ground, |_| 120.0);
        assert_eq!(a3.number, 300, "100 m at 1:250 are 400 mm");
        let (west, _) = a4.at(Coord { x: 0.0, y: 0.0 });
        let (east, _) = a4.at(Coord { x: 100.0, y: 0.0 });
        assert!(((east - west) / PX_PER_MM - 250.0).abs() < 1e-9, "250 mm");
        let (small, _) = Paper::A4.sheet(Rect::new((0.0, 0.0), (25.0, 38.0)), |_| 120.0);
        assert_eq!(small.number, 200);
    }

    #[test]
    fn tall_ground_stands_upright_and_any_size_ends() {
        let (sheet, across) = Paper::A4.sheet(Rect::new((0.0, 0.0), (30.0, 200.0)), |_| 100.0);
        assert!(!across && sheet.number == 1000);
        let vast = Rect::new((0.0, 0.0), (1e9, 1e9));
        assert_eq!(Paper::A3.sheet(vast, |_| 0.0).0.number, 500_000);
    }
}
