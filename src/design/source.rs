//! Which water point feeds the parcel.

use crate::brief::{Catalogue, Rules};
use crate::design::model::Head;
use crate::design::settle::demand::{Allowance, least_kpa};
use crate::design::supply::SupplyCurve;
use crate::finding::Finding;
use crate::site::{Parcel, WaterPoint};
use geo::Coord;

/// The water point used, with its curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Id of the water point.
    pub id: String,
    /// Where it is.
    pub position: Coord<f64>,
    /// What it gives.
    pub curve: SupplyCurve,
}

/// The choice and what is to be said of it.
pub struct Choice {
    /// `None` where no point can feed a single head.
    pub source: Option<Source>,
    /// What a person should know.
    pub findings: Vec<Finding>,
}

/// Chooses the water point that leaves the most flow at the height of the middle head; says why others are not used.
pub fn choose(parcel: &Parcel, heads: &[Head], catalogue: &Catalogue, rules: &Rules) -> Choice {
    let mut findings = Vec::new();
    let mut offers: Vec<(f64, Source)> = Vec::new();
    for point in &parcel.water_points {
        match SupplyCurve::of(point, rules) {
            Ok(curve) => offers.push((flow_at_middle_lpm(parcel, point, &curve, heads, catalogue, rules), Source { id: point.id.clone(), position: point.position, curve })),
            Err(error) => findings.push(
                Finding::error("supply_unusable", format!("the test of this water point cannot be used: {error}. Measure again or correct the layer")).of(&point.id).at(point.position),
            ),
        }
    }
    // The strongest; of equals the first by id, as they come sorted.
    let best = offers
        .iter()
        .enumerate()
        .max_by(|(i, a), (j, b)| a.0.total_cmp(&b.0).then(j.cmp(i)))
        .map(|(i, _)| i);
    let Some(best) = best else {
        return Choice {
            source: None,
            findings,
        };
    };
    for (i, (flow_lpm, other)) in offers.iter().enumerate() {
        if i != best {
            let message = format!(
                "not used: {} gives more ({:.0} against {:.0} L/min at the middle of the turf). One design has one point of connection",
                offers[best].1.id, offers[best].0, flow_lpm
            );
            findings.push(
                Finding::note("water_point_unused", message)
                    .of(&other.id)
                    .at(other.position),
            );
        }
    }
    let (_, source) = offers.swap_remove(best);
    if let Some(finding) = too_weak(parcel, &source, heads, catalogue, rules) {
        findings.push(finding);
        return Choice {
            source: None,
            findings,
        };
    }
    Choice {
        source: Some(source),
        findings,
    }
}

fn flow_at_middle_lpm(
    parcel: &Parcel,
    point: &WaterPoint,
    curve: &SupplyCurve,
    heads: &[Head],
    catalogue: &Catalogue,
    rules: &Rules,
) -> f64 {
    let mut heights: Vec<f64> = heads
        .iter()
        .map(|head| head.ground_m)
        .filter(|z| z.is_finite())
        .collect();
    heights.sort_by(f64::total_cmp);
    let Some(middle_m) = heights.get(heights.len() / 2) else {
        return 0.0;
    };
    let source_m = parcel.terrain.height_m(point.position).unwrap_or(*middle_m);
    let pressure_kpa = catalogue
        .heads
        .iter()
        .map(|model| model.pressure_ref_kpa)
        .fold(0.0, f64::max);
    Allowance::new(curve, source_m, catalogue, rules).flow_lpm(pressure_kpa, *middle_m, 0.0)
}

/// Says that not one head can be fed, and how much is missing for the easiest of them.
fn too_weak(
    parcel: &Parcel,
    source: &Source,
    heads: &[Head],
    catalogue: &Catalogue,
    rules: &Rules,
) -> Option<Finding> {
    let source_m = parcel.terrain.height_m(source.position)?;
    let allowance = Allowance::new(&source.curve, source_m, catalogue, rules);
    let missing_kpa = |head: &Head| {
        let model = &catalogue.heads[head.model];
        let pressure_kpa = least_kpa(model, rules);
        let flow_lpm =
            head.flow_ref_lpm * (pressure_kpa / model.pressure_ref_kpa).powf(model.flow_exponent);
        let needed_kpa = allowance.source_kpa(pressure_kpa, head.ground_m, 0.0);
        let planned_lpm = flow_lpm / (1.0 - rules.supply_margin).max(0.1);
        (
            needed_kpa - source.curve.delivered_kpa(planned_lpm),
            flow_lpm,
            needed_kpa,
        )
    };
    let easiest = heads
        .iter()
        .map(missing_kpa)
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let (missing, flow_lpm, needed_kpa) = easiest;
    (missing > 0.0).then(|| {
        Finding::error(
            "supply_too_weak",
            format!(
                "the supply cannot feed a single head: the easiest asks for {needed_kpa:.0} kPa at {flow_lpm:.1} L/min behind meter and backflow preventer and gets {:.0} kPa, {missing:.0} kPa short. Add a booster of at least that, or another supply",
                needed_kpa - missing
            ),
        )
        .of(&source.id)
        .at(source.position)
    })
}
