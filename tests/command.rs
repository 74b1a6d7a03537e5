//! The program as a user runs it: what it prints where, and the status it ends with.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

#[path = "command/scratch.rs"]
mod scratch;

#[path = "command/edits.rs"]
mod edits;

use scratch::{Scratch, swardline, text};
use std::collections::BTreeMap;
use std::fs;
use std::process::Stdio;

#[test]
fn help_tells_the_commands_and_the_exit_codes() {
    let output = swardline(&["--help"]);
    let help = text(&output.stdout);
    for word in [
        "check",
        "design",
        "catalogue",
        "rules",
        "Exit codes:",
        "  73  ",
    ] {
        assert!(help.contains(word), "{word} is missing in:\n{help}");
    }
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty());
}

#[test]
fn a_wrong_command_line_ends_with_2() {
    for arguments in [
        &["sprinkle"][..],
        &["design", "p.toml"],
        &["design", "p.toml", "--out", "o", "--jobs", "0"],
        &["design", "p.toml", "--out", "o", "-q", "-v"],
    ] {
        let output = swardline(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty());
    }
}

#[test]
fn a_missing_project_file_ends_with_66_and_a_wrong_one_with_78() {
    let scratch = Scratch::new();
    let missing = scratch.run(&["check", "nowhere.toml"]);
    assert_eq!(missing.status.code(), Some(66));
    assert!(text(&missing.stderr).contains("nowhere.toml"));
    scratch.write("wrong.toml", "name = 3\n[rule]\n");
    let wrong = scratch.run(&["design", "wrong.toml", "--out", "out"]);
    assert_eq!(wrong.status.code(), Some(78));
    let told = text(&wrong.stderr);
    assert!(
        told.lines().count() >= 2 && told.contains("rules"),
        "{told}"
    );
    assert!(!scratch.path("out").exists());
}

#[test]
fn a_missing_input_ends_with_66() {
    let scratch = Scratch::with_ground();
    fs::remove_file(scratch.path("turf.geojson")).unwrap();
    let missing = scratch.run(&["check", "project.toml"]);
    assert_eq!(missing.status.code(), Some(66));
    assert!(text(&missing.stderr).contains("turf.geojson"));
}

#[test]
fn variants_are_designed_beside_the_base_and_compared() {
    let scratch = Scratch::with_ground();
    let project = scratch.read("project.toml");
    let project = format!(
        "{project}\n[[variant]]\nname = \"small/stations\"\nrules = {{ station_heads_most = 5 }}\n\
         [[variant]]\nname = \"same\"\n"
    );
    scratch.write("compared.toml", &project);
    let run = scratch.run(&["design", "compared.toml", "--out", "out", "--quiet"]);
    assert_eq!(run.status.code(), Some(1), "one parcel has no water");
    assert!(text(&run.stderr).contains("3 variants compared"));
    let table = scratch.read("out/variants.csv");
    let rows: Vec<Vec<&str>> = table
        .lines()
        .map(|line| line.split(',').collect())
        .collect();
    let named: Vec<&str> = rows.iter().map(|row| row[0]).collect();
    assert_eq!(named, ["variant", "base", "small/stations", "same"]);
    assert_eq!(
        rows[1][1..],
        rows[3][1..],
        "the same project, the same figures"
    );
    let stations = |row: usize| rows[row][6].parse::<f64>().unwrap();
    assert!(stations(2) > stations(1), "{table}");
    let page = scratch.read("out/variants.html");
    assert!(
        page.contains("href=\"variants/small%252Fstations/index.html\""),
        "{page}"
    );
    assert_eq!(
        scratch.read("out/parcels/square/settings.csv"),
        scratch.read("out/variants/same/parcels/square/settings.csv")
    );
    assert!(
        scratch
            .path("out/variants/small%2Fstations/index.html")
            .exists()
    );
}

#[test]
fn check_tells_rows_of_the_price_list_that_name_nothing() {
    let scratch = Scratch::with_ground();
    scratch.write(
        "prices.csv",
        "item,size,unit,unit_price\ngravel,,L,0.1\ngravle,,L,0.1\n",
    );
    let project = scratch.read("project.toml");
    let project = format!("{project}\n[prices]\nlist = \"prices.csv\"\n");
    scratch.write("priced.toml", &project);
    let told = text(&scratch.run(&["check", "priced.toml"]).stdout);
    assert!(
        told.contains("prices.csv") && told.contains("line 3 `gravle`"),
        "{told}"
    );
    assert!(!told.contains("line 2"), "{told}");
}

#[test]
fn rules_and_catalogue_print_toml_that_a_project_takes_back() {
    let scratch = Scratch::with_ground();
    let rules = text(&swardline(&["rules"]).stdout);
    let catalogue = text(&swardline(&["catalogue"]).stdout);
    scratch.write("own.toml", &catalogue);
    let project = scratch.read("project.toml");
    let project = format!("catalogue = \"own.toml\"\n{project}\n{rules}");
    scratch.write("again.toml", &project);
    assert_eq!(text(&scratch.run(&["rules", "again.toml"]).stdout), rules);
    let again: toml::Table = text(&scratch.run(&["catalogue", "again.toml"]).stdout)
        .parse()
        .unwrap();
    let built_in: toml::Table = catalogue.parse().unwrap();
    for part in ["heads", "pipes", "valves"] {
        assert_eq!(again[part], built_in[part]);
    }
}

