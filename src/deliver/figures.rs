//! `design.json`: the figures of the report for machines, and what a network solver elsewhere needs beside the layers.

use crate::brief::{Friction, Profile};
use crate::deliver::DeliverError;
use crate::deliver::error::write_text;
use crate::deliver::job::{self, Job};
use crate::deliver::lonlat::rounded;
use crate::deliver::schedule_figures;
use crate::design::hydraulics::pipe_friction::chosen;
use crate::design::model::{Section, Station, SupplyResult, TurfResult};
use geo::Area;
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use std::path::Path;

/// Writes the figures.
pub(crate) fn write(job: &Job, path: &Path) -> Result<(), DeliverError> {
    write_text(path, &format!("{:#}\n", all(job)))
}

fn all(job: &Job) -> Json {
    let design = job.design;
    let frame = job.parcel.frame;
    json!({
        "project": job.project.name,
        "parcel": job.parcel.id,
        "name": job.parcel.name,
        "frame": {
            "projection": "tmerc", "ellipsoid": "WGS84", "scale": 1,
            "lon0_deg": frame.lon0_deg, "lat0_deg": frame.lat0_deg,
        },
        "catalogue": job.catalogue().origin,
        "profiles": profiles(job),
        "friction": friction(job),
        "area_m2": n(job.parcel.boundary.unsigned_area(), 1),
        "turf_m2": n(turf_m2(job), 1),
        "supply": design.supply.as_ref().map(|supply| self::supply(job, supply)),
        "bounds": bounds(job),
        "turf": turf(job),
        "stations": design.stations.iter().enumerate().map(|(i, s)| station(job, i, s)).collect::<Json>(),
        "pipe": lengths_by_size(job),
        "trench_by_surface_m": trench_by_surface(job),
        "schedule": schedule_figures::schedule(job),
        "takeoff": takeoff(job),
        "cost": m(job::cost(design), 2),
        "currency": job.project.prices.currency,
        "findings": findings(job),
    })
}

/// A rounded number; null when it is not finite.
pub(crate) fn n(value: f64, decimals: i32) -> Json {
    json!(value.is_finite().then(|| rounded(value, decimals)))
}

/// A rounded number that may be missing.
pub(crate) fn m(value: Option<f64>, decimals: i32) -> Json {
    value.map_or(Json::Null, |value| n(value, decimals))
}

pub(crate) fn turf_m2(job: &Job) -> f64 {
    job.parcel
        .turf
        .iter()
        .map(|t| t.shape.unsigned_area())
        .sum()
}

/// The word for a radial profile.
pub(crate) fn profile_word(profile: Profile) -> &'static str {
    match profile {
        Profile::Cone => "cone",
        Profile::Parabola => "parabola",
        Profile::Ellipse => "ellipse",
        Profile::Uniform => "uniform",
    }
}

fn profiles(job: &Job) -> Json {
    let entry = |(model, profile): &(String, Profile)| json!({"model": model, "profile": profile_word(*profile)});
    job.design.profiles.iter().map(entry).collect()
}

/// The law of friction in mains and laterals.
fn friction(job: &Job) -> Json {
    match chosen(&job.project.rules) {
        Friction::HazenWilliams => json!({"law": "hazen_williams"}),
        Friction::DarcyWeisbach { viscosity_m2_s } => json!({
            "law": "darcy_weisbach",
            "factor": "colebrook",
            "water_temperature_c": job.project.rules.water_temperature_c,
            "viscosity_m2_s": viscosity_m2_s,
        }),
    }
}

fn supply(job: &Job, supply: &SupplyResult) -> Json {
    json!({
        "water_point": supply.water_point,
        "node": job.names.nodes.get(supply.node),
        "static_kpa": n(supply.static_kpa, 3),
        "design_lpm": n(supply.design_lpm, 3),
        "design_kpa": n(supply.design_kpa, 3),
        "curve_lpm_kpa": supply.curve.iter().map(|&(q, p)| json!([n(q, 3), n(p, 4)])).collect::<Json>(),
    })
}

fn bounds(job: &Job) -> Json {
    let bounds = &job.design.bounds;
    let classes = bounds.stations.iter();
    let classes: Json = classes
        .map(|class| json!({"class": class.name, "result": class.stations, "bound": class.bound}))
        .collect();
    json!({
        "heads": {"result": job.design.heads.len(), "bound": bounds.heads, "lp_estimate": m(bounds.heads_lp_estimate, 1)},
        "stations": {"result": job.design.stations.len(), "bound": bounds.stations(), "classes": classes},
        "trench_m": {"result": n(job.trench_length_m(), 2), "bound": n(bounds.trench_m, 2)},
        "pipe_cost": {"result": n(pipe_cost(job), 2), "bound": m(bounds.pipe_cost, 2)},
    })
}

/// Pipe at the catalogue's prices, laid length, without cut waste.
pub(crate) fn pipe_cost(job: &Job) -> f64 {
    let price = |pipe| job.pipe_size(pipe).map_or(0.0, |size| size.price_per_m);
    let pipes = job.design.pipes.iter();
    pipes.map(|pipe| pipe.length_m * price(pipe)).sum()
}

