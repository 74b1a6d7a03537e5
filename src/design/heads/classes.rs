//! Precipitation classes: which radii the models of one rate offer together, and the model and nozzle for a radius.

use crate::brief::{Catalogue, HeadModel};

/// Share of its full radius that a model is planned with, so that it still throws that far at somewhat less than its
/// reference pressure. Common practice, no source.
const RADIUS_IN_HAND: f64 = 0.93;
/// Step between the radii tried, as a share of the radius.
const RADIUS_STEP: f64 = 0.04;

/// The models of one precipitation class.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// Rate the class is matched to, mm/h.
    pub rate_mm_h: f64,
    /// Radii it offers, rising, m.
    pub radii_m: Vec<f64>,
    /// Least sweep all its models can be set to, degrees.
    pub sweep_min_deg: f64,
    /// Its models, as places in the catalogue.
    pub models: Vec<usize>,
}

/// All classes of a catalogue, by falling greatest radius.
pub fn classes(catalogue: &Catalogue) -> Vec<Class> {
    let mut names: Vec<&str> = Vec::new();
    for model in &catalogue.heads {
        if !names.contains(&model.rate_class.as_str()) {
            names.push(&model.rate_class);
        }
    }
    let mut classes: Vec<Class> = names
        .iter()
        .filter_map(|name| class_of(catalogue, name))
        .collect();
    classes.sort_by(|a, b| b.radius_most_m().total_cmp(&a.radius_most_m()));
    classes
}

fn class_of(catalogue: &Catalogue, name: &str) -> Option<Class> {
    let models: Vec<usize> = (0..catalogue.heads.len())
        .filter(|&i| {
            catalogue.heads[i].rate_class == name && !catalogue.heads[i].nozzles.is_empty()
        })
        .collect();
    let of = |i: &usize| &catalogue.heads[*i];
    let radii_m = radii(&models.iter().map(of).collect::<Vec<_>>());
    let first = models.first()?;
    let sweep_min_deg = models
        .iter()
        .map(|i| least_sweep(of(i)))
        .fold(0.0, f64::max);
    Some(Class {
        rate_mm_h: of(first).rate_mm_h,
        radii_m,
        sweep_min_deg,
        models,
    })
    .filter(|class| !class.radii_m.is_empty())
}

fn least_sweep(model: &HeadModel) -> f64 {
    let sweeps = model.nozzles.iter().map(|nozzle| nozzle.sweep_min_deg);
    sweeps.fold(360.0, f64::min)
}

/// Radii in equal ratios over the reach of the models, those in a gap between two models left out.
fn radii(models: &[&HeadModel]) -> Vec<f64> {
    let least = models
        .iter()
        .map(|m| m.radius_min_m)
        .fold(f64::INFINITY, f64::min);
    let most = models.iter().map(|m| planned_most_m(m)).fold(0.0, f64::max);
    if !(least > 0.0 && most >= least) {
        return Vec::new();
    }
    let steps = ((most / least).ln() / RADIUS_STEP).ceil().max(1.0) as usize;
    (0..=steps)
        .map(|i| least * (most / least).powf(i as f64 / steps as f64))
        .filter(|&r| models.iter().any(|m| offers(m, r)))
        .collect()
}

fn planned_most_m(model: &HeadModel) -> f64 {
    (model.radius_max_m * RADIUS_IN_HAND).max(model.radius_min_m)
}

fn offers(model: &HeadModel, radius_m: f64) -> bool {
    (model.radius_min_m - 1e-9..=model.radius_max_m + 1e-9).contains(&radius_m)
}

impl Class {
    /// Least radius, m.
    pub fn radius_least_m(&self) -> f64 {
        self.radii_m.first().copied().unwrap_or(0.0)
    }

    /// Greatest radius planned with, m.
    pub fn radius_most_m(&self) -> f64 {
        self.radii_m.last().copied().unwrap_or(0.0)
    }

    /// Place in `radii_m` of the radius nearest to `radius_m`.
    pub fn nearest_radius(&self, radius_m: f64) -> usize {
        let above = self.radii_m.partition_point(|&r| r < radius_m);
        if above == 0 {
            return 0;
        }
        if above == self.radii_m.len() {
            return above - 1;
        }
        let nearer_above = self.radii_m[above] - radius_m < radius_m - self.radii_m[above - 1];
        above - usize::from(!nearer_above)
    }

