//! What comes of it: stations, bands of the rate, and what a reviewer should look at.

use super::ground::area;
use crate::deliver::job::Job;
use crate::deliver::layer::{Layer, Shape};
use crate::deliver::palette;
use geo::Geometry;

/// Stations.
pub(super) fn stations(job: &Job) -> Layer {
    let stations = &job.design.stations;
    let colour = |i: usize| job.colours.station(Some(i));
    let minutes = |i: usize| job.design.schedule.peak_minutes.get(i).copied();
    let names = &job.names.stations;
    Layer::new("stations", Shape::MultiPolygon, names, &job.parcel.id)
        .geometry(|i| area(&stations[i].area))
        .text("title", |i| {
            Some(format!("Station {}", job.design.station_number(i)))
        })
        .text("valve", |i| {
            job.names.valves.get(job.control_valve(i)?).cloned()
        })
        .whole("heads", |i| Some(stations[i].heads.len()))
        .text("rate_class", |i| Some(stations[i].rate_class.clone()))
        .number("flow_lpm", 4, |i| Some(stations[i].flow_lpm))
        .number("rate_mm_h", 3, |i| Some(stations[i].rate_mm_h))
        .number("pressure_min_kpa", 3, |i| {
            Some(stations[i].pressure_min_kpa)
        })
        .number("pressure_max_kpa", 3, |i| {
            Some(stations[i].pressure_max_kpa)
        })
        .number("regulated_kpa", 2, |i| stations[i].regulated_kpa)
        .number("elevation_spread_m", 3, |i| {
            Some(stations[i].elevation_spread_m)
        })
        .number("peak_minutes", 1, minutes)
        .stroke(1.0, colour)
        .fill(0.25, colour)
}

/// Bands of the application rate.
pub(super) fn coverage(job: &Job) -> Layer {
    let bands = &job.design.coverage;
    let colour = |i: usize| palette::rate(i, bands.len());
    let title = |i: usize| match bands[i].rate_to_mm_h {
        Some(to) => format!("{:.1} to {to:.1} mm/h", bands[i].rate_from_mm_h),
        None => format!("{:.1} mm/h and more", bands[i].rate_from_mm_h),
    };
    let names = &job.names.coverage;
    Layer::new("coverage", Shape::MultiPolygon, names, &job.parcel.id)
        .geometry(|i| area(&bands[i].shape))
        .text("title", |i| Some(title(i)))
        .number("rate_from_mm_h", 3, |i| Some(bands[i].rate_from_mm_h))
        .number("rate_to_mm_h", 3, |i| bands[i].rate_to_mm_h)
        .stroke(0.0, colour)
        .fill(0.6, colour)
}

/// Findings. One that concerns the whole parcel lies at a point inside it, and `place` says so.
pub(super) fn attention(job: &Job) -> Layer {
    let list = &job.attention;
    let names = &job.names.attention;
    let colour = |i: usize| palette::severity(list[i].finding.severity);
    let title = |i: usize| {
        let finding = list[i].finding;
        format!("{}: {}", finding.severity.word(), finding.code)
    };
    Layer::new("attention", Shape::Point, names, &job.parcel.id)
        .geometry(|i| Some(Geometry::Point(list[i].at?.into())))
        .text("title", |i| Some(title(i)))
        .text("severity", |i| {
            Some(list[i].finding.severity.word().to_string())
        })
        .text("code", |i| Some(list[i].finding.code.to_string()))
        .text("message", |i| Some(list[i].finding.message.clone()))
        .text("file", |i| list[i].finding.file.clone())
        .text("feature", |i| list[i].finding.feature.clone())
        .text("place", |i| Some(list[i].placed.word().to_string()))
        .marker(colour)
}
