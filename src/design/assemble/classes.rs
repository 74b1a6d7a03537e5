//! Stations by precipitation class: how many there are, how few there could be, how alike they are.

use crate::brief::{Catalogue, Rules};
use crate::design::model::{Head, StationClass};
use crate::design::settle::Settled;
use crate::design::stations::Group;
use crate::finding::Finding;
use std::collections::BTreeMap;

/// Flow of the smallest station of a class over that of the largest, below which it is told. Common practice, no source.
const ALIKE: f64 = 0.6;

/// Stations of one class as planned.
type Classes<'a> = BTreeMap<usize, Vec<&'a Group>>;

fn by_class(settled: &Settled) -> Classes<'_> {
    let mut classes = Classes::new();
    for group in &settled.groups {
        classes.entry(group.class).or_default().push(group);
    }
    classes
}

/// Every class by name, with its stations and the fewest it could have.
pub fn station_classes(
    settled: &Settled,
    heads: &[Head],
    catalogue: &Catalogue,
) -> Vec<StationClass> {
    let classes = by_class(settled).into_iter();
    let named = classes.map(|(class, groups)| StationClass {
        name: name(groups[0], heads, catalogue),
        stations: settled.counts[&class].stations,
        bound: settled.counts[&class].bound,
    });
    named.collect()
}

fn name(group: &Group, heads: &[Head], catalogue: &Catalogue) -> String {
    let head = &heads[group.heads[0]];
    let rate_class = &catalogue.heads[head.model].rate_class;
    let rows = if head.one_row { ", one row" } else { "" };
    format!("{rate_class}{rows}")
}

/// Tells, for each class, of stations much smaller than the largest, and why they are.
pub fn uneven(
    settled: &Settled,
    heads: &[Head],
    catalogue: &Catalogue,
    rules: &Rules,
) -> Vec<Finding> {
    let told = |groups: Vec<&Group>| {
        let flow_lpm = |group: &Group| group.load.flow_lpm;
        let most_lpm = groups
            .iter()
            .map(|group| flow_lpm(group))
            .fold(0.0, f64::max);
        let small = groups
            .iter()
            .filter(|group| flow_lpm(group) < ALIKE * most_lpm);
        let least = small
            .clone()
            .min_by(|a, b| flow_lpm(a).total_cmp(&flow_lpm(b)))?;
        let message = format!(
            "{} of {} stations of class {} carry less than {:.0} % of the largest ({:.0} L/min), {:.0} L/min the least: {}",
            small.count(),
            groups.len(),
            name(least, heads, catalogue),
            100.0 * ALIKE,
            most_lpm,
            flow_lpm(least),
            why_small(least, most_lpm, rules)
        );
        Some(Finding::note("stations_uneven", message).at(heads[least.heads[0]].position))
    };
    by_class(settled).into_values().filter_map(told).collect()
}

fn why_small(group: &Group, most_lpm: f64, rules: &Rules) -> String {
    let load = &group.load;
    let full = load.heads as f64 >= 0.9 * rules.station_heads_most;
    if full {
        return format!(
            "its {} small heads are about as many as station_heads_most allows",
            load.heads
        );
    }
    if load.flow_most_lpm < ALIKE * most_lpm / 0.9 {
        return format!(
            "the supply leaves no more than {:.0} L/min at the pressure and height of its heads",
            load.flow_most_lpm
        );
    }
    let reach_m = load.high_m - load.low_m;
    if reach_m > 0.8 * rules.station_elevation_spread_m {
        return format!(
            "its heads already differ in height by {reach_m:.1} m of the {:.1} m that station_elevation_spread_m allows",
            rules.station_elevation_spread_m
        );
    }
    "no head near enough along the trenches can be spared by the stations round it".to_owned()
}
