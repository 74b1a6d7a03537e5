//! Supplies, heights and catalogues that make no sense or little: what is said, and that a design ends.

use crate::builder::{Bench, Raster, messages, read, rectangle, tap};
use serde_json::{Value, json};
use swardline::brief::Catalogue;
use swardline::design::{design, model::Design};

fn small(water: Value) -> Bench {
    Bench {
        turf: vec![rectangle("t1", 2.0, 2.0, 18.0, 12.0)],
        water_points: vec![water],
        ..Bench::default()
    }
}

fn designed(bench: &Bench) -> Design {
    let (_folder, project) = bench.project();
    let ground = swardline::site::open(&project).expect("the files are sound");
    let parcel = ground.parcel("p1").expect("the parcel can be prepared");
    design(&parcel, &project)
}

/// A tap whose strength is told by these properties alone.
fn tested(strength: Value) -> Value {
    let mut water = tap("w1", 1.0, 1.0);
    water["properties"] = strength;
    water["properties"]["id"] = json!("w1");
    water
}

#[test]
fn a_supply_that_cannot_be_is_refused_with_its_file_and_figure() {
    let nonsense = [
        (json!({"pump": "0:300, 50:400"}), "must fall"),
        (json!({"pump": "0:300, 50:200, 50:100"}), "must fall"),
        (
            json!({"static_kpa": 300, "bucket_l": 20, "bucket_s": 0}),
            "bucket_s",
        ),
        (
            json!({"static_kpa": 300, "bucket_l": 0, "bucket_s": 20}),
            "bucket_l",
        ),
        (
            json!({"static_kpa": 300, "residual_kpa": 300, "residual_lpm": 60}),
            "residual pressure, 300 kPa",
        ),
        (json!({"design_lpm": -5, "design_kpa": 400}), "design_lpm"),
    ];
    for (strength, part) in nonsense {
        let findings = small(tested(strength.clone()))
            .parcel()
            .expect_err("refused");
        let told = &messages(&findings, "bad_supply_test")[0];
        let named = told.contains("water_points.geojson: w1") && told.contains(part);
        assert!(named, "{strength}: {told}");
    }
}

#[test]
fn a_pump_told_in_any_order_is_the_same_pump() {
    let told = |pump: &str| designed(&small(tested(json!({ "pump": pump }))));
    let sorted = told("0:520, 60:480, 120:380");
    assert_eq!(sorted.stations, told("120:380, 0:520, 60:480").stations);
    assert!(!sorted.stations.is_empty());
}

#[test]
fn lawns_higher_than_the_water_rises_are_told_with_what_is_missing() {
    // 24 m up to the lawn, and a tap that would raise water by 20.4 m.
    let weak = json!({"static_kpa": 200, "residual_kpa": 150, "residual_lpm": 80});
    let bench = Bench {
        turf: vec![rectangle("t1", 30.0, 2.0, 38.0, 12.0)],
        raster: Raster {
            slope: 0.8,
            ..Bench::default().raster
        },
        more: "[rules]\nrelief_absurd_share = 5\n".into(),
        ..small(tested(weak))
    };
    let design = designed(&bench);
    let told = &messages(&design.findings, "supply_too_weak")[0];
    assert!(
        told.contains("kPa short") && told.contains("booster"),
        "{told}"
    );
    assert!(design.stations.is_empty() && !design.heads.is_empty());
}

#[test]
fn ground_below_the_sea_is_ground_like_any_other() {
    let at = |z0_m: f64| {
        designed(&Bench {
            raster: Raster {
                z0_m,
                ..Bench::default().raster
            },
            ..small(tap("w1", 1.0, 1.0))
        })
    };
    let (high, low) = (at(100.0), at(-412.0));
    assert_eq!(high.stations.len(), low.stations.len());
    for (high, low) in high.working.iter().zip(&low.working) {
        let off = (high.pressure_kpa - low.pressure_kpa).abs();
        // The raster holds heights as 32-bit numbers.
        assert!(off < 0.05, "{off} kPa");
    }
}