#[test]
fn a_reader_who_goes_away_is_no_error() {
    let mut child = std::process::Command::new(scratch::PROGRAM)
        .arg("rules")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Closed before anything is read, so the first write already fails.
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty(), "{}", text(&output.stderr));
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_at_standard_output_ends_with_74() {
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let status = std::process::Command::new(scratch::PROGRAM)
        .arg("rules")
        .stdout(full)
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(74));
}

#[test]
fn somebody_elses_folder_is_refused_with_73_and_left_alone() {
    let scratch = Scratch::with_ground();
    scratch.write("thesis/chapter.txt", "mine");
    let refused = scratch.run(&["design", "project.toml", "--out", "thesis"]);
    assert_eq!(refused.status.code(), Some(73), "{}", text(&refused.stderr));
    assert_eq!(fs::read_dir(scratch.path("thesis")).unwrap().count(), 1);
    let file = scratch.run(&["design", "project.toml", "--out", "thesis/chapter.txt"]);
    assert_eq!(file.status.code(), Some(73));
}

#[test]
fn an_unknown_parcel_is_told_with_the_nearest_before_anything_is_made() {
    let scratch = Scratch::with_ground();
    let refused = scratch.run(&["design", "project.toml", "--out", "out", "--only", "squar"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).contains("\"square\""));
    assert!(!scratch.path("out").exists());
}

#[test]
fn an_unusable_input_ends_with_65() {
    let scratch = Scratch::with_ground();
    scratch.write("turf.geojson", r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"id":"t"},"geometry":{"type":"Point","coordinates":[500000,5400000]}}]}"#);
    let refused = scratch.run(&["check", "project.toml"]);
    assert_eq!(refused.status.code(), Some(65), "{}", text(&refused.stderr));
}

#[test]
fn check_prints_the_problems_of_all_parcels_and_ends_with_1() {
    let scratch = Scratch::with_ground();
    let output = scratch.run(&["check", "project.toml"]);
    let found = text(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{found}");
    assert!(found.contains("dry-land: error  "), "{found}");
    assert!(text(&output.stderr).contains("3 parcels: "));
    let only = scratch.run(&["check", "project.toml", "--only", "square"]);
    assert_eq!(only.status.code(), Some(0), "{}", text(&only.stdout));
}

/// The summary as rows of (column, value).
fn summary(scratch: &Scratch, out: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(scratch.path(out).join("summary.csv")).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column]
        .parse()
        .unwrap_or_else(|_| panic!("{column} is no number in {row:?}"))
}

#[test]
fn a_small_ground_is_designed_and_a_parcel_without_water_fails_alone() {
    let scratch = Scratch::with_ground();
    let output = scratch.run(&["design", "project.toml", "--out", "out"]);
    let told = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(output.stdout.is_empty());
    assert!(told.contains("failed: dry-land: error  "), "{told}");
    assert!(
        told.lines().last().unwrap().starts_with("3 parcels: "),
        "{told}"
    );

    let rows = summary(&scratch, "out");
    let ids: Vec<&str> = rows.iter().map(|row| row["parcel"].as_str()).collect();
    assert_eq!(ids, ["dry-land", "square", "strip"]);
    assert_eq!(rows[0]["status"], "failed");
    assert!(!scratch.path("out/parcels/dry-land").exists());
    let square = &rows[1];
    assert_ne!(square["status"], "failed", "{square:?}");
    // 22 m by 22 m of turf; the metres are made of degrees on a sphere, hence the half per cent.
    assert!((number(square, "turf_ha") / 0.0484 - 1.0).abs() < 0.005);
    assert!(number(square, "heads") >= 4.0 && number(square, "stations") >= 1.0);
    // Heads stand on the corners, so the trench is longer than the side and no longer than a comb over the lawn.
    assert!(
        (22.0..400.0).contains(&number(square, "trench_m")),
        "{square:?}"
    );
    assert!(number(square, "design_lpm") < 200.0);
    for file in [
        "report.html",
        "design.gpkg",
        "design.json",
        "takeoff.csv",
        "layers/heads.geojson",
    ] {
        assert!(
            scratch.path("out/parcels/strip").join(file).is_file(),
            "{file}"
        );
    }
    let run: serde_json::Value = serde_json::from_str(&scratch.read("out/run.json")).unwrap();
    assert_eq!(run["parcels"]["dry-land"]["status"], "failed");
    let index = scratch.read("out/index.html");
    let links = index
        .matches("<a href=\"parcels/strip/report.html\"")
        .count();
    assert!(links >= 2, "strip stands on the map and in the table");
    assert!(index.contains("✕ failed") && index.contains("is-failed"));
    assert_eq!(run["inputs"].as_array().unwrap().len(), 4);
}

