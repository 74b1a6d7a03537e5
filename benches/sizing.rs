//! Time to size random stations and shared mains; alone, or beside an outside solver (`sizing_milp.py`).
//!
//! `cargo bench --bench sizing` prints medians. With `write FOLDER` the problems and our answers go into that folder.

#[path = "../tests/reference/sizing/drawn.rs"]
mod drawn;

use drawn::{limits, main_line, main_told, nine_sizes, station, station_told};
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;
use swardline::design::sizing::{Broken, SizeLimits, choose, lateral_front};

/// Pipes of the stations that are timed, and how many stations of each.
const STATIONS: [(usize, u64); 6] = [(5, 34), (10, 34), (20, 34), (30, 34), (45, 32), (60, 32)];
/// Pipes and stations of the mains that are timed.
const MAINS: [(usize, usize); 5] = [(10, 8), (20, 16), (40, 30), (80, 60), (150, 120)];
/// Times each answer is worked out; the median counts.
const TIMES: usize = 5;

fn main() {
    let mut arguments = std::env::args().skip(1).filter(|word| word != "--bench");
    let folder = arguments
        .next()
        .filter(|task| task == "write")
        .and_then(|_| arguments.next());
    let (mut problems, mut answers) = (Vec::new(), Vec::new());
    for (pipes, count) in STATIONS {
        for seed in 0..count {
            let station = station(1000 * pipes as u64 + seed, pipes);
            problems.push(station_told(&station));
            answers.push(sized(pipes, &station));
        }
        tell(&answers, "station", pipes);
    }
    for (pipes, stations) in MAINS {
        for minor_k in [0.0, 1.0] {
            let main = main_line(pipes as u64, pipes, stations, minor_k);
            problems.push(main_told(&main));
            answers.push(main_sized(pipes, minor_k, &main));
        }
        tell(&answers, "main", pipes);
    }
    if let Some(folder) = folder {
        save(&Path::new(&folder).join("problems.jsonl"), &problems);
        save(&Path::new(&folder).join("answers.jsonl"), &answers);
    }
}

/// The whole trade-off of a station, and the point for its head.
fn sized(pipes: usize, station: &drawn::Station) -> Value {
    let sizes = nine_sizes();
    let size = || lateral_front(&station.laterals, &sizes, &limits());
    let (front, seconds) = timed(size);
    let even = !front.broken.contains(&Broken::Spread);
    let best = front.within(station.head_m).filter(|_| even);
    json!({
        "kind": "station", "pipes": pipes, "seconds": seconds, "points": front.points.len(),
        "cost": best.map(|point| point.cost), "bound": best.map(|point| point.cost),
    })
}

fn main_sized(pipes: usize, minor_k: f64, main: &swardline::design::sizing::MainProblem) -> Value {
    let sizes = nine_sizes();
    let (sizing, seconds) = timed(|| choose(main, &sizes, &SizeLimits::default()));
    json!({
        "kind": "main", "pipes": pipes, "minor_k": minor_k, "seconds": seconds,
        "cost": sizing.cost, "bound": sizing.bound,
    })
}

fn timed<T>(work: impl Fn() -> T) -> (T, f64) {
    let mut seconds: Vec<f64> = (0..TIMES)
        .map(|_| {
            let begun = Instant::now();
            std::hint::black_box(work());
            begun.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_by(f64::total_cmp);
    (work(), seconds[TIMES / 2])
}

/// Median seconds of the answers of one kind and number of pipes.
fn tell(answers: &[Value], kind: &str, pipes: usize) {
    let of = answers
        .iter()
        .filter(|a| a["kind"] == kind && a["pipes"] == pipes);
    let mut seconds: Vec<f64> = of.filter_map(|a| a["seconds"].as_f64()).collect();
    seconds.sort_by(f64::total_cmp);
    let median = seconds[seconds.len() / 2];
    println!("{kind} of {pipes} pipes: {:.3} ms", 1e3 * median);
}

fn save(path: &Path, lines: &[Value]) {
    let lines: Vec<String> = lines.iter().map(Value::to_string).collect();
    std::fs::write(path, lines.join("\n")).expect("the folder can be written to");
}