fn turf(job: &Job) -> Json {
    let entry = |(id, result): (&String, &TurfResult)| {
        json!({
            "id": id,
            "judged_m2": n(result.area_m2, 2),
            "heads": result.heads,
            "heads_bound": result.heads_bound,
            "heads_lp_estimate": m(result.heads_lp_estimate, 1),
            "du_low_quarter": m(result.du_low_quarter, 4),
            "du_rated": m(result.du_rated, 4),
            "cu_christiansen": m(result.cu_christiansen, 4),
            "dry_fraction": m(result.dry_fraction, 4),
            "overspray_fraction": m(result.overspray_fraction, 4),
            "reached_fraction": m(result.reached_fraction, 4),
            "one_row": result.one_row,
            "mean_rate_mm_h": m(result.mean_rate_mm_h, 3),
        })
    };
    job.names
        .turf
        .iter()
        .zip(&job.design.turf)
        .map(entry)
        .collect()
}

fn station(job: &Job, index: usize, station: &Station) -> Json {
    let heads: Vec<_> = station
        .heads
        .iter()
        .filter_map(|&h| job.names.heads.get(h))
        .collect();
    json!({
        "id": job.names.stations[index],
        "heads": heads,
        "rate_class": station.rate_class,
        "rate_mm_h": n(station.rate_mm_h, 3),
        "flow_lpm": n(station.flow_lpm, 4),
        "valve": job.control_valve(index).and_then(|valve| job.names.valves.get(valve)),
        "valve_node": job.names.nodes.get(station.valve_node),
        "valve_size": job.catalogue().valves.get(station.valve_size).map(|valve| &valve.size),
        "valve_open_lpm_kpa": valve_open(job, station),
        "source_kpa": n(station.source_kpa, 4),
        "valve_in_kpa": n(station.valve_in_kpa, 4),
        "regulated_kpa": m(station.regulated_kpa, 3),
        "valve_loss_kpa": n(station.valve_loss_kpa, 4),
        "meter_loss_kpa": n(station.meter_loss_kpa, 4),
        "backflow_loss_kpa": n(station.backflow_loss_kpa, 4),
        "service_loss_kpa": n(station.service_loss_kpa, 4),
        "pressure_min_kpa": n(station.pressure_min_kpa, 3),
        "pressure_max_kpa": n(station.pressure_max_kpa, 3),
        "elevation_spread_m": n(station.elevation_spread_m, 3),
        "mains": mains_flow(job, station),
        "solve_residual_m3s": station.solve_residual_m3s.is_finite().then_some(station.solve_residual_m3s),
    })
}

/// Flow and loss of the station's valve when fully open, a point of a parabola.
fn valve_open(job: &Job, station: &Station) -> Json {
    let valve = job.catalogue().valves.get(station.valve_size);
    valve.map_or(Json::Null, |valve| {
        json!([n(valve.flow_max_lpm, 3), n(valve.loss_kpa, 3)])
    })
}

/// The station's flow in each main on the way from the source to its valve.
fn mains_flow(job: &Job, station: &Station) -> Json {
    let entry =
        |pipe: usize| json!({"pipe": job.names.pipes[pipe], "flow_lpm": n(station.flow_lpm, 4)});
    job.way_to(station.valve_node)
        .into_iter()
        .map(entry)
        .collect()
}

fn lengths_by_size(job: &Job) -> Json {
    let sizes = sizes(job).into_iter();
    sizes
        .map(|(mains, size, length_m)| {
            let size = job.catalogue().pipes.get(size);
            json!({
                "section": if mains { "mains" } else { "laterals" },
                "material": size.map(|s| &s.material),
                "nominal": size.map(|s| &s.nominal),
                "length_m": n(length_m, 2),
            })
        })
        .collect()
}

/// Pipe by mains or laterals, size and length, m.
pub(crate) fn sizes(job: &Job) -> Vec<(bool, usize, f64)> {
    let mut lengths: BTreeMap<(bool, usize), f64> = BTreeMap::new();
    for pipe in &job.design.pipes {
        let key = (pipe.section != Section::Main, pipe.size);
        *lengths.entry(key).or_default() += pipe.length_m;
    }
    let flat = |((lateral, size), length_m): ((bool, usize), f64)| (!lateral, size, length_m);
    lengths.into_iter().map(flat).collect()
}

fn trench_by_surface(job: &Job) -> Json {
    let mut lengths: BTreeMap<&str, f64> = BTreeMap::new();
    for trench in &job.design.trenches {
        *lengths.entry(trench.surface.word()).or_default() += trench.length_m;
    }
    json!(
        lengths
            .into_iter()
            .map(|(word, length)| (word, n(length, 2)))
            .collect::<BTreeMap<_, _>>()
    )
}

fn takeoff(job: &Job) -> Json {
    let row = |row: &crate::design::model::TakeoffRow| {
        json!({
            "group": row.group, "item": row.item, "size": row.size,
            "quantity": n(row.quantity, 3), "unit": row.unit,
            "unit_price": m(row.unit_price, 4), "cost": m(row.cost, 2),
        })
    };
    job.design.takeoff.iter().map(row).collect()
}

fn findings(job: &Job) -> Json {
    let entry = |(id, attention): (&String, &crate::deliver::attention::Attention)| {
        let finding = attention.finding;
        json!({
            "id": id, "severity": finding.severity.word(), "code": finding.code,
            "file": finding.file, "feature": finding.feature, "message": finding.message,
        })
    };
    job.names
        .attention
        .iter()
        .zip(&job.attention)
        .map(entry)
        .collect()
}