#[test]
fn one_thread_and_two_write_the_same_bytes() {
    let scratch = Scratch::with_ground();
    for (out, jobs) in [("one", "1"), ("two", "2")] {
        scratch.run(&[
            "design",
            "project.toml",
            "--out",
            out,
            "--jobs",
            jobs,
            "--quiet",
        ]);
    }
    let without_times = |out: &str| {
        let mut files = scratch.files(out);
        files.retain(|(name, _)| !name.ends_with("run.json"));
        files
    };
    let (one, two) = (without_times("one"), without_times("two"));
    assert!(one.len() > 20, "only {} files", one.len());
    for (a, b) in one.iter().zip(&two) {
        assert_eq!(a.0, b.0);
        assert!(a.1 == b.1, "{} differs", a.0.display());
    }
    assert_eq!(one.len(), two.len());
}

#[test]
fn networks_are_written_when_asked_for_and_the_run_says_of_which_parcels() {
    let scratch = Scratch::with_ground();
    scratch.run(&["design", "project.toml", "--out", "out", "-q"]);
    assert!(!scratch.path("out/parcels/strip/networks").exists());
    let again = ["--only", "square", "--networks"];
    scratch.run(
        &[
            &["design", "project.toml", "--out", "out", "-q"],
            &again[..],
        ]
        .concat(),
    );
    let station = scratch.read("out/parcels/square/networks/station-01.inp");
    assert!(
        station.starts_with("[TITLE]\nstation-01, parcel square, swardline "),
        "{station}"
    );
    assert!(!scratch.path("out/parcels/strip/networks").exists());
    let run: serde_json::Value = serde_json::from_str(&scratch.read("out/run.json")).unwrap();
    assert_eq!(run["networks"], true);
    assert_eq!(run["parcels"]["square"]["networks"], true);
    assert_eq!(run["parcels"]["strip"]["networks"], false);
    assert_eq!(run["parcels"]["dry-land"]["networks"], false);
}

#[test]
fn one_parcel_again_leaves_the_others_as_they_are() {
    let scratch = Scratch::with_ground();
    scratch.run(&["design", "project.toml", "--out", "out", "-q"]);
    let before = scratch.read("out/summary.csv");
    let index_before = scratch.read("out/index.html");
    scratch.write("out/parcels/strip/note.txt", "a foreman's");
    scratch.write("out/parcels/square/note.txt", "a foreman's");
    let again = scratch.run(&["design", "project.toml", "--out", "out", "--only", "square"]);
    assert_eq!(again.status.code(), Some(0), "{}", text(&again.stderr));
    assert_eq!(scratch.read("out/summary.csv"), before);
    assert_eq!(scratch.read("out/index.html"), index_before);
    assert!(scratch.path("out/parcels/strip/note.txt").exists());
    assert!(!scratch.path("out/parcels/square/note.txt").exists());
    let run: serde_json::Value = serde_json::from_str(&scratch.read("out/run.json")).unwrap();
    assert_eq!(run["parcels"].as_object().unwrap().len(), 3);
}

#[test]
fn a_parcel_that_fails_today_loses_its_design_of_yesterday() {
    let scratch = Scratch::with_ground();
    scratch.run(&["design", "project.toml", "--out", "out", "-q"]);
    assert!(scratch.path("out/parcels/strip").is_dir());
    let water = scratch
        .read("water.geojson")
        .replace("\"static_kpa\":450", "\"static_kpa\":-1");
    scratch.write("water.geojson", &water);
    let again = scratch.run(&["design", "project.toml", "--out", "out", "-q"]);
    assert_eq!(again.status.code(), Some(1));
    assert!(!scratch.path("out/parcels/strip").exists());
    let renamed = scratch.read("project.toml").replace("small", "large");
    scratch.write("project.toml", &renamed);
    let refused = scratch.run(&["design", "project.toml", "--out", "out"]);
    assert_eq!(refused.status.code(), Some(73), "{}", text(&refused.stderr));
}

#[test]
fn a_supply_too_weak_for_a_single_head_says_by_how_much_and_still_shows_the_heads() {
    let scratch = Scratch::with_ground();
    let water = scratch.read("water.geojson");
    let weak = water.replace(
        r#""static_kpa":450,"residual_kpa":350"#,
        r#""static_kpa":120,"residual_kpa":90"#,
    );
    scratch.write("water.geojson", &weak);
    let output = scratch.run(&["design", "project.toml", "--out", "out"]);
    let told = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("cannot feed a single head"), "{told}");
    assert!(told.contains("kPa short. Add a booster"), "{told}");
    assert!(
        summary(&scratch, "out")
            .iter()
            .all(|row| row["status"] == "failed")
    );
    let attention = scratch.read("out/parcels/square/layers/attention.geojson");
    assert!(attention.contains("supply_too_weak"), "{attention}");
    let heads: serde_json::Value =
        serde_json::from_str(&scratch.read("out/parcels/square/layers/heads.geojson")).unwrap();
    assert!(heads["features"].as_array().unwrap().len() >= 4);
}