/// The bench with a catalogue of its own, spoiled by `spoil`.
fn write_with_catalogue(bench: &Bench, spoil: impl Fn(&mut Catalogue)) -> tempfile::TempDir {
    let folder = bench.write();
    let mut catalogue = Catalogue::built_in();
    spoil(&mut catalogue);
    let file = folder.path().join("catalogue.toml");
    std::fs::write(file, catalogue.to_toml()).expect("a catalogue is written");
    let project = folder.path().join("project.toml");
    let text = std::fs::read_to_string(&project).expect("a project was written");
    let text = format!("{text}\n[prices]\ncatalogue = 'catalogue.toml'\n");
    std::fs::write(project, text).expect("the project is written again");
    folder
}

fn with_catalogue(spoil: impl Fn(&mut Catalogue)) -> tempfile::TempDir {
    write_with_catalogue(&small(tap("w1", 1.0, 1.0)), spoil)
}

/// Narrow pipe carries little: the same heads then stand on more stations, and still work.
#[test]
fn a_catalogue_with_one_size_of_pipe_is_made_do_with() {
    let stations = [11.0, 46.0].map(|inside_mm| {
        let folder = with_catalogue(|catalogue| {
            catalogue.pipes.truncate(1);
            catalogue.pipes[0].inside_mm = inside_mm;
            catalogue.pipes[0].outside_mm = inside_mm + 4.0;
        });
        let project = read(&folder).expect("one size is a catalogue");
        let ground = swardline::site::open(&project).expect("the files are sound");
        let design = design(&ground.parcel("p1").expect("sound"), &project);
        assert!(design.pipes.iter().all(|pipe| pipe.size == 0));
        for (head, working) in design.heads.iter().zip(&design.working) {
            let least_kpa = project.catalogue.heads[head.model].pressure_min_kpa;
            assert!(working.pressure_kpa > least_kpa - 0.5);
        }
        design.stations.len()
    });
    assert!(stations[0] > 2 * stations[1], "{stations:?}");
}

#[test]
fn a_head_whose_flow_does_not_depend_on_pressure_is_refused() {
    let folder = with_catalogue(|catalogue| catalogue.heads[0].flow_exponent = 0.0);
    let told = read(&folder).expect_err("refused").to_string();
    let named = told.contains("catalogue.toml") && told.contains("flow_exponent");
    assert!(named, "{told}");
}

/// The number that a text begins with, before these words.
fn number_before(text: &str, words: &str) -> f64 {
    let (number, _) = text.split_once(words).expect("the words");
    number.parse().expect("a number")
}

/// A lawn that climbs 4 m from its tap, behind a valve that loses more than was planned for: what is told is by how much
/// heads fall short and which booster would mend it, and with a supply stronger by that much none falls short any more.
#[test]
fn a_station_that_falls_short_is_told_a_booster_that_mends_it() {
    let climbing = |static_kpa: f64| {
        let strength = json!({
            "static_kpa": static_kpa, "residual_kpa": static_kpa - 40.0, "residual_lpm": 60,
        });
        let bench = Bench {
            raster: Raster {
                slope: 0.25,
                ..Bench::default().raster
            },
            ..small(tested(strength))
        };
        let folder = write_with_catalogue(&bench, |catalogue| {
            catalogue.valves.truncate(1);
            (
                catalogue.valves[0].flow_max_lpm,
                catalogue.valves[0].loss_kpa,
            ) = (15.0, 90.0);
        });
        let project = read(&folder).expect("a sound project");
        let ground = swardline::site::open(&project).expect("the files are sound");
        design(&ground.parcel("p1").expect("sound"), &project).findings
    };
    let mut mended = 0;
    for static_kpa in (250..300).step_by(10).map(f64::from) {
        let findings = climbing(static_kpa);
        let short = findings.iter().filter(|f| f.code == "pressure_short");
        let boosters: Vec<f64> = short
            .filter_map(|finding| {
                let told = &finding.message;
                assert!(told.contains("kPa short at head-"), "{told}");
                let (_, booster) = told.split_once("a booster of ")?;
                Some(number_before(booster, " kPa at "))
            })
            .collect();
        let Some(most_kpa) = boosters.into_iter().reduce(f64::max) else {
            continue;
        };
        let codes: Vec<&str> = climbing(static_kpa + most_kpa)
            .iter()
            .map(|f| f.code)
            .collect();
        assert!(
            !codes.contains(&"pressure_short"),
            "{static_kpa} and {most_kpa} kPa"
        );
        mended += 1;
    }
    assert!(mended > 0, "nothing fell short");
}
