//! The rim of a throw on a grid, and the depth inside it: the arithmetic of one row, written so that it runs in lanes.
//!
//! Depths are closed forms of the profile, multiples of the mean over the level disc; see `profile.rs`. Single precision,
//! no branch within a row, no fused operation: the result does not depend on the instruction set.

use super::slope::Tilt;
use super::wedge::Row;
use crate::brief::Profile;
use std::ops::Range;

/// A millionth of a metre squared: keeps the head's own place from dividing by nothing.
const SPECK_M2: f32 = 1e-12;

/// The conic within which the water falls.
pub struct Rim {
    radius_m: f64,
    tilt: Tilt,
    /// `1 - e²` of the tilt towards the east, and one over it.
    flat: (f64, f64),
}

impl Rim {
    /// The rim of a throw of `radius_m` on ground of that tilt.
    pub fn new(radius_m: f64, tilt: Tilt) -> Self {
        let flat = 1.0 - tilt.east * tilt.east;
        Self {
            radius_m,
            tilt,
            flat: (flat, 1.0 / flat),
        }
    }

    /// Columns of a row whose centres lie inside.
    ///
    /// `√(x² + y²) < R - e·Δ` squared is a quadratic in x; its roots are the ends.
    pub fn columns(&self, row: &Row) -> Range<i64> {
        let Tilt { east, north } = self.tilt;
        let left_m = self.radius_m - north * row.north_m;
        let (flat, over) = self.flat;
        let under = left_m * left_m - row.north_m * row.north_m * flat;
        if under <= 0.0 {
            return 0..0;
        }
        let half_m = under.sqrt();
        let from = row.column_from((-left_m * east - half_m) * over);
        from..row.column_from((-left_m * east + half_m) * over).max(from)
    }
}

/// What the depth is computed with.
#[derive(Clone, Copy)]
pub struct Shape {
    profile: Profile,
    tilt: Tilt,
    radius_m: f64,
    cell_m: f64,
}

impl Shape {
    /// The depth of a profile thrown `radius_m` on ground of that tilt, on cells of `cell_m`.
    pub fn new(profile: Profile, radius_m: f64, tilt: Tilt, cell_m: f64) -> Self {
        Self {
            profile,
            tilt,
            radius_m,
            cell_m,
        }
    }

    /// How far out the rim has to be drawn: only the even profile breaks off, and its rim is drawn half a cell soft.
    pub fn rim(&self) -> Rim {
        let soft_m = match self.profile {
            Profile::Uniform => 0.5 * self.cell_m,
            _ => 0.0,
        };
        Rim::new(self.radius_m + soft_m, self.tilt)
    }

    /// Appends the depths at `north_m` and each of `east_m` to `depths`.
    pub fn row(&self, north_m: f32, east_m: &[f32], depths: &mut Vec<f32>) {
        let over = 1.0 / self.radius_m as f32;
        let over2 = over * over;
        let soft = (self.radius_m / self.cell_m) as f32;
        let cone = |far: f32| 3.0 * positive(1.0 - far * over);
        let parabola = |far2: f32| 2.0 * positive(1.0 - far2 * over2);
        let ellipse = |far2: f32| 1.5 * positive(1.0 - far2 * over2).sqrt();
        let even = |far: f32| 1.0 - positive(1.0 - positive((1.0 - far * over) * soft + 0.5));
        let line = Line {
            tilt: self.tilt,
            north_m,
            east_m,
        };
        match self.profile {
            Profile::Cone => line.append(depths, |far2| cone(far2.sqrt()), cone),
            Profile::Parabola => line.append(depths, parabola, |far| parabola(far * far)),
            Profile::Ellipse => line.append(depths, ellipse, |far| ellipse(far * far)),
            Profile::Uniform => line.append(depths, |far2| even(far2.sqrt()), even),
        }
    }
}

/// Centres of a row.
struct Line<'a> {
    tilt: Tilt,
    north_m: f32,
    east_m: &'a [f32],
}

impl Line<'_> {
    /// Appends depths; `level` takes the square of the distance, `sloping` the effective distance itself.
    #[inline]
    fn append(
        &self,
        depths: &mut Vec<f32>,
        level: impl Fn(f32) -> f32,
        sloping: impl Fn(f32) -> f32,
    ) {
        let north2 = self.north_m * self.north_m;
        if self.tilt.is_level() {
            depths.extend(self.east_m.iter().map(|&x| level(x * x + north2)));
            return;
        }
        let east = self.tilt.east as f32;
        let rise = self.tilt.north as f32 * self.north_m;
        depths.extend(self.east_m.iter().map(|&x| {
            let far = (x * x + north2 + SPECK_M2).sqrt();
            let effective = far + (east * x + rise);
            let gathered = effective / far;
            sloping(effective) * (gathered * gathered)
        }));
    }
}

/// The number, or 0 where it is negative: one operation in every lane.
fn positive(number: f32) -> f32 {
    if number > 0.0 { number } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::super::profile::depth_factor;
    use super::*;
    use proptest::prelude::*;

    const PROFILES: [Profile; 4] = [
        Profile::Cone,
        Profile::Parabola,
        Profile::Ellipse,
        Profile::Uniform,
    ];

    proptest! {
        #[test]
        fn depths_are_those_of_the_profile_on_any_slope(
            east in -0.6..0.6_f64, north in -0.6..0.6_f64, x in -9.0..9.0_f64, y in -9.0..9.0_f64, shape in 0..4_usize,
        ) {
            let tilt = Tilt::of_slope(east, north, 45.0);
            let far = x.hypot(y);
            let effective = tilt.effective_m(x, y);
            // On the very rim the ellipse is all slope, and the even profile is soft.
            prop_assume!(far > 0.01 && (effective / 8.0 - 1.0).abs() > 0.01);
            let mut depth = Vec::new();
            Shape::new(PROFILES[shape], 8.0, tilt, 0.1).row(y as f32, &[x as f32], &mut depth);
            let expected = depth_factor(PROFILES[shape], effective / 8.0) * (effective / far).powi(2);
            prop_assert!((f64::from(depth[0]) - expected).abs() < 1e-4, "{} {}", depth[0], expected);
        }

        #[test]
        fn the_rim_holds_the_cells_that_are_near_enough(
            east in -0.6..0.6_f64, north in -0.6..0.6_f64, y in -20.0..20.0_f64, first in -0.5..0.5_f64,
        ) {
            let tilt = Tilt::of_slope(east, north, 45.0);
            let row = Row { first_m: first, north_m: y, cell_m: 0.5, cells_per_m: 2.0 };
            let columns = Rim::new(8.0, tilt).columns(&row);
            for column in -60..60 {
                let left = 8.0 - tilt.effective_m(row.east_m(column), y);
                prop_assert!(left.abs() < 1e-9 || columns.contains(&column) == (left > 0.0));
            }
        }
    }

    #[test]
    fn a_level_tilt_and_a_hair_of_one_give_the_same_depth() {
        let east: Vec<f32> = (0..40).map(|i| i as f32 * 0.25 - 5.0).collect();
        for profile in PROFILES {
            let of = |tilt| {
                let mut depth = Vec::new();
                Shape::new(profile, 5.0, tilt, 0.25).row(1.3, &east, &mut depth);
                depth
            };
            let hair = Tilt {
                east: 1e-9,
                north: 0.0,
            };
            for (a, b) in of(Tilt::LEVEL).iter().zip(of(hair)) {
                assert!((a - b).abs() < 2e-3, "{profile:?} {a} {b}");
            }
        }
    }
}
