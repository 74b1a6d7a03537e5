//! Sizes of random stations and shared mains against mixed-integer programmes solved by HiGHS (`sizing_milp.py`).

mod drawn;

use super::python;
use drawn::{limits, main_line, main_told, nine_sizes, station, station_told};
use serde_json::Value;
use std::path::PathBuf;
use swardline::design::sizing::{Broken, SizeLimits, choose, lateral_front};

/// Prices are told in whole millionths a pipe: a station of 60 may differ by as many.
const COST_DIFFERENCE_MOST: f64 = 1e-4;

/// Least costs by HiGHS, infinite where nothing does; `None` where Python or the library is missing.
fn public_costs(problems: &[Value]) -> Option<Vec<f64>> {
    let python = python::with("highspy, numpy")?;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("problems.jsonl");
    let lines: Vec<String> = problems.iter().map(Value::to_string).collect();
    std::fs::write(&path, lines.join("\n")).unwrap();
    let script = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference/sizing_milp.py");
    let told = python::told(&python, &[script, path]);
    // HiGHS has a word of its own to say first.
    let costs = told.lines().filter_map(|line| line.strip_prefix("cost "));
    let cost = |line: &str| line.split(' ').next().unwrap().parse().unwrap();
    Some(costs.map(cost).collect())
}

/// Number of random stations: all of them where there is time.
fn stations() -> u64 {
    if std::env::var_os("CI").is_some() {
        200
    } else {
        40
    }
}

#[test]
fn stations_are_sized_as_cheaply_as_the_public_solver_does() {
    let drawn: Vec<_> = (0..stations())
        .map(|seed| station(seed, 5 + (seed as usize * 37) % 56))
        .collect();
    let told: Vec<Value> = drawn.iter().map(station_told).collect();
    let Some(theirs) = public_costs(&told) else {
        return;
    };
    let sizes = nine_sizes();
    let (mut dearer, mut impossible) = (0, 0);
    for (seed, (station, theirs)) in drawn.iter().zip(&theirs).enumerate() {
        let front = lateral_front(&station.laterals, &sizes, &limits());
        let uneven = front.broken.contains(&Broken::Spread);
        let best = front.within(station.head_m).filter(|_| !uneven);
        let ours = best.map_or(f64::INFINITY, |point| point.cost);
        assert!(
            ours == *theirs || (ours - theirs).abs() < COST_DIFFERENCE_MOST,
            "station {seed}: {ours}, HiGHS {theirs}"
        );
        assert!(front.exact, "station {seed}");
        impossible += usize::from(ours.is_infinite());
        let any = lateral_front(&station.laterals, &sizes, &SizeLimits::default());
        let free = any.within(station.head_m).map_or(f64::INFINITY, |p| p.cost);
        dearer += usize::from(ours > free + COST_DIFFERENCE_MOST);
    }
    let count = drawn.len();
    eprintln!("{count} stations: the spread costs in {dearer}, nothing keeps it in {impossible}");
    assert!(dearer * 4 > count, "the spread costs in {dearer} only");
    assert!(impossible > 0, "the limit can be kept everywhere");
    assert!(impossible * 4 < count, "{impossible} cannot be built");
}

/// Without fittings the programme over resistances is exact; with them it errs to the safe side and says by how much.
#[test]
fn shared_mains_are_sized_as_cheaply_or_within_the_gap_told() {
    let mut drawn = Vec::new();
    for (seed, (pipes, stations)) in [(10, 8), (20, 16), (40, 30), (80, 60), (150, 120)]
        .into_iter()
        .enumerate()
    {
        for minor_k in [0.0, 1.0] {
            drawn.push((minor_k, main_line(seed as u64, pipes, stations, minor_k)));
        }
    }
    let told: Vec<Value> = drawn.iter().map(|(_, main)| main_told(main)).collect();
    let Some(theirs) = public_costs(&told) else {
        return;
    };
    for ((minor_k, main), theirs) in drawn.iter().zip(theirs) {
        let sizing = choose(main, &nine_sizes(), &SizeLimits::default());
        assert!(sizing.short.is_empty());
        let (cost, bound) = (sizing.cost, sizing.bound);
        let pipes = main.pipes.len();
        eprintln!("{pipes} pipes, K {minor_k}: {cost:.4}, bound {bound:.4}, HiGHS {theirs:.4}");
        assert!(cost > theirs - COST_DIFFERENCE_MOST, "{cost} {theirs}");
        assert!(bound < theirs + COST_DIFFERENCE_MOST, "{bound} {theirs}");
        if *minor_k == 0.0 {
            assert!(sizing.optimal && cost < theirs + COST_DIFFERENCE_MOST);
        }
    }
}
