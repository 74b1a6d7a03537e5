//! Heads of several precipitation classes on one turf area: their rates are matched by run time, so depths are judged.
//!
//! Stations are of one class each and run until they have applied the same depth: a class at a third of the rate runs three
//! times as long. Every head therefore counts as if it worked at the rate of the area's main class.

use super::spread::Throw;
use crate::brief::Catalogue;

/// Rate that the class of a model is matched to, mm/h: that of the class's first model in the catalogue. `None` for a
/// model that is not in the catalogue.
pub fn class_rate_mm_h(catalogue: &Catalogue, model: usize) -> Option<f64> {
    let class = &catalogue.heads.get(model)?.rate_class;
    let mut heads = catalogue.heads.iter();
    Some(heads.find(|model| model.rate_class == *class)?.rate_mm_h)
}

/// Rate of the class that wets most of the ground of these throws, mm/h; `None` without throws.
///
/// Classes of one rate count together; of two with the same ground the faster.
pub fn main_rate_mm_h<'a>(throws: impl Iterator<Item = &'a Throw>) -> Option<f64> {
    let mut grounds: Vec<(f64, f64)> = Vec::new();
    for throw in throws {
        let rate = throw.class_mm_h;
        let ground = throw.radius_m * throw.radius_m * throw.arc.sweep_deg;
        match grounds.iter_mut().find(|(known, _)| *known == rate) {
            Some((_, sum)) => *sum += ground,
            None => grounds.push((rate, ground)),
        }
    }
    grounds
        .into_iter()
        .max_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)))
        .map(|(rate, _)| rate)
}

/// How many times a head's water counts on an area whose main class has `main_mm_h`: 1 in its own class.
pub fn factor(class_mm_h: f64, main_mm_h: f64) -> f64 {
    let differ = class_mm_h > 0.0 && main_mm_h > 0.0 && class_mm_h != main_mm_h;
    if differ { main_mm_h / class_mm_h } else { 1.0 }
}
