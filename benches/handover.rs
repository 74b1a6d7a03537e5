//! What comes after the network is solved, on the sample campus: inverts, schedule, take-off, and what is written.
//! Run: `cargo bench --locked --bench handover`. Each figure is of all parcels together; the first line tells how many hectares.

use divan::Bencher;
use std::path::Path;
use std::sync::LazyLock;
use swardline::brief::Project;
use swardline::deliver;
use swardline::design::model::Design;
use swardline::design::pipework::Pipework;
use swardline::design::settle::inverts::grade_sections;
use swardline::design::{design, source, takeoff, timetable};
use swardline::site::{self, Parcel};

/// Parcels of the campus and their designs.
struct Campus {
    project: Project,
    designed: Vec<(Parcel, Design)>,
}

static CAMPUS: LazyLock<Campus> = LazyLock::new(|| {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-parcels/project.toml");
    let project = Project::read(&file).expect("the sample is sound");
    let ground = site::open(&project).expect("the sample is sound");
    let designed: Vec<(Parcel, Design)> = ground
        .parcel_ids()
        .iter()
        .filter_map(|id| ground.parcel(id).ok())
        .map(|parcel| {
            let design = design(&parcel, &project);
            (parcel, design)
        })
        .collect();
    let turf_m2: f64 = designed
        .iter()
        .map(|(_, d)| d.turf.iter().map(|t| t.area_m2).sum::<f64>())
        .sum();
    println!(
        "{} parcels, {:.2} ha of turf",
        designed.len(),
        turf_m2 / 1e4
    );
    Campus { project, designed }
});

fn main() {
    LazyLock::force(&CAMPUS);
    divan::main();
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn inverts(bencher: Bencher) {
    let project = &CAMPUS.project;
    bencher.bench(|| {
        for (parcel, design) in &CAMPUS.designed {
            let mut work = Pipework::of(design);
            let stations = design.stations.len();
            divan::black_box(grade_sections(
                &mut work,
                stations,
                &parcel.terrain,
                &project.catalogue,
                &project.rules,
            ));
        }
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn schedule(bencher: Bencher) {
    let project = &CAMPUS.project;
    let chosen = |(parcel, design): &(Parcel, Design)| {
        source::choose(parcel, &design.heads, &project.catalogue, &project.rules).source
    };
    let sources: Vec<_> = CAMPUS.designed.iter().map(chosen).collect();
    bencher.bench(|| {
        for ((parcel, design), source) in CAMPUS.designed.iter().zip(&sources) {
            if let Some(source) = source {
                divan::black_box(timetable(parcel, project, design, &source.curve));
            }
        }
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn take_off(bencher: Bencher) {
    let project = &CAMPUS.project;
    bencher.bench(|| {
        for (_, design) in &CAMPUS.designed {
            divan::black_box(takeoff::count(
                design,
                &project.catalogue,
                &project.prices,
                &project.rules,
            ));
        }
    });
}

/// Everything a parcel's folder holds.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn folders(bencher: Bencher) {
    let folder = tempfile::tempdir().expect("there is room for temporary files");
    bencher.bench(|| {
        for (parcel, design) in &CAMPUS.designed {
            let own = folder.path().join(&parcel.id);
            let _ = std::fs::remove_dir_all(&own);
            std::fs::create_dir_all(own.join("layers")).expect("a fresh folder is writable");
            deliver::write_parcel(parcel, design, &CAMPUS.project, &own)
                .expect("a fresh folder is writable");
        }
    });
}
