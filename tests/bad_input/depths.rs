//! Ground and rules that leave no good depth for pipe: what is said, and that every pipe lies somewhere sensible.

use crate::builder::{Bench, Raster, rectangle};
use swardline::brief::Project;
use swardline::design::design;
use swardline::design::model::{Design, DrainKind, Section};

fn bench(slope: f64, rules: &str) -> Bench {
    Bench {
        turf: vec![rectangle("t1", 2.0, 2.0, 30.0, 22.0)],
        more: format!("[rules]\nrelief_absurd_share = 5\nsearch_effort = 0.3\n{rules}"),
        raster: Raster {
            slope,
            ..Bench::default().raster
        },
        ..Bench::default()
    }
}

fn designed(bench: &Bench) -> Design {
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("the files are sound");
    design(
        &ground.parcel("p1").expect("the parcel can be prepared"),
        &project,
    )
}

#[test]
fn crossed_ranges_of_cover_are_refused_by_name() {
    for rules in ["lateral_cover_min_m = 0.7\n", "main_cover_max_m = 0.3\n"] {
        let folder = bench(0.02, rules).write();
        let told = Project::read(&folder.path().join("project.toml")).expect_err("refused");
        let told = told.to_string();
        let name = rules.split("_m").next().unwrap_or_default();
        assert!(
            told.contains("cover_min_m") && told.contains("cover_max_m"),
            "{name}: {told}"
        );
    }
}

/// Three in five is far more than any range of cover can level: pipe goes with the ground, and drains stand at its feet.
#[test]
fn steep_ground_is_followed_within_its_cover() {
    let design = designed(&bench(0.6, "station_elevation_spread_m = 30\n"));
    assert!(!design.pipes.is_empty());
    for pipe in &design.pipes {
        for node in [pipe.from, pipe.to].map(|node| &design.nodes[node]) {
            let cover_m = node.ground_m - node.invert_m;
            assert!((0.29..=0.91).contains(&cover_m), "{cover_m}");
        }
    }
    let said: Vec<&str> = design.findings.iter().map(|f| f.code).collect();
    assert!(!said.contains(&"cover_not_kept"), "{said:?}");
    for station in 0..design.stations.len() {
        let section = Section::Station(station);
        assert!(design.drains.iter().any(|drain| drain.section == section));
    }
}

#[test]
fn without_frost_each_section_has_one_point_to_flush_it_at() {
    let design = designed(&bench(0.05, "drain = false\nblow_out = true\n"));
    assert!(!design.stations.is_empty());
    assert!(
        design
            .drains
            .iter()
            .all(|drain| drain.kind == DrainKind::Flush && drain.gravel_l == 0.0)
    );
    for section in (0..design.stations.len()).map(Section::Station) {
        let points = design
            .drains
            .iter()
            .filter(|drain| drain.section == section);
        assert_eq!(points.count(), 1);
    }
    let bought = |item: &str| design.takeoff.iter().any(|row| row.item == item);
    assert!(bought("flushing point") && bought("connection for a compressor"));
    assert!(!bought("drain valve, manual") && !bought("gravel"));
}
