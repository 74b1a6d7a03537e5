//! How a head works at a pressure: flow, radius, rate.

use crate::brief::{Catalogue, HeadModel};
use crate::design::model::{Head, Working};

/// How a head works at the reference pressure of its model.
pub fn rated_working(head: &Head, catalogue: &Catalogue) -> Working {
    let pressure_kpa = model_of(head, catalogue).map_or(0.0, |model| model.pressure_ref_kpa);
    working_at(head, pressure_kpa, catalogue)
}

/// How a head works at `pressure_kpa` at its nozzle (0 and less gives no water).
///
/// Flow `q = q_ref (p/p_ref)^x`; the radius is the one set, or what the pressure still throws if that is less:
/// `r_max (p/p_ref)^rx`. Exponents from the catalogue.
pub fn working_at(head: &Head, pressure_kpa: f64, catalogue: &Catalogue) -> Working {
    let Some(model) = model_of(head, catalogue) else {
        return works(head, pressure_kpa, 0.0, 0.0);
    };
    let share = (pressure_kpa / model.pressure_ref_kpa).max(0.0);
    let flow_lpm = head.flow_ref_lpm * share.powf(model.flow_exponent);
    let most_m = model.radius_max_m * share.powf(model.radius_exponent);
    works(head, pressure_kpa, flow_lpm, head.radius_m.min(most_m))
}

fn model_of<'a>(head: &Head, catalogue: &'a Catalogue) -> Option<&'a HeadModel> {
    catalogue.heads.get(head.model)
}

/// The rate is 60 q / (r² sweep/360): a head serves the square of its radius at head-to-head spacing.
fn works(head: &Head, pressure_kpa: f64, flow_lpm: f64, radius_m: f64) -> Working {
    let served_m2 = radius_m * radius_m * head.arc.sweep_deg / 360.0;
    let rate_mm_h = if served_m2 > 0.0 {
        60.0 * flow_lpm / served_m2
    } else {
        0.0
    };
    Working {
        pressure_kpa,
        flow_lpm,
        radius_m,
        rate_mm_h,
    }
}