    /// The smallest model that throws `radius_m` with reach in hand; else any that can be set to it.
    pub fn model_for(&self, catalogue: &Catalogue, radius_m: f64) -> usize {
        let fits = |spare: bool| {
            self.models
                .iter()
                .copied()
                .filter(|&i| offers(&catalogue.heads[i], radius_m))
                .filter(|&i| !spare || radius_m <= planned_most_m(&catalogue.heads[i]) + 1e-9)
                .min_by(|&a, &b| {
                    let most = |i: usize| catalogue.heads[i].radius_max_m;
                    most(a).total_cmp(&most(b))
                })
        };
        fits(true).or_else(|| fits(false)).unwrap_or(self.models[0])
    }
}

/// How far a radius may be moved to suit a nozzle, as a share of it.
const RADIUS_GIVE: f64 = 0.04;

/// A nozzle, what it gives at the reference pressure with the arc asked for, and the radius to set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Place in the model's nozzles.
    pub nozzle: usize,
    /// Flow, L/min.
    pub flow_lpm: f64,
    /// Radius that makes its rate the matched one, or comes nearest to it, m.
    pub radius_m: f64,
}

/// The nozzle whose flow comes nearest to the matched one, the radius moved by up to 4 % to match it.
///
/// Wanted is `rate · r² · sweep/360 / 60` L/min: equal depth whatever the arc. The radius never exceeds `most_m`, which
/// walls may ask for.
pub fn setting_for(model: &HeadModel, radius_m: f64, sweep_deg: f64, most_m: f64) -> Setting {
    let share = sweep_deg / 360.0;
    let flow = |i: usize| {
        let nozzle = &model.nozzles[i];
        nozzle.flow_lpm * if nozzle.flow_follows_arc { share } else { 1.0 }
    };
    let suits = |i: usize| (60.0 * flow(i) / (model.rate_mm_h * share)).sqrt();
    let off = |i: usize| (suits(i) / radius_m).ln().abs();
    let takes = |i: &usize| {
        let nozzle = &model.nozzles[*i];
        (nozzle.sweep_min_deg - 1e-6..=nozzle.sweep_max_deg + 1e-6).contains(&sweep_deg)
    };
    let nozzle = (0..model.nozzles.len())
        .filter(takes)
        .min_by(|&a, &b| off(a).total_cmp(&off(b)))
        .unwrap_or(0);
    let most_m = planned_most_m(model).max(radius_m).min(most_m);
    let radius_m = suits(nozzle)
        .clamp(
            (1.0 - RADIUS_GIVE) * radius_m,
            (1.0 + RADIUS_GIVE) * radius_m,
        )
        .clamp(model.radius_min_m, most_m.max(model.radius_min_m));
    Setting {
        nozzle,
        flow_lpm: flow(nozzle),
        radius_m: (radius_m * 100.0).round() / 100.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::builtin_heads;

    fn catalogue() -> Catalogue {
        Catalogue {
            origin: "test".to_owned(),
            heads: builtin_heads::heads(),
            pipes: Vec::new(),
            valves: Vec::new(),
        }
    }

    #[test]
    fn the_slow_class_offers_every_radius_from_two_to_twelve_metres() {
        let classes = classes(&catalogue());
        assert_eq!(classes.len(), 2);
        let slow = &classes[0];
        assert!(slow.radius_least_m() < 2.0 && slow.radius_most_m() > 12.0);
        let widest = slow
            .radii_m
            .windows(2)
            .map(|r| r[1] / r[0])
            .fold(0.0, f64::max);
        assert!(widest < 1.1, "{widest}");
    }

    #[test]
    fn a_quarter_and_a_full_circle_apply_the_same_depth() {
        let catalogue = catalogue();
        let class = &classes(&catalogue)[0];
        for radius in [2.5, 6.0, 9.5, 12.0] {
            let model = &catalogue.heads[class.model_for(&catalogue, radius)];
            for sweep in [90.0, 180.0, 360.0] {
                let set = setting_for(model, radius, sweep, f64::INFINITY);
                let rate = 60.0 * set.flow_lpm / (set.radius_m.powi(2) * sweep / 360.0);
                assert!((rate / 12.0 - 1.0).abs() < 0.04, "{radius} {sweep} {rate}");
                assert!((set.radius_m / radius - 1.0).abs() < 0.05);
            }
        }
    }
}
