//! What a part of the turf must hold to be worth a station of its own.

use super::super::classes::Class;
use super::super::spacing::spacing_share;
use crate::brief::Rules;

/// Least area of a zone, in squares of the distance between its heads. Common practice, no source.
const HEADS_LEAST: f64 = 3.5;
/// Least length of a zone that is narrower than its neighbour, in radii of its class. Common practice, no source.
const RADII_LONG: f64 = 4.0;
/// Of a part of even width the width that a quarter of it does not exceed is as great as the one that three quarters do
/// not; of a corner, where it falls evenly to nothing, it is 0.58 of it. Below this share a part counts as a corner.
const CORNER_TAPER: f64 = 0.65;

/// A part of the turf: the class it is to have, its area, and the widths of the cells that ask for that class.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Class of its heads.
    pub class: usize,
    /// Its area, m².
    pub area_m2: f64,
    rising_m: Vec<f32>,
}

impl Part {
    /// A part with these widths, m, in any order.
    pub fn new(class: usize, area_m2: f64, mut widths_m: Vec<f32>) -> Self {
        widths_m.sort_unstable_by(f32::total_cmp);
        Self {
            class,
            area_m2,
            rising_m: widths_m,
        }
    }

    /// The width, m, that this share of the cells does not exceed; 0 without cells.
    pub fn width_of_share_m(&self, share: f64) -> f64 {
        let at = (self.rising_m.len() as f64 * share) as usize;
        let at = at.min(self.rising_m.len().saturating_sub(1));
        self.rising_m.get(at).map_or(0.0, |&width| f64::from(width))
    }
}

/// The judge of parts.
pub struct Worth<'a> {
    /// The classes, by falling greatest radius.
    pub classes: &'a [Class],
    spacing: f64,
}

impl<'a> Worth<'a> {
    /// The judge for these classes.
    pub fn of(classes: &'a [Class], rules: &Rules) -> Self {
        Self {
            classes,
            spacing: spacing_share(rules).min(1.0),
        }
    }

    /// Area, m², below which no zone of the class is made, however narrow.
    pub fn area_least_m2(&self, class: usize) -> f64 {
        HEADS_LEAST * (self.spacing * self.classes[class].radius_least_m()).powi(2)
    }

    /// Whether the area suffices.
    pub fn wide(&self, part: &Part) -> bool {
        let between_m = self.spacing * self.radius_m(part);
        part.area_m2 >= HEADS_LEAST * between_m * between_m
    }

    /// Whether a part beside wider ground is large and long enough, and no mere corner of it.
    pub fn narrow(&self, part: &Part) -> bool {
        let length_m = part.area_m2 / part.width_of_share_m(0.5).max(1e-9);
        self.wide(part)
            && length_m >= RADII_LONG * self.radius_m(part)
            && part.width_of_share_m(0.25) >= CORNER_TAPER * part.width_of_share_m(0.75)
    }

    /// Throw that a part's width asks for: rows of heads on both edges, and as many between as the throw needs.
    fn radius_m(&self, part: &Part) -> f64 {
        let class = &self.classes[part.class];
        let width_m = part.width_of_share_m(0.5);
        let rows = (width_m / class.radius_most_m().max(1e-9)).ceil().max(1.0);
        (width_m / rows).clamp(class.radius_least_m(), class.radius_most_m())
    }
}
