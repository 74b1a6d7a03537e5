//! The stations as they are handed over: solved figures and the ground they reach.

use crate::brief::Catalogue;
use crate::design::model::{Head, Station, Working};
use crate::design::settle::{Settled, Solved};
use crate::design::stations::Group;
use crate::site::Parcel;
use geo::{BooleanOps, BoundingRect, Intersects, MultiPolygon, Polygon, Simplify, unary_union};

/// Detail of a station's outline on the map, m.
const OUTLINE_M: f64 = 0.15;

/// All stations, in order.
pub fn stations(
    parcel: &Parcel,
    heads: &[Head],
    working: &[Working],
    throws: &[Polygon<f64>],
    settled: &Settled,
    catalogue: &Catalogue,
) -> Vec<Station> {
    let both = settled.groups.iter().zip(&settled.solved).enumerate();
    both.map(|(i, (group, solved))| {
        station(
            i,
            group,
            solved,
            settled,
            heads,
            working,
            catalogue,
            area(parcel, group, throws),
        )
    })
    .collect()
}

#[allow(clippy::too_many_arguments)]
fn station(
    i: usize,
    group: &Group,
    solved: &Solved,
    settled: &Settled,
    heads: &[Head],
    working: &[Working],
    catalogue: &Catalogue,
    area: MultiPolygon<f64>,
) -> Station {
    let mine = || group.heads.iter().map(|head| &working[*head]);
    let flow_lpm: f64 = mine().map(|w| w.flow_lpm).sum();
    let rate: f64 = mine().map(|w| w.rate_mm_h * w.flow_lpm).sum();
    let solution = &solved.solution;
    Station {
        rate_class: group
            .heads
            .first()
            .map(|head| catalogue.heads[heads[*head].model].rate_class.clone())
            .unwrap_or_default(),
        heads: group.heads.clone(),
        valve_node: settled.work.valve_nodes[i],
        valve_size: solved.valve_size,
        regulated_kpa: solved.regulated_kpa,
        flow_lpm,
        rate_mm_h: if flow_lpm > 0.0 { rate / flow_lpm } else { 0.0 },
        pressure_min_kpa: mine().map(|w| w.pressure_kpa).fold(f64::INFINITY, f64::min),
        pressure_max_kpa: mine()
            .map(|w| w.pressure_kpa)
            .fold(f64::NEG_INFINITY, f64::max),
        elevation_spread_m: group.load.high_m - group.load.low_m,
        source_kpa: solution.source_kpa,
        valve_in_kpa: solution.valve_in_kpa,
        meter_loss_kpa: solution.meter_loss_kpa,
        backflow_loss_kpa: solution.backflow_loss_kpa,
        service_loss_kpa: solution.service_loss_kpa,
        valve_loss_kpa: solution.valve_loss_kpa,
        solve_residual_m3s: solution.residual_m3s,
        area,
    }
}

/// The turf that the station's heads reach.
fn area(parcel: &Parcel, group: &Group, throws: &[Polygon<f64>]) -> MultiPolygon<f64> {
    let outlines: Vec<Polygon<f64>> = group
        .heads
        .iter()
        .map(|head| throws[*head].simplify(OUTLINE_M))
        .collect();
    let reach = unary_union(&outlines);
    let Some(bounds) = reach.bounding_rect() else {
        return reach;
    };
    let near = parcel
        .turf
        .iter()
        .flat_map(|turf| &turf.shape)
        .filter(|piece| piece.bounding_rect().is_some_and(|r| r.intersects(&bounds)));
    let parts: Vec<Polygon<f64>> = near.flat_map(|piece| reach.intersection(piece)).collect();
    MultiPolygon::new(parts)
}
